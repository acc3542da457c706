package harmony

import "gradatim/theory"

// Reading says what a chord does in a key between its neighbours.
type Reading struct {
	Function Function
	Target   theory.Name // root it leads to, for Applied, Related, Substitute and Passing
	Resolves bool        // the next chord is on that root
}

// Read says what a chord does in a key between its neighbours; a zero chord
// stands for none. It is what Analyse asks for every span, open to anyone who
// wants to put another chord there.
//
// A chord is first read by where it goes: a dominant whose root falls a fifth or
// a half step to the next chord belongs to that chord, whatever the key. What
// goes nowhere in particular is read by its place in the key, then in the
// parallel key. Roots are compared by sound, so that a G♯°7 written A♭°7 leads to
// A all the same. Source: common practice, no source; the terms are those of any
// harmony course.
func Read(key theory.Key, prev, chord, next theory.Chord) Reading {
	if chord.Silent() || !key.Valid() {
		return Reading{}
	}
	r := reader{key: key, prev: prev, chord: chord, next: next, rel: above(key.Tonic, chord.Root)}
	switch q := qualityOf(chord); {
	case r.cadential():
		return Reading{Function: Cadential, Target: key.Tonic.Up(fifthUp), Resolves: true}
	case q == diminished:
		return r.diminished()
	case q == major || q == dominant || q == augmented:
		return r.majorLike(q)
	case q == halfDiminished || q == minor:
		return r.minorLike(q)
	default:
		return r.bare()
	}
}

// Roman writes the chord's numeral as it was read: "V7/ii" only where it leads
// there.
func (r Reading) Roman(key theory.Key, chord theory.Chord) theory.Roman {
	switch r.Function {
	case Applied, Related, Substitute:
		return key.RomanOf(chord, r.Target)
	case Chromatic:
		return key.Roman(chord)
	}
	return key.PlainRoman(chord)
}

var (
	fifthUp   = theory.Interval{Steps: 4, Semitones: 7}
	fourthUp  = theory.Interval{Steps: 3, Semitones: 5}
	halfUp    = theory.Interval{Steps: 1, Semitones: 1}
	halfDown  = theory.Interval{Steps: -1, Semitones: -1}
	degree1   = theory.Degree{Number: 1}
	degree3   = theory.Degree{Number: 3}
	degreeB3  = theory.Degree{Number: 3, Alter: -1}
	degree4   = theory.Degree{Number: 4}
	degreeS5  = theory.Degree{Number: 5, Alter: 1}
	degree5   = theory.Degree{Number: 5}
	degreeB5  = theory.Degree{Number: 5, Alter: -1}
	degree6   = theory.Degree{Number: 6}
	degree7   = theory.Degree{Number: 7}
	degreeB7  = theory.Degree{Number: 7, Alter: -1}
	degreeBB7 = theory.Degree{Number: 7, Alter: -2}
	degreeS9  = theory.Degree{Number: 9, Alter: 1}
	degree9   = theory.Degree{Number: 9}
	degreeB9  = theory.Degree{Number: 9, Alter: -1}
	degreeS11 = theory.Degree{Number: 11, Alter: 1}
	degree11  = theory.Degree{Number: 11}
	degree13  = theory.Degree{Number: 13}
	degreeB13 = theory.Degree{Number: 13, Alter: -1}
)

// above counts semitones from one name up to another, 0 to 11.
func above(from, to theory.Name) int { return (to.Class() - from.Class() + 12) % 12 }

// quality sorts chords by what decides their function.
type quality uint8

const (
	open           quality = iota // no third
	major                         // major third, no minor seventh
	dominant                      // major third or fourth, with a minor seventh
	augmented                     // major third, raised fifth, no minor seventh
	minor                         // minor third, fifth not diminished
	halfDiminished                // minor third, diminished fifth, minor seventh
	diminished                    // minor third, diminished fifth, otherwise
)

func qualityOf(c theory.Chord) quality {
	t := c.Tones
	switch {
	case t.Has(degreeB3) && t.Has(degreeB5) && t.Has(degreeB7):
		return halfDiminished
	case t.Has(degreeB3) && t.Has(degreeB5):
		return diminished
	case t.Has(degreeB3):
		return minor
	case c.Dominant():
		return dominant
	case t.Has(degree3) && t.Has(degreeS5) && !t.Has(degree7):
		return augmented
	case t.Has(degree3):
		return major
	}
	return open
}

// reader holds one question to Read.
type reader struct {
	key               theory.Key
	prev, chord, next theory.Chord
	rel               int // semitones of the root above the tonic
}

// toNext counts semitones from the root up to the next root; −1 with no next.
func (r reader) toNext() int {
	if r.next.Silent() {
		return -1
	}
	return above(r.chord.Root, r.next.Root)
}

func (r reader) nextRel() int {
	if r.next.Silent() {
		return -1
	}
	return above(r.key.Tonic, r.next.Root)
}

