package theory

import "strings"

// RomanKind says how a Roman numeral relates a chord to the key.
type RomanKind uint8

// Kinds of Roman numerals.
const (
	Diatonic   RomanKind = iota + 1 // made of the notes of the key (in minor, either 6th and 7th)
	Applied                         // the dominant (or its leading-tone chord, or its ii) of another degree
	Substitute                      // a dominant a tritone from the one it stands for
	Borrowed                        // diatonic in a parallel mode
	PassingDim                      // a diminished chord on a foreign degree
	Chromatic                       // none of these
)

// String returns "diatonic", "applied", "substitute", "borrowed", "passing
// diminished" or "chromatic".
func (k RomanKind) String() string {
	if k < Diatonic || k > Chromatic {
		return "none"
	}
	return [...]string{Diatonic: "diatonic", Applied: "applied", Substitute: "substitute",
		Borrowed: "borrowed", PassingDim: "passing diminished", Chromatic: "chromatic"}[k]
}

// Numeral is a scale degree as a Roman numeral. Alter counts against the major
// scale of the tonic in every mode, so the submediant of C minor is ♭VI.
type Numeral struct {
	Degree int8 // 1 to 7; 0: none
	Alter  int8
	Lower  bool // written small: a minor or diminished chord
}

func (n Numeral) text() string {
	if n.Degree < 1 || n.Degree > 7 {
		return ""
	}
	s := [...]string{"I", "II", "III", "IV", "V", "VI", "VII"}[n.Degree-1]
	if n.Lower {
		s = strings.ToLower(s)
	}
	return s
}

// String writes "bVII".
func (n Numeral) String() string { return accidentals(int(n.Alter), '#', 'b') + n.text() }

// Pretty writes "♭VII".
func (n Numeral) Pretty() string { return accidentals(int(n.Alter), '♯', '♭') + n.text() }

// Roman is a chord read in a key: "ii7", "V7/ii", "♭II7/IV", "♭VII7", "♯iv°7".
// It names root and quality, not the bass. The zero Roman is no chord.
type Roman struct {
	Numeral
	Quality string  // what follows the numeral: "", "7", "°7", "ø7", "maj7", "+"
	Of      Numeral // the degree that an applied or substitute chord belongs to
	Kind    RomanKind
	From    Mode // the parallel mode that a borrowed chord comes from
}

// String writes the numeral in ASCII but for ° and ø, which have no such form.
func (r Roman) String() string { return r.write(Numeral.String, func(s string) string { return s }) }

// Pretty writes the numeral with the signs of print.
func (r Roman) Pretty() string { return r.write(Numeral.Pretty, pretty) }

func (r Roman) write(numeral func(Numeral) string, quality func(string) string) string {
	if r.Degree == 0 {
		return ""
	}
	n, of := r.Numeral, r.Of
	if r.Kind == Substitute { // by where its root lies, a half step above its goal
		n = Numeral{Degree: 2, Alter: -1}
		if of.Degree == 1 && of.Alter == 0 {
			of = Numeral{}
		}
	}
	s := numeral(n) + quality(r.Quality)
	if of.Degree > 0 {
		s += "/" + numeral(of)
	}
	return s
}

// Roman reads a chord in the key by itself, without its neighbours. What is made
// of the key's notes is named by its degree; else a major or dominant chord
// whose root lies a fifth above a stable degree is applied to it; else a
// dominant seventh a half step above one substitutes; else the chord is looked
// for in the parallel modes. Two dominants are left under their own degree,
// as usage has it: IV7 (the blues) and ♭VII7 (the backdoor). Source: the chord
// families of trade courses in harmony; which wins is common practice, no
// source. Who knows what follows calls RomanOf.
func (k Key) Roman(c Chord) Roman {
	r := k.PlainRoman(c)
	if r.Degree == 0 || r.Kind == Diatonic {
		return r
	}
	at := Degree{r.Degree, r.Alter}.Class()
	third, hasThird := c.Third()
	majorish := hasThird && third != Degree{3, -1} && third != Degree{2, 0} && !c.Tones.Has(Degree{7, 0})
	switch {
	case c.Diminished():
		// Over the third degree a diminished chord is the leading-tone chord of IV.
		if target := k.Tonic.Up(Interval{3, 5}); at == 4 && !c.Tones.Has(Degree{7, -1}) && k.stable(target) {
			return k.RomanOf(c, target)
		}
	case !majorish, at == 0 && !c.Dominant(): // a major tonic in a minor key is no dominant
	default:
		if target := c.Root.Up(Interval{3, 5}); k.stable(target) {
			return k.RomanOf(c, target)
		}
		if c.Dominant() && at != 5 && at != 10 {
			if target := c.Root.Up(Interval{-1, -1}); k.stable(target) {
				return k.RomanOf(c, target)
			}
		}
	}
	return r
}

// RomanOf reads a chord as belonging to another degree of the key, whose root
// is given: its dominant, the substitute of that, its leading-tone chord or the
// ii before its dominant. Where the chord is none of these to the target, the
// plain reading is returned. Of the tonic there is only a substitute: V7 is not
// V7/I.
func (k Key) RomanOf(c Chord, target Name) Roman {
	r := k.PlainRoman(c)
	if r.Degree == 0 {
		return r
	}
	if n, ok := k.nameOf(target.Class()); ok {
		target = n
	}
	of := k.numeral(target, false)
	of.Lower = k.minorOn(target)
	tonic := target.Class() == k.Tonic.Class()
	third, ok := c.Third()
	minor := ok && third == Degree{3, -1}
	as := func(degree int8, kind RomanKind) Roman {
		return Roman{Numeral: Numeral{degree, 0, minor}, Quality: r.Quality, Of: of, Kind: kind}
	}
	switch above := mod(c.Root.Class()-target.Class(), 12); {
	case above == 1 && c.Dominant():
		return as(5, Substitute)
	case tonic:
	case above == 7 && !minor:
		return as(5, Applied)
	case above == 11 && c.Diminished():
		return as(7, Applied)
	case above == 2 && minor && (c.Tones.Has(Degree{7, -1}) || !c.Diminished()):
		return as(2, Applied)
	}
	return r
}

