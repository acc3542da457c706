package arrange

import (
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// What ornaments a page may have, where its level has an arc.
//
// An ornament is heard as one where few are: at the peak of a phrase or at its end, and
// another one than the last. A run leads from section to section, or to the climax; in
// the middle of a phrase it is only an interruption. Common practice, no source.

// barsAnOrnament is for how many bars a page has an ornament; barsInFree the same in kinds
// whose players adorn as they go.
const (
	barsAnOrnament = 6
	barsInFree     = 4
)

// quota counts what a page has.
type quota struct {
	p      *piece
	free   bool // the level has no arc: everything is allowed
	left   int  // for the page
	phrase map[int]bool
	kinds  map[string][]theory.Dur // where each technique was used
	lines  [][]int                 // intervals of the lines so far
	heard  map[int]heard           // of the tune, by phrase
}

// heard is what stands out in a phrase of the tune.
type heard struct {
	opening int // its first note, by index in the line: it is heard plain
	top     int // its highest key
}

func (p *piece) quota() *quota {
	each := barsInFree
	if p.kind.Steady {
		each = barsAnOrnament
	}
	q := &quota{p: p, free: p.level.Arc == ladder.NoArc, left: max(1, (len(p.song.Bars)+each/2)/each),
		phrase: map[int]bool{}, kinds: map[string][]theory.Dur{}, heard: map[int]heard{}}
	for i, n := range p.line {
		ph := p.an.PhraseAt(n.At)
		h, ok := q.heard[ph]
		if !ok {
			h.opening = i
		}
		h.top = max(h.top, n.Pitch.MIDI())
		q.heard[ph] = h
	}
	return q
}

// allows tells whether a technique may adorn a spot.
func (q *quota) allows(t *technique.Technique, s *spot) bool {
	if q.free {
		return true
	}
	c := &q.p.cells[s.cell]
	switch {
	case q.left == 0 || q.phrase[c.phrase]:
		return false
	case q.near(t, s.Note.At), s.line == q.heard[q.p.an.PhraseAt(s.Note.At)].opening:
		return false
	case t.Leads:
		return q.closesSection(s) || q.toClimax(s) || !q.p.kind.Steady && q.p.an.PhraseAt(s.Until) != q.p.an.PhraseAt(s.Note.At)
	case q.p.kind.Steady && !q.peak(s) && s.Until-s.From < 2*c.Meter.BeatDur():
		return false
	}
	return true
}

// near tells whether an ornament of the same kind stands in the eight bars around.
func (q *quota) near(t *technique.Technique, at theory.Dur) bool {
	bar := q.p.song.BarAt(at)
	for _, k := range q.kinds[t.ID] {
		if d := bar - q.p.song.BarAt(k); d > -8 && d < 8 {
			return true
		}
	}
	return false
}

// closesSection tells whether a gap leads from one section to another.
func (q *quota) closesSection(s *spot) bool {
	next := q.p.song.BarAt(s.Until)
	if next < 0 || s.Next.Event < 0 {
		return false
	}
	here := q.p.form.At(q.p.song.BarAt(s.Note.At))
	return here.Last <= q.p.song.BarAt(s.Until-1) || q.p.form.At(next).First != here.First
}

// toClimax tells whether a gap leads to the tune's highest note, or to its bar.
func (q *quota) toClimax(s *spot) bool {
	g := q.p.form.Climax
	return g.To > 0 && s.Until > g.From && q.p.song.BarAt(s.Until) == q.p.song.BarAt(g.To) && s.Until <= q.p.song.Melody[g.Note].At
}

// peak tells whether a note is its phrase's highest.
func (q *quota) peak(s *spot) bool {
	return s.Note.Pitch.MIDI() >= q.heard[q.p.an.PhraseAt(s.Note.At)].top
}

// fresh tells whether a line was not played before, at any pitch.
func (q *quota) fresh(f technique.Figure) bool {
	if q.free {
		return true
	}
	line := intervals(f)
	for _, other := range q.lines {
		if len(line) > 1 && same(line, other) {
			return false
		}
	}
	return true
}

// same tells whether two lines go the same way as far as the shorter goes.
func same(a, b []int) bool {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// intervals are the directions and steps of a line, a half step counting as a whole one.
func intervals(f technique.Figure) []int {
	var out []int
	for i := 1; i < len(f.Tones); i++ {
		if f.Tones[i].Grace > 0 || f.Sign != score.NoOrnament {
			continue
		}
		d := f.Tones[i].Pitch.MIDI() - f.Tones[i-1].Pitch.MIDI()
		switch d {
		case 2:
			d = 1
		case -2:
			d = -1
		}
		out = append(out, d)
	}
	return out
}

func (q *quota) spend(t *technique.Technique, f technique.Figure, s *spot) {
	q.left--
	q.phrase[q.p.cells[s.cell].phrase] = true
	q.kinds[t.ID] = append(q.kinds[t.ID], s.Note.At)
	if line := intervals(f); len(line) > 1 {
		q.lines = append(q.lines, line)
	}
}
