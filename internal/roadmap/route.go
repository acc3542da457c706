package roadmap

import (
	"slices"

	"gradatim/leadsheet"
)

// What a reader of sheets accepts at most. A sheet beyond these is refused with
// a placed error: repeats multiply, and a hostile page must not fill the memory.
const (
	MaxPlayedBars  = 20_000  // bars with the repeats written out
	MaxPlayedNotes = 200_000 // melody notes and chord symbols with the repeats written out
	MaxPasses      = leadsheet.MaxPasses
)

// Signs is what the page says at one written bar about the order of playing.
type Signs = leadsheet.Signs

// Visit is one bar in playing order: which written bar, on which pass of its
// section, of how many.
type Visit struct{ Bar, Pass, Passes int }

// RouteProblem is a Problem placed by written bar; the reader of a format turns
// it into one placed by line.
type RouteProblem struct {
	Bar      int
	Severity leadsheet.Severity
	Says     leadsheet.Saying
	Parts    []any
}

// sayer tells of something at a written bar.
type sayer = func(bar int, sev leadsheet.Severity, says leadsheet.Saying, parts ...any)

// Route writes repeats, endings and jumps out into playing order.
//
// A section runs from an opening sign (or from where the last repeat closed, or
// from a Break) to the bar that closes it with its last ending. It is played
// max(Times, highest ending) times. After D.C. or D.S. (to the nearest sign before
// it) no repeat is taken again, but for those of the coda, and only last endings
// are played, as is the custom of print, or the ending that holds the Fine or the
// way to the coda; a second jump is not made. Where endings are written without a
// closing sign, each ending but the last is taken to close the repeat, unless it
// is a jump that leads out of it. All in one pass over the bars and one over the
// result; the result never exceeds MaxPlayedBars.
func Route(bars []Signs) ([]Visit, []RouteProblem) {
	var problems []RouteProblem
	say := func(bar int, sev leadsheet.Severity, says leadsheet.Saying, parts ...any) {
		problems = append(problems, RouteProblem{bar, sev, says, parts})
	}
	secs := sections(bars, say)
	visits := make([]Visit, 0, len(bars))
	full := func() bool {
		if len(visits) < MaxPlayedBars {
			return false
		}
		say(visits[len(visits)-1].Bar, leadsheet.Error, "too-long.repeats", "Most", MaxPlayedBars)
		return true
	}

	jump := -1 // the bar after which the jump was made
walk:
	for _, s := range secs {
		for pass := 1; pass <= s.passes; pass++ {
			for i := s.first; i <= s.last; i++ {
				b := bars[i]
				if b.Ending != 0 && !b.Ending.Has(pass) {
					continue
				}
				if full() {
					return nil, problems
				}
				visits = append(visits, Visit{i, pass, s.passes})
				if pass < s.passes {
					if b.Times > 0 || s.closes(bars, i) {
						break
					}
					continue
				}
				if b.DaCapo || b.DalSegno {
					jump = i
					break walk
				}
			}
		}
	}
	if jump >= 0 {
		from := 0
		if bars[jump].DalSegno {
			for from = jump; from >= 0 && !bars[from].Segno; from-- {
			}
			if from < 0 {
				from = slices.IndexFunc(bars, func(b Signs) bool { return b.Segno })
			}
			if from < 0 {
				say(jump, leadsheet.Warning, "segno-missing")
				from = 0
			}
		}
		coda := slices.IndexFunc(bars, func(b Signs) bool { return b.Coda })
		passes := make([]int, len(bars))
		for _, s := range secs {
			for i := s.first; i <= s.last; i++ {
				passes[i] = s.lastPass(bars)
			}
		}
		i := from
		for ; i < len(bars); i++ {
			b := bars[i]
			if b.Ending != 0 && !b.Ending.Has(passes[i]) {
				continue
			}
			if full() {
				return nil, problems
			}
			visits = append(visits, Visit{i, passes[i], passes[i]})
			if b.Fine {
				i = len(bars)
				break
			}
			if b.ToCoda {
				if coda > i {
					break
				}
				say(i, leadsheet.Warning, "coda-missing.straight")
			}
		}
		if i < len(bars) { // the coda is played as it is written
			for _, s := range secs {
				for pass := 1; pass <= s.passes && s.last >= coda; pass++ {
					for i := max(s.first, coda); i <= s.last; i++ {
						if bars[i].Ending != 0 && !bars[i].Ending.Has(pass) {
							continue
						}
						if full() {
							return nil, problems
						}
						visits = append(visits, Visit{i, pass, s.passes})
						if pass < s.passes && (bars[i].Times > 0 || s.closes(bars, i)) {
							break
						}
					}
				}
			}
		}
	}
	unplayed(bars, visits, say)
	return visits, problems
}

// section is a run of written bars that is played passes times.
type section struct {
	first, last, passes int
	closed              bool // a closing sign is written
}

// lastPass returns the pass to play after a jump: the last, unless only another
// ending holds the Fine or the way to the coda.
func (s section) lastPass(bars []Signs) int {
	last := s.passes
	for i := s.first; i <= s.last; i++ {
		last = max(last, bars[i].Ending.Last())
	}
	pass := last
	for i := s.first; i <= s.last; i++ {
		if b := bars[i]; b.Ending != 0 && (b.Fine || b.ToCoda) {
			if b.Ending.Has(last) {
				return last
			}
			pass = b.Ending.First()
		}
	}
	return pass
}

// closes tells whether bar i ends an ending of a section whose closing signs
// are missing.
func (s section) closes(bars []Signs, i int) bool {
	if s.closed || bars[i].Ending == 0 {
		return false
	}
	return i == s.last || bars[i+1].Ending != bars[i].Ending
}

func sections(bars []Signs, say sayer) []section {
	var secs []section
	add := func(first, last int) {
		s := section{first: first, last: last, passes: 1}
		endings, leaves := 1, false
		for i := first; i <= last; i++ {
			if t := bars[i].Times; t > 0 {
				s.closed = true
				s.passes = max(s.passes, t)
			}
			endings = max(endings, bars[i].Ending.Last())
			leaves = leaves || i < last && bars[i].Ending != 0 && (bars[i].DaCapo || bars[i].DalSegno)
		}
		if leaves && !s.closed {
			endings = 1
		}
		if endings > 1 && !s.closed {
			say(first, leadsheet.Warning, "repeat-end-missing")
		}
		s.passes = min(max(s.passes, endings), MaxPasses)
		secs = append(secs, s)
	}
	first, closed := 0, false // closed: the open section has had a closing sign
	for i := 1; i < len(bars); i++ {
		b, before := bars[i], bars[i-1]
		closed = closed || before.Times > 0
		switch {
		case b.Start, b.Break,
			closed && b.Ending == 0,
			closed && b.Ending.Has(1) && b.EndingOpens,
			before.Ending != 0 && b.Ending == 0:
			add(first, i-1)
			first, closed = i, false
		}
	}
	if len(bars) > 0 {
		add(first, len(bars)-1)
	}
	return secs
}

func unplayed(bars []Signs, visits []Visit, say sayer) {
	seen := make([]bool, len(bars))
	for _, v := range visits {
		seen[v.Bar] = true
	}
	for i := 0; i < len(seen); i++ {
		if seen[i] {
			continue
		}
		n := 1
		for i+n < len(seen) && !seen[i+n] {
			n++
		}
		say(i, leadsheet.Warning, "bars-unplayed", "n", n)
		i += n
	}
}