// PlainRoman reads a chord under the degree of its own root.
func (k Key) PlainRoman(c Chord) Roman {
	if c.Silent() || !k.Valid() {
		return Roman{}
	}
	third, ok := c.Third()
	root := c.Root
	if n, in := k.nameOf(root.Class()); in && !c.Diminished() { // ♯ii°7 means its sharp
		root = n
	}
	r := Roman{Numeral: k.numeral(root, ok && third == Degree{3, -1}), Quality: romanQuality(c)}
	r.Kind, r.From = k.family(c)
	if _, full := c.Third(); !full || third.Number == 4 || third.Number == 2 {
		r.Lower = r.Kind == Diatonic && k.minorOn(c.Root) // no third: as the key has it
	}
	leading := mod(c.Root.Class()-k.Tonic.Class(), 12) == 11
	if c.Diminished() && !c.Tones.Has(Degree{7, -1}) && !leading && r.Kind != Diatonic ||
		c.Tones.Has(Degree{7, -2}) && !leading && !k.Contains(c.Root) {
		r.Kind, r.From = PassingDim, 0
	}
	return r
}

// numeral names a root. One that sounds like a degree of the tonic's major scale
// takes that degree, however it is spelled (no ♭IV, no ♯VII); a double
// accidental is respelled.
func (k Key) numeral(root Name, lower bool) Numeral {
	class := mod(root.Class()-k.Tonic.Class(), 12)
	for i, semis := range letterSemitones {
		if semis == class {
			return Numeral{int8(i + 1), 0, lower}
		}
	}
	d, a := k.Degree(root)
	if a == -1 || a == 1 {
		return Numeral{int8(d), int8(a), lower}
	}
	for i, semis := range letterSemitones {
		if semis == class+1 {
			return Numeral{int8(i + 1), -1, lower}
		}
	}
	panic("theory: a class between degrees has one above it")
}

// romanQuality writes the suffix for a numeral whose case has told the third.
func romanQuality(c Chord) string {
	s := suffixOf(c.Tones)
	switch {
	case strings.HasPrefix(s, "m7b5"), strings.HasPrefix(s, "m9b5"), strings.HasPrefix(s, "m11b5"):
		return "ø" + strings.Replace(s[1:], "b5", "", 1)
	case strings.HasPrefix(s, "dim"):
		return "°" + s[len("dim"):]
	case strings.HasPrefix(s, "aug"):
		return "+" + s[len("aug"):]
	case strings.HasPrefix(s, "maj"):
		return s
	case strings.HasPrefix(s, "m"):
		return s[1:]
	}
	return s
}

// family finds the mode on the tonic that has the chord's root, third, fifth and
// seventh; tensions do not count.
func (k Key) family(c Chord) (RomanKind, Mode) {
	if k.has(c) {
		return Diatonic, 0
	}
	for _, m := range []Mode{Major, Minor, Dorian, Mixolydian, Phrygian, Lydian} {
		if p := (Key{k.Tonic, m}); m != k.Mode && p.has(c) {
			return Borrowed, m
		}
	}
	return Chromatic, 0
}

// has tells whether the root, third, fifth and seventh of a chord are in the key;
// minor may raise its 6th and 7th. A root that is in the key by sound is taken
// under the key's name for it. The altered fifth of a dominant is a tension, and
// the seventh of a diminished chord, which repeats at the minor third, is
// compared by sound.
func (k Key) has(c Chord) bool {
	root := c.Root
	if n, ok := k.nameOf(root.Class()); ok {
		root = n
	}
	for d := range c.Tones.All() {
		if d.Number >= 9 || d.Number == 5 && d.Alter != 0 && c.Dominant() {
			continue
		}
		n := d.On(root)
		own, ok := k.nameOf(n.Class())
		if !ok || own != n && d != (Degree{7, -2}) && d != (Degree{5, 1}) {
			return false
		}
	}
	return true
}

// triad returns the key's own triad on one of its degrees; ok is false for a
// foreign root. In minor the unraised scale counts.
func (k Key) triad(root Name) (third, fifth int, ok bool) {
	s := k.Scale()
	for i, n := range s {
		if n.Class() == root.Class() {
			return mod(s[(i+2)%7].Class()-n.Class(), 12), mod(s[(i+4)%7].Class()-n.Class(), 12), true
		}
	}
	return 0, 0, false
}

// stable tells whether a degree of the key, by sound, carries a major or minor
// triad, so that a dominant may be applied to it.
func (k Key) stable(root Name) bool {
	_, fifth, ok := k.triad(root)
	return ok && fifth == 7
}

// minorOn tells whether a numeral for that root is written small: the key's triad on it is
// minor or diminished. The dominant of a minor key counts as major.
func (k Key) minorOn(root Name) bool {
	third, _, ok := k.triad(root)
	return ok && third == 3 && !(k.Mode == Minor && mod(root.Class()-k.Tonic.Class(), 12) == 7)
}
