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
//
// It moves late, as a foot that follows the ear does: up a moment after the new harmony
// has been struck, down well after. Where the tune steps under one harmony, its old note
// would blur the new one: the pedal is changed there, fully where the fingers hold all the
// rest, else by half, which takes the tune's old note away and leaves most of the bass
// (Lehtonen, Askenfelt and Välimäki, "Analysis of the part-pedaling effect in the piano",
// JASA 126(2), 2009, from memory: dampers that touch lightly stop low strings least). Where
// the tune steps too fast for a foot, the pedal stays half down.
const (
	pedalDown  = 127
	pedalHalf  = 84   // still down for who knows up and down alone
	pedalLight = 94   // under quick steps
	pedalLift  = 0.02 // from the new harmony to the pedal's rise
	pedalLate  = 0.12 // and to its fall
	pedalStep  = 0.4  // seconds: faster steps are not followed
	pedalCatch = 0.02 // from the lowest note of a wide roll to the pedal
	wideRoll   = 13   // semitones: a hand that rolls this far lets go of its lowest note
)

// span is a stretch under one pedal.
type span struct {
	from, to theory.Dur
	rolled   bool // opens with a wide roll
	written  bool
	depth    int     // how far down, where the page says so; 0: as the player likes
	moves    []depth // without being lifted
}

// depth is how far the pedal is down from a place on.
type depth struct {
	at    theory.Dur
	value int
}

// pedal returns the moves of one pass.
func (r *reading) pedal(pass int) []event.Pedal {
	if r.live {
		return r.foot(pass)
	}
	var out []event.Pedal
	spans, written := r.writtenPedal()
	if !written || r.score.Pedal != score.PedalAsWritten {
		spans = merged(spans, r.spans())
	}
	rolls := r.rolls(pass)
	for i, s := range spans {
		start := r.timing.Seconds(s.from, pass)
		down := start + pedalLate
		if s.rolled {
			for _, n := range r.between(s.from, s.from+1) {
				start = min(start, r.timing.Seconds(s.from, pass)+rolls[n.index])
			}
			down = start + pedalCatch
		}
		up := r.timing.Seconds(s.to, pass)
		if i+1 < len(spans) && spans[i+1].from == s.to {
			up += pedalLift
		}
		if down > up-pedalLate/2 {
			continue
		}
		// What the last span left is lifted before a roll begins.
		if n := len(out); n > 0 && out[n-1].Time > start {
			out[n-1].Time = max(start, out[n-2].Time)
		}
		steps, light := r.steps(s, pass)
		value := pedalDown
		if light && !s.rolled && !s.written {
			value = pedalLight
		}
		if s.depth > 0 {
			value = s.depth
		}
		out = append(out, event.Pedal{Time: down, Value: value})
		for _, m := range s.moves {
			if t := r.timing.Seconds(m.at, pass); t > down && t < up {
				out = append(out, event.Pedal{Time: t, Value: m.value})
			}
		}
		if !s.written {
			for _, m := range steps {
				if m.Time > down+pedalLate && m.Time+2*pedalLate < up {
					out = append(out, m, event.Pedal{Time: m.Time + pedalLate, Value: value})
				}
			}
		}
		out = append(out, event.Pedal{Time: up, Value: 0})
	}
	return out
}

// steps returns how the pedal rises where the tune steps within a span, and whether the
// tune steps too fast for that.
func (r *reading) steps(s span, pass int) (moves []event.Pedal, fast bool) {
	last, lastAt := -1, 0.0
	for _, n := range r.between(s.from, s.to) {
		if n.role != score.Melody || n.note.Grace > 0 {
			continue
		}
		key, at := n.note.Pitch.MIDI(), r.timing.Seconds(n.note.At, pass)
		if d := key - last; last >= 0 && d != 0 && d >= -2 && d <= 2 {
			if at-lastAt < pedalStep {
				fast = true
			} else if m := len(moves); m == 0 || at-moves[m-1].Time >= pedalStep {
				value := 0
				if r.caught(s.from, n.note.At) {
					value = pedalHalf
				}
				moves = append(moves, event.Pedal{Time: at + pedalLift, Value: value})
			}
		}
		last, lastAt = key, at
	}
	if fast {
		return nil, true
	}
	return moves, false
}

