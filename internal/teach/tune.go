package teach

import (
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// tuneAt returns the note of the tune that sounds at a position.
func (p *page) tuneAt(at theory.Dur) (score.Note, bool) {
	b := p.Score.BarAt(at)
	for i := b; i >= 0 && i >= b-2; i-- {
		for _, n := range slices.Backward(p.byBar[i]) {
			if n.Origin.Kind == score.Melody && n.At <= at && n.End() > at {
				return n, true
			}
		}
	}
	return score.Note{}, false
}

// tuneBefore returns the last note of the tune that ends by a position, not more
// than two bars before.
func (p *page) tuneBefore(at theory.Dur) (score.Note, bool) {
	b := p.Score.BarAt(at)
	for i := b; i >= 0 && i >= b-2; i-- {
		for _, n := range slices.Backward(p.byBar[i]) {
			if n.Origin.Kind == score.Melody && n.End() <= at {
				return n, true
			}
		}
	}
	return score.Note{}, false
}

// tuneStruck tells whether a note of the tune begins at a position.
func (p *page) tuneStruck(at theory.Dur) bool {
	n, ok := p.tuneAt(at)
	return ok && n.At == at
}

// tuneBelongs tells whether the tune's note at a place is a note of the printed
// chord, which makes the plainest example.
func (p *page) tuneBelongs(at, until theory.Dur) bool {
	n, ok := p.tuneNear(at, until)
	if !ok {
		return false
	}
	c, ok := p.Score.ChordAt(max(at, n.At))
	return ok && c.Chord.HasClass(n.Pitch.Class())
}

// tuneNear returns the tune's note at a position, else the first that is struck
// before a limit.
func (p *page) tuneNear(at, until theory.Dur) (score.Note, bool) {
	if n, ok := p.tuneAt(at); ok {
		return n, true
	}
	for b := p.Score.BarAt(at); b >= 0 && b < len(p.byBar) && p.Score.Bars[b].At < until; b++ {
		for _, n := range p.byBar[b] {
			if n.Origin.Kind == score.Melody && n.At >= at && n.At < until {
				return n, true
			}
		}
	}
	return score.Note{}, false
}

// tuneAfter returns the first note of the tune struck at or after a position.
func (p *page) tuneAfter(at theory.Dur) (score.Note, bool) {
	b := max(0, p.Score.BarAt(at))
	return p.tuneNear(max(at, 0), p.Score.Bars[min(b+4, len(p.Score.Bars)-1)].End())
}
