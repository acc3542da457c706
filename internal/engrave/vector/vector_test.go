package vector

import (
	"bytes"
	"context"
	"encoding/xml"
	"flag"
	"image"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

var update = flag.Bool("update", false, "write golden files anew")

func near(a, b float64) bool { return math.Abs(a-b) < 1e-6 }

var pathData = []struct {
	in, want string
	bounds   Rect
}{
	{"M10 20L30 40", "M10 20L30 40", Rect{10, 20, 30, 40}},
	{"m10,20 30,40z", "M10 20L40 60Z", Rect{10, 20, 40, 60}},
	{"M0 0h10v-5H2V3", "M0 0L10 0L10 -5L2 -5L2 3", Rect{0, -5, 10, 3}},
	{"M0 0c0 10 10 10 10 0", "M0 0C0 10 10 10 10 0", Rect{0, 0, 10, 7.5}},
	{"M0 0c0 10 10 10 10 0s10 -10 10 0", "M0 0C0 10 10 10 10 0C10 -10 20 -10 20 0", Rect{0, -7.5, 20, 7.5}},
	{"M0 0q5 10 10 0", "M0 0C3.333 6.667 6.667 6.667 10 0", Rect{0, 0, 10, 5}},
	{"M0 0q5 10 10 0t10 0", "M0 0C3.333 6.667 6.667 6.667 10 0C13.333 -6.667 16.667 -6.667 20 0", Rect{0, -5, 20, 5}},
	{"M1.5-2.5.5.5", "M1.5 -2.5L0.5 0.5", Rect{0.5, -2.5, 1.5, 0.5}},
	{"M1e1 2E-1L3 4", "M10 0.2L3 4", Rect{3, 0.2, 10, 4}},
	{"", "", EmptyRect()},
}

func TestParsePath(t *testing.T) {
	for _, tt := range pathData {
		p, err := ParsePath(tt.in)
		if err != nil {
			t.Errorf("%q: %v", tt.in, err)
			continue
		}
		if got := svgPath(p); got != tt.want {
			t.Errorf("%q: got %q, want %q", tt.in, got, tt.want)
		}
		b := p.Bounds()
		if b.Empty() != tt.bounds.Empty() || !b.Empty() && !(near(b.X0, tt.bounds.X0) && near(b.Y0, tt.bounds.Y0) && near(b.X1, tt.bounds.X1) && near(b.Y1, tt.bounds.Y1)) {
			t.Errorf("%q: bounds %v, want %v", tt.in, b, tt.bounds)
		}
	}
	for _, bad := range []string{"10 20", "M1", "M1 x", "M1 2Z3 4", "M1 2A1 1 0 0 0 3 4", "M1 2L3 1e999", "M0 0 L"} {
		if _, err := ParsePath(bad); err == nil {
			t.Errorf("%q: no error", bad)
		}
	}
}

// What the writer writes is read back as the same path.
func FuzzPath(f *testing.F) {
	for _, tt := range pathData {
		f.Add(tt.in)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := ParsePath(s)
		if err != nil {
			return
		}
		once := svgPath(p)
		q, err := ParsePath(once)
		if err != nil {
			t.Fatalf("%q became %q: %v", s, once, err)
		}
		if twice := svgPath(q); twice != once {
			t.Fatalf("%q became %q, then %q", s, once, twice)
		}
		p.Bounds()
		p.flatten(0.1)
	})
}

// Flattened curves stay within the tolerance of the curve.
func TestFlatten(t *testing.T) {
	p := &Path{}
	p.Ellipse(0, 0, 100, 100)
	for _, tol := range []float64{1, 0.1, 0.01} {
		chains, closed := p.flatten(tol)
		if len(chains) != 1 || !closed[0] {
			t.Fatalf("%d chains", len(chains))
		}
		for i, a := range chains[0] {
			b := chains[0][(i+1)%len(chains[0])]
			if d := 100 - math.Hypot((a.X+b.X)/2, (a.Y+b.Y)/2); d > tol+0.03 { // the circle itself is 0.03 off
				t.Errorf("tolerance %g: a chord leaves the circle by %g", tol, d)
			}
		}
	}
}

func TestMatrix(t *testing.T) {
	m := Translate(5, 7).Mul(Rotate(90)).Mul(Scale(2, 2))
	p := m.On(Point{1, 0})
	if !near(p.X, 5) || !near(p.Y, 9) || !near(m.Size(), 2) {
		t.Errorf("got %v, size %g", p, m.Size())
	}
	if b := m.Box(Rect{0, 0, 1, 3}); !near(b.X0, -1) || !near(b.Y0, 7) || !near(b.X1, 5) || !near(b.Y1, 9) {
		t.Errorf("box %v", b)
	}
	if !m.Box(EmptyRect()).Empty() {
		t.Error("the image of nothing is something")
	}
}

