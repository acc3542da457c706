package arrange

import (
	"cmp"
	"slices"
	"sort"

	"gradatim/internal/choice"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// adornment is an ornament, fill or run that found its place.
type adornment struct {
	technique.Figure
	by   string
	cell int
}

// adorn adds ornaments, fills and runs where the tune leaves room: first in the
// gaps, longest first within four bars, then signs and graces on the notes that
// carry most weight. A bar gets one at the most, and each technique of the
// level's list takes its turn, so that a page shows several and repeats none too
// often. What does not fit the hands as they stand is left out.
func (p *piece) adorn() {
	p.keepOrnaments()
	if len(p.level.Ornaments) == 0 || p.level.Ornamentation == 0 {
		return
	}
	spots := p.spots()
	order, weights := make([]int, len(spots)), make([]int, len(spots))
	for i := range order {
		order[i], weights[i] = i, p.weight(&spots[i])
	}
	group := func(i int) int { return p.cells[spots[i].cell].bar / 4 }
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(group(a), group(b)), cmp.Compare(spots[b].Until-spots[b].From, spots[a].Until-spots[a].From),
			cmp.Compare(weights[b], weights[a]))
	})
	spent, bars := map[int]int{}, map[int]bool{}
	last := map[string]int{} // group in which a technique was last used
	for bar := range p.fixed.locks {
		spent[bar/4]++
	}
	turn, now := 0, -1
	quota := p.quota()
	for _, i := range order {
		s := &spots[i]
		if group(i) != now { // the longest gap is for what the level likes best
			turn, now = 0, group(i)
		}
		bar := p.cells[s.cell].bar
		if p.inLockedBar(s) {
			continue
		}
		asked := p.insistsAny(p.level.Ornaments, s.Note.At)
		if !asked && (spent[group(i)] >= p.level.Ornamentation || bars[bar]) || p.plain[bar].Ornaments > 0 {
			continue
		}
		for k := range p.level.Ornaments {
			id := p.level.Ornaments[(turn+k)%len(p.level.Ornaments)]
			if p.forbids(id, s.Note.At) || asked && !p.insists(id, s.Note.At) {
				continue
			}
			if g, used := last[id]; used && g == group(i) && !asked {
				continue // once in four bars is enough of one kind
			}
			t, _ := technique.ByID(id)
			if !asked && !quota.allows(t, s) {
				continue
			}
			f, ok := p.fitting(t.Adorn(s.Spot), s)
			if !ok || !asked && !quota.fresh(f) {
				continue
			}
			p.place(f, id, s)
			quota.spend(t, f, s)
			spent[group(i)]++
			bars[bar], last[id] = true, group(i)
			turn = (turn + k + 1) % len(p.level.Ornaments)
			break
		}
	}
}

// inLockedBar tells whether an ornament at a spot would touch a locked bar.
func (p *piece) inLockedBar(s *spot) bool {
	return p.locked(p.song.BarAt(s.Note.At)) || p.locked(p.cells[s.cell].bar) ||
		slices.ContainsFunc(s.Under, func(c technique.Cell) bool { return p.locked(p.song.BarAt(c.At)) })
}

// keepOrnaments sets the ornaments, fills and runs of locked bars.
func (p *piece) keepOrnaments() {
	for i := range p.cells {
		c := &p.cells[i]
		l := p.fixed.locks[c.bar]
		if l == nil {
			continue
		}
		for _, line := range l.Lines {
			a := adornment{Figure: technique.Figure{Say: teachers}, by: line.By, cell: i}
			for _, t := range line.Unfingered() {
				if line.Part == choice.RightHand && adorns(t) && t.At >= c.At && t.At < c.End {
					t.Kind = cmp.Or(t.Kind, score.Ornamental)
					a.Tones = append(a.Tones, t)
				}
			}
			if len(a.Tones) > 0 {
				p.adornments = append(p.adornments, a)
			}
		}
		for _, t := range l.tune {
			if t.Ornament != score.NoOrnament && t.At >= c.At && t.At < c.End {
				p.signs[t.event] = sign{t.Ornament, t.by, teachers}
			}
		}
	}
}

// weight ranks a note for an ornament: long and on a strong beat.
func (p *piece) weight(s *spot) int {
	m := s.Cell.Meter
	return int((s.Note.End-s.Note.At)*4/m.BeatDur()) - 2*m.Strength(s.Note.At-s.Cell.BarAt)
}

func (p *piece) insistsAny(ids []string, at theory.Dur) bool {
	return slices.ContainsFunc(ids, func(id string) bool { return p.insists(id, at) })
}

type spot struct {
	technique.Spot
	cell int
	line int // index into the line of Note
}

