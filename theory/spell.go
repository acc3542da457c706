package theory

// Spell returns the chord's notes from the bass upwards as the symbol spells
// them: degree n takes the letter n−1 above the root's. A slash bass comes
// first and its tone is not repeated; the upper chord of a polychord follows
// the lower one.
func (c Chord) Spell() []Name { return c.spell(func(n Name) Name { return n }) }

// SpellReading returns the notes as a player likes to read them: double flats
// and sharps are respelled (the ♭♭7 of C°7 is A); single odd letters (C♭, E♯)
// stay.
func (c Chord) SpellReading() []Name { return c.spell(Name.Reading) }

func (c Chord) spell(as func(Name) Name) []Name {
	if c.Silent() {
		return nil
	}
	out := make([]Name, 0, 8)
	if c.Slash {
		out = append(out, as(c.Bass))
	}
	for d := range c.Tones.Normal().All() {
		if n := d.On(c.Root); !c.Slash || n.Class() != c.Bass.Class() {
			out = append(out, as(n))
		}
	}
	for d := range c.UpperTones.Normal().All() {
		out = append(out, as(d.On(c.UpperRoot)))
	}
	return out
}

// Simple returns the name as it is found on the keys: a white key by its letter, a black
// one with one sharp or flat.
func (n Name) Simple() Name {
	n = n.Reading()
	switch n {
	case Name{C, -1}:
		return Name{B, 0}
	case Name{F, -1}:
		return Name{E, 0}
	case Name{E, 1}:
		return Name{F, 0}
	case Name{B, 1}:
		return Name{C, 0}
	}
	return n
}

// Reading returns the name, respelled with at most one accidental.
func (n Name) Reading() Name {
	for n.Alter >= 2 || n.Alter <= -2 {
		step := int8(1)
		if n.Alter < 0 {
			step = -1
		}
		l := Letter(mod(int(n.Letter)+int(step), 7))
		semis := mod((l.Semitones()-n.Letter.Semitones())*int(step), 12)
		n = Name{l, n.Alter - step*int8(semis)}
	}
	return n
}

// HarmonicSpelling spells a sounding key (MIDI number) over a chord in a key.
//
// Objective: what a player reads with least thought. In this order: the chord's
// own spelling; the key's; the name that the chord's scale gives it; the tension
// it is over the root, a ♯9 as the ♭10 that parts print; the nearest name on the
// line of fifths. Odd names are
// avoided: double accidentals unless they are the key's leading tone, and C♭,
// F♭, E♯, B♯ unless the key is signed with them. The seventh of a substitute
// dominant is spelled as the leading tone that it is: B in D♭7 before C.
// Source: common practice, no source. A silent chord or no key leaves the rest
// to decide. What passes by half step to a known note: ApproachSpelling.
func HarmonicSpelling(key Key, chord Chord, midi int) Pitch {
	return harmonicName(key, chord, mod(midi, 12)).Nearest(midi)
}

func harmonicName(key Key, chord Chord, class int) Name {
	if n, ok := chord.nameOf(class); ok {
		if key.Valid() && !chord.Slash && chord.Dominant() && class == mod(chord.Root.Class()+10, 12) {
			if r := key.Roman(chord); r.Kind == Substitute {
				n = chord.Root.Up(Interval{5, 10}) // ♭7 as ♯6
			}
		}
		return key.readable(n)
	}
	if key.Valid() {
		if n, ok := key.nameOf(class); ok {
			return n
		}
		if s, ok := key.ChordScale(chord); ok {
			for d := range s.Degrees().All() {
				if n := d.On(chord.Root); n.Class() == class {
					return key.readable(n)
				}
			}
		}
	}
	if !chord.Silent() {
		for _, d := range []Degree{{9, -1}, {9, 0}, {3, -1}, {3, 0}, {11, 0}, {11, 1}, {5, 0}, {13, -1}, {13, 0}, {7, -1}, {7, 0}} {
			if n := d.On(chord.Root); n.Class() == class {
				return key.readable(n)
			}
		}
	}
	return key.nearestName(class)
}

// nameOf returns the name of a pitch class in the chord: bass, tone, upper tone.
func (c Chord) nameOf(class int) (Name, bool) {
	if !c.HasClass(class) {
		return Name{}, false
	}
	if c.Slash && c.Bass.Class() == class {
		return c.Bass, true
	}
	for d := range c.Tones.All() {
		if n := d.On(c.Root); n.Class() == class {
			return n, true
		}
	}
	for d := range c.UpperTones.All() {
		if n := d.On(c.UpperRoot); n.Class() == class {
			return n, true
		}
	}
	panic("theory: a class that sounds has a name")
}

// nameOf returns the name of a pitch class in the key; minor has either form of
// its 6th and 7th.
func (k Key) nameOf(class int) (Name, bool) {
	s := k.Scale()
	for _, n := range s {
		if n.Class() == class {
			return n, true
		}
	}
	if k.Mode.Minorish() {
		for _, iv := range []Interval{{6, 11}, {5, 9}} {
			if n := k.Tonic.Up(iv); n.Class() == class {
				return n, true
			}
		}
	}
	return Name{}, false
}

// readable respells a name that the key does not explain.
func (k Key) readable(n Name) Name {
	if k.Valid() {
		if own, ok := k.nameOf(n.Class()); ok && own == n {
			return n
		}
	}
	n = n.Reading()
	switch n {
	case Name{C, -1}, Name{F, -1}:
		return Name{Letter(mod(int(n.Letter)-1, 7)), 0}
	case Name{E, 1}, Name{B, 1}:
		return Name{Letter(mod(int(n.Letter)+1, 7)), 0}
	}
	return n
}

// nearestName names a class by the key's place on the line of fifths: from ♭3 to
// ♯5 of the major key of its signature; without a key from E♭ to G♯.
func (k Key) nearestName(class int) Name {
	centre := 0
	if k.Valid() {
		centre = k.Fifths()
	}
	for f := centre - 3; f <= centre+8; f++ {
		if n := NameOnFifths(f); n.Class() == class {
			return k.readable(n)
		}
	}
	panic("theory: twelve fifths hold twelve classes")
}

// ApproachSpelling spells a sounding key that leads by step to a note: a half
// step below it is raised, a half step above it lowered, each on the letter next
// to the target's, unless the key has a name for it. Anything farther away is
// spelled by the key.
func ApproachSpelling(key Key, midi int, target Pitch) Pitch {
	if key.Valid() {
		if n, ok := key.nameOf(mod(midi, 12)); ok {
			return n.Nearest(midi)
		}
	}
	var n Name
	switch midi - target.MIDI() {
	case -1:
		n = target.Name.Up(Interval{-1, -1})
	case 1:
		n = target.Name.Up(Interval{1, 1})
	case 0:
		return target
	default:
		return key.nearestName(mod(midi, 12)).Nearest(midi)
	}
	return key.readable(n).Nearest(midi)
}
