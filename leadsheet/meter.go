package leadsheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim/theory"
)

// Meter is a time signature. Symbol keeps how it was written, for print only: "C",
// "C|", "3+2" where the sheet writes its groups, FreeSymbol where it writes none.
type Meter struct {
	Beats  int // upper number
	Unit   int // lower number, a power of two
	Symbol string
	Parts  string // how its beats are grouped, "3+2" or "2+2+3"; "": as is usual
}

// FreeSymbol is the Symbol of bars that are in no metre: each has the one that it
// fills, and prints none.
const FreeSymbol = "free"

// Free tells whether the bar is in no metre, and has this one only to be counted.
func (m Meter) Free() bool { return m.Symbol == FreeSymbol }

// Given tells whether the sheet writes the groups.
func (m Meter) Given() bool { return m.Parts != "" && m.Symbol == m.Parts }

// Grouped returns the metre in the given groups, which have to add up to its beats;
// ok is false where they do not.
func (m Meter) Grouped(parts ...int) (_ Meter, ok bool) {
	sum := 0
	var text []string
	for _, n := range parts {
		if n < 1 {
			return m, false
		}
		sum += n
		text = append(text, strconv.Itoa(n))
	}
	if sum != m.Beats {
		return m, false
	}
	m.Parts = strings.Join(text, "+")
	return m, true
}

// parts reads Parts; nil where there are none, or none that add
// up.
func (m Meter) parts() []int {
	if m.Parts == "" {
		return nil
	}
	var out []int
	sum := 0
	for s := range strings.SplitSeq(m.Parts, "+") {
		n, err := strconv.Atoi(s)
		if err != nil || n < 1 {
			return nil
		}
		out, sum = append(out, n), sum+n
	}
	if sum != m.Beats || len(out) < 2 {
		return nil
	}
	return out
}

// Uneven tells whether the groups of a bar are of different lengths: 5/4, 7/8,
// 3+3+2/8. Without groups of its own a bar is, where its beats are neither threes nor
// halves of halves.
func (m Meter) Uneven() bool {
	if ps := m.parts(); ps != nil {
		return slices.ContainsFunc(ps, func(n int) bool { return n != ps[0] })
	}
	return m.Beats > 4 && m.Beats%3 != 0 && m.Beats&(m.Beats-1) != 0
}

// Feet returns the groups of an uneven bar as numbers of its units, those given or
// the usual ones: 3+2 in 5, 2+2+3 in 7/8, 4+3 in 7/4, else twos that end in a three.
// Nil for other bars. Common practice (Balkan dances count so), no source.
func (m Meter) Feet() []int {
	if !m.Uneven() {
		return nil
	}
	if ps := m.parts(); ps != nil {
		return ps
	}
	switch {
	case m.Beats == 5:
		return []int{3, 2}
	case m.Beats == 7 && m.Unit < 8:
		return []int{4, 3}
	case m.Beats == 10:
		return []int{3, 2, 3, 2}
	case m.Beats == 11:
		return []int{2, 2, 3, 2, 2}
	}
	var out []int
	for n := m.Beats; n > 0; {
		step := 2
		if n == 3 {
			step = 3
		}
		out = append(out, step)
		n -= step
	}
	return out
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
	if ps := m.parts(); ps != nil && (m.Uneven() || ps[0] != 3) {
		return false
	}
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
// middle of 4/4, the feet of an uneven bar; else groups of three where they come out
// even, or of four. Bars of two or three pulses are one group. The metre has to be
// valid. Common practice, no source.
func (m Meter) Groups() []theory.Dur {
	pulse, bar := m.Pulse(), m.Bar()
	feet := m.Feet()
	if feet == nil {
		feet = m.parts()
	}
	if feet != nil && (m.Uneven() || !m.Compound()) {
		unit := theory.Whole / theory.Dur(m.Unit)
		var out []theory.Dur
		at := theory.Dur(0)
		for _, n := range feet[:len(feet)-1] {
			at += theory.Dur(n) * unit
			out = append(out, at)
		}
		return out
	}
	step := 4 * pulse
	switch n := int(bar / pulse); {
	case n < 4:
		return nil
	case n == 4:
		return []theory.Dur{bar / 2}
	case n%3 == 0:
		step = 3 * pulse
	}
	var out []theory.Dur
	for at := step; at < bar; at += step {
		out = append(out, at)
	}
	return out
}

// OnBeat tells whether something that is felt as a beat begins at an offset: a pulse,
// but in uneven bars of eighths and shorter a foot.
func (m Meter) OnBeat(offset theory.Dur) bool {
	if m.Quick() {
		return offset == 0 || slices.Contains(m.Groups(), offset)
	}
	return offset%m.Pulse() == 0
}

// Quick tells whether the bar is uneven and its feet are beats rather than groups of
// beats: 5/8, 7/8, 7/16.
func (m Meter) Quick() bool { return m.Unit >= 8 && m.Uneven() }

// Strength ranks an offset in the bar: 0 the downbeat, 1 the middle of a
// four-beat (or compound two-beat) bar, or the feet of an uneven one, 2 another
// beat, 3 the half of a simple beat, third of a compound one or part of a quick foot,
// 4 anything finer. The metre has to be valid. Common practice, no source.
func (m Meter) Strength(offset theory.Dur) int {
	beat := m.BeatDur()
	if m.Uneven() && offset != 0 && offset%beat == 0 {
		switch {
		case slices.Contains(m.Groups(), offset):
			return 1
		case m.Quick():
			return 3
		}
		return 2
	}
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

// String writes "4/4", and "3+2/8" where the sheet gives its groups.
func (m Meter) String() string {
	if m.Given() {
		return fmt.Sprintf("%s/%d", m.Parts, m.Unit)
	}
	return fmt.Sprintf("%d/%d", m.Beats, m.Unit)
}