// cadential: the tonic triad over the fifth of the key, going to the dominant.
func (r reader) cadential() bool {
	return r.rel == 0 && r.chord.Slash && above(r.key.Tonic, r.chord.Bass) == 7 &&
		r.nextRel() == 7 && qualityOf(r.next) != minor && qualityOf(r.next) != diminished
}

func (r reader) leads(f Function, iv theory.Interval, resolves bool) Reading {
	if resolves { // spelled as the sheet spells it
		return Reading{Function: f, Target: r.next.Root, Resolves: true}
	}
	target := r.chord.Root.Up(iv)
	for _, n := range r.key.Scale() {
		if n.Class() == target.Class() {
			target = n
		}
	}
	return Reading{Function: f, Target: target}
}

func (r reader) diminished() Reading {
	seventh := r.chord.Tones.Has(degreeBB7)
	if r.rel == 11 {
		return Reading{Function: Dominant}
	}
	if r.rel == 2 && r.key.Mode.Minorish() && !seventh {
		return Reading{Function: Subdominant}
	}
	prevBass, nextBass := -1, -1 // semitones above this bass
	if !r.prev.Silent() {
		prevBass = above(r.chord.Lowest(), r.prev.Lowest())
	}
	if !r.next.Silent() {
		nextBass = above(r.chord.Lowest(), r.next.Lowest())
	}
	switch to := r.toNext(); {
	case prevBass == 11 && nextBass == 1, prevBass == 1 && nextBass == 11:
		return Reading{Function: Passing, Target: r.next.Root, Resolves: true}
	case to == 1:
		return r.leads(Applied, halfUp, true)
	case to == 0, r.prev.Root == r.chord.Root && !r.prev.Silent():
		// The common-tone diminished chord colours a root that stays.
		return Reading{Function: Passing, Target: r.chord.Root, Resolves: to == 0}
	case seventh && r.nextRel() == 0 && (11-r.rel+12)%3 == 0:
		return Reading{Function: Dominant} // the key's vii°7, another note in the bass
	case seventh && to >= 0 && (to-1+12)%3 == 0:
		return Reading{Function: Applied, Target: r.next.Root, Resolves: true}
	case to >= 0:
		return Reading{Function: Passing, Target: r.next.Root, Resolves: true}
	}
	return r.leads(Passing, halfUp, false)
}

func (r reader) majorLike(q quality) Reading {
	to, minorKey := r.toNext(), r.key.Mode.Minorish()
	strong := q == dominant || q == augmented
	switch {
	case r.rel == 7:
		return Reading{Function: Dominant}
	case r.rel == 0 && q == dominant && r.nextRel() == 5 && isDominantSeventh(r.next):
		return Reading{Function: Tonic} // I7 and IV7 side by side speak the language of the blues
	case to == 5 && (q == dominant && !(r.rel == 5 && isDominantSeventh(r.next)) || !inKey(r.key, r.chord)):
		return r.leads(Applied, fourthUp, true)
	case q == dominant && to == 11:
		return r.leads(Substitute, halfDown, true)
	case r.rel == 0 && !(minorKey && strong):
		return Reading{Function: Tonic}
	case r.rel == 5:
		return Reading{Function: Subdominant}
	case inKey(r.key, r.chord):
		return Reading{Function: r.placeInKey()}
	case q == dominant && (r.rel == 1 || r.rel == 3 || r.rel == 6 || r.rel == 8):
		return r.leads(Substitute, halfDown, false)
	case r.rel == 1 || r.rel == 3 || r.rel == 8 || r.rel == 10:
		if q == augmented {
			return Reading{Function: Chromatic}
		}
		return Reading{Function: Borrowed} // on the seventh also the backdoor dominant
	case r.chord.Tones.Has(degree7) || r.rel == 6:
		return Reading{Function: Chromatic}
	}
	return r.leads(Applied, fourthUp, false)
}

// isDominantSeventh tells whether a chord has the dominant's third and seventh.
func isDominantSeventh(c theory.Chord) bool { return qualityOf(c) == dominant }

