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

var demands = [...]string{Stretch: "stretch", Roll: "roll", Octaves: "octaves", Repeating: "repetition"}

// String returns the demand's id; package words has its name, and what to tell the
// player about it.
func (d Demand) String() string {
	if int(d) >= len(demands) {
		return ""
	}
	return demands[d]
}

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
		ps, _ := plays(s, h)
		octaves := 0
		last := map[int]theory.Dur{}
		for i := range ps {
			st := ps[i].Strike
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
