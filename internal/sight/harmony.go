package sight

import (
	"gradatim/score"
	"gradatim/theory"
)

// Span is the stretch of a printed chord.
type Span struct {
	At, End theory.Dur
	symbol  *score.Symbol
}

// Chord is the chord of the span; nobody writes to it.
func (s Span) Chord() *theory.Chord { return &s.symbol.Chord }

// spansOf gives each printed chord its stretch. A symbol printed again for the
// same chord goes on.
func spansOf(s score.Score) []Span {
	out := make([]Span, 0, len(s.Chords))
	for i := range s.Chords {
		c := &s.Chords[i]
		if k := len(out) - 1; k >= 0 {
			if out[k].symbol.Chord == c.Chord {
				continue
			}
			out[k].End = c.At
		}
		out = append(out, Span{c.At, s.End(), c})
	}
	return out
}

// Key is the key in force at a position.
func (p *Page) Key(at theory.Dur) (theory.Key, bool) {
	b := p.Score.BarAt(at)
	if b < 0 || !p.Score.Bars[b].Key.Valid() {
		return theory.Key{}, false
	}
	return p.Score.Bars[b].Key, true
}

// Harmony is a printed chord between its neighbours.
type Harmony struct {
	Span
	Key          theory.Key
	Before, Next *theory.Chord // zero at the ends
	Lasted       theory.Dur    // how long the chord before did
	OffBar       bool          // begins after its bar's first beat
}

// Harmonies lists the sounding chords with their neighbours, in keys that are
// known.
func (p *Page) Harmonies() []Harmony {
	none := new(theory.Chord)
	out := make([]Harmony, 0, len(p.spans))
	for i, sp := range p.spans {
		k, ok := p.Key(sp.At)
		if !ok || sp.Chord().Silent() {
			continue
		}
		h := Harmony{Span: sp, Key: k, Before: none, Next: none, OffBar: p.Score.Bars[p.Score.BarAt(sp.At)].At != sp.At}
		if i > 0 {
			h.Before, h.Lasted = p.spans[i-1].Chord(), p.spans[i-1].End-p.spans[i-1].At
		}
		if i+1 < len(p.spans) {
			h.Next = p.spans[i+1].Chord()
		}
		out = append(out, h)
	}
	return out
}

// Degree is the plain degree of the key that the chord stands on: 1 to 7, and 0
// where the root is none of the scale's.
func (h Harmony) Degree() int {
	d, alter := h.Key.Degree(h.Chord().Root)
	if alter != 0 {
		return 0
	}
	return d
}
