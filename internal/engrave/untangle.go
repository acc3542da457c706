package engrave

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"gradatim/internal/engrave/vector"
)

// untangle moves fingerings off stems, beams and other signs.
//
// Problem: the library sets a fingering over or under its notehead without
// regard to stems and slurs, which run through the figure or along it. The
// fingerings of a chord, if one touches something, are moved together away from
// their staff, in quarters of a staff space, to the first free place within
// six spaces; if there is none, to the first one towards the other side of the
// staff; if there is none either they stay. Signs are compared as boxes, bar by
// bar: the cost is the product of fingerings and signs in a bar. What stands in
// rows above the first staff and the pedal below the last are no obstacles: they make way afterwards
// (arrangeRows). Boxes in hundredths of a millimetre, in the system's own
// coordinates.
func untangle(system *vector.Group) {
	top, bottom := edges(system)
	arches := slurs(system) // they may come from bars before
	for _, k := range system.Kids {
		m, ok := k.(*vector.Group)
		if !ok || !hasWord(m.Class, "measure") {
			continue
		}
		w := &tangle{top: top, bottom: bottom, signs: slices.Clone(arches)}
		w.collect(m)
		for _, s := range w.stacks() {
			w.free(s)
		}
	}
}

// slurs returns the outlines of the slurs in small boxes.
func slurs(system *vector.Group) []vector.Rect { return arcs(system, "slur") }

// arcs returns strips that cover the arcs of a class: slurs or ties.
func arcs(system *vector.Group, class string) (out []vector.Rect) {
	vector.Walk(system, vector.Identity, func(n vector.Node, m vector.Matrix) bool {
		g, ok := n.(*vector.Group)
		if !ok || !hasWord(g.Class, class) {
			return true
		}
		for _, k := range g.Kids {
			if s, ok := k.(*vector.Shape); ok {
				for _, r := range s.Path.Strips(space) {
					out = append(out, m.Mul(g.Matrix()).Box(r))
				}
			}
		}
		return false
	})
	return out
}

// staffLines returns the lines of a staff alone.
func staffLines(staff *vector.Group) *vector.Group {
	lines := &vector.Group{}
	for _, k := range staff.Kids {
		if s, ok := k.(*vector.Shape); ok {
			lines.Add(s)
		}
	}
	return lines
}

// staves returns the lines of every staff of a system, bar by bar.
func staves(system *vector.Group) (out []vector.Rect) {
	vector.Walk(system, vector.Identity, func(n vector.Node, m vector.Matrix) bool {
		g, ok := n.(*vector.Group)
		if !ok || !hasWord(g.Class, "staff") {
			return true
		}
		if b := staffLines(g).Bounds(m.Mul(g.Matrix())); !b.Empty() {
			out = append(out, b)
		}
		return false
	})
	return out
}

// edges returns where the first staff of a system begins and the last one ends.
func edges(system *vector.Group) (top, bottom float64) {
	top, bottom = math.Inf(1), math.Inf(-1)
	for _, b := range staves(system) {
		top, bottom = min(top, b.Y0), max(bottom, b.Y1)
	}
	return top, bottom
}

// underRows tells whether a pedal line stands below the last staff.
func underRows(box vector.Rect, bottom float64) bool { return (box.Y0+box.Y1)/2 >= bottom }

// inRows tells whether a text belongs to the rows above the first staff.
func inRows(box vector.Rect, top float64) bool { return (box.Y0+box.Y1)/2 <= top+space }

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
	top     float64 // of the system's first staff
	bottom  float64 // of its last
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
			w.staves = append(w.staves, staffLines(g).Bounds(mat.Mul(g.Matrix())))
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
			if b := g.Bounds(mat); !inRows(b, w.top) && (kind != "pedal" || !underRows(b, w.bottom)) {
				w.texts = append(w.texts, b)
			}
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

// stacks puts the fingerings of one chord together: those that stand close over
// each other. Between staves only the whole stack tells to which it belongs.
func (w *tangle) stacks() [][]*finger {
	var out [][]*finger
	list := slices.Clone(w.fingers)
	slices.SortStableFunc(list, func(a, b *finger) int { return cmp.Compare(a.box.Y0, b.box.Y0) })
next:
	for _, f := range list {
		for i, s := range out {
			last := s[len(s)-1].box
			if math.Abs(middle(last)-middle(f.box)) < space/2 && f.box.Y0-last.Y1 < space {
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
	whole := vector.EmptyRect()
	for _, f := range stack {
		whole = whole.Union(f.box)
	}
	up := w.above(whole)
	const near, far = 24, 64 // steps away from the staff, and across it
	for i := 1; i <= near+far; i++ {
		dy := float64(i) * fingerStep
		if i > near {
			dy = -float64(i-near) * fingerStep
		}
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

// above tells whether a stack belongs above the staff that it is nearest to.
func (w *tangle) above(box vector.Rect) bool {
	y := (box.Y0 + box.Y1) / 2
	best, above := math.Inf(1), true
	for _, s := range w.staves {
		mid := (s.Y0 + s.Y1) / 2
		if d := math.Abs(y - mid); d < best {
			best, above = d, y < mid
		}
	}
	return above
}

// sides returns where the staves of a system begin and end.
func sides(system *vector.Group) (left, right float64) {
	left, right = math.Inf(1), math.Inf(-1)
	for _, b := range staves(system) {
		left, right = min(left, b.X0), max(right, b.X1)
	}
	return left, right
}
