package theory

// Chord is the meaning of a chord symbol: a root, the degrees that sound over
// it, perhaps another bass, perhaps an upper chord (a polychord). It is a
// comparable value. The zero Chord is "no chord" (N.C.): nothing sounds.
type Chord struct {
	Root  Name
	Tones Degrees // never empty in a sounding chord
	Bass  Name    // meaningful where Slash is set
	Slash bool

	// Upper chord of a polychord ("D over C7"); UpperTones empty: none.
	UpperRoot  Name
	UpperTones Degrees
}

// Silent tells whether the chord is "no chord".
func (c Chord) Silent() bool { return c.Tones.Empty() }

// Lowest returns the name that belongs in the bass: the slash bass or the root.
func (c Chord) Lowest() Name {
	if c.Slash {
		return c.Bass
	}
	return c.Root
}

// Degree returns the degree that a name has over the root within the chord, and
// whether it belongs to the chord. Spelling counts less than sound: a G♯ in a
// chord that holds A♭ is that A♭'s degree.
func (c Chord) Degree(n Name) (Degree, bool) {
	want := mod(n.Class()-c.Root.Class(), 12)
	var found Degree
	ok := false
	for d := range c.Tones.All() {
		if d.Class() != want {
			continue
		}
		if d.On(c.Root) == n {
			return d, true
		}
		found, ok = d, true
	}
	return found, ok
}

// HasClass tells whether a pitch class (0 is C) sounds in the chord: tones, slash
// bass or upper chord.
func (c Chord) HasClass(class int) bool { return c.classes()>>mod(class, 12)&1 == 1 }

// classes returns the pitch classes that sound, one bit each.
func (c Chord) classes() uint16 {
	if c.Silent() {
		return 0
	}
	mask := turn(c.Tones.classes(), c.Root.Class())
	if !c.UpperTones.Empty() {
		mask |= turn(c.UpperTones.classes(), c.UpperRoot.Class())
	}
	if c.Slash {
		mask |= 1 << c.Bass.Class()
	}
	return mask
}

// Third returns the degree that gives the chord its gender: 3, ♭3, or the 4 or 2
// of a suspended chord; ok is false for a power chord.
func (c Chord) Third() (d Degree, ok bool) {
	return first(c.Tones, Degree{3, 0}, Degree{3, -1}, Degree{4, 0}, Degree{2, 0}, Degree{11, 0})
}

// Fifth returns the chord's fifth: perfect, diminished or augmented.
func (c Chord) Fifth() (d Degree, ok bool) {
	return first(c.Tones, Degree{5, 0}, Degree{5, -1}, Degree{5, 1})
}

// Seventh returns the seventh, or the sixth where the chord has that instead.
func (c Chord) Seventh() (d Degree, ok bool) {
	return first(c.Tones, Degree{7, 0}, Degree{7, -1}, Degree{7, -2}, Degree{6, 0})
}

// Dominant tells whether the chord has a major third (or a suspended fourth)
// and a minor seventh.
func (c Chord) Dominant() bool {
	return c.Tones.Has(Degree{7, -1}) && !c.Tones.Has(Degree{3, -1}) &&
		(c.Tones.Has(Degree{3, 0}) || c.Tones.Has(Degree{4, 0}))
}

// MinorThird tells whether the chord's third is minor.
func (c Chord) MinorThird() bool { return c.Tones.Has(Degree{3, -1}) }

// Diminished tells whether the chord has a minor third and a diminished fifth.
func (c Chord) Diminished() bool {
	return c.Tones.Has(Degree{3, -1}) && c.Tones.Has(Degree{5, -1})
}

// Triad returns the chord reduced to root, third and fifth (a suspended chord
// keeps its suspension), without slash bass or upper chord.
func (c Chord) Triad() Chord {
	if c.Silent() {
		return c
	}
	t := DegreesOf(Degree{1, 0})
	if d, ok := c.Third(); ok {
		t = t.With(d)
	}
	if d, ok := c.Fifth(); ok {
		t = t.With(d)
	} else if c.Tones.Has(Degree{13, -1}) {
		t = t.With(Degree{5, 1})
	} else {
		t = t.With(Degree{5, 0})
	}
	return Chord{Root: c.Root, Tones: t}
}

// Transpose moves the chord by an interval. The root of an upper chord is
// respelled where it would get a double accidental, as parts have it.
func (c Chord) Transpose(iv Interval) Chord {
	if c.Silent() {
		return c
	}
	c.Root = c.Root.Up(iv)
	if c.Slash {
		c.Bass = c.Bass.Up(iv)
	}
	if !c.UpperTones.Empty() {
		c.UpperRoot = c.UpperRoot.Up(iv).Reading()
	}
	return c
}

func first(s Degrees, ds ...Degree) (Degree, bool) {
	for _, d := range ds {
		if s.Has(d) {
			return d, true
		}
	}
	return Degree{}, false
}
