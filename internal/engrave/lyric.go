package engrave

import (
	"cmp"
	"math"
	"slices"

	"gradatim/internal/engrave/vector"
)

// Words under the tune.

// underWords puts the signs of loudness of an upper staff that is sung above the lower
// one: between the staves still, below the words. The library lays signs and words of one
// staff out apart, and a hairpin would go through the tops of the letters.
func underWords(part *element) {
	if stavesOf(part) != 2 {
		return
	}
	sung := false
	for _, m := range part.kids {
		for _, e := range m.kids {
			sung = sung || e.name == "note" && e.kid("lyric") != nil && e.value("staff") != "2"
		}
	}
	if !sung {
		return
	}
	for _, m := range part.kids {
		for _, e := range m.kids {
			typ := e.kid("direction-type")
			if e.name != "direction" || e.value("staff") == "2" || e.get("placement") == "above" || typ == nil || typ.kid("dynamics") == nil && typ.kid("wedge") == nil {
				continue
			}
			e.set("placement", "above")
			if staff := e.kid("staff"); staff != nil {
				staff.text = "2"
			} else {
				e.kids = append(e.kids, &element{name: "staff", text: "2", line: e.line, col: e.col})
			}
		}
	}
}

// Distances of words, in hundredths of a millimetre at the library's size: to a bar line, to
// the next word, and how far from under their note they may go.
const (
	barFree  = 0.3 * space
	wordGap  = 0.8 * space
	wordMove = 2.5 * space
	wordPush = 1.5 * space // of one that makes way
	hyphen   = 1.5 * space // a wider line under the notes holds a syllable
)

// sung is a syllable in its line.
type sung struct {
	group *vector.Group
	text  vector.Rect // without its hyphen or line
	bar   int         // that its note stands in, of the system
	moved bool
}

// offBars moves words off the bar lines that run through them between the staves: to the
// side on which their note stands, the next words making way a little. The library sets them
// under their notes without regard to bar lines. Of the words of a system the product with its
// bar lines.
func offBars(system *vector.Group) {
	var words []*sung
	type barLine struct {
		vector.Rect
		bar int
	}
	var bars []barLine
	for i, k := range system.Kids {
		measure, ok := k.(*vector.Group)
		if !ok {
			continue
		}
		vector.Walk(measure, vector.Identity, func(n vector.Node, m vector.Matrix) bool {
			g, ok := n.(*vector.Group)
			if !ok {
				return true
			}
			switch {
			case hasWord(g.Class, "syl"):
				s := &sung{group: g, text: vector.EmptyRect(), bar: i}
				for _, k := range g.Kids {
					if t, ok := k.(*vector.Text); ok {
						s.text = s.text.Union(t.Bounds(m.Mul(g.Matrix())))
					}
				}
				if !s.text.Empty() {
					words = append(words, s)
				}
				return false
			case hasWord(g.Class, "barLine"):
				for _, k := range g.Kids {
					if s, ok := k.(*vector.Shape); ok {
						b := m.Mul(g.Matrix()).Box(s.Path.Bounds())
						b.X1 = max(b.X1, b.X0+1) // a line without width covers something
						bars = append(bars, barLine{b, i})
					}
				}
				return false
			}
			return true
		})
	}
	// Those of one line stand at one height, but for descenders.
	slices.SortStableFunc(words, func(a, b *sung) int { return cmp.Compare(a.text.X0, b.text.X0) })
	for i, w := range words {
		for _, b := range bars {
			if b.Y1 < w.text.Y0 || b.Y0 > w.text.Y1 || !touches(w.text, vector.Rect{X0: b.X0, X1: b.X1, Y0: w.text.Y0, Y1: w.text.Y1}, barFree) {
				continue
			}
			if b.bar == w.bar && middle(w.text) < middle(b.Rect) {
				if dx := w.text.X1 - (b.X0 - 1.01*barFree); dx <= wordMove && free(words[:i], w, -dx) {
					w.shift(-dx)
				}
			} else if dx := b.X1 + 1.01*barFree - w.text.X0; dx <= wordMove {
				push(words[i:], dx)
			}
		}
	}
	for i, w := range words {
		for _, o := range words[i+1:] {
			if w.beside(o) {
				if w.moved || o.moved {
					w.hyphenate(o)
				}
				break
			}
		}
	}
}

// free tells whether a syllable has room to move to the left of those before it.
func free(before []*sung, w *sung, dx float64) bool {
	for _, o := range before {
		if w.beside(o) && o.text.X1+wordGap > w.text.X0+dx {
			return false
		}
	}
	return true
}

// push moves the first of some syllables to the right, and those after it that are in its way
// by less, or none where one would have to go far.
func push(words []*sung, dx float64) {
	moved, by := []*sung{words[0]}, []float64{dx}
	for _, o := range words[1:] {
		last := moved[len(moved)-1]
		if !last.beside(o) {
			continue
		}
		need := last.text.X1 + by[len(by)-1] + wordGap - o.text.X0
		if need <= 0 {
			break
		}
		if need > wordPush {
			return
		}
		moved, by = append(moved, o), append(by, need)
	}
	for i, w := range moved {
		w.shift(by[i])
	}
}

func middleY(r vector.Rect) float64 { return (r.Y0 + r.Y1) / 2 }

// beside tells whether two syllables are of one line.
func (s *sung) beside(o *sung) bool { return math.Abs(middleY(o.text)-middleY(s.text)) < space }

// shift moves a syllable, with the line that holds it.
func (s *sung) shift(dx float64) {
	s.text.X0, s.text.X1, s.moved = s.text.X0+dx, s.text.X1+dx, true
	for _, k := range s.group.Kids {
		switch k := k.(type) {
		case *vector.Text:
			k.X += dx
		case *vector.Shape:
			if k.Path.Bounds().W() > hyphen {
				k.Path = k.Path.Transform(vector.Translate(dx, 0))
			}
		}
	}
}

// hyphenate sets the hyphen of a syllable in the middle before the next one.
func (s *sung) hyphenate(next *sung) {
	var short []*vector.Shape
	for _, k := range s.group.Kids {
		if k, ok := k.(*vector.Shape); ok && k.Path.Bounds().W() <= hyphen {
			short = append(short, k)
		}
	}
	if len(short) == 1 { // several are far apart
		dx := (s.text.X1+next.text.X0)/2 - middle(short[0].Path.Bounds())
		short[0].Path = short[0].Path.Transform(vector.Translate(dx, 0))
	}
}
