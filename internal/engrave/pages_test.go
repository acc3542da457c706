package engrave

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gradatim/internal/engrave/vector"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

func tool(t testing.TB, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(sharedtest.Tool(t, name), args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}

// layouts are all that a user can ask for, more or less.
var layouts = map[string]Layout{
	"A4":              {},
	"letter":          {Paper: Letter, Title: Title{Subtitle: "Level 3, early intermediate", Arranger: "arranged for the tests", Tempo: "Medium swing ♩ = 132"}},
	"tablet":          {Paper: Tablet},
	"degrees":         {Degrees: true},
	"tablet, degrees": {Paper: Tablet, Degrees: true},
	"large print":     {LargePrint: true},
	"airy":            {Density: Airy, StaffHeight: 8, HideFingers: true},
	"dense":           {Density: Dense, StaffHeight: 6, HideChords: true},
}

// The study comes out in every layout with nothing colliding, a box for every
// note, and every symbol in order.
func TestLayouts(t *testing.T) {
	for name, l := range layouts {
		t.Run(name, func(t *testing.T) {
			d := pages(t, study(34), l)
			for _, c := range d.collisions() {
				t.Error(c)
			}
			if len(d.Warnings) > 0 {
				t.Error(d.Warnings)
			}
			for i := range 34 * 10 {
				id := fmt.Sprintf("n%d", i+1)
				b, ok := d.Boxes[id]
				if !ok {
					t.Fatalf("no box for note %s", id)
				}
				head := l.StaffHeight
				if head == 0 {
					head = map[bool]float64{false: 7, true: 9.5}[l.LargePrint]
				}
				// A notehead is about as high as a space.
				if b.H < 0.8*head/4 || b.H > 1.3*head/4 || b.Page < 0 || b.Page >= d.Pages() {
					t.Errorf("note %s: %+v", id, b)
				}
			}
			for i := range 34 {
				if _, ok := d.Boxes[fmt.Sprintf("m%d", i+1)]; !ok {
					t.Errorf("no box for bar %d", i+1)
				}
			}
			want := studySymbols(34)
			if l.HideChords {
				want = nil
			}
			var got []string
			for _, ts := range d.things() {
				for _, x := range ts {
					if x.kind == "chord symbol" {
						got = append(got, x.text)
					}
				}
			}
			if !slices.Equal(got, want) || len(d.Chords) != len(want) {
				t.Errorf("chord symbols %v, want %v", got, want)
			}
		})
	}
}

// The test above can fail: what is moved is found.
func TestCollisionsAreFound(t *testing.T) {
	for class, want := range map[string]string{"fing": `fing "`, "harm": `chord symbol "`, "tempo": `tempo "`, "title-block": "title-block"} {
		d := pages(t, study(34), Layout{})
		for _, p := range d.pages {
			vector.Walk(&p.Root, vector.Identity, func(n vector.Node, m vector.Matrix) bool {
				if g, ok := n.(*vector.Group); ok && hasWord(g.Class, class) {
					g.At = vector.Translate(0, 4/m.Size()).Mul(g.Matrix())
					if class == "title-block" {
						g.At = vector.Translate(0, 15)
					}
				}
				return true
			})
		}
		if got := strings.Join(d.collisions(), "\n"); !strings.Contains(got, want) {
			t.Errorf("%s moved: found only %q", class, got)
		}
	}
}

// Four bars a system where they fit, phrases at the left, no stray system.
func TestMusicalSense(t *testing.T) {
	d := pages(t, study(32), Layout{})
	rows := map[string][]string{} // y of a bar → bars
	for i := range 32 {
		b := d.Boxes[fmt.Sprintf("m%d", i+1)]
		key := fmt.Sprintf("%d %.0f", b.Page, b.Y)
		rows[key] = append(rows[key], fmt.Sprint(i+1))
	}
	for _, bars := range rows {
		if len(bars) != 4 || bars[0] != "1" && bars[0] != "5" && bars[0] != "9" && bars[0] != "13" && bars[0] != "17" && bars[0] != "21" && bars[0] != "25" && bars[0] != "29" {
			t.Errorf("a system of bars %v", bars)
		}
	}
	for bars := 1; bars <= 60; bars += 7 {
		for _, l := range []Layout{{}, {Paper: Tablet}} {
			d := pages(t, study(bars), l)
			perPage := map[int]map[string]bool{}
			for i := range bars {
				b := d.Boxes[fmt.Sprintf("m%d", i+1)]
				if perPage[b.Page] == nil {
					perPage[b.Page] = map[string]bool{}
				}
				perPage[b.Page][fmt.Sprintf("%.0f", b.Y)] = true
			}
			if n := len(perPage[d.Pages()-1]); n < 2 && d.Pages() > 1 {
				t.Errorf("%d bars: the last page has one system", bars)
			}
			if l.Paper != Tablet && d.sparse() {
				t.Errorf("%d bars: the last page is nearly empty", bars)
			}
		}
	}
}

// Staves give way for pages: smaller, and lines fuller, where a second page would be half
// empty; larger where there is room; from 5.9 mm to 8, what piano music is commonly printed in
// (common practice, no source). What has to be full pages stays as it is.
func TestFilledPages(t *testing.T) {
	for _, tt := range []struct {
		bars, fixed, pages int
		size               string // of the staves, beside 7 mm
	}{
		{8, 1, 1, "larger"}, {14, 1, 1, "larger"}, {20, 1, 1, "same"}, {22, 2, 1, "smaller"}, {26, 2, 1, "smaller"}, {30, 2, 2, "larger"}, {40, 2, 2, "same"},
	} {
		fixed, d := pages(t, study(tt.bars), Layout{StaffHeight: 7}), pages(t, study(tt.bars), Layout{})
		h, size := d.layout.StaffHeight, "same"
		if h < 7 {
			size = "smaller"
		} else if h > 7 {
			size = "larger"
		}
		if fixed.Pages() != tt.fixed || d.Pages() != tt.pages || size != tt.size || h < 5.87 || h > 8 {
			t.Errorf("%d bars: %d pages, at 7 mm %d; staves of %.2f mm (%s), want %+v", tt.bars, d.Pages(), fixed.Pages(), h, size, tt)
		}
		if size == "larger" && !slices.Equal(d.begins, fixed.begins) {
			t.Errorf("%d bars: larger staves with other systems: %v, %v", tt.bars, d.begins, fixed.begins)
		}
		if d := pages(t, study(tt.bars), Layout{HideFoot: true}); d.layout.StaffHeight > 7 {
			t.Errorf("%d bars: a picture with staves of %.2f mm", tt.bars, d.layout.StaffHeight)
		}
	}
}

func TestSVG(t *testing.T) {
	d := pages(t, study(34), Layout{Title: Title{Title: `Fish & <Chips> "fried"`}})
	for p := range d.Pages() {
		b := d.SVG(p)
		ids := map[string]bool{}
		dec := xml.NewDecoder(bytes.NewReader(b))
		texts := ""
		for {
			tok, err := dec.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("page %d: %v", p+1, err)
			}
			switch tok := tok.(type) {
			case xml.StartElement:
				for _, a := range tok.Attr {
					if a.Name.Local == "id" {
						if ids[a.Value] {
							t.Errorf("page %d: id %q twice", p+1, a.Value)
						}
						ids[a.Value] = true
					}
				}
			case xml.CharData:
				texts += string(tok)
			}
		}
		for _, want := range []string{fmt.Sprintf("page %d of %d", p+1, d.Pages()), "E♭7(♯9♭13)"} {
			if !strings.Contains(texts, want) {
				t.Errorf("page %d has no text %q", p+1, want)
			}
		}
	}
	first := string(d.SVG(0))
	for _, want := range []string{`<title id="v1-title">Fish &amp; &lt;Chips&gt; &quot;fried&quot;, page 1 of 2</title>`,
		"Sheet music for piano, bars 1 to", `id="n1"`, `id="m1"`, `viewBox="0 0 210 297"`} {
		if !strings.Contains(first, want) {
			t.Errorf("no %s", want)
		}
	}
	// Two scores in one document: with prefixes no id is in both.
	a, b := pages(t, study(2), Layout{IDPrefix: "one"}), pages(t, study(2), Layout{IDPrefix: "two"})
	for id := range idsOf(a.SVG(0)) {
		if idsOf(b.SVG(0))[id] {
			t.Errorf("id %q is in both", id)
		}
		if !strings.HasPrefix(id, "one") {
			t.Errorf("id %q has no prefix", id)
		}
	}
}

