package claim

import (
	"cmp"
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// Page is a score on which claims are tested, by one goroutine at a time.
type Page struct {
	score score.Score
	byBar [][]score.Note // notes struck in each bar
	spans []span         // printed chords, one that is only printed again joined
	tune  []score.Note   // in order
	last  theory.Dur     // the left hand's last strike

	seconds map[voiceBar]apart // what was counted of second voices
}

// span is a printed chord for as long as it is in force.
type span struct {
	at, end theory.Dur
	chord   theory.Chord
}

// Of reads a score for testing.
func Of(s score.Score) *Page {
	p := &Page{score: s, byBar: make([][]score.Note, len(s.Bars)), last: -1, seconds: map[voiceBar]apart{}}
	for _, n := range s.Notes {
		if b := s.BarAt(n.At); b >= 0 {
			p.byBar[b] = append(p.byBar[b], n)
		}
		if n.Origin.Kind == score.Melody {
			p.tune = append(p.tune, n)
		}
		if n.Hand == score.Left && n.Grace == 0 {
			p.last = max(p.last, n.At)
		}
	}
	for _, c := range s.Chords {
		if k := len(p.spans) - 1; k >= 0 {
			if p.spans[k].chord == c.Chord {
				continue
			}
			p.spans[k].end = c.At
		}
		p.spans = append(p.spans, span{c.At, s.End(), c.Chord})
	}
	return p
}

// Place is what a claim is made of: a stretch of the page under one chord, or a note.
type Place struct {
	At, End theory.Dur
	// Chord is the chord spoken of, Before and After its neighbours; silent: none.
	Chord, Before, After theory.Chord
	Key                  theory.Key
	Until                theory.Dur  // where After ends
	Note                 *score.Note // nil: the chord as such
}

// ChordPlace is the place of a printed chord, or of one chord among several under one
// symbol: what is claimed of [at, end).
func (p *Page) ChordPlace(at, end theory.Dur, chord theory.Chord) Place {
	out := Place{At: at, End: end, Until: p.score.End(), Chord: chord, Key: p.keyAt(at)}
	for _, s := range p.spans {
		if s.at < at && s.chord != chord {
			out.Before = s.chord
		}
		if s.at < end && s.end > end && s.at <= at {
			out.After = s.chord
		}
		if s.at >= end {
			out.After, out.Until = s.chord, s.end
			break
		}
	}
	return out
}

// NotePlace is the place of a note: itself, and the chord that is printed over it.
func (p *Page) NotePlace(n score.Note) Place {
	k := p.spanAt(n.At)
	if k < 0 {
		return Place{At: n.At, End: n.End(), Key: p.keyAt(n.At), Note: &n}
	}
	s := p.spans[k]
	out := Place{At: s.at, End: s.end, Chord: s.chord, Key: p.keyAt(n.At), Until: p.score.End(), Note: &n}
	if k > 0 {
		out.Before = p.spans[k-1].chord
	}
	if k+1 < len(p.spans) {
		out.After, out.Until = p.spans[k+1].chord, p.spans[k+1].end
	}
	return out
}

func (p *Page) spanAt(at theory.Dur) int {
	i, ok := slices.BinarySearchFunc(p.spans, at, func(s span, at theory.Dur) int { return cmp.Compare(s.at, at) })
	if !ok {
		i--
	}
	return i
}

func (p *Page) keyAt(at theory.Dur) theory.Key {
	if b := p.score.BarAt(at); b >= 0 {
		return p.score.Bars[b].Key
	}
	return theory.Key{}
}

// within lists the notes that sound in [from, to) and are no graces, ghosts among them.
func (p *Page) within(from, to theory.Dur) []score.Note {
	var out []score.Note
	for b := max(0, p.score.BarAt(from)-4); b < len(p.byBar) && p.score.Bars[b].At < to; b++ {
		for _, n := range p.byBar[b] {
			if n.Grace == 0 && n.At < to && n.End() > from {
				out = append(out, n)
			}
		}
	}
	return out
}

// sounds tells whether a note of a class is heard in [from, to).
func (p *Page) sounds(class int, from, to theory.Dur) bool {
	return slices.ContainsFunc(p.within(from, to), func(n score.Note) bool { return n.Pitch.Class() == class })
}

// steps tells whether a voice goes from one name to another by a half or whole step as
// one chord gives way to the next; dir 1 up, −1 down, 0 either.
func (p *Page) steps(at Place, from, to theory.Name, dir int) bool {
	ns := p.within(at.At, at.Until)
	for _, a := range ns {
		if a.Pitch.Class() != from.Class() || a.At >= at.End || a.End() < at.End-theory.Eighth {
			continue
		}
		for _, b := range ns {
			by := b.Pitch.MIDI() - a.Pitch.MIDI()
			if b.Pitch.Class() == to.Class() && b.At > a.At && b.At <= at.End && b.End() > at.End && by*by >= 1 && by*by <= 4 && by*dir >= 0 {
				return true
			}
		}
	}
	return false
}

// bass is the lowest note that the left hand strikes first in [from, to).
func (p *Page) bass(from, to theory.Dur) (score.Note, bool) {
	var best score.Note
	found := false
	for _, n := range p.within(from, to) {
		if n.Hand != score.Left || n.Marks.Has(score.Ghost) {
			continue
		}
		if !found || n.At < best.At && best.At > from || max(n.At, from) == max(best.At, from) && n.Pitch.MIDI() < best.Pitch.MIDI() {
			best, found = n, true
		}
	}
	return best, found
}

// tuneIn lists the notes of the tune that sound in [from, to).
func (p *Page) tuneIn(from, to theory.Dur) []score.Note {
	var out []score.Note
	for _, n := range p.within(from, to) {
		if n.Origin.Kind == score.Melody {
			out = append(out, n)
		}
	}
	return out
}

// tuneFrom is the first note of the tune struck at or after a moment.
func (p *Page) tuneFrom(at theory.Dur) (score.Note, bool) {
	i, _ := slices.BinarySearchFunc(p.tune, at, func(n score.Note, at theory.Dur) int { return cmp.Compare(n.At, at) })
	if i < len(p.tune) {
		return p.tune[i], true
	}
	return score.Note{}, false
}

// struck lists the notes of a hand that begin at a moment, lowest first, no graces.
func (p *Page) struck(h score.Hand, at theory.Dur) []score.Note {
	var out []score.Note
	if b := p.score.BarAt(at); b >= 0 {
		for _, n := range p.byBar[b] {
			if n.At == at && n.Hand == h && n.Grace == 0 {
				out = append(out, n)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b score.Note) int { return a.Pitch.MIDI() - b.Pitch.MIDI() })
	return out
}

// leftAfter lists what the left hand strikes next after a moment, lowest first.
func (p *Page) leftAfter(at theory.Dur) []score.Note {
	for b := max(0, p.score.BarAt(at)); b < len(p.byBar); b++ {
		for _, n := range p.byBar[b] {
			if n.At > at && n.Hand == score.Left && n.Grace == 0 && !n.Marks.Has(score.Ghost) {
				return p.struck(score.Left, n.At)
			}
		}
	}
	return nil
}
