package roadmap

import (
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Fitting returns a metre for a length, with the unit of the metre that was meant if
// it can be; where no metre fits, that one.
func Fitting(d theory.Dur, meant leadsheet.Meter) leadsheet.Meter {
	for _, unit := range []int{meant.Unit, 4, 8, 16, 32, 64} {
		if unit <= 0 {
			continue
		}
		u := theory.Whole / theory.Dur(unit)
		if m := (leadsheet.Meter{Beats: int(min(d/u, 1000)), Unit: unit}); d%u == 0 && m.Valid() {
			return m
		}
	}
	return meant
}

// FreeBar returns the metre of a bar of music that is in none: the one that it fills.
func FreeBar(d theory.Dur) leadsheet.Meter {
	m := Fitting(d, leadsheet.Meter{Beats: 4, Unit: 4})
	m.Symbol = leadsheet.FreeSymbol
	return m
}

// WithGroups returns the song with the groups of its uneven metres, where the sheet
// does not give them, and tells what was found. breaks are the places where the page
// begins a beam anew, if that is known.
//
// Problem: 7/8 can be 2+2+3, 2+3+2 or 3+2+2. Objective: of the ways to put a bar
// together of twos and threes (in quarters of 5 and 7 also of fours) the one on whose
// groups most begins: a chord, a note after a shorter one, a beam; what is held over
// the beginning of a group speaks against it. All bars of a metre are counted alike.
// Of equals the usual groups win. Cost: ways × notes; a bar of 13 has 16 ways.
// Rejected: a decision for each bar, which follows each figure of the tune and leaves
// the player nothing to count on. Common practice, no source.
func WithGroups(s leadsheet.Song, breaks []theory.Dur) leadsheet.Song {
	type kind struct{ beats, unit int }
	found := map[kind]leadsheet.Meter{}
	bars := make([]leadsheet.Bar, len(s.Bars))
	copy(bars, s.Bars)
	for i := range bars {
		m := bars[i].Meter
		if m.Parts != "" || m.Free() || !open(m) {
			continue
		}
		k := kind{m.Beats, m.Unit}
		best, ok := found[k]
		if !ok {
			best = grouped(s, m, breaks)
			found[k] = best
			if n := count(bars, m); best.Parts != "" && n > 1 {
				pos := s.PosAt(bars[i].At)
				pos.Line = bars[i].Line
				s.Problems.Tell(leadsheet.Info, pos, "groups-found", "Metre", m, "Groups", best.Parts, "Unit", m.Unit)
			}
		}
		bars[i].Meter.Parts = best.Parts
	}
	if len(found) == 0 {
		return s
	}
	s.Bars = bars
	if len(bars) > 0 {
		s.Meter = bars[0].Meter
	}
	return s
}

// count tells how many bars are in a metre.
func count(bars []leadsheet.Bar, m leadsheet.Meter) (n int) {
	for _, b := range bars {
		if b.Meter.Beats == m.Beats && b.Meter.Unit == m.Unit {
			n++
		}
	}
	return n
}

// mostGrouped is the number of beats up to which groups are looked for.
const mostGrouped = 17

// open tells whether the groups of a metre have to be found. Eight eighths are, too:
// they may be 3+3+2.
func open(m leadsheet.Meter) bool {
	return m.Beats <= mostGrouped && (m.Uneven() || m.Beats == 8 && m.Unit >= 8)
}

// grouped finds the groups of a metre.
func grouped(s leadsheet.Song, m leadsheet.Meter, breaks []theory.Dur) leadsheet.Meter {
	unit := theory.Whole / theory.Dur(m.Unit)
	weights := make([]int, m.Beats+1) // what speaks for a group to begin at each unit
	tell := func(at theory.Dur, w int) {
		b := s.Bars[s.BarAt(at)]
		if off := b.Offset(at); b.Meter.Beats == m.Beats && b.Meter.Unit == m.Unit && off%unit == 0 && int(off/unit) < m.Beats {
			weights[off/unit] += w
		}
	}
	for i, n := range s.Melody {
		long := 1
		if i > 0 && n.Dur > s.Melody[i-1].Dur || n.Dur > unit {
			long = 3
		}
		tell(n.At, long)
		for at := n.At + unit; at < n.End() && at < n.At+m.Bar(); at += unit {
			tell(at, -3)
		}
	}
	for _, c := range s.Chords {
		tell(c.At, 8)
	}
	for _, at := range breaks {
		tell(at, 4)
	}
	best, most := m, -1<<30
	usual := m.Groups()
	try := func(parts []int) {
		score, at := 0, 0
		same := len(usual) == len(parts)-1
		for i, p := range parts[:len(parts)-1] {
			at += p
			score += weights[at]
			same = same && usual[i] == theory.Dur(at)*unit
		}
		// More groups gather more: what each place has is held against what places have
		// that begin no group.
		rest := 0
		for i := 1; i < m.Beats; i++ {
			rest += weights[i]
		}
		begins := len(parts) - 1
		score = 1000*score*(m.Beats-1-begins) - 1000*(rest-score)*begins
		if same {
			score++
		}
		if score > most {
			most = score
			best, _ = m.Grouped(parts...)
		}
	}
	ways(m.Beats, m.Unit < 8 && m.Beats <= 7, nil, try)
	if m.Beats == 8 && !best.Uneven() || most <= 0 {
		return m
	}
	return best
}

// ways lists the ways to put n together of twos and threes, and of fours.
func ways(n int, fours bool, parts []int, try func([]int)) {
	if n == 0 {
		try(parts)
		return
	}
	for p := 4; p >= 2; p-- {
		if p <= n && (p < 4 || fours) {
			ways(n-p, fours, append(parts[:len(parts):len(parts)], p), try)
		}
	}
}