func idsOf(svg []byte) map[string]bool {
	out := map[string]bool{}
	for _, s := range strings.Split(string(svg), ` id="`)[1:] {
		id, _, _ := strings.Cut(s, `"`)
		out[id] = true
	}
	return out
}

func TestPDF(t *testing.T) {
	l := Layout{Title: Title{Subtitle: "Level 3, early intermediate", Arranger: "arranged for the tests"}}
	d := pages(t, study(34), l)
	b, err := d.PDF(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	engraver(t).forget()
	again, err := pages(t, study(34), l).PDF(context.Background())
	if err != nil || !bytes.Equal(b, again) {
		t.Error("not the same bytes twice")
	}
	file := filepath.Join(t.TempDir(), "study.pdf")
	if err := os.WriteFile(file, b, 0o644); err != nil {
		t.Fatal(err)
	}
	tool(t, "qpdf", "--check", file)
	for _, f := range strings.Split(strings.TrimSpace(tool(t, "pdffonts", file)), "\n")[2:] {
		if !strings.Contains(f, "yes yes yes") {
			t.Errorf("a font that is not an embedded subset with Unicode: %s", f)
		}
	}
	text := tool(t, "pdftotext", "-layout", file, "-")
	for _, want := range []string{"Stair Study", "Level 3, early intermediate", "written for the tests", "arranged for the tests", "Free to copy", "page 1 of 2", "page 2 of 2", "♩ = 132"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in the text", want)
		}
	}
	for _, s := range studySymbols(34) { // in order
		i := strings.Index(text, s)
		if i < 0 {
			t.Fatalf("no %s in the rest of the text", s)
		}
		text = text[i+len(s):]
	}
	info := tool(t, "pdfinfo", file)
	for _, want := range []string{"Stair Study, Level 3, early intermediate", "written for the tests", "Pages:           2", "(A4)"} {
		if !strings.Contains(info, want) {
			t.Errorf("no %q in\n%s", want, info)
		}
	}
	for _, img := range strings.Split(strings.TrimSpace(tool(t, "pdfimages", "-list", file)), "\n")[2:] {
		t.Errorf("not all vectors: %s", img)
	}
	outline := tool(t, "qpdf", "--json", "--json-key=outlines", file)
	for _, want := range []string{`"title": "Stair Study, Level 3, early intermediate"`, `"title": "A"`, `"title": "B"`, `"title": "C"`} {
		if !strings.Contains(outline, want) {
			t.Errorf("no %s in the outline", want)
		}
	}
	book, err := Book(context.Background(), BookMeta{Title: "Both"}, d, pages(t, small, Layout{Paper: Tablet, Title: Title{Title: "Small"}}))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, book, 0o644); err != nil {
		t.Fatal(err)
	}
	tool(t, "qpdf", "--check", file)
	if info := tool(t, "pdfinfo", "-l", "3", file); !strings.Contains(info, "Pages:           3") || !strings.Contains(info, "Page    3 size:  748.35") {
		t.Errorf("the book:\n%s", info)
	}
}

