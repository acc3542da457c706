package pack

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/perform"
	"gradatim/internal/scoretest"
	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// english is a site that has its words and nothing else.
var english = &site{words: words.Must("en")}

func TestBeats(t *testing.T) {
	four := score.Score{Bars: []score.Bar{{Dur: theory.Whole, Meter: leadsheet.Meter{Beats: 4, Unit: 4}}}}
	six := score.Score{Bars: []score.Bar{{Dur: theory.Quarter * 3, Meter: leadsheet.Meter{Beats: 6, Unit: 8}}}}
	for _, tt := range []struct {
		s    score.Score
		d    theory.Dur
		want string
	}{
		{four, theory.Whole, "4"}, {four, theory.Quarter * 3 / 2, "1½"}, {four, theory.Eighth, "½"}, {four, theory.Eighth * 2 / 3, "⅓"},
		{four, theory.Sixteenth, "¼"}, {four, theory.Quarter / 5, "1/5"}, {four, theory.Quarter + theory.Quarter/5, "1 1/5"},
		{six, theory.Quarter * 3 / 2, "1"}, {six, theory.Eighth, "⅓"}, {six, theory.Quarter, "⅔"},
	} {
		if got := beats(tt.d, tt.s, 0); got != tt.want {
			t.Errorf("%d in %s: %q, not %q", tt.d, tt.s.Bars[0].Meter, got, tt.want)
		}
	}
}

// Terms are linked where a page has them first, but in no heading, link or picture, and not
// where the word is a number or may mean something else.
func TestLinks(t *testing.T) {
	l := linker{glossary: teach.Glossary(words.Must("en")), page: "w.html", own: []string{"Stride"}, homonyms: []string{"second"}}
	in := `<body><h2>The root</h2><p>9 &amp; 13: the <em>root</em>, a second, stride; the root</p><a href="#">root</a></body>`
	want := `<body><h2>The root</h2><p>9 &amp; 13: the <em><a class="term" href="w.html#term-root">root</a></em>, a second, stride; the root</p><a href="#">root</a></body>`
	if got := l.link(in); got != want {
		t.Errorf("%s", got)
	}
}

func TestNames(t *testing.T) {
	for in, want := range map[string]string{"B♭ major": "b-flat-major", "F♯ minor": "f-sharp-minor", "C major": "c-major"} {
		if got := slug(in); got != want {
			t.Errorf("%s: %s", in, got)
		}
	}
}

// What slim leaves out draws nothing: shapes, names and turned groups stay, in their order.
func TestSlim(t *testing.T) {
	in := `<g class="system"><g class="staff">
<g id="w-a" class="note">
<g class="stem">
<path d="M1 1L2 2" fill="none" stroke="currentColor" stroke-width="18"/>
</g>
<g class="accid"/>
</g>
<g class="tempo" transform="translate(1 2)">
<text>a</text>
</g></g></g>`
	want := `<g id="w-a" class="note">
<path d="M1 1L2 2" class="s" stroke-width="18"/>
</g>
<g class="tempo" transform="translate(1 2)">
<text>a</text>
</g>`
	if got := slim(in); got != want {
		t.Errorf("%s", got)
	}
}

func TestSystems(t *testing.T) {
	body := `<g>
<g class="system" transform="x">
<g id="a"/>
<g><path d="M0 0"/></g>
</g>
<g class="system">
<g><g id="b"/></g>
</g>
<g class="foot"></g>
</g>`
	got := systems(body)
	if len(got) != 2 || !strings.Contains(got[0], `id="a"`) || strings.Contains(got[0], `id="b"`) || !strings.HasSuffix(got[1], "</g>\n</g>") || strings.Contains(got[1], "foot") {
		t.Errorf("%q", got)
	}
}