// caught tells whether a note under the tune sounds at a position by the pedal alone.
func (r *reading) caught(from, at theory.Dur) bool {
	for _, n := range r.between(from, at) {
		if !n.tune && n.note.Grace == 0 && n.note.End() <= at {
			return true
		}
	}
	return false
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
	how := 0
	var moves []depth
	add := func(to theory.Dur) {
		if from, to := max(open, r.from), min(to, r.to); open >= 0 && from < to {
			for len(moves) > 0 && moves[0].at <= from {
				how, moves = moves[0].value, moves[1:]
			}
			out = append(out, span{from: from, to: to, rolled: r.wideRoll(from, to), written: true, depth: how, moves: moves})
		}
		open, how, moves = -1, 0, nil
	}
	for _, d := range r.score.Directions {
		switch d.Kind {
		case score.PedalDown:
			any = true
			add(d.At)
			open, how = d.At, d.Value
		case score.PedalDepth:
			moves = append(moves, depth{d.At, d.Value})
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
// holds a chord, never under a walking bass, staccato or ghost notes. In swing, and by a
// player who does not use it for harmony yet, only to hold wide rolls, and to give what is
// held for half a bar or so under one harmony its warmth, where nothing steps. Common
// practice, no source.
func (r *reading) spans() []span {
	if len(r.score.Chords) == 0 {
		return r.rolledSpans()
	}
	light := r.score.Pedal == score.PedalForRolls || r.swing.Upbeat() > 0.5
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
	if r.score.Pedal == score.PedalForRolls {
		out = r.rolledSpans()
	}
	for i := 0; i+1 < len(cuts); i++ {
		s := span{from: cuts[i], to: cuts[i+1]}
		s.rolled = r.score.Pedal != score.PedalForRolls && r.wideRoll(s.from, s.to)
		switch {
		case slices.ContainsFunc(out, func(o span) bool { return s.from < o.to && o.from < s.to }):
		case s.rolled, r.wantsPedal(s) && (!light || r.warm(s)):
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	return out
}

// warm tells whether all of a span is one harmony that is held: chords or bass of half a
// bar or more, and a tune that does not step.
func (r *reading) warm(s span) bool {
	if s.to-s.from < theory.Half {
		return false
	}
	last := -1
	for _, n := range r.between(s.from, s.to) {
		switch {
		case n.note.Grace > 0:
		case n.role == score.Melody:
			d := n.note.Pitch.MIDI() - last
			if last >= 0 && d != 0 && d >= -2 && d <= 2 {
				return false
			}
			last = n.note.Pitch.MIDI()
		case n.note.Hand == score.Left && n.note.Dur < theory.Half, n.note.Dur < theory.Quarter:
			return false
		}
	}
	return true
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
	if s.to-s.from < theory.Quarter {
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

// The last chord rings: held by hand and pedal until it is some 45 dB lower or for
// ringSeconds, then let go slowly.
const (
	ringSeconds = 4.0
	letGo       = 0.5 // from the pedal's first rise to its last
)

// rings tells whether the music ends with what is played: a loop goes on there.
func (r *reading) rings() bool { return !r.live && r.timing.Passes == 1 && r.to == r.score.End() }

// ringing returns when the last chord is struck and when it is let go; last is negative
// where nothing is written to sound to the end of the score. What is written short stays
// short.
func (r *reading) ringing() (last, end float64) {
	last = -1
	for i := range r.notes {
		if n := &r.notes[i]; r.lasts(n) {
			last = max(last, r.timing.Seconds(n.note.At, 0))
		}
	}
	return last, max(last+ringSeconds, r.timing.End)
}

// lasts tells whether a note is written to sound to the end.
func (r *reading) lasts(n *heard) bool {
	return n.note.End() >= r.to && r.sounding(n.note) && n.note.Grace == 0 && n.role != score.GhostNote &&
		!n.note.Marks.Has(score.Staccato) && !n.note.Marks.Has(score.Ghost) && n.note.Ornament != score.Tremolo
}

// ring holds the last chord beyond the last bar line. Of an ornament it holds the last
// strike.
func (r *reading) ring(strikes []strike) {
	last, end := r.ringing()
	if last < 0 {
		return
	}
	final := map[*heard]int{}
	for i, k := range strikes {
		if j, ok := final[k.of]; r.lasts(k.of) && (!ok || strikes[j].end < k.end) {
			final[k.of] = i
		}
	}
	for _, i := range final {
		strikes[i].end = end
	}
}

// ringPedal has the pedal join the last chord after its strike and leave it slowly.
func (r *reading) ringPedal(moves []event.Pedal) []event.Pedal {
	last, end := r.ringing()
	if last < 0 {
		return moves
	}
	moves = slices.DeleteFunc(moves, func(e event.Pedal) bool { return e.Time > last+2*pedalLift })
	return append(moves, event.Pedal{Time: last + pedalLate, Value: pedalDown},
		event.Pedal{Time: end, Value: 84}, event.Pedal{Time: end + letGo/3, Value: 72}, event.Pedal{Time: end + letGo, Value: 0})
}