// ink measures how much of a picture is black, in pixels.
func ink(img image.Image) float64 {
	sum := 0.0
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			r, _, _, _ := img.At(x, y).RGBA()
			sum += 1 - float64(r)/0xffff
		}
	}
	return sum
}

// The area of a painted line is what geometry says.
func TestStrokeArea(t *testing.T) {
	line := func(d string) *Path { p, _ := ParsePath(d); return p }
	tests := []struct {
		name string
		s    Shape
		want float64 // square mm
	}{
		{"butt", Shape{Path: line("M10 10L40 10"), Width: 2}, 60},
		{"square", Shape{Path: line("M10 10L40 10"), Width: 2, Cap: SquareCap}, 64},
		{"round", Shape{Path: line("M10 10L40 10"), Width: 2, Cap: RoundCap}, 60 + math.Pi},
		{"slanted", Shape{Path: line("M10 10L40 50"), Width: 3}, 150},
		{"mitre", Shape{Path: line("M10 40L40 40L40 10"), Width: 4}, 240},
		{"bevel", Shape{Path: line("M10 40L40 40L40 10"), Width: 4, Join: BevelJoin}, 238},
		{"round corner", Shape{Path: line("M10 40L40 40L40 10"), Width: 4, Join: RoundJoin}, 236 + math.Pi},
		{"closed", Shape{Path: line("M10 10L40 10L40 40L10 40Z"), Width: 2}, 240},
		{"dashes", Shape{Path: line("M10 10L40 10"), Width: 2, Dash: []float64{5, 5}}, 30},
		{"dot", Shape{Path: line("M10 10L10 10"), Width: 4, Cap: RoundCap}, 4 * math.Pi},
		{"nothing", Shape{Path: line("M10 10"), Width: 4}, 0},
		{"fill", Shape{Path: line("M10 10L40 10L40 40Z"), Fill: Ink}, 450},
		{"hole", Shape{Path: line("M10 10L40 10L40 40L10 40ZM20 20L20 30L30 30L30 20Z"), Fill: Ink}, 800},
	}
	const dpi = 254 // ten pixels in a millimetre
	for _, tt := range tests {
		if !tt.s.Fill.On {
			tt.s.Stroke = Ink
		}
		d := &Drawing{W: 60, H: 60, Root: Group{Kids: []Node{&tt.s}}}
		img, err := d.Image(dpi)
		if err != nil {
			t.Fatal(err)
		}
		if got := ink(img) / 100; math.Abs(got-tt.want) > 0.02*tt.want+0.05 {
			t.Errorf("%s: %.2f mm², want %.2f", tt.name, got, tt.want)
		}
	}
}

// Widths of Times, from the font's own metrics file of the Adobe core 14 set
// (from memory; the set's widths are public and the same in every Times clone).
func TestTextWidth(t *testing.T) {
	for s, want := range map[string]float64{"A": 0.722, "m": 0.778, " ": 0.25, "Am": 1.5, "123": 1.5, "C": 0.667, ".": 0.25} {
		x := Text{Spans: []Span{{Text: s, Size: 1}}}
		if got := x.Width(); math.Abs(got-want) > 0.001 {
			t.Errorf("%q is %.3f em wide, want %.3f", s, got, want)
		}
	}
	end := Text{X: 10, Anchor: End, Spans: []Span{{Text: "mm", Size: 2}}}
	if b := end.Bounds(Identity); b.X1 > 10.01 || b.X1 < 9.8 {
		t.Errorf("text that ends at 10 has ink to %.2f", b.X1)
	}
}

