package audit

import (
	"gradatim/theory"
)

// classes is a set of pitch classes.
type classes uint16

func (c classes) has(class int) bool { return c>>(uint(class))&1 == 1 }

func (c classes) with(class int) classes { return c | 1<<uint(((class%12)+12)%12) }

// harmony is a chord in force for a while, with what may sound over it.
type harmony struct {
	at, end  theory.Dur
	chord    theory.Chord
	silent   bool // N.C. by intent
	unknown  bool // the symbol says nothing
	tones    classes
	tensions classes
	triad    classes // root, third, fifth and the bass
	dominant bool
	major7   bool
	root     int // pitch class
	bass     int
}

// harmonies prepares the printed chords and the sheet's.
func (p *page) harmonies() {
	end := p.s.End()
	type asked struct {
		chord theory.Chord
		key   theory.Key
		final bool
	}
	known := map[asked]harmony{} // pieces repeat their chords
	work := func(c theory.Chord, key theory.Key, final bool) harmony {
		a := asked{c, key, final}
		h, ok := known[a]
		if !ok {
			h = newHarmony(c, key, final)
			known[a] = h
		}
		return h
	}
	p.chords = make([]harmony, 0, len(p.s.Chords))
	for i, c := range p.s.Chords {
		to := end
		if i+1 < len(p.s.Chords) {
			to = p.s.Chords[i+1].At
		}
		key := theory.Key{}
		if b := p.s.BarAt(c.At); b >= 0 {
			key = p.s.Bars[b].Key
		}
		h := work(c.Chord, key, to >= end)
		h.at, h.end = c.At, to
		p.chords = append(p.chords, h)
	}
	if p.song == nil {
		return
	}
	p.sheet = make([]harmony, 0, len(p.song.Chords))
	for i, c := range p.song.Chords {
		to := p.song.End()
		if i+1 < len(p.song.Chords) {
			to = p.song.Chords[i+1].At
		}
		h := work(c.Chord, theory.Key{}, false)
		h.at, h.end, h.unknown = c.At, to, c.Unknown
		p.sheet = append(p.sheet, h)
	}
}

// newHarmony works out what sounds over a chord in a key (which may be none).
func newHarmony(c theory.Chord, key theory.Key, final bool) harmony {
	h := harmony{chord: c, silent: c.Silent()}
	if h.silent {
		return h
	}
	h.root = c.Root.Class()
	h.bass = c.Lowest().Class()
	h.tones = h.tones.with(h.bass)
	for _, d := range c.Tones.List() {
		h.tones = h.tones.with(h.root + d.Semitones())
	}
	for _, d := range c.UpperTones.List() {
		h.tones = h.tones.with(c.UpperRoot.Class() + d.Semitones())
	}
	if c.UpperTones.Empty() {
		for _, d := range c.Triad().Tones.List() {
			if c.Tones.Has(d) || d.Number == 1 {
				h.triad = h.triad.with(h.root + d.Semitones())
			}
		}
	}
	h.triad = h.triad.with(h.bass)
	h.dominant = c.Dominant()
	h.major7 = c.Tones.Has(theory.Degree{Number: 7})
	for _, t := range tensions(c, key, final) {
		h.tensions = h.tensions.with(h.root + t)
	}
	h.tensions &^= h.tones
	return h
}

// Pitch classes over the root, by the names of tensions.
const (
	flat9   = 1
	nine    = 2
	sharp9  = 3
	third   = 4
	eleven  = 5
	sharp11 = 6
	fifth   = 7
	flat13  = 8
	thirt   = 9
	minor7  = 10
	maj7    = 11
)

// tensions returns the tensions (semitones over the root within an octave) that
// may be added to a chord without being printed.
//
// The general test of the trade: a tension is available a whole step above a
// chord tone and to be avoided a half step above one, except on dominants.
// Diatonic chords take the key's own notes, as in the tension table; a 13th on the ii of a major key is left
// out because it is the key's leading note. Functions that the table judges by
// their target (secondary, substitute, altered dominants) share one set here:
// which of them suits the target is the arranger's choice and not a fault.
func tensions(c theory.Chord, key theory.Key, final bool) []int {
	has := func(number, alter int8) bool { return c.Tones.Has(theory.Degree{Number: number, Alter: alter}) }
	root := c.Root.Class()
	inKey := func(semitones int) bool {
		if !key.Valid() {
			return true
		}
		return scaleClasses(key).has((root + semitones) % 12)
	}
	diatonic := key.Valid()
	if diatonic {
		scale := scaleClasses(key)
		for _, d := range c.Triad().Tones.List() {
			if !scale.has((root + d.Class()) % 12) {
				diatonic = false
			}
		}
	}
	degree, alter := 0, 0
	if key.Valid() {
		degree, alter = key.Degree(c.Root)
	}
	on := func(d int) bool { return key.Valid() && degree == d && alter == 0 }
	minorKey := key.Valid() && key.Mode.Minorish()

	var out []int
	switch {
	case c.Dominant():
		plain9 := has(9, 0)
		altered9 := has(9, -1) || has(9, 1)
		if !plain9 {
			out = append(out, flat9, sharp9)
		}
		if !altered9 {
			out = append(out, nine)
		}
		if has(4, 0) { // a suspension takes its third only as a tenth above the fourth
			out = append(out, third)
			if plain9 {
				out = append(out, thirt)
			} else {
				out = append(out, thirt, flat13)
			}
			break
		}
		out = append(out, sharp11)
		if !has(13, -1) && !has(5, 1) {
			out = append(out, thirt)
		}
		if !has(13, 0) {
			out = append(out, flat13)
		}
	case c.MinorThird() && has(5, -1):
		switch {
		case has(7, -1): // half-diminished
			out = append(out, eleven, flat13)
			if inKey(nine) || on(2) || !diatonic {
				out = append(out, nine)
			}
		default: // diminished: a whole step above each chord tone
			out = append(out, nine, eleven, flat13, maj7)
		}
	case c.MinorThird():
		if inKey(nine) || !diatonic {
			out = append(out, nine)
		}
		if inKey(eleven) || !diatonic {
			out = append(out, eleven)
		}
		tonic := minorKey && on(1)
		if !has(13, -1) && (inKey(thirt) && !(on(2) && !minorKey) || tonic || !diatonic) {
			out = append(out, thirt)
		}
	case has(3, 0): // major third, no minor seventh
		out = append(out, nine)
		if has(5, 1) {
			out = append(out, sharp11)
			break
		}
		out = append(out, thirt)
		if inKey(sharp11) && key.Valid() || !diatonic || final && on(1) {
			out = append(out, sharp11)
		}
		if on(5) && !has(7, 0) { // the fourth beside the third of the dominant
			out = append(out, eleven)
		}
	case has(4, 0) || has(2, 0): // suspended
		out = append(out, nine, thirt)
	default: // a power chord, and what has no third
		out = append(out, nine)
	}
	return out
}

// scaleClasses returns the pitch classes of a key; in minor with the raised
// sixth and seventh.
func scaleClasses(key theory.Key) classes {
	var c classes
	for _, n := range key.Scale() {
		c = c.with(n.Class())
	}
	if key.Mode == theory.Minor {
		c = c.with(key.Tonic.Class() + 9).with(key.Tonic.Class() + 11)
	}
	return c
}