func TestGlyphsAreShared(t *testing.T) {
	g := newGlyphs()
	one := g.take([]byte(`<svg><defs>` + "\n" + `<path id="p-head" d="M1 1Z"/>` + "\n" + `</defs><use href="#p-head" fill="currentColor"/></svg>`))
	two := g.take([]byte(`<svg><defs><path id="q-x" d="M2 2Z"/><path id="q-head" d="M1 1Z"/></defs><use href="#q-head"/><use href="#q-x" fill="none"/></svg>`))
	if one != `<use href="#g1"/>` || two != `<use href="#g1"/><use href="#g2" fill="none"/>` {
		t.Errorf("%s and %s", one, two)
	}
	if n := strings.Count(string(g.svg()), "<path"); n != 2 {
		t.Errorf("%d shapes", n)
	}
}

// All keyboards of one kind on a page have keys of one width: a picture's share of
// its card is in proportion to its own width.
func TestKeysOfOneWidth(t *testing.T) {
	key := func(midi ...int) (out []teach.Key) {
		for _, m := range midi {
			out = append(out, teach.Key{MIDI: m, Degree: "♭13"})
		}
		return out
	}
	cards := []teach.ChordCard{{Symbol: "C", Keys: key(48, 52, 55)}, {Symbol: "F13", Keys: key(41, 51, 57, 74)}, {Symbol: "N.C."}}
	views, err := english.chordCards(newGlyphs(), cards)
	if err != nil {
		t.Fatal(err)
	}
	var scale []float64
	widest := 0.0
	for _, v := range views[:2] {
		svg := string(v.Keyboard.SVG)
		_, box, _ := strings.Cut(svg, `viewBox="`)
		_, style, _ := strings.Cut(svg, "--part:")
		var x, y, w, h, part float64
		if _, err := fmt.Sscanf(box, "%f %f %f %f", &x, &y, &w, &h); err != nil {
			t.Fatal(svg[:200], err)
		}
		if _, err := fmt.Sscanf(style, "%f", &part); err != nil {
			t.Fatal(svg[:200], err)
		}
		scale = append(scale, part/w)
		widest = max(widest, part)
	}
	if r := scale[0] / scale[1]; r < 0.999 || r > 1.001 || widest != 1 {
		t.Errorf("scales %v, the widest takes %g of its card", scale, widest)
	}
	if views[2].Keyboard.SVG != "" {
		t.Error("a chord without keys has a picture")
	}
}

// TestDigest: no two lists of pieces have one hash because their joined text is
// the same.
func TestDigest(t *testing.T) {
	sum := func(pieces ...string) string {
		var d digest
		for _, p := range pieces {
			d.text(p)
		}
		return d.sum()
	}
	seen := map[string]bool{}
	for _, s := range []string{sum("ab", "c"), sum("a", "bc"), sum("abc"), sum("abc", ""), sum("", "abc"), sum()} {
		if seen[s] {
			t.Error("two lists hash alike")
		}
		seen[s] = true
	}
}

var stair = `meter 4/4
key G
pickup 1/4
tempo 100
R1 D4:1/4 B4:1/2*f4 A4:1/4 F#4:1/4
L1 r:1/4 G3:1/2*f5 <F#3+C4>:1/2
chord 0 G
chord 3/4 D7`

func TestTable(t *testing.T) {
	s := scoretest.MustParse(stair)
	rows := english.barTable(s)
	n := 0
	for _, b := range rows {
		for _, r := range b.Rows {
			for _, text := range []string{r.Right, r.Left} {
				if text != "" {
					n += strings.Count(text, ",") + 1
				}
			}
		}
	}
	if n != len(s.Notes) {
		t.Errorf("%d notes in the table, %d in the score", n, len(s.Notes))
	}
	data, err := english.player(s, "quarter", nil, names{stem: "level-1"})
	if err != nil {
		t.Fatal(err)
	}
	if len(data.Notes) != len(s.Notes) || len(data.Bars) != len(s.Bars) || len(data.Timings) != 1 {
		t.Errorf("%+v", data)
	}
	played, err := perform.Perform(s, perform.Options{CountIn: CountIn})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := data.Timings[0].Start, millis(played.Timing.Start); got != want {
		t.Errorf("the music begins at %g, not %g", got, want)
	}
}
