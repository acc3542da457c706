package technique

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim/score"
	"gradatim/theory"
)

// A Form is a left-hand pattern for a stretch of a certain number of beats.
//
// Steps divide the stretch evenly and are separated by spaces. "-" prolongs what
// sounds, "." is silence; several notes at once are joined with "+":
//
//	R    the bass note, in the bass register; R_ an octave lower
//	1 3 5 6 7 8 9 10   chord degrees counted from the bass root, as the chord has them
//	5_   the fifth below the bass note
//	a    the added note (level 2) above the octave; t the tenth; x y the lower and
//	     the higher of the two
//	n    the added note inside the close chord, else the third
//	c    the chord near middle C, in the inversion the search likes best
//	s    a shell: root with seventh, third or sixth
//	g    the guide tones near middle C
//	v    a rootless or colour voicing near middle C
//
// A stretch with no form of its own length is put together from shorter ones.
type Form struct {
	Beats    int
	Compound bool
	Steps    string
	MinTempo int // quarters (dotted quarters in compound) a minute; 0 any
	MaxTempo int
	Cost     int
}

// step is one parsed step: the tokens that begin there and how many steps they
// last.
type step struct {
	from, length int
	tokens       []string
}

func parseSteps(s string) (steps []step, count int) {
	fields := strings.Fields(s)
	for i, f := range fields {
		switch f {
		case "-":
			if len(steps) > 0 {
				steps[len(steps)-1].length++
			}
		case ".":
		default:
			steps = append(steps, step{from: i, length: 1, tokens: strings.Split(f, "+")})
		}
	}
	return steps, len(fields)
}

// compose returns the ways to fill a number of beats: each of the longest forms
// that fit, repeated as long as it fits, and what is left filled with shorter
// ones; nil where the list cannot fill it.
func compose(forms []Form, beats int, compound bool, tempo int) [][]Form {
	if beats == 0 {
		return [][]Form{nil}
	}
	longest := 0
	usable := func(f Form) bool {
		return f.Compound == compound && f.Beats <= beats && (f.MinTempo == 0 || tempo >= f.MinTempo) && (f.MaxTempo == 0 || tempo <= f.MaxTempo)
	}
	for _, f := range forms {
		if usable(f) {
			longest = max(longest, f.Beats)
		}
	}
	var out [][]Form
	for _, f := range forms {
		if !usable(f) || f.Beats != longest {
			continue
		}
		var parts []Form
		left := beats
		for ; left >= f.Beats; left -= f.Beats {
			parts = append(parts, f)
		}
		if rest := compose(forms, left, compound, tempo); rest != nil {
			out = append(out, append(parts, rest[0]...))
		}
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

// FromForms returns the figures that a list of forms gives for a cell: one for
// each octave of the bass and each placing of the upper chord that the level's
// register allows. tones lists the degrees of the upper chord ("c", "g", "v"), in
// ascending close order, several alternatives.
func FromForms(c Cell, forms []Form, say string, upper func(Cell) []Voicing) []Figure {
	pulse := c.Pulse()
	if c.Chord.Silent() || c.Dur()%pulse != 0 {
		return nil
	}
	tempo := c.beatTempo()
	var out []Figure
	for _, parts := range compose(forms, int(c.Dur()/pulse), c.Meter.Compound(), tempo) {
		needsUpper := false
		for _, p := range parts {
			needsUpper = needsUpper || strings.ContainsAny(p.Steps, "cgv")
		}
		voicings := []Voicing{{}}
		if needsUpper && upper != nil {
			voicings = upper(c)
		}
		l, basses := lay(parts, pulse), c.basses()
		out = slices.Grow(out, len(basses)*len(voicings))
		for _, base := range basses {
			for _, v := range voicings {
				if f, ok := c.realise(l, placement{base: base.pitch, upper: v.Pitches, cost: base.cost + v.Cost}); ok {
					f.Say = say
					out = append(out, f)
				}
			}
		}
	}
	return out
}

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
			fs[i].By, fs[i].Say = heldRoot.ID, "the root: the chord has no time for more"
		}
	}
	return fs
}

// beatTempo is the tempo in beats of the pulse a minute.
func (c Cell) beatTempo() int {
	return int(theory.Dur(c.Tempo) * theory.Quarter / c.Pulse())
}

