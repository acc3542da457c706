package musicxml

import (
	"slices"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// writtenBar is one bar of the page with everything decided that all readers
// need: its length, metre, key and number.
type writtenBar struct {
	line   int
	number int // counted from the first full bar; a pick-up is 0
	dur    theory.Dur
	meter  leadsheet.Meter
	key    theory.Key
	pickup bool
	second bool       // the second part of a bar that a repeat sign divides
	silent theory.Dur // the rests that pad a pick-up to a full bar
	parts  int        // bars that this one holds, where it is several bars long
}

// signatures is what was found out about key and metre.
type signatures struct {
	keyed, metered bool // declared at the beginning
}

// bars decides about every bar. content holds how far the notes reach in any
// part; fill tells whether a bar that lacks a rest is filled up.
func (r *reader) bars(l *lane, content []theory.Dur, turns []turn, fill bool) ([]writtenBar, signatures) {
	n := len(l.bars)
	bars := make([]writtenBar, n)
	sig := signatures{}
	guess := leadsheet.Meter{Beats: 4, Unit: 4}
	if n > 0 && !l.bars[0].metered && !l.bars[0].free {
		guess = guessMeter(l, content)
		r.warnAt(place{line: l.measures[0].line}, "time-missing", "Metre", guess)
	}
	sig.metered = n > 0 && l.bars[0].metered
	sig.keyed = n > 0 && l.bars[0].key.Valid()
	if n > 0 && !sig.keyed && !l.bars[0].oddKey {
		r.warnAt(place{line: l.measures[0].line}, "key-missing.signature")
	}
	key := theory.Key{Tonic: theory.Name{Letter: theory.C}, Mode: theory.Major}
	for i := range bars {
		b, lb := &bars[i], &l.bars[i]
		b.line = l.measures[i].line
		if lb.key.Valid() {
			key = lb.key
		}
		b.key = key
		switch {
		case lb.metered && !lb.free:
			b.meter = lb.meter
		case lb.free:
			b.meter = roadmap.FreeBar(content[i])
		default:
			b.meter = guess
		}
		b.dur, b.parts = content[i], 1
	}
	for i := range bars {
		r.length(bars, i, l, turns, fill)
	}
	number := 0
	for i := range bars {
		b := &bars[i]
		switch {
		case i == 0 && b.pickup:
		case b.second:
		default:
			number++
		}
		b.number = number
		number += b.parts - 1
	}
	r.problems.bars = bars
	return bars, sig
}

// length decides how long a bar is. A short bar stays short at the beginning
// (a pick-up), at the end, where the file says that it is not counted, and where
// a repeat or ending divides it; elsewhere a rest is missing. In a lead sheet that
// is filled in; in a piano score, whose staves agree on it, the bar is as long as
// its notes.
func (r *reader) length(bars []writtenBar, i int, l *lane, turns []turn, fill bool) {
	b, full := &bars[i], bars[i].meter.Bar()
	last := len(bars) - 1
	here := place{line: b.line, bar: i}
	switch {
	case b.dur == 0:
		b.dur = full
	case b.dur == full:
		return
	case b.dur > full:
		if b.dur%full == 0 && b.dur/full <= 64 {
			b.parts = int(b.dur / full)
			r.warnAt(here, "bar-overfull.several", "n", b.parts, "Metre", b.meter)
			return
		}
		m := roadmap.Fitting(b.dur, b.meter)
		r.warnAt(here, "bar-overfull.read", "Metre", b.meter, "Read", m)
		b.meter = m
	case i == 0 && last > 0:
		b.pickup = true
	case i == last, l.measures[i].implicit && i > 0 && bars[i-1].dur == bars[i-1].meter.Bar():
	case i > 0 && bars[i-1].dur < bars[i-1].meter.Bar() && bars[i-1].dur+b.dur == full && !bars[i-1].second:
		b.second = true
	case i < last && b.dur+bars[i+1].dur == full && bars[i+1].dur < bars[i+1].meter.Bar():
	case turns[i].times > 0, turns[i].bracketEnd, i < last && (turns[i+1].start || turns[i+1].bracket), turns[i].start:
	case l.measures[i].implicit:
	case !fill:
		r.warnAt(place{line: b.line, bar: i, at: b.dur, timed: true}, "bar-underfull.short", "Metre", b.meter, "Missing", full-b.dur)
	default:
		missing := full - b.dur
		r.warnAt(place{line: b.line, bar: i, at: b.dur, timed: true}, "bar-underfull.filled", "Metre", b.meter, "Missing", missing)
		b.dur = full
	}
}

// guessMeter finds the metre of a sheet that declares none: the commonest length
// of its bars; of two metres with that length, the one whose beats the notes
// fall on.
func guessMeter(l *lane, content []theory.Dur) leadsheet.Meter {
	count := map[theory.Dur]int{}
	var lengths []theory.Dur
	for i, d := range content {
		if d == 0 || l.bars[i].metered {
			continue
		}
		if count[d] == 0 {
			lengths = append(lengths, d)
		}
		count[d]++
	}
	if len(lengths) == 0 {
		return leadsheet.Meter{Beats: 4, Unit: 4}
	}
	slices.Sort(lengths)
	best := lengths[0]
	for _, d := range lengths {
		if count[d] >= count[best] {
			best = d
		}
	}
	simple := roadmap.Fitting(best, leadsheet.Meter{Beats: 4, Unit: 4})
	dotted := 3 * theory.Eighth
	if best%dotted != 0 || best/dotted < 2 {
		return simple
	}
	three, two := 0, 0 // onsets on dotted quarters only, and on quarters only
	for i := range l.bars {
		for _, n := range l.bars[i].notes {
			if n.grace || n.chord || n.at == 0 {
				continue
			}
			switch onThree, onTwo := n.at%dotted == 0, n.at%theory.Quarter == 0; {
			case onThree && !onTwo:
				three++
			case onTwo && !onThree:
				two++
			}
		}
	}
	if three > two {
		return leadsheet.Meter{Beats: int(best / theory.Eighth), Unit: 8}
	}
	return simple
}