// A browser without any of our fonts shows the page as our painter does. Mean
// difference of greys: below one in two hundred; what is left are edges.
func TestBrowser(t *testing.T) {
	chromium := sharedtest.Tool(t, "chromium")
	d := pages(t, study(16), Layout{Degrees: true})
	dir := t.TempDir()
	const dpi = 144
	w, h := d.Size()
	px, py := int(math.Round(w*dpi/25.4)), int(math.Round(h*dpi/25.4))
	html := fmt.Sprintf(`<!DOCTYPE html><title>x</title><style>body{margin:0;background:#fff}svg{display:block;width:%dpx;height:%dpx}</style>%s`, px, py, d.SVG(0))
	if err := os.WriteFile(filepath.Join(dir, "page.html"), []byte(html), 0o644); err != nil {
		t.Fatal(err)
	}
	shot := filepath.Join(dir, "shot.png")
	ctx, cancel := context.WithTimeout(context.Background(), 90*time.Second)
	defer cancel()
	out, err := exec.CommandContext(ctx, chromium, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
		"--user-data-dir="+filepath.Join(dir, "profile"), fmt.Sprintf("--window-size=%d,%d", px, py),
		"--screenshot="+shot, "file://"+filepath.Join(dir, "page.html")).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	f, err := os.Open(shot)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	theirs, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	b, err := d.PNG(0, dpi)
	if err != nil {
		t.Fatal(err)
	}
	ours, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	mean, ink := compare(ours, theirs)
	t.Logf("mean difference %.5f; ink ours %.5f, theirs %.5f", mean, ink[0], ink[1])
	if mean > 0.005 || math.Abs(ink[0]-ink[1]) > 0.05*ink[1] || ink[1] < 0.01 {
		t.Error("the pictures differ")
	}
}

