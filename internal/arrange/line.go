package arrange

import (
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/technique"
	"gradatim/theory"
)

// pushLine sets the tune in its octave and lets the level's rhythm techniques
// move some notes early. The tune's order and pitches stay; the last note is
// held as long as the last chord.
func (p *piece) pushLine() {
	p.line = make([]technique.MelodyNote, len(p.song.Melody))
	for i, n := range p.song.Melody {
		n.Pitch.Octave += int8(p.octaveAt(n.At) + p.lifted(i))
		p.line[i] = technique.MelodyNote{At: n.At, End: n.End(), Pitch: n.Pitch, Event: i}
	}
	if k := len(p.line) - 1; k >= 0 {
		switch b := p.song.BarAt(p.line[k].At); {
		case p.home >= 0:
			p.line[k].End = p.close
		case b == len(p.song.Bars)-1:
			p.line[k].End = p.song.Bars[b].End()
		}
	}
	stays, leaves := p.lockLine()
	changes := map[theory.Dur]bool{}
	for _, s := range p.slots {
		changes[s.at] = true
	}
	tune := technique.Tune{Song: p.song, Notes: p.line, Caps: p.level.Caps,
		Change: func(at theory.Dur) bool { return changes[at] }}
	spice := spice{p: p, inBar: map[int]int{}}
	for i := range stays {
		if p.line[i].Pushed {
			spice.inBar[p.song.BarAt(p.song.Melody[i].At)]++
		}
	}
	for _, id := range p.level.Line {
		t, _ := technique.ByID(id)
		for i := 1; i < len(p.line); i++ {
			n := p.line[i]
			if n.Pushed || stays[i] || p.forbids(id, n.At) && !leaves[i] {
				continue
			}
			at, ok := t.Shift(tune, i)
			if b := p.song.BarAt(n.At); !ok || at < p.song.Bars[b].At && p.song.Joint(b) || stays[i-1] && p.line[i-1].End > at || p.locked(p.song.BarAt(at)) {
				continue
			}
			if !p.insists(id, n.At) && !leaves[i] && !(p.comesAlone(n, at) && spice.room(i)) {
				continue
			}
			spice.inBar[p.song.BarAt(n.At)]++
			p.line[i-1].End = min(p.line[i-1].End, at)
			p.line[i].At, p.line[i].Pushed, p.line[i].By = at, true, id
		}
	}
	for i := range p.line {
		if leaves[i] && !p.line[i].Pushed {
			l := p.fixed.locks[p.song.BarAt(p.line[i].At)]
			p.refuse(l.by, p.line[i].At, "choice-impossible.lock-early", "Note", p.line[i].Pitch)
		}
	}
}

// lockLine sets the notes of locked bars. stays are the notes that are set; leaves are
// those that began before their locked bar and have to do so again.
func (p *piece) lockLine() (stays, leaves map[int]bool) {
	stays, leaves = map[int]bool{}, map[int]bool{}
	for bar, l := range p.fixed.locks {
		for _, t := range l.tune {
			written := p.song.Melody[t.event]
			p.line[t.event] = technique.MelodyNote{At: t.At, End: t.End(), Pitch: t.Pitch, Event: t.event, Pushed: t.At < written.At, By: t.by}
			stays[t.event] = true
		}
		at := p.song.Bars[bar].At
		if e := choice.Event(p.song, at); e >= 0 && p.song.Melody[e].At == at && !stays[e] {
			leaves[e] = true
		}
	}
	return stays, leaves
}

// comesAlone tells whether a note may come early where its chord does not: if a
// chord begins with it, the one before has to hold it too.
func (p *piece) comesAlone(n technique.MelodyNote, at theory.Dur) bool {
	for i := p.firstSlot(at); i < len(p.slots) && p.slots[i].end <= n.At; i++ {
		if s := &p.slots[i]; !s.unknown && !s.chord.Silent() && !s.chord.HasClass(n.Pitch.Class()) {
			return false
		}
	}
	return true
}

// spice measures out the pushed notes: so many in four bars, and not on the way
// into the last cadence. Where the level pushes at few places of the tune, each is
// pushed whenever it returns.
type spice struct {
	p      *piece
	inBar  map[int]int
	places [][]technique.MelodyNote
}

func (s *spice) room(i int) bool {
	p := s.p
	bar := p.song.BarAt(p.line[i].At)
	if bar >= len(p.song.Bars)-2 || s.inBar[bar]+s.inBar[bar-1]+s.inBar[bar-2]+s.inBar[bar-3] >= p.level.Anticipations {
		return false
	}
	if p.level.PushPlaces == 0 {
		return true
	}
	place := s.place(i, bar)
	if slices.ContainsFunc(s.places, func(known []technique.MelodyNote) bool { return slices.Equal(known, place) }) {
		return true
	}
	if len(s.places) == p.level.PushPlaces {
		return false
	}
	s.places = append(s.places, place)
	return true
}

// place describes a note of the tune by what its bar looks like, wherever it stands:
// from the note back to the bar line, and from the note on.
func (s *spice) place(i, bar int) []technique.MelodyNote {
	b, tune := s.p.song.Bars[bar], s.p.song.Melody
	var out []technique.MelodyNote
	add := func(k int) {
		out = append(out, technique.MelodyNote{At: tune[k].At - b.At, End: tune[k].End() - b.At, Pitch: tune[k].Pitch})
	}
	for k := i; k >= 0 && tune[k].At >= b.At; k-- {
		add(k)
	}
	for k := i; k < len(tune) && tune[k].At < b.End(); k++ {
		add(k)
	}
	return out
}