// spots lists the places for an ornament in order: each note of the tune, and
// after it the gap, if the analysis found one there.
func (p *piece) spots() []spot {
	gap := map[int][2]theory.Dur{}
	for _, g := range p.an.Gaps {
		if g.After < 0 {
			continue
		}
		if have, ok := gap[g.After]; ok && have[1] == g.At {
			gap[g.After] = [2]theory.Dur{have[0], g.End}
			continue
		}
		gap[g.After] = [2]theory.Dur{g.At, g.End}
	}
	out := make([]spot, 0, len(p.line))
	for i, n := range p.line {
		if p.home >= 0 && n.At >= p.home {
			break // the last note is only held
		}
		ci := p.cellAt(n.At)
		if ci < 0 || p.cells[ci].slot < 0 {
			continue
		}
		s := spot{cell: ci, line: i}
		s.Spot = technique.Spot{Cell: p.cells[ci].Cell, Note: n, Next: technique.MelodyNote{Event: -1}, From: n.End, Until: n.End}
		if i > 0 {
			s.Before = p.line[i-1]
		}
		if i+1 < len(p.line) {
			s.Next = p.line[i+1]
		}
		if g, ok := gap[n.Event]; ok {
			s.From, s.Until = max(g[0], n.At), g[1]
			if s.Next.Event >= 0 {
				s.Until = min(s.Until, s.Next.At)
			}
			if ge := p.cellAt(s.From); ge >= 0 && ge != ci {
				s.cell, s.Spot.Cell = ge, p.cells[ge].Cell
			}
		}
		for t := s.From; t < s.Until; {
			ge := p.cellAt(t)
			if ge < 0 {
				break
			}
			s.Under = append(s.Under, p.cells[ge].Cell)
			t = p.cells[ge].End
		}
		if s.Next.Event >= 0 {
			if ne := p.cellAt(s.Next.At); ne >= 0 {
				s.Goal = p.cells[ne].Chord
			}
		}
		s.Room = p.highestUnder(s.From, max(s.Until, s.From+1))
		out = append(out, s)
	}
	return out
}

func (p *piece) cellAt(at theory.Dur) int {
	i := sort.Search(len(p.cells), func(i int) bool { return p.cells[i].At > at }) - 1
	if i < 0 || p.cells[i].End <= at {
		return -1
	}
	return i
}

// highestUnder returns the highest left-hand key that sounds in [from, to).
func (p *piece) highestUnder(from, to theory.Dur) int {
	top := 0
	for ci := p.cellAt(from); ci >= 0 && ci < len(p.cells) && p.cells[ci].At < to; ci++ {
		for _, t := range p.cells[ci].chosenLeft.Tones {
			if t.At < to && t.End() > from {
				top = max(top, t.Pitch.MIDI())
			}
		}
	}
	return top
}

// fitting returns the cheapest figure that the hands can play as the page
// stands.
func (p *piece) fitting(fs []technique.Figure, s *spot) (technique.Figure, bool) {
	slices.SortStableFunc(fs, func(a, b technique.Figure) int { return cmp.Compare(a.Cost, b.Cost) })
	for _, f := range fs {
		if p.fits(f, s) {
			return f, true
		}
	}
	return technique.Figure{}, false
}

func (p *piece) fits(f technique.Figure, s *spot) bool {
	if tooShort(p.level.Caps.Shortest, f.Tones) {
		return false
	}
	if f.Sign != score.NoOrnament || len(f.Tones) > 0 && f.Tones[0].Grace > 0 {
		// A sign or a grace wants a free finger, and a section its plain first
		// note; the last note is only held. A note with a voice under it has enough.
		if with := p.struckWith(s); with > 1 || with > 0 && p.level.Arc != ladder.NoArc || s.Next.Event < 0 || p.song.Bars[p.cells[s.cell].bar].Section != "" && s.Note.At == s.Cell.BarAt {
			return false
		}
	}
	if f.Sign != score.NoOrnament && s.Note.End > p.song.Bars[p.song.BarAt(s.Note.At)].End() {
		return false // no sign on a tied note
	}
	if (f.Sign == score.Mordent || f.Sign == score.Turn) && p.heldBelow(s) {
		return false
	}
	free := max(f.CutTune, f.Frees)
	written := p.song.Melody[s.Note.Event].End()
	for i := range f.Tones {
		t := &f.Tones[i]
		if t.Grace > 0 {
			continue
		}
		if t.At < written && t.Pitch.MIDI() >= s.Note.Pitch.MIDI() && t.Kind != score.Run {
			return false // would strike a held note of the tune again, or cover it
		}
		var buf [12]int
		keys := append(buf[:0], t.Pitch.MIDI())
		for _, u := range f.Tones {
			if u.Grace == 0 && u != *t && u.At <= t.At && u.End() > t.At {
				keys = append(keys, u.Pitch.MIDI())
			}
		}
		for _, m := range p.line[max(0, s.line-1):min(len(p.line), s.line+3)] {
			end := m.End
			if m.Event == s.Note.Event && f.CutTune > 0 {
				end = f.CutTune
			}
			if m.At < t.End() && end > t.At {
				if m.At > t.At || m.Pitch.MIDI() <= t.Pitch.MIDI()+1 {
					return false // would cover the tune's onset, or touch the tune
				}
				keys = append(keys, m.Pitch.MIDI())
			}
		}
		for ci := p.cellAt(t.At); ci >= 0 && ci < len(p.cells) && p.cells[ci].At < t.End(); ci++ {
			c := &p.cells[ci]
			for _, u := range c.chosenRight.Tones {
				if u.At < t.End() && u.End() > t.At && (free == 0 || u.At >= free || free-u.At < theory.Eighth) {
					return false // the hand has something to hold there already
				}
			}
			for _, u := range c.chosenLeft.Tones {
				if u.At < t.End() && u.End() > t.At {
					if f.Clears && givesWay(u) && u.Pitch.MIDI() >= t.Pitch.MIDI()-2 {
						continue
					}
					if u.Pitch.MIDI() >= t.Pitch.MIDI()-1 || rubs(u.Pitch.MIDI(), t.Pitch.MIDI(), c.Chord) && (t.Kind != score.Run || c.Chord.HasClass(t.Pitch.Class())) {
						return false
					}
				}
			}
		}
		if len(keys) > max(1, p.level.Caps.AtOnce[0]) || !p.hand.Reaches(score.Right, keys) {
			return false
		}
	}
	return true
}

