package notate

import (
	"cmp"
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// seen is a head as accidentals see it.
type seen struct {
	head  *Head
	at    theory.Dur
	order int // grace notes before main notes
	pos   int
	force bool
}

// line is a line or space of a staff.
type line struct {
	staff score.Hand
	pos   int
}

// accidentals decides which heads carry one.
//
// An accidental holds for its line or space of its staff until the bar line; a
// tied note needs none. A courtesy accidental, in parentheses, is added once for
// each real doubt: on the same line or space in the bar after an alteration in the
// second half of its bar, and in the same bar where the letter was altered in another octave of the
// same staff. Not two bars later, and never for what the other hand plays: a
// page full of parentheses is read no better (common practice, no source).
// Linear in the notes, but for the few of one letter in one bar.
func (w *writer) accidentals() {
	before := map[line]int8{} // the alterations in which the bar before ended
	for i := range w.Bars {
		b := &w.Bars[i]
		heads := w.heardIn(b)
		state := map[line]int8{}
		last := map[line]int8{}         // what each place was last
		lastAt := map[line]theory.Dur{} // and when
		clear := map[line]int{}         // 1 + the moment at which the place was last read
		var moments [][]seen
		for j, h := range heads {
			if j == 0 || h.at != heads[j-1].at || h.order != heads[j-1].order {
				moments = append(moments, nil)
			}
			moments[len(moments)-1] = append(moments[len(moments)-1], h)
		}
		type other struct {
			line
			alter  int8
			moment int
		}
		var letters [7][]other
		for m, moment := range moments {
			was := make([]int8, len(moment)) // what the eye has of the place
			seenAt := make([]bool, len(moment))
			for k, h := range moment {
				at := line{h.head.Staff, h.pos}
				p := h.head.Pitch
				if was[k], seenAt[k] = last[at]; !seenAt[k] {
					was[k], seenAt[k] = before[at]
				}
				last[at], lastAt[at] = p.Alter, h.at
				if !h.head.First {
					letters[p.Letter] = append(letters[p.Letter], other{at, p.Alter, m})
					continue
				}
				now, set := state[at]
				if !set {
					now = b.Key.Signature(p.Letter)
				}
				if now != p.Alter {
					h.head.Accidental = Needed
					letters[p.Letter] = append(letters[p.Letter], other{at, p.Alter, m})
				}
				state[at] = p.Alter
			}
			for k, h := range moment {
				at := line{h.head.Staff, h.pos}
				p := h.head.Pitch
				if !h.head.First {
					continue
				}
				doubt := seenAt[k] && was[k] != p.Alter
				if p.Alter == b.Key.Signature(p.Letter) {
					// Of each other octave only what it was last counts.
					read := map[line]bool{at: true}
					for _, o := range slices.Backward(letters[p.Letter]) {
						if o.staff == at.staff && !read[o.line] && o.moment >= clear[at] {
							doubt = doubt || o.alter != p.Alter
						}
						read[o.line] = true
					}
				}
				if h.head.Accidental == Unneeded && (doubt || h.force) {
					h.head.Accidental = Courtesy
				}
				clear[at] = m + 1
			}
		}
		for _, h := range heads {
			at := line{h.head.Staff, h.pos}
			if last[at] == b.Key.Signature(h.head.Pitch.Letter) || lastAt[at] < b.At+b.Dur/2 {
				delete(last, at)
			}
		}
		before = last
	}
}

// heardIn lists the printed heads of a bar in the order in which they are read.
func (w *writer) heardIn(b *Bar) []seen {
	var out []seen
	add := func(h *Head, at theory.Dur, order int) {
		out = append(out, seen{head: h, at: at, order: order, pos: w.position(h.Staff, at, h.Pitch),
			force: w.Source.Notes[h.Note].Marks.Has(score.Courtesy)})
	}
	for i := range b.Voices {
		v := &b.Voices[i]
		if v.Hidden {
			continue
		}
		for j := range v.Events {
			e := &v.Events[j]
			for k := range e.Graces {
				for l := range e.Graces[k].Heads {
					add(&e.Graces[k].Heads[l], e.At, k)
				}
			}
			for k := range e.Heads {
				add(&e.Heads[k], e.At, 1<<16)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b seen) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.order, b.order))
	})
	return out
}