func (r reader) minorLike(q quality) Reading {
	to := r.toNext()
	next := qualityOf(r.next)
	prepares := to == 5 && next == dominant && r.nextRel() != 7 // a ii before a dominant that is not V
	minorKey := r.key.Mode.Minorish()
	switch {
	case prepares && r.rel == 5 && !minorKey: // iv before ♭VII7, the backdoor
		return Reading{Function: Borrowed}
	case prepares && (!inKey(r.key, r.chord) || q == halfDiminished):
		target := r.next.Root.Up(fourthUp)
		switch r.nextRel() {
		case 1, 3, 6, 8: // the dominant it prepares is itself a substitute
			target = r.next.Root.Up(halfDown)
		}
		return Reading{Function: Related, Target: target}
	case q == halfDiminished && to == 1 && r.rel != 11 && !r.next.Silent():
		return r.leads(Applied, halfUp, true)
	case q == minor && r.rel == 0 && minorKey:
		return Reading{Function: Tonic}
	case inKey(r.key, r.chord):
		return Reading{Function: r.placeInKey()}
	case r.between():
		return Reading{Function: Passing, Target: r.next.Root, Resolves: true}
	case r.rel == 0 || r.rel == 5 || r.rel == 7 || r.rel == 2 && q == halfDiminished:
		return Reading{Function: Borrowed}
	case minorKey && r.rel == 2, minorKey && r.rel == 4, minorKey && r.rel == 9:
		return Reading{Function: Borrowed} // ii, iii and vi of the parallel major
	case q == minor && inKey(r.key, r.chord.Triad()):
		return Reading{Function: r.placeInKey()} // only its sixth or seventh is foreign
	}
	return Reading{Function: Chromatic}
}

// bare reads a chord without a third by its root alone.
func (r reader) bare() Reading {
	if f := r.placeInKey(); f != None {
		return Reading{Function: f}
	}
	return Reading{Function: Chromatic}
}

// between tells whether the root passes by half steps from the chord before to
// the chord after.
func (r reader) between() bool {
	if r.prev.Silent() || r.next.Silent() {
		return false
	}
	p, n := above(r.chord.Root, r.prev.Root), r.toNext()
	return p == 1 && n == 11 || p == 11 && n == 1
}

// placeInKey is the function of a root that belongs to the key; None where it
// does not.
func (r reader) placeInKey() Function {
	k := r.key
	switch r.rel {
	case 0:
		return Tonic
	case 2, 5:
		return Subdominant
	case 7, 11:
		return Dominant
	case 9:
		return Tonic
	case 4:
		return Tonic
	case 3:
		if k.Mode.Minorish() {
			return Tonic
		}
	case 8:
		if k.Mode.Minorish() {
			return Subdominant
		}
	case 10: // the subtonic closes where it goes home
		if k.Mode.Minorish() || k.Mode == theory.Mixolydian {
			if r.nextRel() == 0 {
				return Dominant
			}
			return Subdominant
		}
	case 1:
		if k.Mode == theory.Phrygian || k.Mode == theory.Locrian {
			return Subdominant
		}
	}
	return None
}

// inKey tells whether the chord's essential tones (root to seventh) belong to
// the key by sound. Minor takes its raised sixth and seventh too.
func inKey(k theory.Key, c theory.Chord) bool {
	classes := keyClasses(k)
	for n := 1; n <= 7; n++ {
		for a := int8(-2); a <= 2; a++ {
			d := theory.Degree{Number: int8(n), Alter: a}
			if c.Tones.Has(d) && classes>>((c.Root.Class()+d.Class())%12)&1 == 0 {
				return false
			}
		}
	}
	return true
}

// keyClasses is the set of pitch classes of a key as a bit set; minor has nine.
func keyClasses(k theory.Key) uint16 {
	var set uint16
	for _, n := range k.Scale() {
		set |= 1 << n.Class()
	}
	if k.Mode == theory.Minor {
		set |= 1<<((k.Tonic.Class()+9)%12) | 1<<((k.Tonic.Class()+11)%12)
	}
	return set
}

// readSpans fills in what each span does. A span's neighbours are the nearest
// sounding chords on another root, unless an unreadable symbol stands between: a
// dominant that is first suspended or first a plain triad leads on all the same.
// A diminished chord between two chords on its own root is a neighbour all the
// same. Two passes, linear.
func readSpans(ss []Span) {
	prev := make([]theory.Chord, len(ss))
	next := make([]theory.Chord, len(ss))
	neighbours(ss, prev, 0, 1)
	neighbours(ss, next, len(ss)-1, -1)
	for i := range ss {
		s := &ss[i]
		if !s.Sounding() {
			continue
		}
		r := Read(s.Key, prev[i], s.Chord, next[i])
		s.Function, s.Target, s.Resolves = r.Function, r.Target, r.Resolves
		s.Roman = r.Roman(s.Key, s.Chord)
	}
}

// neighbours writes, for each span, the last chord on another root met in the
// direction of travel.
func neighbours(ss []Span, out []theory.Chord, from, step int) {
	var here, other theory.Chord // the run of equal roots just passed, and what came before it
	for i := from; i >= 0 && i < len(ss); i += step {
		switch s := ss[i]; {
		case s.Unknown:
			here, other = theory.Chord{}, theory.Chord{}
		case s.Silent:
		case !here.Silent() && here.Root.Class() == s.Chord.Root.Class() &&
			(qualityOf(here) == diminished) == (qualityOf(s.Chord) == diminished):
			here = s.Chord
		default:
			other, here = here, s.Chord
		}
		out[i] = other
	}
}
