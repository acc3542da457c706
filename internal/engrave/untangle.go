package engrave

import (
	"math"
	"strings"

	"gradatim/internal/engrave/vector"
)

// untangle moves fingerings off stems, beams and other signs.
//
// Problem: the library sets a fingering over or under its notehead without
// regard to stems, so that a stem runs through the figure or along it. A
// fingering that touches something is moved away from its staff, in quarters
// of a staff space, to the first free place within four spaces; if there is
// none it stays. Signs are compared as boxes, bar by bar: the cost is the
// product of fingerings and signs in a bar. Boxes in hundredths of a
// millimetre, in the system's own coordinates.
func untangle(system *vector.Group) {
	for _, k := range system.Kids {
		m, ok := k.(*vector.Group)
		if !ok || !hasWord(m.Class, "measure") {
			continue
		}
		w := &tangle{}
		w.collect(m)
		for _, f := range w.fingers {
			w.free(f)
		}
	}
}

// A finger is a fingering and its box.
type finger struct {
	group *vector.Group
	text  *vector.Text
	box   vector.Rect
}

type tangle struct {
	fingers []*finger
	signs   []vector.Rect // noteheads, stems, beams, accidentals …
	texts   []vector.Rect // chord symbols, words: kept apart from, not moved for
	staves  []vector.Rect
}

// Distances in hundredths of a millimetre at the library's size.
const (
	space      = spaceMM * svgPerMM
	fingerStep = space / 4
	fingerFree = space / 5 // least distance to other signs
)

func (w *tangle) collect(m *vector.Group) {
	vector.Walk(m, vector.Identity, func(n vector.Node, mat vector.Matrix) bool {
		g, ok := n.(*vector.Group)
		if !ok {
			return true
		}
		kind, _, _ := strings.Cut(g.Class, " ")
		switch kind {
		case "fing":
			for _, k := range g.Kids {
				if t, ok := k.(*vector.Text); ok {
					w.fingers = append(w.fingers, &finger{g, t, t.Bounds(mat.Mul(g.Matrix()))})
				}
			}
			return false
		case "staff":
			lines := &vector.Group{}
			for _, k := range g.Kids {
				if s, ok := k.(*vector.Shape); ok {
					lines.Add(s)
				}
			}
			w.staves = append(w.staves, lines.Bounds(mat.Mul(g.Matrix())))
		case "notehead", "stem", "accid", "flag", "dots", "artic", "fermata", "mordent", "turn", "trill", "rest", "arpeg", "clef", "tupletNum":
			w.signs = append(w.signs, g.Bounds(mat))
			return false
		case "beam": // its own shapes; the notes in it come by themselves
			for _, k := range g.Kids {
				if s, ok := k.(*vector.Shape); ok {
					w.signs = append(w.signs, mat.Mul(g.Matrix()).Box(s.Path.Bounds()))
				}
			}
		case "harm", "dir", "tempo", "dynam", "reh", "syl", "pedal", "octave", "hairpin":
			w.texts = append(w.texts, g.Bounds(mat))
			return false
		}
		return true
	})
}

func touches(a, b vector.Rect, free float64) bool { return !a.Grow(free).Overlap(b).Empty() }

// blocked tells whether a box touches anything but the fingering itself.
func (w *tangle) blocked(self *finger, box vector.Rect, texts bool) bool {
	for _, s := range w.signs {
		if !s.Empty() && touches(box, s, fingerFree) {
			return true
		}
	}
	if !texts {
		return false
	}
	for _, s := range w.texts {
		if !s.Empty() && touches(box, s, fingerFree) {
			return true
		}
	}
	for _, f := range w.fingers {
		if f != self && touches(box, f.box, 0) {
			return true
		}
	}
	return false
}

func (w *tangle) free(f *finger) {
	if !w.blocked(f, f.box, false) {
		return
	}
	up := w.above(f.box)
	for i := 1; i <= 16; i++ {
		dy := float64(i) * fingerStep
		if up {
			dy = -dy
		}
		box := f.box
		box.Y0 += dy
		box.Y1 += dy
		if !w.blocked(f, box, true) {
			f.text.Y += dy
			f.box = box
			return
		}
	}
}

// above tells whether a fingering belongs above the staff that it is nearest
// to.
func (w *tangle) above(box vector.Rect) bool {
	y := (box.Y0 + box.Y1) / 2
	best, up := math.Inf(1), true
	for _, s := range w.staves {
		mid := (s.Y0 + s.Y1) / 2
		if d := math.Abs(y - mid); d < best {
			best, up = d, y < mid
		}
	}
	return up
}
