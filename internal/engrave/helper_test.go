package engrave

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"gradatim/internal/sharedtest"
)

// shared is one engraver for all tests of the package: compiling it is what
// takes long.
var shared = sync.OnceValues(func() (*Engraver, error) { return New(Config{}) })

func engraver(t testing.TB) *Engraver {
	t.Helper()
	g, err := shared()
	if err != nil {
		sharedtest.Absent(t, err.Error())
	}
	return g
}

// forget lets the library draw everything anew.
func (g *Engraver) forget() {
	g.drawn.mu.Lock()
	defer g.drawn.mu.Unlock()
	clear(g.drawn.byKey)
	g.drawn.order.Init()
	g.drawn.bytes = 0
}

func pages(t testing.TB, musicxml string, l Layout) *Document {
	t.Helper()
	d, err := engraver(t).Pages(context.Background(), []byte(musicxml), l)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// corpus returns the files of a pattern below the shared folder, in order.
func corpus(t testing.TB, folder, pattern string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(sharedtest.Path(t, folder), pattern))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s/%s: no files (%v)", folder, pattern, err)
	}
	slices.Sort(files)
	return files
}

// study writes a score of our own with many bars: a right hand in quarters and
// eighths with fingerings, a left hand in tenths, two chord symbols a bar.
func study(bars int) string {
	type chord struct {
		step  string
		alter int
		kind  string
		text  string
		more  string
	}
	degree := func(value, alter string) string {
		return `<degree print-object="no"><degree-value>` + value + `</degree-value><degree-alter>` + alter + `</degree-alter><degree-type>add</degree-type></degree>`
	}
	chords := []chord{
		{"C", 0, "major-seventh", "maj7", ""},
		{"A", 0, "dominant", "7(♭9)", degree("9", "-1")},
		{"D", 0, "minor-seventh", "m7", ""},
		{"G", 0, "dominant-13th", "13", ""},
		{"B", -1, "dominant", "7", `<bass><bass-step>D</bass-step></bass>`},
		{"F", 1, "half-diminished", "ø7", ""},
		{"G", 0, "suspended-fourth", "7sus4", ""},
		{"E", -1, "dominant", "7(♯9♭13)", degree("9", "1") + degree("13", "-1")},
	}
	var b strings.Builder
	id := 0
	note := func(chord bool, step string, alter, octave, dur int, typ string, staff, finger int, beam string) {
		id++
		fmt.Fprintf(&b, `<note id="n%d">`, id)
		if chord {
			b.WriteString(`<chord/>`)
		}
		fmt.Fprintf(&b, `<pitch><step>%s</step><alter>%d</alter><octave>%d</octave></pitch><duration>%d</duration><voice>%d</voice><type>%s</type>`,
			step, alter, octave, dur, 2*staff-1, typ)
		if alter != 0 {
			fmt.Fprintf(&b, `<accidental>%s</accidental>`, map[int]string{1: "sharp", -1: "flat"}[alter])
		}
		fmt.Fprintf(&b, `<staff>%d</staff>`, staff)
		if beam != "" {
			fmt.Fprintf(&b, `<beam number="1">%s</beam>`, beam)
		}
		if finger > 0 {
			fmt.Fprintf(&b, `<notations><technical><fingering>%d</fingering></technical></notations>`, finger)
		}
		b.WriteString(`</note>`)
	}
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><work><work-title>Stair Study</work-title></work>` +
		`<identification><creator type="composer">written for the tests</creator><rights>Free to copy</rights></identification>` +
		`<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">`)
	for m := range bars {
		fmt.Fprintf(&b, `<measure number="%d" id="m%d">`, m+1, m+1)
		if m > 0 && m%4 == 0 {
			b.WriteString(`<print new-system="yes"/>`)
		}
		if m == 0 {
			b.WriteString(`<attributes><divisions>4</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves>` +
				`<clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef></attributes>` +
				`<direction placement="above"><direction-type><words font-weight="bold">Swing </words></direction-type>` +
				`<direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>132</per-minute></metronome></direction-type><staff>1</staff><sound tempo="132"/></direction>`)
		}
		if m%16 == 0 {
			fmt.Fprintf(&b, `<direction placement="above"><direction-type><rehearsal>%c</rehearsal></direction-type><staff>1</staff></direction>`, 'A'+m/16%26)
		}
		for h := range 2 {
			c := chords[(m*2+h)%len(chords)]
			fmt.Fprintf(&b, `<harmony print-frame="no"><root><root-step>%s</root-step><root-alter>%d</root-alter></root><kind text="%s">%s</kind>`, c.step, c.alter, c.text, c.kind)
			more := c.more // the bass goes before the degrees
			b.WriteString(more)
			b.WriteString(`<staff>1</staff></harmony>`)
			note(false, []string{"G", "E", "A", "C", "F", "D"}[(m+h)%6], 0, 4+m%2, 4, "quarter", 1, 1+(m+h)%5, "")
			note(false, "E", -1, 5, 2, "eighth", 1, 3, "begin")
			note(false, "D", 0, 5, 2, "eighth", 1, 2, "end")
		}
		b.WriteString(`<backup><duration>16</duration></backup>`)
		for h := range 2 {
			c := chords[(m*2+h)%len(chords)]
			note(false, c.step, c.alter, 3, 8, "half", 2, 5, "")
			note(true, "E", 0, 4, 8, "half", 2, 0, "")
		}
		if m == bars-1 {
			b.WriteString(`<barline location="right"><bar-style>light-heavy</bar-style></barline>`)
		}
		b.WriteString(`</measure>`)
	}
	b.WriteString(`</part></score-partwise>`)
	return b.String()
}

// studySymbols are the chord symbols of a study as they are printed and read.
func studySymbols(bars int) []string {
	var out []string
	names := []string{"Cmaj7", "A7(♭9)", "Dm7", "G13", "B♭7/D", "F♯ø7", "G7sus4", "E♭7(♯9♭13)"}
	for i := range 2 * bars {
		out = append(out, names[i%len(names)])
	}
	return out
}

func readFile(t testing.TB, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