// struckWith counts the notes that the right hand strikes together with the
// spot's note of the tune.
func (p *piece) struckWith(s *spot) int {
	n := 0
	if ci := p.cellAt(s.Note.At); ci >= 0 {
		for _, t := range p.cells[ci].chosenRight.Tones {
			if t.At == s.Note.At {
				n++
			}
		}
	}
	return n
}

// heldBelow tells whether the lower neighbour of the spot's note is down already:
// then no sign that goes there can be played.
func (p *piece) heldBelow(s *spot) bool {
	ci := p.cellAt(s.Note.At)
	if ci < 0 {
		return false
	}
	for _, ts := range [][]technique.Tone{p.cells[ci].chosenRight.Tones, p.cells[ci].chosenLeft.Tones} {
		for _, t := range ts {
			if d := s.Note.Pitch.MIDI() - t.Pitch.MIDI(); t.At < s.Note.End && t.End() > s.Note.At && d >= 1 && d <= 2 {
				return true
			}
		}
	}
	return false
}

// givesWay tells whether a left-hand note may be left out for a run: a chord on a
// weak beat, never the bass.
func givesWay(t technique.Tone) bool {
	return t.Kind == score.Chord || t.Kind == score.Tension
}

// clear leaves out what a run needs room for, whole strikes at a time.
func (p *piece) clear(f technique.Figure) {
	for _, t := range f.Tones {
		for ci := p.cellAt(t.At); ci >= 0 && ci < len(p.cells) && p.cells[ci].At < t.End(); ci++ {
			c := &p.cells[ci]
			drop := map[theory.Dur]bool{}
			for _, u := range c.chosenLeft.Tones {
				if givesWay(u) && u.At < t.End() && u.End() > t.At && u.Pitch.MIDI() >= t.Pitch.MIDI()-2 {
					drop[u.At] = true
				}
			}
			if len(drop) > 0 {
				c.chosenLeft.Tones = slices.DeleteFunc(slices.Clone(c.chosenLeft.Tones), func(u technique.Tone) bool {
					return drop[u.At] && givesWay(u)
				})
				unroll(c.chosenLeft.Tones)
			}
		}
	}
}

// unroll takes the sign of a roll from notes that are struck alone: what they were
// rolled with has given way.
func unroll(ts []technique.Tone) {
	for i := range ts {
		alone := (i == 0 || ts[i-1].At != ts[i].At) && (i+1 == len(ts) || ts[i+1].At != ts[i].At)
		if alone {
			ts[i].Marks &^= score.Rolled
		}
	}
}

func (p *piece) place(f technique.Figure, id string, s *spot) {
	if f.Clears {
		p.clear(f)
	}
	if f.CutTune > 0 {
		p.line[s.line].End = f.CutTune
	}
	if free := max(f.CutTune, f.Frees); free > 0 { // the hand lets go of what it holds
		for ci := p.cellAt(s.Note.At); ci >= 0 && ci < len(p.cells) && p.cells[ci].At < s.Until; ci++ {
			ts := slices.Clone(p.cells[ci].chosenRight.Tones)
			for k := range ts {
				if ts[k].At < free && ts[k].End() > free {
					ts[k].Dur = free - ts[k].At
				}
			}
			p.cells[ci].chosenRight.Tones = ts
		}
	}
	if f.Sign != score.NoOrnament {
		p.signs[s.line] = sign{f.Sign, id, f.Say}
	}
	if len(f.Tones) > 0 {
		p.adornments = append(p.adornments, adornment{Figure: f, by: id, cell: s.cell})
	}
}

// sign is an ornament sign that a note of the tune got.
type sign struct {
	ornament score.Ornament
	by       string
	say      reason.Reason
}
