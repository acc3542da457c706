package musicxml

import (
	"cmp"
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// tuneMark is one chord symbol in its bar.
type tuneMark struct {
	at   theory.Dur
	line int
	reading
}

// chordLane is the lane whose chord symbols are read: the first of those given
// that has any, else the first.
func chordLane(lanes ...*lane) *lane {
	for _, l := range lanes {
		if hasChords(l) {
			return l
		}
	}
	return lanes[0]
}

// chordMarks reads the chord symbols of a lane; words tells whether chords
// written as words count.
func (r *reader) chordMarks(l *lane, bars []writtenBar, words bool) [][]tuneMark {
	written := hasChords(l)
	out := make([][]tuneMark, len(bars))
	var before reading // the last chord, for %
	for i := range min(len(bars), len(l.bars)) {
		b := &l.bars[i]
		var marks []tuneMark
		for _, c := range b.chords {
			if c.Alternate {
				r.warnAt(place{line: c.line, bar: i, at: c.at, timed: true}, "chord-alternative")
				continue
			}
			marks = append(marks, tuneMark{at: c.at, line: c.line, reading: c.read(bars[i].key, b.iv)})
		}
		if words {
			for _, d := range b.signs {
				if m, ok := r.wordChord(d, i, b, len(marks) == 0, written); ok {
					marks = append(marks, m)
				}
			}
		}
		for k := range marks {
			m := &marks[k]
			here := place{line: m.line, bar: i, at: m.at, timed: true}
			if m.at > bars[i].dur {
				r.warnAt(here, "chord-outside-bar")
				m.at = bars[i].dur
			}
			switch {
			case m.repeat && before.text != "":
				r.warnAt(here, "chord-repeat.before")
				m.reading = before
			case m.repeat, m.unknown:
				m.unknown = true
				r.warnAt(here, cmp.Or(m.why, "chord-unknown.plain"), "Symbol", leadsheet.Quoted(m.text), "Kind", leadsheet.Quoted(m.kind), "Near", m.near)
			}
			for _, c := range m.cautions {
				r.warnAt(here, "chord-caution", "Symbol", m.text, "Caution", c)
			}
			before = m.reading
		}
		slices.SortStableFunc(marks, func(a, b tuneMark) int { return cmp.Compare(a.at, b.at) })
		out[i] = r.spread(marks, b, bars[i], i)
	}
	return out
}

// spread gives chord symbols that stand one after the other before one note
// their places: the harmony changes during the note (so the MusicXML test suite,
// 71g), evenly on its beats. Of equal neighbours one is kept; a symbol that
// opens the next group as well is not counted with the one before. What finds no
// place of at least an eighth is left out.
func (r *reader) spread(marks []tuneMark, b *laneBar, wb writtenBar, bar int) []tuneMark {
	var out []tuneMark
	for i := 0; i < len(marks); {
		j := i + 1
		for j < len(marks) && marks[j].at == marks[i].at {
			j++
		}
		group := slices.CompactFunc(slices.Clone(marks[i:j]), func(a, b tuneMark) bool { return a.same(b) })
		if n := len(group); n > 1 && j < len(marks) && group[n-1].same(marks[j]) {
			group = group[:n-1]
		}
		start, end := marks[i].at, wb.dur
		if j < len(marks) {
			end = marks[j].at
		}
		for k := range b.notes {
			if n := &b.notes[k]; n.at == start && n.end > start {
				end = min(end, n.end)
				break
			}
		}
		i = j
		n := theory.Dur(len(group))
		if n == 1 {
			out = append(out, group[0])
			continue
		}
		here := place{line: group[1].line, bar: bar, at: start, timed: true}
		unit := theory.Whole / theory.Dur(wb.meter.Unit)
		for unit > theory.Eighth && unit*n > end-start {
			unit /= 2
		}
		if unit*n > end-start {
			r.warnAt(here, "chord-twice", "n", int(n), "Chord", group[0].text)
			out = append(out, group[0])
			continue
		}
		r.warnAt(here, "chords-spread", "n", int(n))
		at := start - unit
		for k, m := range group {
			even := (theory.Dur(k)*(end-start)/n + unit/2) / unit * unit
			at = max(start+even, at+unit)
			m.at = at
			out = append(out, m)
		}
	}
	return out
}

// same tells whether two marks say the same chord.
func (m tuneMark) same(o tuneMark) bool {
	return m.chord == o.chord && m.unknown == o.unknown && (!m.unknown || m.text == o.text)
}

func hasChords(l *lane) bool {
	for i := range l.bars {
		if len(l.bars[i].chords) > 0 {
			return true
		}
	}
	return false
}

// wordChord reads a chord symbol that is written as words over the staff: N.C.
// always, others where the bar has no chord symbol of its own and the words are
// more than a letter that could be anything.
func (r *reader) wordChord(d placedDirection, bar int, b *laneBar, bare, written bool) (tuneMark, bool) {
	if len(d.words) != 1 || d.guide.any() || sectionOf(d.words[0]) != "" {
		return tuneMark{}, false
	}
	text := d.words[0]
	if len(text) > 24 {
		return tuneMark{}, false
	}
	sym, err := theory.ParseSymbol(text)
	if err != nil {
		return tuneMark{}, false
	}
	if !sym.NoChord && !sym.Repeat {
		if !bare || len(text) == 1 && !written {
			return tuneMark{}, false
		}
		r.warnAt(place{line: d.line, bar: bar, at: d.at, timed: true}, "words-as-chord", "Words", leadsheet.Quoted(text))
	}
	return tuneMark{at: d.at, line: d.line, reading: fromSymbol(sym, text, b.iv)}, true
}
