package perform

import (
	"math"
	"sort"

	"gradatim/score"
	"gradatim/theory"
)

// Balance: the tune is heard over whatever accompanies it.
//
// Problem: roles give every note a loudness of its own, but what is heard under a tune is
// the sum of all that sounds there, and six notes at a velocity are twice as loud as one.
// Objective: in each stretch of about a bar the accompaniment, taken together, stays
// [under] decibels below the tune, and no note of it is as loud as the note of the tune
// that it sounds with. Loudness is velocity to the fourth power, 40·log10 (SoundFont 2.04,
// default modulators, from memory); deep strings ring longer and count for more. Method: one pass over the notes,
// each with its neighbourhood. Cost: n·k for k notes in a bar. Rejected: a fixed velocity
// for each role, which is right for one thickness of writing alone; and measuring the
// sound, which would make a MIDI file depend on our piano.
//
// That pianists play a melody louder the fuller its accompaniment is common practice; the
// amounts are ours.
const (
	under = 4.0         // dB: what accompanies, together, below the tune
	clear = 0.85        // of the tune's velocity: the most of one note under it
	faint = 14.0        // velocity: softer than that a key may not speak
	apart = theory.Half // to either side: what a note is weighed with
)

// ring is for how much a note counts: its power, and how long it sounds. Under middle C
// strings ring some 6 % longer a semitone, above it as much shorter (measured on our
// piano: the sum of four seconds).
func ring(key int, velocity float64) float64 {
	return math.Pow(velocity, 4) * math.Pow(1.03, float64(60-key))
}

// balance lowers what is too loud under the tune. Hands whose sign says that the left is
// louder are left as the page wants them.
func (r *reading) balance() {
	tune := make([]int, 0, len(r.notes)) // indices of the tune's ordinary notes, in order
	for i := range r.notes {
		if n := &r.notes[i]; n.role == score.Melody && n.note.Grace == 0 {
			tune = append(tune, i)
		}
	}
	if len(tune) == 0 {
		return
	}
	lowered := make([]float64, len(r.notes))
	for i := range r.notes {
		n := &r.notes[i]
		lowered[i] = n.velocity
		if n.tune || n.note.Stroke.Velocity > 0 || r.leads(n.note) {
			continue
		}
		t := r.under(tune, n.note.At)
		if t < 0 {
			continue
		}
		var above, below float64
		for _, m := range r.between(n.note.At-apart, n.note.At+apart) {
			switch {
			case m.note.Grace > 0:
			case m.tune:
				above += ring(m.note.Pitch.MIDI(), m.velocity)
			case m.role != score.Doubling:
				below += ring(m.note.Pitch.MIDI(), m.velocity)
			}
		}
		v := n.velocity
		if above > 0 && n.role != score.Doubling {
			if most := above * math.Pow(10, -under/10) * math.Pow(r.lower(n.note), 4); below > most {
				v *= math.Pow(most/below, 0.25)
			}
		}
		lowered[i] = max(min(v, clear*r.notes[t].velocity), min(faint, n.velocity))
	}
	for i := range r.notes {
		r.notes[i].velocity = lowered[i]
	}
}

// leads tells whether the page wants the hand of a note louder than the other: then it
// has the say.
func (r *reading) leads(n score.Note) bool {
	return n.Hand == score.Left && r.loud[1].At(n.At) > r.loud[0].At(n.At)
}

// lower is the share of its loudness that a sign takes from the left hand, below what the
// balance gives it in any case.
func (r *reading) lower(n score.Note) float64 {
	if n.Hand != score.Left {
		return 1
	}
	return min(1, share(r.loud[1].At(n.At))*underSign/share(r.loud[0].At(n.At)))
}

// under returns the note of the tune that sounds at a position, as an index into notes, or
// -1 where the tune rests: then what accompanies has the floor.
func (r *reading) under(tune []int, at theory.Dur) int {
	i := sort.Search(len(tune), func(i int) bool { return r.notes[tune[i]].note.At > at }) - 1
	if i < 0 || r.notes[tune[i]].note.End()+theory.Eighth <= at {
		return -1
	}
	return tune[i]
}
