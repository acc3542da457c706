package engrave

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gradatim/internal/engrave/vector"
)

// TestDrawnAtOnce: a long score that the library draws as several pages comes out as one that
// it draws as one: the same systems of the same size with as many signs.
func TestDrawnAtOnce(t *testing.T) {
	g := engraver(t)
	p := prepareText(t, study(64), Layout{})
	l, err := Layout{}.plain()
	if err != nil {
		t.Fatal(err)
	}
	var starts []int
	for i := 0; i < len(p.bars); i += 4 {
		starts = append(starts, i)
	}
	several := p.encode(starts)
	if n := strings.Count(several, `new-page="yes"`); n != (len(starts)-1)/drawnAtOnce {
		t.Fatalf("%d pages for %d systems", n+1, len(starts))
	}
	music, err := g.music(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	systems := func(score string) []*vector.Group {
		svgs, _, err := g.draw(t.Context(), options(l, 180).json(), score)
		if err != nil {
			t.Fatal(err)
		}
		out, err := readSystems(t.Context(), svgs, music)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	signs := func(s *vector.Group) (n int) {
		vector.Walk(s, vector.Identity, func(nd vector.Node, _ vector.Matrix) bool {
			if _, group := nd.(*vector.Group); !group { // where a page begins there is an empty one
				n++
			}
			return true
		})
		return n
	}
	many, one := systems(several), systems(strings.ReplaceAll(several, ` new-page="yes"`, ""))
	if len(many) != len(starts) || len(one) != len(starts) {
		t.Fatalf("%d and %d systems for %d", len(many), len(one), len(starts))
	}
	for i := range one {
		a, b := many[i].Bounds(vector.Identity), one[i].Bounds(vector.Identity)
		if math.Abs(a.W()-b.W()) > 2 || math.Abs(a.H()-b.H()) > 2 || math.Abs(a.X0-b.X0) > 2 || signs(many[i]) != signs(one[i]) {
			t.Errorf("system %d: %v with %d parts, %v with %d", i, a, signs(many[i]), b, signs(one[i]))
		}
	}
}

// TestUndivided: a few bars that the library lays on one line are the same drawing, number for
// number, when it looks for no lines; and bars that fill a line it divides.
func TestUndivided(t *testing.T) {
	g := engraver(t)
	music, err := g.music(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	l, err := Layout{}.plain()
	if err != nil {
		t.Fatal(err)
	}
	drawn := func(s *vector.Group) string {
		var b strings.Builder
		vector.Walk(s, vector.Identity, func(n vector.Node, m vector.Matrix) bool {
			switch n := n.(type) {
			case *vector.Group:
				id := n.ID
				if !strings.Contains(id, "-") { // one that the library made up
					id = ""
				}
				fmt.Fprintln(&b, "group", n.Class, id, m)
			case *vector.Text:
				fmt.Fprintln(&b, "text", n.X, n.Y, n.String(), m)
			case *vector.Shape:
				fmt.Fprintln(&b, "shape", n.Path.Bounds(), n.Width, m)
			}
			return true
		})
		return b.String()
	}
	alike, divided := 0, 0
	for bars := 1; bars <= 12; bars++ {
		p := prepareText(t, study(bars), Layout{})
		o := options(l, 180)
		o.JustifyLast = raggedLast
		fast, _, _, err := g.undivided(t.Context(), p, o, music)
		if err != nil {
			t.Fatal(err)
		}
		if fast == nil {
			divided++
			continue
		}
		svgs, _, err := g.draw(t.Context(), o.json(), p.encode([]int{0}))
		if err != nil {
			t.Fatal(err)
		}
		slow, err := readSystems(t.Context(), svgs, music)
		if err != nil {
			t.Fatal(err)
		}
		if len(fast) != 1 || len(slow) != 1 || drawn(fast[0]) != drawn(slow[0]) {
			t.Errorf("%d bars: %d systems, and %d otherwise, or another drawing", bars, len(fast), len(slow))
		}
		alike++
	}
	if alike < 2 || divided < 2 {
		t.Errorf("%d drawings compared, %d too wide", alike, divided)
	}
}