type bass struct {
	pitch theory.Pitch
	cost  int
}

// basses lists the octaves in which the chord's lowest note can stand.
func (c Cell) basses() []bass {
	name := c.Chord.Lowest()
	if !c.Manner.SlashBasses {
		name = c.Chord.Root
	}
	var out []bass
	for p := name.Above(c.Low); p.MIDI() <= c.High; p.Octave++ {
		if p.MIDI() > 60 { // a bass note above middle C is none
			break
		}
		out = append(out, bass{p, 0})
	}
	return out
}

// layout is a row of forms laid out in time: what is struck when, counted from
// the start of the cell.
type layout struct {
	strikes []laid
	cost    int
}

type laid struct {
	at, dur theory.Dur
	tokens  []string
}

func lay(parts []Form, pulse theory.Dur) layout {
	var l layout
	at := theory.Dur(0)
	for _, p := range parts {
		length := theory.Dur(p.Beats) * pulse
		steps, n := parseSteps(p.Steps)
		unit := length / theory.Dur(n)
		for _, s := range steps {
			l.strikes = append(l.strikes, laid{at + theory.Dur(s.from)*unit, theory.Dur(s.length) * unit, s.tokens})
		}
		l.cost += p.Cost
		at += length
	}
	return l
}

func (c *Cell) realise(l layout, pl placement) (Figure, bool) {
	f := Figure{Cost: pl.cost + l.cost, Tones: make([]Tone, 0, 2*len(l.strikes))}
	var buf [8]theory.Pitch
	for _, s := range l.strikes {
		for _, tok := range s.tokens {
			ps, kind, ok := c.token(buf[:0], tok, pl)
			if !ok {
				return Figure{}, false
			}
			for _, q := range ps {
				f.Tones = append(f.Tones, Tone{At: c.At + s.at, Dur: s.dur, Pitch: q, Kind: c.kindOf(q, kind)})
			}
		}
	}
	return dedupe(f), true
}

// token appends the pitches that one token stands for.
func (c *Cell) token(ps []theory.Pitch, tok string, pl placement) ([]theory.Pitch, score.Kind, bool) {
	one := func(p theory.Pitch, k score.Kind) ([]theory.Pitch, score.Kind, bool) {
		return append(ps, p), k, true
	}
	ch, base := c.Chord, pl.base
	root := base
	if c.Manner.SlashBasses && ch.Slash && ch.Bass != ch.Root {
		root = ch.Root.Above(base.MIDI())
	}
	switch tok {
	case "R":
		return one(base, score.Bass)
	case "R_":
		base.Octave--
		return one(base, score.Bass)
	case "5_":
		p := base.Up(fifthOf(ch).Interval())
		p.Octave--
		if p.MIDI() < lowestKey {
			p.Octave++
		}
		return one(p, score.Bass)
	case "c", "g", "v":
		if len(pl.upper) == 0 {
			return nil, 0, false
		}
		return append(ps, pl.upper...), score.Chord, true
	case "s":
		p := root.Up(shellTop(ch).Interval())
		return append(ps, root, p), score.Chord, true
	case "a", "t", "x", "y":
		tenth := tenthOf(ch, root)
		added := tenth
		if c.Added != (theory.Degree{}) {
			added = root.Up(c.Added.Interval())
			for added.MIDI() < root.MIDI()+12 {
				added.Octave++
			}
		} else {
			added = root.Up(theory.Octave)
		}
		lo, hi := added, tenth
		if lo.MIDI() > hi.MIDI() {
			lo, hi = hi, lo
		}
		switch tok {
		case "a":
			return one(added, score.Tension)
		case "t":
			return one(tenth, score.Chord)
		case "x":
			return one(lo, score.Chord)
		}
		return one(hi, score.Chord)
	}
	if tok == "n" {
		if c.Added == (theory.Degree{}) {
			tok = "3"
		} else {
			d := c.Added
			if d.Number > 7 {
				d.Number -= 7
			}
			return one(root.Up(d.Interval()), score.Tension)
		}
	}
	n, err := strconv.Atoi(tok)
	if err != nil {
		panic(fmt.Sprintf("technique: form token %q", tok))
	}
	d := degreeNumber(ch, n)
	return one(root.Up(d.Interval()), score.Chord)
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
