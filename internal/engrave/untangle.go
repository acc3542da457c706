package engrave

import (
	"math"
	"slices"
	"strings"

	"gradatim/internal/engrave/vector"
)

// untangle moves fingerings off stems, beams and other signs.
//
// Problem: the library sets a fingering over or under its notehead without
// regard to stems, so that a stem runs through the figure or along it. The
// fingerings of a chord, if one touches something, are moved together away from
// their staff, in quarters of a staff space, to the first free place within
// four spaces; if there is none they stay. Signs are compared as boxes, bar by bar: the cost is the
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
		for _, s := range w.stacks() {
			w.free(s)
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
	fingerFree = space / 3 // least distance to other signs
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

// blocked tells whether a box of a stack touches a sign or, if texts is set,
// anything else outside the stack.
func (w *tangle) blocked(stack []*finger, box vector.Rect, texts bool) bool {
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
		if !slices.Contains(stack, f) && touches(box, f.box, 0) {
			return true
		}
	}
	return false
}

// stacks puts the fingerings of one chord together: those that stand over each
// other on one side of one staff.
func (w *tangle) stacks() [][]*finger {
	var out [][]*finger
next:
	for _, f := range w.fingers {
		staff, up := w.side(f.box)
		for i, s := range out {
			other, otherUp := w.side(s[0].box)
			if staff == other && up == otherUp && math.Abs(middle(s[0].box)-middle(f.box)) < space/2 {
				out[i] = append(s, f)
				continue next
			}
		}
		out = append(out, []*finger{f})
	}
	return out
}

func middle(r vector.Rect) float64 { return (r.X0 + r.X1) / 2 }

// free moves a stack until nothing in it touches anything.
func (w *tangle) free(stack []*finger) {
	blocked := func(dy float64, texts bool) bool {
		for _, f := range stack {
			if w.blocked(stack, shifted(f.box, dy), texts) {
				return true
			}
		}
		return false
	}
	if !blocked(0, false) {
		return
	}
	_, up := w.side(stack[0].box)
	for i := 1; i <= 16; i++ {
		dy := float64(i) * fingerStep
		if up {
			dy = -dy
		}
		if !blocked(dy, true) {
			for _, f := range stack {
				f.text.Y += dy
				f.box = shifted(f.box, dy)
			}
			return
		}
	}
}

func shifted(r vector.Rect, dy float64) vector.Rect {
	r.Y0, r.Y1 = r.Y0+dy, r.Y1+dy
	return r
}

// side tells which staff a fingering is nearest to, and whether it belongs
// above it.
func (w *tangle) side(box vector.Rect) (staff int, above bool) {
	y := (box.Y0 + box.Y1) / 2
	best := math.Inf(1)
	for i, s := range w.staves {
		mid := (s.Y0 + s.Y1) / 2
		if d := math.Abs(y - mid); d < best {
			best, staff, above = d, i, y < mid
		}
	}
	return staff, above
}