// sample has one of everything.
func sample() *Drawing {
	d := &Drawing{W: 100, H: 60, Title: "A sample & more", Description: "Shapes and <text>.", Lang: "en"}
	square := &Path{}
	square.Rectangle(5, 5, 20, 10)
	tri, _ := ParsePath("M30 15L40 15L35 5Z")
	curve, _ := ParsePath("M45 15C50 0 60 0 65 15")
	note, _ := ParsePath("M0 -39c0 68 73 172 200 172c66 0 114 -37 114 -95c0 -84 -106 -171 -218 -171c-64 0 -96 30 -96 94z")
	g := NewGlyph("E0A4", note.Transform(Scale(1, -1)), 314)
	music := NewMusic("Notes", 1000, map[rune]float64{0xE0A4: 314}, func(code string) (*Path, error) {
		if code == "E0A4" {
			return g.Path, nil
		}
		return nil, io.EOF
	})
	d.Root.Add(
		&Shape{Path: square, Fill: RGB(200, 30, 30), Stroke: Ink, Width: 1},
		&Shape{Path: tri, Stroke: Ink, Width: 0.8, Join: RoundJoin},
		&Shape{Path: curve, Stroke: Ink, Width: 1, Cap: RoundCap, Dash: []float64{3, 2}},
		&Group{ID: "n1", Class: "note", At: Translate(75, 10), Kids: []Node{
			&Symbol{Glyph: g, At: Scale(0.02, 0.02), Fill: Ink}, &Symbol{Glyph: g, At: Translate(10, 0).Mul(Scale(0.02, 0.02)), Fill: Ink}}},
		&Text{X: 50, Y: 30, Anchor: Middle, Spans: []Span{{Text: "Plain & ", Size: 6, Fill: Ink}, {Text: "bold", Size: 6, Face: Bold, Fill: Ink}, {Text: " slanted", Size: 6, Face: Italic, Fill: Ink}}},
		&Text{X: 95, Y: 40, Anchor: End, Plain: "E♭7(♯9)", Outlined: true, Spans: []Span{{Text: "E♭7", Size: 6, Fill: Ink}, {Text: "(♯9)", Size: 4, Rise: 2, Fill: Ink}}},
		&Text{X: 5, Y: 50, Spans: []Span{{Text: "\uE0A4", Size: 12, Music: music, Fill: Ink}, {Text: " = 120 △", Size: 5, Fill: Ink}}},
	)
	return d
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs: run with -update and read the difference", file)
	}
}

func TestSVG(t *testing.T) {
	b := sample().SVG(SVGOptions{Prefix: "s"})
	golden(t, "sample.svg", b)
	ids := map[string]int{}
	d := xml.NewDecoder(bytes.NewReader(b))
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := tok.(xml.StartElement); ok {
			for _, a := range e.Attr {
				if a.Name.Local == "id" {
					ids[a.Value]++
				}
			}
		}
	}
	for id, n := range ids {
		if n > 1 {
			t.Errorf("id %q stands %d times", id, n)
		}
	}
	for _, bad := range []string{"<style", "font-face", "xlink", "http:/", "url("} {
		s := strings.ReplaceAll(string(b), `xmlns="http://www.w3.org/2000/svg"`, "")
		if strings.Contains(s, bad) {
			t.Errorf("not self-contained: %s", bad)
		}
	}
}

func TestPDF(t *testing.T) {
	meta := PDFMeta{Title: "Zwölf Stücke ♭", Author: "Nobody", Lang: "de", Bookmarks: []Bookmark{{Text: "Erstes Stück", Page: 0}, {Text: "A", Level: 1, Page: 1, Y: 20}}}
	b, err := PDF(context.Background(), []*Drawing{sample(), sample()}, meta)
	if err != nil {
		t.Fatal(err)
	}
	again, err := PDF(context.Background(), []*Drawing{sample(), sample()}, meta)
	if err != nil || !bytes.Equal(b, again) {
		t.Fatalf("not the same bytes twice (%v)", err)
	}
	file := filepath.Join(t.TempDir(), "sample.pdf")
	if err := os.WriteFile(file, b, 0o644); err != nil {
		t.Fatal(err)
	}
	run := func(name string, args ...string) string {
		t.Helper()
		out, err := exec.Command(sharedtest.Tool(t, name), args...).CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, out)
		}
		return string(out)
	}
	run("qpdf", "--check", file)
	text := run("pdftotext", "-layout", file, "-")
	for _, want := range []string{"Plain & bold slanted", "E♭7(♯9)", "= 120 △"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in the text:\n%s", want, text)
		}
	}
	fonts := strings.Split(strings.TrimSpace(run("pdffonts", file)), "\n")[2:]
	if len(fonts) != 3 {
		t.Errorf("%d fonts, want 3", len(fonts))
	}
	for _, f := range fonts {
		if !strings.Contains(f, "+LiberationSerif") || !strings.Contains(f, "yes yes yes") {
			t.Errorf("font is not an embedded subset with Unicode: %s", f)
		}
	}
	info := run("pdfinfo", file)
	for _, want := range []string{"Zwölf Stücke ♭", "Nobody", "Pages:           2", "283.46 x 170.08 pts"} {
		if !strings.Contains(info, want) {
			t.Errorf("no %q in\n%s", want, info)
		}
	}
	if outline := run("qpdf", "--json", file); !strings.Contains(outline, "Erstes Stück") {
		t.Error("the outline has no first piece")
	}
	if _, err := PDF(context.Background(), nil, PDFMeta{}); err == nil {
		t.Error("a file without pages: no error")
	}
}

