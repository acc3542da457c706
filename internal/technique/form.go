package technique

import (
	"fmt"
	"slices"

	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// compose returns the ways to fill a number of beats: each of the longest forms
// that fit, repeated as long as it fits, and what is left filled with shorter
// ones; nil where the list cannot fill it.
func compose(fs []form, beats int, compound bool, tempo int) [][]*form {
	if beats == 0 {
		return [][]*form{nil}
	}
	longest := 0
	usable := func(f *form) bool {
		return f.compound == compound && f.beats <= beats && (f.maxTempo == 0 || tempo <= f.maxTempo) && tempo >= f.minTempo
	}
	for i := range fs {
		if usable(&fs[i]) {
			longest = max(longest, fs[i].beats)
		}
	}
	var out [][]*form
	for i := range fs {
		f := &fs[i]
		if !usable(f) || f.beats != longest {
			continue
		}
		var parts []*form
		left := beats
		for ; left >= f.beats; left -= f.beats {
			parts = append(parts, f)
		}
		if rest := compose(fs, left, compound, tempo); rest != nil {
			out = append(out, append(parts, rest[0]...))
		}
	}
	return out
}

// laidForm is a form and the pulse that it is counted in.
type laidForm struct {
	*form
	pulse theory.Dur
}

// fillings returns the ways to fill a cell. In an uneven bar of eighths each foot is
// filled by itself: as a beat, that divides in two or in three, or as a bar of two or
// three short beats.
func fillings(c Cell, fs []form) [][]laidForm {
	pulse := c.Pulse()
	even := func(pulse, length theory.Dur, compound bool) (out [][]laidForm) {
		tempo := int(theory.Dur(c.Tempo) * theory.Quarter / pulse)
		for _, parts := range compose(fs, int(length/pulse), compound, tempo) {
			laid := make([]laidForm, len(parts))
			for i, f := range parts {
				laid[i] = laidForm{f, pulse}
			}
			out = append(out, laid)
		}
		return out
	}
	if !c.Meter.Quick() {
		return even(pulse, (c.Dur()+pulse-1)/pulse*pulse, c.Meter.Compound())
	}
	at := c.At - c.BarAt
	ends := slices.DeleteFunc(c.Meter.Groups(), func(g theory.Dur) bool { return g <= at || g >= at+c.Dur() })
	ends = append(ends, at+c.Dur())
	var beats, pulses [][][]laidForm // of each foot
	for _, end := range ends {
		n := (end - at) / pulse
		switch {
		case n%3 == 0:
			beats = append(beats, even(end-at, end-at, true))
		default:
			beats = append(beats, even(2*pulse, end-at, false))
		}
		if n%2 != 0 && n%3 != 0 { // what a change of chord leaves of a foot
			beats[len(beats)-1] = even(pulse, end-at, false)
		}
		pulses = append(pulses, even(pulse, end-at, false))
		at = end
	}
	return append(inTurn(beats), inTurn(pulses)...)
}

// inTurn joins the ways to fill each foot: the first of each, the second of each …;
// nil where a foot has none.
func inTurn(feet [][][]laidForm) (out [][]laidForm) {
	most := 0
	for _, ways := range feet {
		if len(ways) == 0 {
			return nil
		}
		most = max(most, len(ways))
	}
	for k := range most {
		var all []laidForm
		for _, ways := range feet {
			all = append(all, ways[min(k, len(ways)-1)]...)
		}
		out = append(out, all)
	}
	return out
}

// placement is what the search may vary in a form: where the bass stands and in
// which inversion the upper chord is taken.
type placement struct {
	base  theory.Pitch // R
	upper []theory.Pitch
	cost  int
}

// figures returns the figures that a list of forms gives for a cell: one for
// each octave of the bass and each placing of the upper chord that the level's
// register allows. upper lists the placings of the upper chord ("c", "g", "v"), in
// ascending close order.
func figures(c Cell, fs []form, say reason.Reason, upper func(Cell) []Voicing) []Figure {
	pulse := c.Pulse()
	whole := c.Dur()%pulse == 0
	if c.Chord.Silent() || !whole && (c.Meter.Quick() || c.Dur() < pulse) {
		return nil
	}
	var out []Figure
	for _, parts := range fillings(c, fs) {
		voicings := []Voicing{{}}
		if upper != nil && slices.ContainsFunc(parts, func(f laidForm) bool { return f.upper }) {
			voicings = upper(c)
		}
		l, basses := lay(parts), c.basses()
		out = slices.Grow(out, len(basses)*len(voicings))
		var room []Tone // of several figures: two notes a strike are usual
		for _, base := range basses {
			for _, v := range voicings {
				if len(v.Pitches) > 0 && v.Pitches[0].MIDI() < base.MIDI()+apart {
					continue
				}
				if len(room) < 2*len(l.strikes) {
					room = make([]Tone, 2*len(l.strikes)*min(len(voicings), 8))
				}
				f, rest, ok := c.realise(l, placement{base: base, upper: v.Pitches, cost: v.Cost}, room)
				if room = rest; ok {
					if !whole {
						f.Tones = within(f.Tones, c.End)
					}
					f.Say = say
					out = append(out, f)
				}
			}
		}
	}
	return out
}

// within cuts tones at the end of their cell: a bar that an upbeat to the repeat ends has
// the figure of whole bars as far as it goes.
func within(ts []Tone, end theory.Dur) []Tone {
	out := ts[:0]
	for _, t := range ts {
		if t.At < end {
			t.Dur = min(t.Dur, end-t.At)
			out = append(out, t)
		}
	}
	return out
}

// apart is the least distance, in half steps, of a bass note from the chord that
// answers it: nearer, nothing is low (common practice, no source).
const apart = 4

// by credits figures to another technique than the one that offers them.
func by(id string, fs []Figure) []Figure {
	for i := range fs {
		fs[i].By = id
	}
	return fs
}

// lone credits single notes to the held bass: they break nothing and answer
// nothing.
func lone(fs []Figure) []Figure {
	for i := range fs {
		if len(fs[i].Tones) == 1 {
			fs[i].By, fs[i].Say = heldRoot.ID, reason.Figure("held-root.short")
		}
	}
	return fs
}

// beatTempo is the tempo in beats of the pulse a minute.
func (c Cell) beatTempo() int {
	return int(theory.Dur(c.Tempo) * theory.Quarter / c.Pulse())
}

// basses lists the octaves in which the chord's lowest note can stand.
func (c Cell) basses() []theory.Pitch {
	name := c.Chord.Lowest()
	var out []theory.Pitch
	for p := name.Above(c.Low); p.MIDI() <= c.High; p.Octave++ {
		if p.MIDI() > 60 { // a bass note above middle C is none
			break
		}
		out = append(out, p)
	}
	return out
}

// fifths returns the chord's fifth next above a bass note and next below it.
func (c Cell) fifths(bass theory.Pitch) (above, below theory.Pitch) {
	n := fifthOf(c.Chord).On(c.Chord.Root)
	return n.Above(bass.MIDI() + 1), n.Below(bass.MIDI() - 1)
}

// layout is a row of forms laid out in time: what is struck when, counted from
// the start of the cell.
type layout struct {
	strikes []laid
	cost    int
}

type laid struct {
	at, dur theory.Dur
	tokens  []token
}

func lay(parts []laidForm) layout {
	var l layout
	at := theory.Dur(0)
	for _, p := range parts {
		length := theory.Dur(p.beats) * p.pulse
		unit := length / theory.Dur(p.steps)
		for _, s := range p.strokes {
			l.strikes = append(l.strikes, laid{at + theory.Dur(s.from)*unit, theory.Dur(s.length) * unit, s.tokens})
		}
		l.cost += p.cost
		at += length
	}
	return l
}

// realise gives a layout its notes. They stand in the first part of room, if it is long
// enough; what is left of it is returned.
func (c *Cell) realise(l layout, pl placement, room []Tone) (f Figure, rest []Tone, ok bool) {
	f = Figure{Cost: pl.cost + l.cost, Tones: room[:0]}
	var buf [8]theory.Pitch
	for _, s := range l.strikes {
		from := len(f.Tones)
		for _, tok := range s.tokens {
			ps, kind := c.pitches(buf[:0], tok, pl)
			if len(ps) == 0 {
				return Figure{}, room, false
			}
			for _, q := range ps {
				f.Tones = append(f.Tones, Tone{At: c.At + s.at, Dur: s.dur, Pitch: q, Kind: c.kindOf(q, kind)})
			}
		}
		sortTones(f.Tones[from:])
	}
	f = dedupe(f)
	n := len(f.Tones)
	f.Tones = f.Tones[:n:n]
	return f, room[min(n, len(room)):], true
}

// pitches appends what a token stands for in the cell, lowest first; nothing where
// the cell has nothing of the kind.
func (c *Cell) pitches(ps []theory.Pitch, tok token, pl placement) ([]theory.Pitch, score.Kind) {
	ch, base := c.Chord, pl.base
	root := base
	if ch.Slash && ch.Bass != ch.Root {
		if over := overSlash(ch, base, tok); len(over) > 0 {
			return append(ps, over...), score.Chord
		}
		root = ch.Root.Above(base.MIDI())
	}
	switch tok.sort {
	case bassToken:
		return append(ps, base), score.Bass
	case highBassToken:
		base.Octave++
		return append(ps, base), score.Bass
	case lowFifthToken:
		_, p := c.fifths(base)
		if p.MIDI() < lowestKey {
			p.Octave++
		}
		return append(ps, p), score.Bass
	case upperToken:
		return append(ps, pl.upper...), score.Chord
	case shellToken:
		return append(ps, root, root.Up(shellTop(ch).Interval())), score.Chord
	case addedToken:
		return append(ps, c.aboveOctave(root)), score.Tension
	case tenthToken:
		return append(ps, tenthOf(ch, root)), score.Chord
	case lowerToken, higherToken:
		lo, hi := c.aboveOctave(root), tenthOf(ch, root)
		if c.Displaced() {
			hi = root.Up(theory.Octave)
		}
		if lo.MIDI() > hi.MIDI() {
			lo, hi = hi, lo
		}
		if tok.sort == lowerToken {
			hi = lo
		}
		return append(ps, hi), score.Chord
	case closeToken:
		if d := c.Added; d != (theory.Degree{}) {
			if d.Number > 7 {
				d.Number -= 7
			}
			return append(ps, root.Up(d.Interval())), score.Tension
		}
		return append(ps, root.Up(degreeNumber(ch, 3).Interval())), score.Chord
	case degreeToken:
		p := root.Up(degreeNumber(ch, tok.degree).Interval())
		if !ch.HasClass(p.Class()) { // the sixth of a shuffle
			return append(ps, p), score.Tension
		}
		return append(ps, p), score.Chord
	}
	panic(fmt.Sprintf("technique: token of sort %d", tok.sort))
}

// aboveOctave is the added note above the octave, or the octave where the chord has
// none.
func (c *Cell) aboveOctave(root theory.Pitch) theory.Pitch {
	if c.Added == (theory.Degree{}) {
		return root.Up(theory.Octave)
	}
	p := root.Up(c.Added.Interval())
	for p.MIDI() < root.MIDI()+12 {
		p.Octave++
	}
	return p
}

// overSlash gives the tokens that count from the root another sense over a slash
// bass, which stays the lowest note: 1 and 5_ are the bass itself, 3 and 5 the two
// notes of the triad next above it, a third away or more, t the lower of them an
// octave higher, and a shell the bass with the highest of them. Other tokens have
// none.
func overSlash(ch theory.Chord, base theory.Pitch, tok token) []theory.Pitch {
	var above []theory.Pitch
	for d := range ch.Triad().Tones.All() {
		if n := d.On(ch.Root); n.Class() != base.Class() {
			above = append(above, n.Above(base.MIDI()+3))
		}
	}
	slices.SortFunc(above, func(a, b theory.Pitch) int { return a.MIDI() - b.MIDI() })
	switch {
	case tok.sort == lowFifthToken, tok.sort == degreeToken && tok.degree == 1:
		return []theory.Pitch{base}
	case tok.sort == degreeToken && tok.degree == 3:
		return above[:1]
	case tok.sort == degreeToken && tok.degree == 5:
		return above[1:2]
	case tok.sort == tenthToken:
		tenth := above[0]
		tenth.Octave++
		return []theory.Pitch{tenth}
	case tok.sort == shellToken:
		return []theory.Pitch{base, above[len(above)-1]}
	}
	return nil
}

// lowestKey is the lowest note that any level writes for the left hand: the
// lowest white key but a few, where a bass still has a pitch.
const lowestKey = 24

// degreeNumber turns a plain number into the chord's own degree: 3 is a minor
// third in a minor chord, and the fourth in a suspended one.
func degreeNumber(ch theory.Chord, n int) theory.Degree {
	up := 0
	switch {
	case n == 8:
		return theory.Degree{Number: 8}
	case n == 10:
		n, up = 3, 7
	}
	d := theory.Degree{Number: int8(n)}
	switch n {
	case 3:
		if t, ok := ch.Third(); ok {
			d = t
		} else {
			d = theory.Degree{Number: 8}
		}
	case 5:
		d = fifthOf(ch)
	case 7:
		if t, ok := ch.Seventh(); ok {
			d = t
		} else {
			d = theory.Degree{Number: 8}
		}
	case 9:
		if ds := ch.Tones.Number(9); len(ds) > 0 {
			d = ds[0]
		}
	}
	d.Number += int8(up)
	return d
}

func fifthOf(ch theory.Chord) theory.Degree {
	if d, ok := ch.Fifth(); ok {
		return d
	}
	if ch.Tones.Has(theory.Degree{Number: 13, Alter: -1}) {
		return theory.Degree{Number: 5, Alter: 1}
	}
	return theory.Degree{Number: 5}
}

func tenthOf(ch theory.Chord, root theory.Pitch) theory.Pitch {
	d := degreeNumber(ch, 10)
	return root.Up(d.Interval())
}

// shellTop is the upper note of a shell: seventh or sixth, else the third.
func shellTop(ch theory.Chord) theory.Degree {
	if d, ok := ch.Seventh(); ok {
		return d
	}
	if d, ok := ch.Third(); ok {
		return d
	}
	return fifthOf(ch)
}

// kindOf refines a token's kind: a note that is not of the triad or seventh is a
// tension.
func (c *Cell) kindOf(p theory.Pitch, k score.Kind) score.Kind {
	if k == score.Bass {
		return k
	}
	if c.Added != (theory.Degree{}) && p.Class() == c.Added.On(c.Chord.Root).Class() {
		return score.Tension
	}
	if d, ok := c.Chord.Degree(p.Name); ok && d.Number > 7 {
		return score.Tension
	}
	return k
}

// dedupe drops a note that a figure strikes twice at one moment.
func dedupe(f Figure) Figure {
	out := f.Tones[:0]
	for i, t := range f.Tones {
		again := false
		for _, u := range f.Tones[:i] {
			again = again || u.At == t.At && u.Pitch.MIDI() == t.Pitch.MIDI()
		}
		if !again {
			out = append(out, t)
		}
	}
	f.Tones = out
	return f
}
