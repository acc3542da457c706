package hand

import (
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// Demand is a kind of place on a page that asks for care.
type Demand uint8

// Demands.
const (
	Stretch   Demand = iota + 1 // struck together near the end of the hand's span
	Roll                        // a rolled chord wider than the hand
	Octaves                     // octaves or wider, struck again and again
	Repeating                   // a key or chord repeated as fast as hands go
)

var demands = [...]struct{ name, caution string }{
	Stretch:   {"stretch", "This page has chords close to the end of your reach. Play them briefly and let the hand close again at once. If a hand must strain, leave out an inner note, break the chord, or give a note to the other hand."},
	Roll:      {"roll", "These chords are wider than the hand: play the notes one after the other from below, catch the first with the pedal and let it go. Move the whole arm along; do not hold the hand open."},
	Octaves:   {"octaves", "Octaves follow one another here. Keep the wrist free, and stop as soon as the forearm aches or stiffens; practise a few bars at a time, slowly, with rests."},
	Repeating: {"repetition", "Quick repetitions tire the hand. Begin well below the tempo, change fingers where you can, and stop before it tightens."},
}

// String returns the demand's name.
func (d Demand) String() string {
	if int(d) >= len(demands) {
		return ""
	}
	return demands[d].name
}

// Caution returns what to tell the player about the demand.
func (d Demand) Caution() string {
	if int(d) >= len(demands) {
		return ""
	}
	return demands[d].caution
}

// BodyNote is what every page with a demand says once. General words: teacher and
// clinician decide. Source for the stand on stretching: the music teachers' paper
// "Small Hands, SOS!" (MTNA), which warns against exercises and devices that
// claim to enlarge the span.
const BodyNote = "Nothing here is meant to make a hand larger, and no exercise should try to. Stop when something hurts, tingles or tires, rest, and show your teacher what you were playing. If it stays or comes back, ask a doctor or a hand therapist. What feels easy for another hand need not be right for yours."

// Place is where a demand is met.
type Place struct {
	Demand Demand
	At     theory.Dur
	Hand   score.Hand
	Keys   []int  // ascending
	Width  Length // between the outer keys
}

// Demands lists what a page asks of a player's hands beyond ease, in order of
// time, right hand first: stretches beyond comfort, rolled chords wider than the
// reach, octaves from the second in a row on (within a beat of a quarter), and
// repetitions faster than one finger makes them at the printed tempo.
func Demands(s score.Score, p Profile) []Place {
	var out []Place
	for _, h := range [...]score.Hand{score.Right, score.Left} {
		ps := plays(s, h)
		octaves := 0
		last := map[int]theory.Dur{}
		for i := range ps {
			st := &ps[i].Strike
			if st.Grace || len(st.Keys) == 0 {
				continue
			}
			width := Distance(st.Keys[0], st.Keys[len(st.Keys)-1])
			add := func(d Demand) {
				out = append(out, Place{Demand: d, At: st.At, Hand: h, Keys: st.Keys, Width: width})
			}
			switch {
			case st.Rolled && width > p.Reach(h):
				add(Roll)
			case !st.Rolled && len(st.Keys) > 1 && !p.Comfortable(h, st.Keys):
				add(Stretch)
			}
			if !st.Rolled && width >= Octave {
				if octaves > 0 && i > 0 && st.At-ps[i-1].At <= theory.Quarter {
					add(Octaves)
				}
				octaves++
			} else {
				octaves = 0
			}
			repeated := false
			for _, k := range st.Keys {
				if at, ok := last[k]; ok && s.Tempo.Set() && at < st.At {
					wait := Micros(int64(st.At-at) * 60 * int64(Second) / (int64(s.Tempo.Beat) * int64(s.Tempo.PerMinute)))
					repeated = repeated || wait < OneFinger
				}
				last[k] = st.At
			}
			if repeated {
				add(Repeating)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Place) int { return int(min(max(a.At-b.At, -1), 1)) })
	return out
}
