// Package event is what a performer hands to an instrument: keys, pedal and
// clicks, in seconds. It holds plain values and knows neither scores nor sound.
package event

import (
	"cmp"
	"slices"
)

// A Note is one key, held from Start for Dur seconds.
type Note struct {
	Start, Dur float64
	Key        int // MIDI key number, 60 is middle C
	Velocity   int // 1…127
}

// A Pedal is a new position of the damper pedal.
type Pedal struct {
	Time  float64
	Value int // as MIDI controller 64: 64 and more is down
}

// A Tick is one stroke of the metronome.
type Tick struct {
	Time   float64
	Accent bool // the first beat of a bar
}

// A Sequence is everything played in one take. The order within each list does
// not matter. The zero value is silence.
type Sequence struct {
	Notes  []Note
	Pedals []Pedal
	Ticks  []Tick
	End    float64 // the take lasts at least this long, in seconds
}

// Sorted returns a copy in playing order, ties broken by every field.
func (s Sequence) Sorted() Sequence {
	s.Notes = slices.SortedFunc(slices.Values(s.Notes), func(a, b Note) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.Key, b.Key), cmp.Compare(a.Dur, b.Dur), cmp.Compare(a.Velocity, b.Velocity))
	})
	s.Pedals = slices.SortedFunc(slices.Values(s.Pedals), func(a, b Pedal) int {
		return cmp.Or(cmp.Compare(a.Time, b.Time), cmp.Compare(a.Value, b.Value))
	})
	s.Ticks = slices.SortedFunc(slices.Values(s.Ticks), func(a, b Tick) int {
		return cmp.Or(cmp.Compare(a.Time, b.Time), cmp.Compare(bit(a.Accent), bit(b.Accent)))
	})
	return s
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}
