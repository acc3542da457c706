package engrave

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/engrave/vector"
)

// marked is a score of bars with rehearsal marks, symbols on the first beat and endings.
func marked(bars int, rehearsals map[int]string, endings map[int]string) string {
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1">`)
	for i := 1; i <= bars; i++ {
		fmt.Fprintf(&b, `<measure number="%d">`, i)
		if n := endings[i]; n != "" {
			fmt.Fprintf(&b, `<barline location="left"><ending number="%s" type="start"/></barline>`, n)
		}
		if i == 1 {
			b.WriteString(`<attributes><divisions>2</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`)
		}
		if m := rehearsals[i]; m != "" {
			fmt.Fprintf(&b, `<direction placement="above"><direction-type><rehearsal>%s</rehearsal></direction-type></direction>`, m)
		}
		b.WriteString(`<harmony><root><root-step>G</root-step></root><kind>major</kind></harmony>`)
		for k := range 8 {
			step, octave := "ABCDEFGA"[k:k+1], 5
			if i%3 == 0 {
				octave = 6 // high notes push what stands above them
			}
			fmt.Fprintf(&b, `<note><pitch><step>%s</step><octave>%d</octave></pitch><duration>1</duration><type>eighth</type></note>`, step, octave)
		}
		if n := endings[i]; n != "" {
			repeat := ""
			if n == "1" {
				repeat = `<repeat direction="backward"/>`
			}
			fmt.Fprintf(&b, `<barline location="right"><ending number="%s" type="stop"/>%s</barline>`, n, repeat)
		}
		b.WriteString(`</measure>`)
	}
	b.WriteString(`</part></score-partwise>`)
	return b.String()
}

// boxesOf returns the boxes of the groups of a class in a system.
func boxesOf(system *vector.Group, class string) (out []vector.Rect) {
	vector.Walk(system, vector.Identity, func(n vector.Node, m vector.Matrix) bool {
		g, ok := n.(*vector.Group)
		if !ok || !hasWord(g.Class, class) {
			return true
		}
		if b := g.Bounds(m); !b.Empty() {
			out = append(out, b)
		}
		return false
	})
	return out
}

// systemsOf returns the systems of a document.
func systemsOf(d *Document) (out []*vector.Group) {
	for _, p := range d.pages {
		vector.Walk(&p.Root, vector.Identity, func(n vector.Node, _ vector.Matrix) bool {
			g, ok := n.(*vector.Group)
			if ok && hasWord(g.Class, "system") {
				out = append(out, g)
				return false
			}
			return true
		})
	}
	return out
}

// Rehearsal marks stand within the system, clear of the numbers of bars, and the
// brackets of first and second endings are both over the chord symbols (common practice,
// no source).
func TestAboveTheSystem(t *testing.T) {
	d := pages(t, marked(16, map[int]string{1: "Introduction", 5: "A", 9: "B", 13: "Introduction"}, map[int]string{11: "1", 12: "2"}), Layout{})
	marks, endings := 0, 0
	for _, s := range systemsOf(d) {
		left, _ := sides(s)
		numbers, symbols := boxesOf(s, "mNum"), boxesOf(s, "harm")
		for _, r := range boxesOf(s, "reh") {
			marks++
			if r.X0 < left-1e-6 {
				t.Errorf("a rehearsal mark begins %.2f left of its system", left-r.X0)
			}
			for _, b := range append(numbers, symbols...) {
				if touches(r, b, 0) {
					t.Errorf("a rehearsal mark %v lies on %v", r, b)
				}
			}
		}
		for _, e := range boxesOf(s, "ending") {
			endings++
			for _, b := range symbols {
				if b.X0 < e.X1 && e.X0 < b.X1 && e.Y0 > b.Y0 {
					t.Errorf("the bracket of an ending %v stands below the chord symbol %v", e, b)
				}
			}
		}
	}
	if marks != 4 || endings < 2 {
		t.Fatalf("%d marks and %d endings were drawn", marks, endings)
	}
}

// A last system of few bars is not stretched over the line; one like the others is.
func TestLastSystem(t *testing.T) {
	for _, c := range []struct {
		bars int
		full bool
	}{{12, true}, {9, false}} {
		d := pages(t, marked(c.bars, map[int]string{9: "A"}, nil), Layout{})
		last := d.Systems[len(d.Systems)-1]
		if full := last.W > 0.9*d.Systems[0].W; full != c.full {
			t.Errorf("%d bars: the last system is %.0f mm of %.0f wide", c.bars, last.W, d.Systems[0].W)
		}
	}
}