// Our painter and poppler's agree on the PDF file of the same drawing.
func TestPNGAgainstPDF(t *testing.T) {
	b, err := PDF(context.Background(), []*Drawing{sample()}, PDFMeta{Title: "x"})
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "s.pdf"), b, 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(sharedtest.Tool(t, "pdftoppm"), "-r", "127", "-png", "-singlefile", filepath.Join(dir, "s.pdf"), filepath.Join(dir, "s")).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	f, err := os.Open(filepath.Join(dir, "s.png"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	theirs, _, err := image.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	ours, err := sample().Image(127)
	if err != nil {
		t.Fatal(err)
	}
	if d := difference(ours, theirs); d > 0.012 {
		t.Errorf("mean difference %.4f of full black", d)
	} else {
		t.Logf("mean difference %.4f of full black", d)
	}
}

// difference is the mean absolute difference of two pictures' greys, 0 to 1.
func difference(a, b image.Image) float64 {
	w, h := min(a.Bounds().Dx(), b.Bounds().Dx()), min(a.Bounds().Dy(), b.Bounds().Dy())
	grey := func(img image.Image, x, y int) float64 {
		r, g, b, _ := img.At(img.Bounds().Min.X+x, img.Bounds().Min.Y+y).RGBA()
		return float64(r+g+b) / (3 * 0xffff)
	}
	sum := 0.0
	for y := range h {
		for x := range w {
			sum += math.Abs(grey(a, x, y) - grey(b, x, y))
		}
	}
	return sum / float64(w*h)
}

func TestPNGLimits(t *testing.T) {
	d := &Drawing{W: 210, H: 297}
	for _, dpi := range []float64{0, -5, 1e9, 2401, math.NaN(), math.Inf(1)} {
		if _, err := d.PNG(dpi); err == nil {
			t.Errorf("%g dots per inch: no error", dpi)
		}
	}
	if _, err := (&Drawing{W: 2000, H: 2000}).PNG(2400); err == nil {
		t.Error("35 thousand million pixels: no error")
	}
	b, err := d.PNG(72)
	if err != nil {
		t.Fatal(err)
	}
	img, _, err := image.DecodeConfig(bytes.NewReader(b))
	if err != nil || img.Width != 595 || img.Height != 842 {
		t.Errorf("%d × %d pixels, want 595 × 842 (%v)", img.Width, img.Height, err)
	}
}

func TestReadSVG(t *testing.T) {
	page := func(body string) string {
		return `<svg viewBox="0 0 210 297"><defs><g id="E0A4-x"><path transform="scale(1,-1)" d="M0 0L100 100L0 100Z"/></g></defs>` +
			`<style type="text/css">#x g.fing, #x g.tempo {font-weight:bold;}#x g.dir {font-style:italic;}</style>` +
			`<svg class="definition-scale" color="black" viewBox="0 0 21000 29700">` + body + `</svg></svg>`
	}
	g, err := ReadSVG(page(`<g class="page-margin" transform="translate(10, 20)"><g id="n1" class="note"><use xlink:href="#E0A4-x" transform="translate(100, 200) scale(0.5, 0.5)"/></g></g>`), nil)
	if err != nil {
		t.Fatal(err)
	}
	if b := g.Bounds(Identity); b != (Rect{110, 170, 160, 220}) {
		t.Errorf("the note is at %v", b)
	}
	g, err = ReadSVG(page(`<g class="fing"><text x="5" y="6" text-anchor="middle" font-size="0px"><tspan class="text"><tspan font-size="300px">3 &amp; 4</tspan></tspan></text></g>`), nil)
	if err != nil {
		t.Fatal(err)
	}
	text := g.Kids[0].(*Group).Kids[0].(*Text)
	if text.Anchor != Middle || text.Spans[0].Text != "3 & 4" || text.Spans[0].Face != Bold || text.Spans[0].Size != 300 {
		t.Errorf("text %+v", text)
	}
	for _, bad := range []string{`<image/>`, `<use href="#none"/>`, `<g transform="skewX(3)"/>`, `<path d="M1 2A3 4"/>`, `<g>`, `</g>`} {
		if _, err := ReadSVG(page(bad), nil); err == nil {
			t.Errorf("%s: no error", bad)
		}
	}
	if _, err := ReadSVG("<svg/>", nil); err == nil {
		t.Error("no page: no error")
	}
}

func BenchmarkPNG(b *testing.B) {
	d := sample()
	for b.Loop() {
		if _, err := d.PNG(150); err != nil {
			b.Fatal(err)
		}
	}
}
