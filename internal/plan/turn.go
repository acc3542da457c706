package plan

import (
	"cmp"
	"slices"

	"gradatim/internal/ladder"
	"gradatim/theory"
)

// Where a page turns.
//
// A sign that nothing answers says little: a player forgets it after a few lines. So no
// stretch is longer than two phrases without a sign or a hairpin. A phrase in its middle
// goes back to the sign of the beginning, where the music has become louder, else a step
// below it; and before it ends, what has become softer comes back. Turns stand at
// phrases, as terraces at the lowest levels and led to by a hairpin of a bar above them.
// Common practice, no source.

const (
	longestBare   = 9 // bars without a sign, two endings counted
	leastTurn     = 4 // bars on either side of a turn, less an upbeat
	longestSoft   = 6 // bars before the end that may stay softer
	longestRaised = 5 // bars before the end that may stay louder
)

// turns gives phrases a sign of their own until no stretch is bare.
func (m *maker) turns() {
	rest := m.out.Sections[0].Dynamic
	bar := m.bar(len(m.song.Bars) - 1)
	end := m.song.End()
	for range len(m.song.Bars) {
		said := m.said()
		turned := false
		for i, s := range said {
			until := end
			if i+1 < len(said) {
				until = said[i+1].from
			}
			room := theory.Dur(longestBare)
			if i+1 == len(said) && softer(rest, s.now) {
				if m.dances { // it ends as loud as its last strain is
					if until-s.to > room*bar+bar/2 && m.dips(s, until, rest) {
						turned = true
						break
					}
					continue
				}
				room = longestRaised
			}
			if until-s.to <= room*bar+bar/2 {
				continue
			}
			at, ok := m.turning(s.to, until, min(room, longestBare-1)*bar)
			if !ok {
				continue
			}
			sign := rest
			if !softer(rest, s.now) && !softer(s.now, rest) {
				sign = below(rest)
			}
			m.turn(at, s.now, sign)
			turned = true
			break
		}
		if !turned {
			break
		}
	}
	// What is softer than the beginning comes back for the last phrase.
	said := m.said()
	if len(said) == 0 || m.out.Close != "" {
		return
	}
	if s := said[len(said)-1]; softer(s.now, rest) && end-s.to > longestSoft*bar {
		if at, ok := m.turning(s.to, end, end-s.to-leastTurn*bar); ok {
			m.turn(at, s.now, rest)
		}
	}
}

// dips lets a dance that goes on loud to its end be softer for a phrase, and loud again for its
// last; ok is false where there is no room for both.
func (m *maker) dips(s stretch, end theory.Dur, sign string) (ok bool) {
	bar := m.bar(len(m.song.Bars) - 1)
	at, ok := m.turning(s.to, end-leastTurn*bar, (end-s.to)/2)
	if !ok {
		return false
	}
	back, ok := m.turning(at, end, end-at-leastTurn*bar)
	if ok {
		m.turn(at, s.now, sign)
		m.turn(back, sign, s.now)
	}
	return ok
}

// turn adds a turn, with a bar that leads to it where the level has hairpins and no
// sign for a repeat or another sign is in the way.
func (m *maker) turn(at theory.Dur, now, sign string) {
	t := Turn{From: at, At: at, Sign: sign, Fades: softer(sign, now)}
	i := m.song.BarAt(at)
	if m.signs >= ladder.ClimaxDynamics && i > 1 && !m.song.Joint(i) && m.sectionOf(i-1) == m.sectionOf(i) {
		from := m.song.Bars[i-1].At
		if !slices.ContainsFunc(m.said(), func(s stretch) bool { return s.to > from && s.from < at }) {
			t.From = from
		}
	}
	if now == sign {
		return
	}
	m.out.Turns = append(m.out.Turns, t)
	slices.SortStableFunc(m.out.Turns, func(a, b Turn) int { return cmp.Compare(a.At, b.At) })
}

// stretch is where something is said of loudness, and what is in force after it.
type stretch struct {
	from, to theory.Dur
	now      string
}

// said lists what the plan says so far, in order; a sign that is in force already is not
// printed again and says nothing.
func (m *maker) said() []stretch {
	var out []stretch
	for _, s := range m.out.Sections {
		at := m.song.Bars[s.First].At
		out = append(out, stretch{at, at, s.Dynamic})
	}
	for _, t := range m.out.Turns {
		out = append(out, stretch{t.From, t.At, t.Sign})
	}
	if c := m.out.Climax; c.To > 0 {
		out = append(out, stretch{c.From, max(c.To, c.Until), c.After})
	}
	for _, w := range m.out.Swells {
		out = append(out, stretch{w.From, w.To, ""})
	}
	slices.SortStableFunc(out, func(a, b stretch) int { return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to)) })
	now := ""
	kept := out[:0]
	for _, s := range out {
		plain := s.from == s.to
		if plain && s.now == now {
			continue
		}
		now = cmp.Or(s.now, now)
		s.now = now
		kept = append(kept, s)
	}
	if m.out.Close != "" {
		from := m.song.End() - 2*m.bar(len(m.song.Bars)-1)
		kept = append(kept, stretch{from, m.song.End(), m.out.Close})
	}
	return kept
}

// turning finds the beginning of a phrase between two places, with room on either side,
// nearest to a distance from the first; of two as near the earlier one. Where no phrase
// begins, every fourth bar of a section may.
func (m *maker) turning(from, to, ideal theory.Dur) (best theory.Dur, ok bool) {
	bar := m.bar(len(m.song.Bars) - 1)
	least := leastTurn*bar - bar/2
	try := func(i int) {
		at := m.song.Bars[i].At
		if at < from+least || at > to-least {
			return
		}
		if d := at - from - ideal; !ok || max(d, -d) < max(best-from-ideal, from+ideal-best) {
			best, ok = at, true
		}
	}
	for _, ph := range m.an.Phrases {
		i := ph.First
		if b := m.song.Bars[i]; ph.At >= b.At+b.Dur/2 && i+1 < len(m.song.Bars) {
			i++ // it begins with an upbeat
		}
		try(i)
	}
	if ok {
		return best, true
	}
	for _, s := range m.out.Sections {
		first := s.First
		if m.song.Bars[first].Pickup {
			first++
		}
		for i := first + leastTurn; i <= s.Last; i += leastTurn {
			try(i)
		}
	}
	return best, ok
}
