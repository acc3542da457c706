package leadsheet

import (
	"fmt"

	"gradatim/theory"
)

// Meter is a time signature. Symbol keeps how it was written ("C", "C|"), for
// print only.
type Meter struct {
	Beats  int // upper number
	Unit   int // lower number, a power of two
	Symbol string
}

// Valid tells whether the metre can hold a bar.
func (m Meter) Valid() bool {
	return m.Beats > 0 && m.Beats <= 64 && m.Unit > 0 && m.Unit <= 64 && m.Unit&(m.Unit-1) == 0
}

// Bar returns the length of a full bar; 0 for a metre without a unit.
func (m Meter) Bar() theory.Dur {
	if m.Unit <= 0 {
		return 0
	}
	return theory.Dur(m.Beats) * theory.Whole / theory.Dur(m.Unit)
}

// Compound tells whether the beat divides in three: 6/8, 9/8, 12/8, 6/4 …
// (3/8 counts as one compound beat).
func (m Meter) Compound() bool {
	return m.Beats%3 == 0 && (m.Beats > 3 && m.Unit >= 4 || m.Beats == 3 && m.Unit >= 8)
}

// BeatDur returns the length of one beat: the dotted value in compound metres;
// 0 for a metre without a unit.
func (m Meter) BeatDur() theory.Dur {
	if m.Unit <= 0 {
		return 0
	}
	d := theory.Whole / theory.Dur(m.Unit)
	if m.Compound() {
		d *= 3
	}
	return d
}

// Pulse returns the unit that accompaniments count in: the beat, but the quarter
// in 2/2, whose patterns are those of 4/4; 0 for a metre without a unit.
func (m Meter) Pulse() theory.Dur {
	if m.Unit == 2 && m.Beats%2 == 0 && !m.Compound() {
		return theory.Quarter
	}
	return m.BeatDur()
}

// BeatCount returns the number of beats in a bar.
func (m Meter) BeatCount() int {
	if m.BeatDur() <= 0 {
		return 0
	}
	return int(m.Bar() / m.BeatDur())
}

// Strength ranks an offset in the bar: 0 the downbeat, 1 the middle of a
// four-beat (or compound two-beat) bar, 2 another beat, 3 the half of a simple
// beat or third of a compound one, 4 anything finer. The metre has to be valid.
// Common practice, no source.
func (m Meter) Strength(offset theory.Dur) int {
	beat := m.BeatDur()
	switch {
	case offset == 0:
		return 0
	case offset%beat != 0:
		sub := beat / 2
		if m.Compound() {
			sub = beat / 3
		}
		if offset%sub == 0 {
			return 3
		}
		return 4
	case m.BeatCount()%2 == 0 && offset == m.Bar()/2:
		return 1
	default:
		return 2
	}
}

// String writes "4/4".
func (m Meter) String() string { return fmt.Sprintf("%d/%d", m.Beats, m.Unit) }
