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
	for _, d := range c.Tones.Normal().List() {
		if n := d.On(c.Root); !c.Slash || n.Class() != c.Bass.Class() {
			out = append(out, as(n))
		}
	}
	for _, d := range c.UpperTones.Normal().List() {
		out = append(out, as(d.On(c.UpperRoot)))
	}
	return out
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
