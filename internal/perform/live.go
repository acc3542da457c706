package perform

import (
	"gradatim/internal/sound/event"
	"gradatim/score"
	"gradatim/theory"
)

// again turns the notes of a live score into keys that go down and come up as they did,
// in one pass. Nothing is added: rolls, ornaments, lead and legato are the player's.
func (r *reading) again(pass int) []strike {
	var out []strike
	for i := range r.notes {
		n := &r.notes[i]
		if !r.sounding(n.note) {
			continue
		}
		from, to := r.from, r.to
		if n.note.At >= r.from {
			from = n.note.At + n.note.Stroke.On
		}
		if n.note.End() <= r.to {
			to = n.note.End() + n.note.Stroke.Off
		}
		start := max(r.timing.Seconds(from, pass), 0)
		out = append(out, strike{of: n, key: n.note.Pitch.MIDI(), velocity: n.velocity, start: start,
			end: max(r.timing.Seconds(to, pass), start+shortest/3), pass: pass, chord: -1})
	}
	return out
}

// foot is the pedal of a live score in one pass, as it moved. One that the player never
// lifts holds the last chord as long as a last chord rings.
func (r *reading) foot(pass int) []event.Pedal {
	var out []event.Pedal
	now, whole := 0, r.to == r.score.End() && pass == r.timing.Passes-1
	add := func(at theory.Dur, value int) {
		out = append(out, event.Pedal{Time: max(r.timing.Seconds(at, pass), 0), Value: value})
		now = value
	}
	before := 0
	for _, d := range r.score.Directions {
		switch {
		case d.Kind != score.PedalDepth || d.At > r.to || d.At == r.to && !whole:
		case d.At < r.from:
			before = d.Value
		default:
			if before > 0 && now == 0 && len(out) == 0 && d.At > r.from {
				add(r.from, before)
			}
			add(d.At, d.Value)
		}
	}
	if len(out) == 0 && before > 0 {
		add(r.from, before)
	}
	switch {
	case now == 0:
	case whole:
		out = append(out, event.Pedal{Time: r.timing.End + ringSeconds, Value: 0})
	default:
		add(r.to, 0)
	}
	return out
}
