// Command fonts prepares the letters of the lesson's site. The text face is
// copied as its pinned npm package has it, so that shapes, spacing and kerning
// stay its makers'. The signs that no web face for text has (accidentals,
// notes, thirds, arrows) are cut from a font of mathematics into a file of
// their own, see cut.
//
// go generate ./assets runs it in the folder assets. The output depends on the
// input alone.
package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/go-fonts/stix/stix2mathregular"
)

// source is the package @fontsource/source-serif-4 5.3.1; another release has
// other sums: look at what it changed, then write them here.
const source = "../node_modules/@fontsource/source-serif-4/files/"

const target = "data/fonts"

// faces are the files of the text face that the site uses: Latin, and the letters
// with rarer accents.
var faces = []struct{ from, to, sum string }{
	{"source-serif-4-latin-400-normal.woff", "text.woff", "d9e83df242381ae1ecab8238bb865a25b1e9ebe01fe1505a032f12cda6154857"},
	{"source-serif-4-latin-400-italic.woff", "text-italic.woff", "11c9bca8d02817681b90ffe19e9a08653a95f49a184f568af3bb22709e0aff5c"},
	{"source-serif-4-latin-600-normal.woff", "text-bold.woff", "cf44d31e38a498c19087148703da185058bd9ae1ab09e05d6327507479e2eb88"},
	{"source-serif-4-latin-ext-400-normal.woff", "more.woff", "14bf40cec1aaaae5ecb4e7e0bd7572ef6cf74b0346f72df98f0c66f6db26ac94"},
	{"source-serif-4-latin-ext-400-italic.woff", "more-italic.woff", "bfb0c95831c7019cd7a48d5eb05c59657e5e175d4277fa0d54630c54514258e8"},
	{"source-serif-4-latin-ext-600-normal.woff", "more-bold.woff", "74bb08f4913057cd1b8201dc26982a99877304ec33646c73a9d76add2cd93561"},
}

// signs are what the pages print beyond letters; static/lesson.css of package
// pack names the same ranges.
const signs = "⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞" + "→" + "≤≥" + "▲△" + "♩♪♭♮♯" + "Δ"

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "fonts:", err)
		os.Exit(1)
	}
}

func run() error {
	if err := os.MkdirAll(target, 0o755); err != nil {
		return err
	}
	for _, f := range faces {
		b, err := os.ReadFile(source + f.from)
		if errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("%w: run npm ci --ignore-scripts", err)
		}
		if err != nil {
			return err
		}
		if sum := sha256.Sum256(b); hex.EncodeToString(sum[:]) != f.sum {
			return fmt.Errorf("%s has the SHA-256 %x, expected %s: another release? see the comment in assets/prepare/fonts", f.from, sum, f.sum)
		}
		if err := write(f.to, b); err != nil {
			return err
		}
	}
	b, err := cut(stix2mathregular.TTF, "Gradatim Signs", "Copyright 2001-2021 The STIX Fonts Project Authors; cut out of STIX Two Math", signs)
	if err != nil {
		return err
	}
	return write("signs.ttf", b) // last: make looks at its age
}

// write puts a file in place with one rename: a reader of half a file would
// embed it.
func write(name string, b []byte) error {
	name = filepath.Join(target, name)
	if err := os.WriteFile(name+".new", b, 0o644); err != nil {
		return err
	}
	return os.Rename(name+".new", name)
}
