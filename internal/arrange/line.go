package arrange

import (
	"gradatim/internal/choice"
	"gradatim/internal/technique"
	"gradatim/theory"
)

// pushLine sets the tune in its octave and lets the level's rhythm techniques
// move some notes early. The tune's order and pitches stay; at the end the last
// note is held to the close of its bar.
func (p *piece) pushLine() {
	p.line = make([]technique.MelodyNote, len(p.song.Melody))
	for i, n := range p.song.Melody {
		n.Pitch.Octave += int8(p.octaveAt(n.At))
		p.line[i] = technique.MelodyNote{At: n.At, End: n.End(), Pitch: n.Pitch, Event: i}
	}
	if k := len(p.line) - 1; k >= 0 {
		if b := p.song.BarAt(p.line[k].At); b == len(p.song.Bars)-1 {
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
	pushedInBar := map[int]int{}
	for i := range stays {
		if p.line[i].Pushed {
			pushedInBar[p.song.BarAt(p.song.Melody[i].At)]++
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
			if !ok || stays[i-1] && p.line[i-1].End > at || p.locked(p.song.BarAt(at)) {
				continue
			}
			// Pushed notes are spice: so many in four bars, and not on the way
			// into the last cadence.
			bar := p.song.BarAt(n.At)
			if !p.insists(id, n.At) && !leaves[i] {
				recent := 0
				for b := bar - 3; b <= bar; b++ {
					recent += pushedInBar[b]
				}
				if recent >= p.level.Anticipations || bar >= len(p.song.Bars)-2 {
					continue
				}
			}
			pushedInBar[bar]++
			if p.line[i-1].End > at {
				p.line[i-1].End = at
			}
			p.line[i].At, p.line[i].Pushed, p.line[i].By = at, true, id
		}
	}
	for i := range p.line {
		if leaves[i] && !p.line[i].Pushed {
			l := p.fixed.locks[p.song.BarAt(p.line[i].At)]
			p.refuse(l.by, p.line[i].At, "the tune's "+p.line[i].Pitch.Pretty()+" can no longer begin before the bar", "lock the bar before it, too")
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
			p.line[t.event] = technique.MelodyNote{At: t.At, End: t.End(), Pitch: t.Pitch, Event: t.event, Pushed: t.At < written.At}
			stays[t.event] = true
		}
		at := p.song.Bars[bar].At
		if e := choice.Event(p.song, at); e >= 0 && p.song.Melody[e].At == at && !stays[e] {
			leaves[e] = true
		}
	}
	return stays, leaves
}
