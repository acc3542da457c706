package module

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

// script packs a module as the published package does.
func script(mod []byte) []byte {
	var b strings.Builder
	b.WriteString("var x=binaryDecode('")
	for _, c := range mod {
		switch c {
		case 0:
			b.WriteRune(0x100)
		case '\n':
			b.WriteString(`\n`)
		case '\r':
			b.WriteString(`\r`)
		case '\'':
			b.WriteString(`\'`)
		case '\\':
			b.WriteString(`\\`)
		default:
			b.WriteRune(rune(c))
		}
	}
	b.WriteString(`');var wasmImports={a:_fd_read,b:_exit};` +
		`_malloc=Module["_malloc"]=wasmExports["d"];function f(){wasmExports["c"]()}memory=wasmMemory=wasmExports["e"]`)
	return []byte(b.String())
}

// tiny is a module with an import, an export and a function that throws inside
// a try: (try (throw 0) (catch_all)) after a loop.
func tiny() []byte {
	section := func(id byte, body ...byte) []byte { return append([]byte{id, byte(len(body))}, body...) }
	m := bytes.Clone(magic)
	m = append(m, section(1, 1, 0x60, 0, 0)...)                 // type: () -> ()
	m = append(m, section(2, 1, 1, 'z', 1, 'b', 0, 0)...)       // import z.b, a function of type 0
	m = append(m, section(3, 1, 0)...)                          // one function of type 0
	m = append(m, section(13, 1, 0, 0)...)                      // one tag
	m = append(m, section(7, 2, 1, 'd', 0, 1, 1, 'q', 0, 1)...) // exports d and q, the function
	return append(m, section(10, append([]byte{1, byte(len(tinyBody))}, tinyBody...)...)...)
}

var tinyBody = []byte{0, // no locals
	opLoop, 0x40, opEnd,
	opTry, 0x40, opThrow, 0, opCatchAll, 0x10, 0, opRethrow, 0, opEnd,
	opTry, 0x40, 0x01, opDelegate, 0,
	opEnd}

func TestFromPackage(t *testing.T) {
	got, err := FromPackage(script(tiny()))
	if err != nil {
		t.Fatal(err)
	}
	want := []byte{0, // no locals
		opLoop, 0x40, 0x41, 0, 0x2d, 0, StopFlag, opIf, 0x40, opUnreachable, opEnd, opEnd,
		opBlock, 0x40, opUnreachable, opEnd,
		opBlock, 0x40, 0x01, opEnd,
		opEnd}
	if !bytes.Contains(got, want) {
		t.Errorf("the function is not\n% x\nin\n% x", want, got)
	}
	for _, name := range []string{"\x03env\x04exit\x00\x00", "\x06malloc\x00\x01", "\x01q\x00\x01"} {
		if !bytes.Contains(got, []byte(name)) {
			t.Errorf("no %q in % x", name, got)
		}
	}
	if bytes.Contains(got, []byte{sectionTag, 3, 1, 0, 0}) {
		t.Error("the tag section is still there")
	}
}

func TestRefusals(t *testing.T) {
	good := string(script(tiny()))
	tests := map[string]string{
		"nothing":               "",
		"no module":             "var x='hello'",
		"not WebAssembly":       strings.Replace(good, "asm", "elf", 1),
		"the string never ends": good[:strings.Index(good, "');")],
		"unknown escape":        strings.Replace(good, "asm", `asm\q`, 1),
		"no imports":            strings.Replace(good, "wasmImports", "imports", 1),
		"an import unnamed":     strings.Replace(good, "b:_exit", "c:_exit", 1),
		"no constructors":       strings.Replace(good, `wasmExports["c"]()`, "", 1),
		"no memory":             strings.Replace(good, "memory=", "store=", 1),
		"cut short":             string(script(tiny()[:len(tiny())-3])),
	}
	for name, s := range tests {
		if s == good {
			t.Errorf("%s: the replacement did not happen", name)
			continue
		}
		if _, err := FromPackage([]byte(s)); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// The pinned package is turned into a module; the sums in the generator hold
// what comes out.
func TestPinnedPackage(t *testing.T) {
	sharedtest.Module(t, "verovio")
	js, err := os.ReadFile(filepath.Join(sharedtest.Root(), "node_modules/verovio/dist/verovio-module.mjs"))
	if err != nil {
		t.Fatal(err)
	}
	m, err := FromPackage(js)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"vrvToolkit_renderToSVG", "__wasm_call_ctors", "memory", "_emscripten_fs_load_embedded_files"} {
		if !bytes.Contains(m, append([]byte{byte(len(name))}, name...)) {
			t.Errorf("no %s", name)
		}
	}
	if n := bytes.Count(m, append([]byte{byte(len(cleared))}, cleared...)); n != 1 {
		t.Errorf("the tuning is cleared in %d places, not in one", n)
	}
	again, err := FromPackage(js)
	if err != nil || !bytes.Equal(m, again) {
		t.Error("not the same twice")
	}
}

// Any bytes are refused or rewritten, and never read beyond their end; what is
// rewritten keeps its magic.
func FuzzRewrite(f *testing.F) {
	f.Add(tiny())
	f.Add(tiny()[:20])
	f.Add(magic)
	f.Add(append(bytes.Clone(magic), sectionImport, 5, 0xff, 0xff, 0xff, 0xff, 0x0f)) // four thousand million imports
	f.Fuzz(func(t *testing.T, b []byte) {
		out, err := rewrite(b, names{map[string]string{"b": "exit"}, map[string]string{"d": "malloc"}})
		if err == nil && !IsModule(out) {
			t.Errorf("% x became % x", b, out)
		}
	})
}
