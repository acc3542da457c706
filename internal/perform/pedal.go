package perform

import (
	"cmp"
	"slices"

	"gradatim/internal/sound/event"
	"gradatim/score"
	"gradatim/theory"
)

// The pedal is lifted as the new harmony sounds and pressed again just after,
// so that nothing of the old one is caught: legato pedalling, trade practice.
const (
	pedalDown  = 127
	pedalLate  = 0.08 // from the new harmony to the pedal
	pedalCatch = 0.02 // from the lowest note of a wide roll to the pedal
	wideRoll   = 13   // semitones: a hand that rolls this far lets go of its lowest note
)

// span is a stretch under one pedal.
type span struct {
	from, to theory.Dur
	rolled   bool // opens with a wide roll
}

// pedal returns the moves of one pass.
func (r *reading) pedal(pass int) []event.Pedal {
	var out []event.Pedal
	spans, written := r.writtenPedal()
	if !written || r.score.Pedal != score.PedalAsWritten {
		spans = merged(spans, r.spans())
	}
	rolls := r.rolls(pass)
	for _, s := range spans {
		start := r.timing.Seconds(s.from, pass)
		down := start + pedalLate
		if s.rolled {
			for _, n := range r.between(s.from, s.from+1) {
				start = min(start, r.timing.Seconds(s.from, pass)+rolls[n.index])
			}
			down = start + pedalCatch
		}
		up := r.timing.Seconds(s.to, pass)
		if down > up-pedalLate {
			continue
		}
		// What the last span left is lifted before a roll begins.
		if n := len(out); n > 0 && out[n-1].Time > start {
			out[n-1].Time = max(start, out[n-2].Time)
		}
		out = append(out, event.Pedal{Time: down, Value: pedalDown}, event.Pedal{Time: up, Value: 0})
	}
	return out
}

// merged adds to the written spans those of the player's own that leave them
// alone. On pages that are pedalled by ear a written pedal holds a wide roll and
// says nothing of the bars around it; on others what is not pedalled is meant dry.
func merged(written, own []span) []span {
	for _, s := range own {
		if !slices.ContainsFunc(written, func(w span) bool { return s.from < w.to && w.from < s.to }) {
			written = append(written, s)
		}
	}
	slices.SortFunc(written, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	return written
}

// writtenPedal returns the spans that the score itself asks for.
func (r *reading) writtenPedal() ([]span, bool) {
	var out []span
	open, any := theory.Dur(-1), false
	add := func(to theory.Dur) {
		if from, to := max(open, r.from), min(to, r.to); open >= 0 && from < to {
			out = append(out, span{from: from, to: to, rolled: r.wideRoll(from, to)})
		}
		open = -1
	}
	for _, d := range r.score.Directions {
		switch d.Kind {
		case score.PedalDown:
			any = true
			add(d.At)
			open = d.At
		case score.PedalUp:
			any = true
			add(d.At)
		}
	}
	add(r.to)
	return out, any
}

// spans finds where a pianist would use the pedal when nobody writes it: chord
// by chord (and bar by bar under one chord) where the left hand spreads or
// holds a chord, never under a walking bass, staccato or ghost notes, in swing
// only where a wide roll has to be held. A player who does not use it yet holds
// wide rolls. Common practice, no source.
func (r *reading) spans() []span {
	if r.score.Pedal == score.PedalForRolls || len(r.score.Chords) == 0 {
		return r.rolledSpans()
	}
	cuts := []theory.Dur{r.to}
	for _, b := range r.bars {
		cuts = append(cuts, b.At)
	}
	for _, c := range r.score.Chords {
		if c.At > r.from && c.At < r.to {
			cuts = append(cuts, c.At)
		}
	}
	slices.SortFunc(cuts, cmp.Compare[theory.Dur])
	cuts = slices.Compact(cuts)
	var out []span
	for i := 0; i+1 < len(cuts); i++ {
		s := span{from: cuts[i], to: cuts[i+1]}
		s.rolled = r.wideRoll(s.from, s.to)
		if r.wantsPedal(s) {
			out = append(out, s)
		}
	}
	return out
}

// rolledSpans holds wide rolls and nothing else.
func (r *reading) rolledSpans() []span {
	var out []span
	for i := range r.notes {
		n := r.notes[i].note
		if n.Marks.Has(score.Rolled) && n.At >= r.from && n.At < r.to && r.wideRoll(n.At, n.End()) &&
			(len(out) == 0 || out[len(out)-1].from < n.At) {
			out = append(out, span{from: n.At, to: min(n.End(), r.to), rolled: true})
		}
	}
	for i := 1; i < len(out); i++ {
		out[i-1].to = min(out[i-1].to, out[i].from)
	}
	return out
}

// wideRoll tells whether a hand rolls a chord wider than it can hold at the
// start of a span that lasts as long as the chord does.
func (r *reading) wideRoll(from, to theory.Dur) bool {
	for _, hand := range []score.Hand{score.Left, score.Right} {
		low, high := 128, -1
		for _, h := range r.between(from, from+1) {
			if n := h.note; n.Hand == hand && n.Grace == 0 && n.Marks.Has(score.Rolled) {
				low, high = min(low, n.Pitch.MIDI()), max(high, n.Pitch.MIDI())
			}
		}
		if high-low >= wideRoll && to > from {
			return true
		}
	}
	return false
}

func (r *reading) wantsPedal(s span) bool {
	if s.rolled {
		return true
	}
	if r.swing.Upbeat() > 0.5 || s.to-s.from < theory.Quarter {
		return false
	}
	left, quick := 0, 0
	for _, n := range r.between(s.from, s.to) {
		if n.note.Grace > 0 {
			continue
		}
		if n.note.Hand == score.Left {
			left++
			if n.walking || n.role == score.Approach || n.role == score.Passing || n.role == score.GhostNote ||
				n.note.Marks.Has(score.Staccato) || n.note.Marks.Has(score.Ghost) {
				return false
			}
		} else if n.note.Dur < theory.Eighth {
			quick++
		}
	}
	return left > 0 && quick < 4 // a run in the right hand would blur
}
