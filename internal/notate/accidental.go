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

// altered is what a line or space was last, and when.
type altered struct {
	alter int8
	at    theory.Dur
	final bool // by the last strike of its staff in the bar
}

// onTop tells whether a head is the highest of a moment on the upper staff.
func onTop(h seen, moment []seen) bool {
	return h.head.Staff == score.Right && !slices.ContainsFunc(moment, func(o seen) bool { return o.head.Staff == score.Right && o.pos > h.pos })
}

// twofold tells whether a moment has the letter of a head in two forms on its staff.
func twofold(h seen, moment []seen) bool {
	return slices.ContainsFunc(moment, func(o seen) bool {
		return o.head.Staff == h.head.Staff && o.head.Pitch.Letter == h.head.Pitch.Letter && o.head.Pitch.Alter != h.head.Pitch.Alter
	})
}

// accidentals decides which heads carry one.
//
// An accidental holds for its line or space of its staff until the bar line; a
// tied note needs none. Where a chord has a letter in two forms each of them carries its
// sign, without parentheses. A courtesy accidental, in parentheses, is added where a reader
// would stumble: on the same line or space right after the bar line, and in the same bar
// where the letter was altered in another octave of the same staff. Right after is, in the
// highest line of the upper staff, which the eye follows, from the second half of the bar
// before into the first half; elsewhere from the last strike of that bar to the first.
// Another octave counts while the eye has it, for a half note. Not two bars later, and never
// for what the other hand plays: a page full of parentheses is read no better. Elaine Gould,
// Behind Bars (2011), on cautionary accidentals, from memory; the limits in time are ours.
// Linear in the notes, but for the few of one letter in one bar.
func (w *writer) accidentals() {
	before := map[line]altered{} // the alterations in which the bar before ended
	for i := range w.Bars {
		b := &w.Bars[i]
		heads := w.heardIn(b)
		state := map[line]int8{}
		last := map[line]altered{} // what each place was last
		clear := map[line]int{}    // 1 + the moment at which the place was last read
		var moments [][]seen
		for j, h := range heads {
			if j == 0 || h.at != heads[j-1].at || h.order != heads[j-1].order {
				moments = append(moments, nil)
			}
			moments[len(moments)-1] = append(moments[len(moments)-1], h)
		}
		strikes := [3]reach{score.Right: {b.End(), 0}, score.Left: {b.End(), 0}} // the first and last of each staff
		for _, h := range heads {
			r := &strikes[h.head.Staff]
			r.a, r.b = min(r.a, h.at), max(r.b, h.at)
		}
		type other struct {
			line
			alter  int8
			at     theory.Dur
			moment int
		}
		var letters [7][]other
		for m, moment := range moments {
			was := make([]int8, len(moment)) // what the eye has of the place
			seenAt := make([]bool, len(moment))
			for k, h := range moment {
				at := line{h.head.Staff, h.pos}
				p := h.head.Pitch
				l, seen := last[at]
				if !seen {
					l, seen = before[at]
					seen = seen && (l.final && h.at == strikes[h.head.Staff].a || onTop(h, moment) && h.at < b.At+b.Dur/2)
				}
				was[k], seenAt[k] = l.alter, seen
				last[at] = altered{p.Alter, h.at, h.at == strikes[h.head.Staff].b}
				if !h.head.First {
					letters[p.Letter] = append(letters[p.Letter], other{at, p.Alter, h.at, m})
					continue
				}
				now, set := state[at]
				if !set {
					now = b.Key.Signature(p.Letter)
				}
				if now != p.Alter {
					h.head.Accidental = Needed
					letters[p.Letter] = append(letters[p.Letter], other{at, p.Alter, h.at, m})
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
						if o.staff == at.staff && !read[o.line] && o.moment >= clear[at] && h.at-o.at <= theory.Half {
							doubt = doubt || o.alter != p.Alter
						}
						read[o.line] = true
					}
				}
				switch {
				case h.head.Accidental != Unneeded:
				case twofold(h, moment):
					h.head.Accidental = Needed
				case doubt || h.force:
					h.head.Accidental = Courtesy
				}
				clear[at] = m + 1
			}
		}
		for _, h := range heads {
			at := line{h.head.Staff, h.pos}
			if l := last[at]; l.alter == b.Key.Signature(h.head.Pitch.Letter) || l.at < b.At+b.Dur/2 {
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
