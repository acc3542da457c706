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

// BeatCount returns the number of beats in a bar.
func (m Meter) BeatCount() int {
	if m.BeatDur() <= 0 {
		return 0
	}
	return int(m.Bar() / m.BeatDur())
}

// OrCommon returns the metre, or common time where it is none.
func (m Meter) OrCommon() Meter {
	if m.Valid() {
		return m
	}
	return Meter{Beats: 4, Unit: 4}
}

// Pulse returns what players count in: the beat, but the quarter in 2/2, which is
// read as 4/4 is; 0 for a metre without a unit. Common practice, no source.
func (m Meter) Pulse() theory.Dur {
	if m.Beats == 2 && m.Unit == 2 {
		return theory.Quarter
	}
	return m.BeatDur()
}

// Division returns the first part that a pulse divides into: its half, or a third
// of a compound one.
func (m Meter) Division() theory.Dur {
	if m.Compound() {
		return m.Pulse() / 3
	}
	return m.Pulse() / 2
}

// Groups returns the places inside a full bar where a group of pulses begins: the
// middle of 4/4, 3+2 in 5/4, 2+2+3 in 7/8; else groups of three where they come out
// even, or of four. Bars of two or three pulses are one group. The metre has to be
// valid. Common practice, no source.
func (m Meter) Groups() []theory.Dur {
	pulse, bar := m.Pulse(), m.Bar()
	step := 4 * pulse
	switch n := int(bar / pulse); {
	case n < 4:
		return nil
	case n == 4:
		return []theory.Dur{bar / 2}
	case n == 5:
		return []theory.Dur{3 * pulse}
	case n == 7 && m.Unit >= 8:
		return []theory.Dur{2 * pulse, 4 * pulse}
	case n%3 == 0:
		step = 3 * pulse
	}
	var out []theory.Dur
	for at := step; at < bar; at += step {
		out = append(out, at)
	}
	return out
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
		parts := theory.Dur(2)
		if m.Compound() {
			parts = 3
		}
		if offset%(beat/parts) == 0 {
			return 3
		}
		return 4
	case m.BeatCount()%2 == 0 && offset == m.Bar()/2:
		return 1
	default:
		return 2
	}
}

// BeatAt converts an offset from the start of a full bar into a Beat of the metre.
func (m Meter) BeatAt(offset theory.Dur) Beat {
	unit := m.BeatDur()
	if unit <= 0 {
		unit = theory.Quarter
	}
	return BeatUnit + Beat(offset*theory.Dur(BeatUnit)/unit)
}

// String writes "4/4".
func (m Meter) String() string { return fmt.Sprintf("%d/%d", m.Beats, m.Unit) }
