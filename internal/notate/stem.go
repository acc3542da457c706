package notate

import (
	"gradatim/score"
	"gradatim/theory"
)

// stems sets stem directions. A voice alone on its staff follows the middle
// line, a beamed group its farthest note. Where another voice shares the staff
// at the time, odd lanes go up and even lanes down; a guest from the other hand
// sends the right hand's stems up and the left's down. A beam between the
// staves has the upper notes' stems down and the lower notes' up.
func (w *writer) stems(b *Bar) {
	for i := range b.Voices {
		ev := b.Voices[i].Events
		for j := 0; j < len(ev); {
			end := j + 1
			for len(ev[j].Beams) > 0 && ev[j].Beams[0] == Begin && end < len(ev) && len(ev[end].Beams) > 0 && ev[end-1].Beams[0] != End {
				end++
			}
			w.stemGroup(b, &b.Voices[i], ev[j:end])
			j = end
		}
	}
}

func (w *writer) stemGroup(b *Bar, v *Voice, g []Event) {
	if g[0].Kind != Chord {
		return
	}
	shared, guest, crosses := false, false, false
	top, bottom, sum := -1000, 1000, 0
	for i := range g {
		s, o := w.company(b, v, &g[i])
		shared, guest = shared || s, guest || o
		for _, h := range g[i].Heads {
			d := w.position(h.Staff, g[i].At, h.Pitch) - w.clefAt(h.Staff, g[i].At).middle()
			top, bottom, sum = max(top, d), min(bottom, d), sum+d
			crosses = crosses || h.Staff != g[0].Heads[0].Staff
		}
	}
	stem := Down
	switch {
	case guest && v.Hand == score.Right, shared && !guest && v.Lane%2 == 1:
		stem = Up
	case guest || shared:
	case top < -bottom, top == -bottom && sum < 0:
		stem = Up
	}
	for i := range g {
		e := &g[i]
		e.Stem = stem
		if crosses && len(g) > 1 {
			e.Stem = Down
			if e.Heads[0].Staff == score.Left {
				e.Stem = Up
			}
		}
		if e.Value.Base >= theory.Whole {
			e.Stem = NoStem
		}
	}
}

// company tells whether another voice is heard or rests on the staff of an
// event, and whether it belongs to the other hand.
func (w *writer) company(b *Bar, v *Voice, e *Event) (shared, otherHand bool) {
	for i := range b.Voices {
		o := &b.Voices[i]
		if o.Hidden || o.Hand == v.Hand && o.Lane == v.Lane {
			continue
		}
		for j := range o.Events {
			f := &o.Events[j]
			if f.Kind == Space || f.At >= e.At+e.Dur || e.At >= f.At+f.Dur {
				continue
			}
			if f.Kind == Rest && o.Hand != v.Hand || !sameStaff(e, f) {
				continue // a guest's rests stay at home
			}
			shared, otherHand = true, otherHand || o.Hand != v.Hand
		}
	}
	return shared, otherHand
}

func sameStaff(e, f *Event) bool {
	if f.Kind == Rest {
		for _, h := range e.Heads {
			if h.Staff == f.Staff {
				return true
			}
		}
		return false
	}
	for _, h := range e.Heads {
		for _, k := range f.Heads {
			if h.Staff == k.Staff {
				return true
			}
		}
	}
	return false
}
