package arrange

import (
	"gradatim/internal/technique"
	"gradatim/theory"
)

// pushLine sets the tune in its octave and lets the level's rhythm techniques
// move some notes early. The tune's order and pitches stay; at the end the last
// note is held to the close of its bar.
func (p *piece) pushLine() {
	p.line = make([]technique.MelodyNote, len(p.song.Melody))
	for i, n := range p.song.Melody {
		n.Pitch.Octave += int8(p.octave)
		p.line[i] = technique.MelodyNote{At: n.At, End: n.End(), Pitch: n.Pitch, Event: i}
	}
	if k := len(p.line) - 1; k >= 0 {
		if b := p.song.BarAt(p.line[k].At); b == len(p.song.Bars)-1 {
			p.line[k].End = p.song.Bars[b].End()
		}
	}
	changes := map[theory.Dur]bool{}
	for _, s := range p.slots {
		changes[s.at] = true
	}
	tune := technique.Tune{Song: p.song, Notes: p.line, Caps: p.level.Caps,
		Change: func(at theory.Dur) bool { return changes[at] }}
	pushedInBar := map[int]int{}
	for _, id := range p.level.Line {
		t, _ := technique.ByID(id)
		for i := 1; i < len(p.line); i++ {
			n := p.line[i]
			if n.Pushed || p.forbids(id, n.At) {
				continue
			}
			at, ok := t.Shift(tune, i)
			if !ok {
				continue
			}
			// Pushed notes are spice: so many in four bars, and not on the way
			// into the last cadence.
			bar := p.song.BarAt(n.At)
			if !p.insists(id, n.At) {
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
			p.line[i].At, p.line[i].Pushed = at, true
		}
	}
}