// compare returns the mean difference of two pictures' greys and how black each
// is, on the part that both have.
func compare(a, b image.Image) (mean float64, ink [2]float64) {
	w, h := min(a.Bounds().Dx(), b.Bounds().Dx()), min(a.Bounds().Dy(), b.Bounds().Dy())
	grey := func(img image.Image, x, y int) float64 {
		r, g, b, _ := img.At(img.Bounds().Min.X+x, img.Bounds().Min.Y+y).RGBA()
		return float64(r+g+b) / (3 * 0xffff)
	}
	for y := range h {
		for x := range w {
			p, q := grey(a, x, y), grey(b, x, y)
			mean += math.Abs(p - q)
			ink[0] += 1 - p
			ink[1] += 1 - q
		}
	}
	n := float64(w * h)
	return mean / n, [2]float64{ink[0] / n, ink[1] / n}
}

// Limits: a time, a cancelled context, and the next score works.
func TestLimits(t *testing.T) {
	long := study(400)
	fast, err := New(Config{Timeout: 50 * time.Millisecond})
	if err != nil {
		engraver(t) // skips where there is no library
		t.Fatal(err)
	}
	defer fast.Close()
	var ps leadsheet.Problems
	if _, err := fast.Pages(context.Background(), []byte(long), Layout{}); !errors.As(err, &ps) || ps[0].Code != "engrave-time" {
		t.Errorf("got %v, want engrave-time", err)
	}
	g := engraver(t)
	ctx, cancel := context.WithTimeout(context.Background(), 100*time.Millisecond)
	defer cancel()
	start := time.Now()
	if _, err := g.Pages(ctx, []byte(long), Layout{}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v, want the context's error", err)
	}
	if el := time.Since(start); el > 3*time.Second {
		t.Errorf("cancelled after 100 ms, returned after %s", el)
	}
	pages(t, small, Layout{})
	many := strings.Repeat(`<measure number="1"/>`, maxBars+1)
	if _, err := g.Pages(context.Background(), []byte(`<score-partwise><part id="P1">`+many+`</part></score-partwise>`), Layout{}); !errors.As(err, &ps) || ps[0].Code != "musicxml-size" {
		t.Errorf("too many bars: %v", err)
	}
}

func TestManyAtOnce(t *testing.T) {
	want, err := pages(t, study(8), Layout{}).PDF(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for i := range 4 {
		wg.Go(func() {
			for range 2 {
				d, err := engraver(t).Pages(context.Background(), []byte(study(8)), Layout{})
				if err != nil {
					t.Error(err)
					return
				}
				if got, err := d.PDF(context.Background()); err != nil || !bytes.Equal(got, want) {
					t.Errorf("goroutine %d: other bytes (%v)", i, err)
				}
			}
		})
	}
	wg.Wait()
}

func ExampleEngraver_Pages() {
	g, err := New(Config{})
	if err != nil {
		fmt.Println("2 bars on 1 page") // built without the library
		return
	}
	defer g.Close()
	d, err := g.Pages(context.Background(), []byte(small), Layout{Paper: Letter, Degrees: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d bars on %d page\n", 2, d.Pages())
	// Output: 2 bars on 1 page
}
