// Command engraver prepares the engraver's WebAssembly module from the pinned
// npm package, for embedding. go generate ./assets runs it in the folder
// assets. With -in and -out it prepares any other build of the same package,
// for use as a replacement of the engraver; the fixed sums then do not apply.
package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"

	"gradatim/internal/engrave/module"
)

// The package is verovio 6.3.0. Another release changes these sums: look at
// what it changed, run the engraver's tests against it, then write the new
// ones here.
const (
	source     = "../node_modules/verovio/dist/verovio-module.mjs"
	target     = "data/engraver.wasm"
	sourceHash = "cd7c77d0738e9359b9f77956ae398556bf9949f35e4c5b3471ab3198fd660431"
	moduleHash = "6f8a19c9b5b00b16f7bf3ac0bc2b7575c3c4a10f9e22c9eda704d1cc7249907e"
)

func main() {
	in := flag.String("in", "", "script of a build of the engraver (default: the pinned package)")
	out := flag.String("out", "", "file to write (default: "+target+")")
	flag.Parse()
	var err error
	switch {
	case *in == "" && *out == "":
		err = run(source, target, sourceHash, moduleHash)
	case *in != "" && *out != "":
		err = run(*in, *out, "", "")
	default:
		err = errors.New("-in and -out go together")
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "engraver:", err)
		os.Exit(1)
	}
}

// run prepares one file; a sum that is not empty must fit.
func run(in, out, inHash, modHash string) error {
	js, err := os.ReadFile(in)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%w: run npm ci --ignore-scripts", err)
	}
	if err != nil {
		return err
	}
	if err := check(in, js, inHash); err != nil {
		return err
	}
	mod, err := module.FromPackage(js)
	if err != nil {
		return fmt.Errorf("%s: %w", in, err)
	}
	if err := check("the module prepared from "+in, mod, modHash); err != nil {
		return err
	}
	// A reader of a half-written file would embed it: write beside, then rename.
	tmp := out + ".new"
	if err := os.WriteFile(tmp, mod, 0o644); err != nil {
		return err
	}
	if err := os.Rename(tmp, out); err != nil {
		return err
	}
	fmt.Printf("%s: %d bytes\n", out, len(mod))
	return nil
}

func check(what string, b []byte, want string) error {
	sum := sha256.Sum256(b)
	if got := hex.EncodeToString(sum[:]); want != "" && got != want {
		return fmt.Errorf("%s has the SHA-256 %s, expected %s: another release? see the comment in assets/prepare/engraver", what, got, want)
	}
	return nil
}
