package notate

import (
	"slices"

	"gradatim/theory"
)

// merge lets a chord of the second voice share the stem of the main voice where
// that is tied on or held over: what is struck together, and written with one
// value, is one hand shape, though one note of it sounds on. Lines that move
// against each other keep their own stems. It needs the held note on top, the
// same written value and the same staff, outside tuplets.
func (w *writer) merge() {
	for i := range w.Bars {
		b := &w.Bars[i]
		for _, hand := range w.hands() {
			main, second := -1, -1
			for j, v := range b.Voices {
				switch {
				case v.Hand != hand || v.Hidden:
				case v.Lane == 1:
					main = j
				case v.Lane == 2:
					second = j
				}
			}
			if main < 0 || second < 0 {
				continue
			}
			left := 0
			for k := range b.Voices[second].Events {
				e := &b.Voices[second].Events[k]
				if e.Kind != Chord {
					continue
				}
				if m := holdsFor(b.Voices[main].Events, e); m != nil {
					m.Heads = append(m.Heads, e.Heads...)
					slices.SortStableFunc(m.Heads, func(a, b Head) int { return theory.ComparePitch(a.Pitch, b.Pitch) })
					m.Graces = append(m.Graces, e.Graces...)
					*e = Event{Kind: Space, At: e.At, Dur: e.Dur, Staff: e.Staff}
					continue
				}
				left++
			}
			if left == 0 {
				b.Voices = slices.Delete(b.Voices, second, second+1)
			}
		}
	}
}

// holdsFor finds the event that is part of a held note, at the time and of the
// value of a chord that is complete in itself.
func holdsFor(events []Event, e *Event) *Event {
	for i := range events {
		m := &events[i]
		if m.At != e.At || m.Kind != Chord || m.Value != e.Value || m.Ratio != (Ratio{}) || e.Ratio != (Ratio{}) ||
			m.Staff != e.Staff || m.Tremolo != NoTremolo || e.Tremolo != NoTremolo {
			continue
		}
		held := !slices.ContainsFunc(m.Heads, func(h Head) bool {
			return h.First && h.Last || h.Pitch.Staff() <= e.Heads[len(e.Heads)-1].Pitch.Staff()
		})
		whole := !slices.ContainsFunc(e.Heads, func(h Head) bool { return !h.First || !h.Last })
		if held && whole {
			return m
		}
	}
	return nil
}
