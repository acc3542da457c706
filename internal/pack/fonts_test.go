package pack

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/image/font/sfnt"

	"gradatim/assets"
	"gradatim/internal/sharedtest"
	"gradatim/internal/words"
)

// face is an @font-face of the style sheet.
type face struct {
	family, file, weight, style string
	ranges                      [][2]rune
	font                        *sfnt.Font
}

func (f face) has(r rune) bool {
	if !slices.ContainsFunc(f.ranges, func(x [2]rune) bool { return x[0] <= r && r <= x[1] }) {
		return false
	}
	var b sfnt.Buffer
	i, err := f.font.GlyphIndex(&b, r)
	return err == nil && i != 0
}

// facesOf reads the style sheet and the fonts that it names.
func facesOf(t *testing.T) []face {
	t.Helper()
	fonts, err := assets.Fonts()
	var missing *assets.MissingError
	if errors.As(err, &missing) {
		sharedtest.Absent(t, err.Error())
	}
	sheet, err := staticFiles.ReadFile("static/lesson.css")
	if err != nil {
		t.Fatal(err)
	}
	property := func(rule, name string) string {
		_, rest, _ := strings.Cut(rule, name+":")
		text, _, ok := strings.Cut(rest, ";")
		if !ok {
			t.Fatalf("no %s in %s", name, rule)
		}
		return strings.Trim(strings.TrimSpace(text), `"`)
	}
	var out []face
	for _, m := range regexp.MustCompile(`@font-face \{([^}]*)\}`).FindAllStringSubmatch(string(sheet), -1) {
		f := face{family: property(m[1], "font-family"), weight: property(m[1], "font-weight")}
		if strings.Contains(m[1], "font-style: italic") {
			f.style = "italic"
		}
		f.file = strings.TrimSuffix(strings.TrimPrefix(property(m[1], "src"), `url("`), `")`)
		for _, r := range strings.Split(property(m[1], "unicode-range"), ",") {
			var x [2]rune
			if n, _ := fmt.Sscanf(strings.TrimSpace(r), "U+%x-%x", &x[0], &x[1]); n == 1 {
				x[1] = x[0]
			}
			f.ranges = append(f.ranges, x)
		}
		i := slices.IndexFunc(fonts, func(a assets.Font) bool { return a.Name == f.file })
		if i < 0 {
			t.Fatalf("the style sheet asks for %s", f.file)
		}
		if f.font, err = sfnt.Parse(plain(t, fonts[i].Data)); err != nil {
			t.Fatal(f.file, err)
		}
		out = append(out, f)
	}
	if len(out) != len(fonts) {
		t.Fatalf("%d fonts, the style sheet asks for %d", len(fonts), len(out))
	}
	return out
}

// plain unpacks a WOFF 1.0 file (W3C Recommendation, 13 December 2012).
func plain(t *testing.T, b []byte) []byte {
	t.Helper()
	if !bytes.HasPrefix(b, []byte("wOFF")) {
		return b
	}
	n := int(binary.BigEndian.Uint16(b[12:]))
	head := slices.Concat(b[4:8], b[12:14], make([]byte, 6))
	var body []byte
	for i := range n {
		e := b[44+20*i:]
		at, packed, size := binary.BigEndian.Uint32(e[4:]), binary.BigEndian.Uint32(e[8:]), binary.BigEndian.Uint32(e[12:])
		data := b[at : at+packed]
		if packed < size {
			r, err := zlib.NewReader(bytes.NewReader(data))
			if err != nil {
				t.Fatal(err)
			}
			if data, err = io.ReadAll(r); err != nil || len(data) != int(size) {
				t.Fatal(len(data), size, err)
			}
		}
		head = slices.Concat(head, e[:4], e[16:20])
		head = binary.BigEndian.AppendUint32(head, uint32(12+16*n+len(body)))
		head = binary.BigEndian.AppendUint32(head, size)
		body = append(body, data...)
		body = append(body, make([]byte, -len(body)&3)...)
	}
	return slices.Concat(head, body)
}

// styles are the ways in which the style sheet sets words.
var styles = []struct{ weight, style string }{{"400", ""}, {"400", "italic"}, {"600", ""}}

// lacking returns the characters of a text for which a page would fall back on
// a font of the machine, in some style.
func lacking(faces []face, text string) []string {
	var out []string
	for _, r := range doubled.Replace(text) {
		for _, s := range styles {
			ok := unicode.IsControl(r) || slices.ContainsFunc(faces, func(f face) bool {
				return (f.weight == s.weight && f.style == s.style || f.weight == "100 900") && f.has(r)
			})
			if c := fmt.Sprintf("%q U+%04X", r, r); !ok && !slices.Contains(out, c) {
				out = append(out, c)
			}
		}
	}
	return out
}

// The fonts of the site have every character that the site prints of itself,
// and what composers of the Latin alphabet are called.
func TestFontsHave(t *testing.T) {
	faces := facesOf(t)
	if got := lacking(faces, "а七"); len(got) != 2 {
		t.Errorf("of two letters that no font here has, %v are missed", got)
	}
	names := "Dvořák Händel Saint-Saëns Fauré Chopin Łódź Bartók Kodály Janáček Ævar Grønland Sjöberg Ångström Șerban Ğül Ñandú Õie Þór Œuvre Straße Đuro ’ ‘ “ ” – — … † © ½ ¼ ¾ ⅓ ⅔ ° ø ♭ ♮ ♯ Δ △"
	if got := lacking(faces, names); len(got) > 0 {
		t.Errorf("names lack %v", got)
	}
	for _, id := range words.Languages() {
		if got := lacking(faces, string(words.Must(id).Source())); len(got) > 0 {
			t.Errorf("%s: the messages lack %v", id, got)
		}
	}
	for _, root := range []fs.FS{tmplFiles, staticFiles} {
		err := fs.WalkDir(root, ".", func(p string, e fs.DirEntry, err error) error {
			if err != nil || e.IsDir() {
				return err
			}
			b, err := fs.ReadFile(root, p)
			if got := lacking(faces, string(b)); len(got) > 0 {
				t.Errorf("%s prints %v", p, got)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// LessonLacks is for the tests outside the package, which can arrange a tune.
func LessonLacks(t *testing.T, in Input) []string {
	var text strings.Builder
	for _, e := range in.Editions {
		b, err := json.Marshal(e.Lesson)
		if err != nil {
			t.Fatal(err)
		}
		text.Write(b)
	}
	return lacking(facesOf(t), text.String())
}
