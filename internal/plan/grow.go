package plan

import (
	"slices"

	"gradatim/internal/ladder"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Where a page grows.
//
// A tune is built towards its highest note, and a player grows towards it for about
// four bars: long enough to be heard, short enough to be kept up. Smaller swells
// follow the highest notes of phrases, few of them, as a page on which everything
// swells says nothing. Common practice, no source.

const (
	growBars  = 4 // that the music grows for
	leastBars = 2 // less is no growth
	fadeBars  = 4 // that it fades for, at most
	loudEnd   = 5 // before the end in which it need not
)

// climax finds the tune's highest note and how the music comes to it and goes on.
// Of several notes as high it is the last section's longest.
func (m *maker) climax() {
	if m.dyn.Climax == "" {
		return
	}
	top, best := -1, -1
	for i, n := range m.song.Melody {
		key := n.Pitch.MIDI() + 12*m.out.Sections[m.sectionOf(m.song.BarAt(n.At))].Octave
		section := func(i int) int { return m.sectionOf(m.song.BarAt(m.song.Melody[i].At)) }
		switch {
		case best < 0 || key > top:
		case key < top || section(i) == section(best) && n.Dur <= m.song.Melody[best].Dur:
			continue
		}
		top, best = key, i
	}
	if best < 0 {
		return
	}
	n := m.song.Melody[best]
	bar := m.song.BarAt(n.At)
	si := m.sectionOf(bar)
	sec := &m.out.Sections[si]
	start := m.song.Bars[sec.First].At
	g := Growth{Note: best, To: n.At, Top: m.dyn.Climax}
	last := m.dances && m.arc == ladder.ToClimax && sec.Grows  // a dance's last strain is the loudest from its beginning
	if si > 0 && (last || n.At-start < leastBars*m.bar(bar)) { // the section begins with it, at its sign
		if m.song.Joint(sec.First) { // what grew to a sign for a repeat would fall back there
			sec.Dynamic = m.dyn.Climax
			m.mark(bar)
			return
		}
		g.To = start
		g.From = max(start-growBars*m.bar(bar), m.song.Bars[m.out.Sections[si-1].First].At)
	} else {
		g.From = max(m.song.Bars[max(0, bar-growBars)].At, start)
	}
	if m.song.Bars[0].Pickup {
		g.From = max(g.From, m.song.Bars[0].End())
	}
	for i := range m.song.Bars { // not over a sign for a repeat
		if at := m.song.Bars[i].At; m.song.Joint(i) && at < g.To {
			g.From = max(g.From, at)
		}
	}
	if g.To-g.From < leastBars*m.bar(bar) {
		return
	}
	before := sec.Dynamic
	if g.To == start {
		before = m.out.Sections[si-1].Dynamic
	}
	if softer(g.Top, before) || g.Top == before { // there has to be a way up
		before = below(g.Top)
		if g.To == start {
			m.out.Sections[si-1].Dynamic = before
		} else {
			sec.Dynamic = before
		}
	}
	if g.To == start {
		g.After, sec.Dynamic = g.Top, g.Top
	} else {
		m.fade(&g, n, sec)
	}
	m.mark(bar)
	m.out.Climax = g
}

// fade lets the music go back to its section's sign after the highest note, by the
// end of its phrase, where there is room for that and the piece goes on or closes
// softly.
func (m *maker) fade(g *Growth, n leadsheet.Note, sec *Section) {
	g.After = g.Top
	last := len(m.song.Bars) - 1
	if sec.Last == last && m.dances { // it ends firmly
		return
	}
	from := m.after(n)
	if sec.Last == last && m.dyn.Close == "" && m.song.End()-from <= loudEnd*m.bar(last) {
		return
	}
	until := min(m.phraseEnd(n.At, sec), from+fadeBars*m.bar(sec.Last))
	if until-from < m.bar(sec.Last) {
		until = min(m.song.Bars[sec.Last].At, from+fadeBars*m.bar(sec.Last))
	}
	for i := range m.song.Bars {
		if at := m.song.Bars[i].At; m.song.Joint(i) && at > from {
			until = min(until, at)
		}
	}
	if until-from < m.bar(sec.Last) {
		return
	}
	g.Fade, g.Until, g.After = from, until, sec.Dynamic
}

// after is where the note after a note begins: where it is heard to be over.
func (m *maker) after(n leadsheet.Note) theory.Dur {
	i, _ := slices.BinarySearchFunc(m.song.Melody, n.At+1, func(o leadsheet.Note, at theory.Dur) int { return int(min(max(o.At-at, -1), 1)) })
	if i < len(m.song.Melody) {
		return m.song.Melody[i].At
	}
	return n.End()
}

// phraseEnd is where the phrase around a place comes to rest: its last note.
func (m *maker) phraseEnd(at theory.Dur, sec *Section) theory.Dur {
	end := m.song.Bars[sec.Last].End()
	for _, ph := range m.an.Phrases {
		if ph.At <= at && at < ph.End && ph.To > ph.From {
			end = min(end, m.song.Melody[ph.To-1].At)
		}
	}
	return end
}

// mark says that the phrase at a bar is the climax.
func (m *maker) mark(bar int) {
	for i := range m.out.Sections {
		for j := range m.out.Sections[i].Phrases {
			if ph := &m.out.Sections[i].Phrases[j]; ph.First <= bar && bar <= ph.Last {
				ph.Role = Climax
			}
		}
	}
}

// swells lets the phrases of a section with its highest notes swell, so many of them, where nothing else is going on. A section that comes again does as it
// did.
func (m *maker) swells(most int) {
	for _, sec := range m.out.Sections {
		type found struct {
			Swell
			key int
		}
		var all []found
		for _, ph := range m.an.Phrases {
			if ph.First < sec.First || ph.Last > sec.Last || ph.To-ph.From < 4 {
				continue
			}
			if s, key, ok := m.swell(ph.From, ph.To); ok && !m.busy(s.From, s.To) {
				all = append(all, found{s, key})
			}
		}
		slices.SortStableFunc(all, func(a, b found) int { return b.key - a.key })
		all = all[:min(len(all), most)]
		slices.SortStableFunc(all, func(a, b found) int { return int(min(max(a.From-b.From, -1), 1)) })
		for _, f := range all {
			m.out.Swells = append(m.out.Swells, f.Swell)
		}
	}
}

// swell shapes one phrase, given by its notes: it grows for two bars at most, and
// fades for as long. ok is false where its highest note leaves no room for that.
func (m *maker) swell(from, to int) (s Swell, key int, ok bool) {
	peak := from
	for i := from; i < to; i++ {
		if m.song.Melody[i].Pitch.MIDI() > m.song.Melody[peak].Pitch.MIDI() {
			peak = i
		}
	}
	top, last := m.song.Melody[peak], m.song.Melody[to-1]
	bar := m.bar(m.song.BarAt(top.At))
	s = Swell{From: max(m.song.Melody[from].At, top.At-2*bar), Peak: top.At, Fall: m.after(top), To: last.At}
	for _, b := range m.song.Bars { // it begins with a bar, not with the pick-up
		if b.At >= s.From {
			s.From = b.At
			break
		}
	}
	s.To = min(s.To, s.Fall+2*bar)
	return s, top.Pitch.MIDI(), s.Peak-s.From >= bar*3/4 && s.To-s.Fall >= bar*3/4
}

// busy tells whether something grows, fades or is signed within a stretch.
func (m *maker) busy(from, to theory.Dur) bool {
	c := m.out.Climax
	if c.To > 0 && from <= max(c.Until, c.To) && c.From <= to {
		return true
	}
	if m.out.Close != "" && to > m.song.End()-2*m.bar(len(m.song.Bars)-1) {
		return true
	}
	for i, b := range m.song.Bars {
		if from < b.At && b.At < to && m.song.Joint(i) {
			return true
		}
	}
	return slices.ContainsFunc(m.out.Sections, func(s Section) bool { at := m.song.Bars[s.First].At; return from < at && at <= to })
}

// softer tells whether a sign is softer than another.
func softer(a, b string) bool {
	x, _ := score.StepOf(a)
	y, _ := score.StepOf(b)
	return x < y
}

// below returns the sign a step softer.
func below(sign string) string {
	i := slices.Index(ladderOfSigns[:], sign)
	return ladderOfSigns[max(0, i-1)]
}

var ladderOfSigns = [...]string{"ppp", "pp", "p", "mp", "mf", "f", "ff", "fff"}
