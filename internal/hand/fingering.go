package hand

import (
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// Strike is what one hand strikes at one moment, with what it still holds.
type Strike struct {
	At, End theory.Dur // End: when the last of Keys is let go
	Keys    []int      // struck, ascending
	Held    []int      // down since before and still wanted, ascending
	Rolled  bool       // Keys are played one after the other, from the lowest
	Grace   bool       // a grace note: short, leading into the next strike
	Quick   bool       // so soon after the strike before that one finger cannot repeat a key
	Wait    Micros     // since the strike before, from which the hand may lift and move; 0: not known, no time
	Legato  bool       // a slur joins it to the strike before: the hand is not lifted
	Asked   []uint8    // a finger asked for each of Keys, 0 for none; nil: none at all
	Wished  []uint8    // the same, hoped for and not insisted on

	Ornaments []score.Ornament // on each of Keys; nil: none at all
}

// Fingering names the fingers of one Strike, 1 the thumb to 5 the little finger.
// A finger of 0 means that no finger could be found for the key.
type Fingering struct {
	Keys []uint8 // one for each of Strike.Keys
	Held []uint8 // one for each of Strike.Held; another finger than before is a silent change
}

// Finger chooses a finger for every key of a hand's strikes, given in order.
//
// Problem: among all ways to assign fingers in the order of the keys, none
// beyond what a pair of fingers spans, find the one that is easiest to play.
// Objective: the rules of Parncutt, Sloboda, Clarke, Raekallio and Desain (1997)
// in the form of Jacobs (2001), distances taken on real keys, with further rules
// for what they leave out: chords, held notes and silent changes, repeated
// notes, slides and crushed notes, ornaments, octaves, the shapes of chords, a tune
// over held keys, hand position between chords, leaps, basses and their chords, and
// runs through the octaves fingered alike (see weights). The published rules take
// every two notes as joined and are silent where the hand leaves its keys: beyond
// what it spans it leaps, and with time to do so (Wait) it may lift and come down in
// a new place. Such a pair costs by how far the hand moves and, in haste, by the
// order of its fingers, and the rules for three notes do not look across it, so
// that the finger it lands on is chosen for what follows. Integer costs.
// Method: dynamic programming over the fingerings of two neighbouring strikes,
// since the rules look at three notes in a row; exact for the sum of all rules.
// A strike has at most 10 fingerings (5 for one key), a pair of strikes at most
// 100 states, a step at most 125 transitions between single notes and 100
// elsewhere: the time is linear in the number of strikes. A passage that returns is
// then fingered as it was the first time where the sum rises by little. Ties go to
// the lower finger on the lower key, earliest strike first (from the thumb's side in
// the left hand).
// Rejected: a search for the best hand positions, then fingers within them; it
// is faster and cannot weigh a stretch against a shift. Hidden Markov models
// trained on annotated editions agree with pianists a little better, but the
// data may not be redistributed and a teacher cannot read them.
func Finger(p Profile, h score.Hand, strikes []Strike) []Fingering {
	return newFingerer(p, h, standard).finger(strikes)
}

// Grip returns what the hand holds together.
func (p Profile) Grip(h score.Hand) *Grip {
	g := newGrip(p, h, standard)
	return &g
}

// Strain returns the cost of holding the keys together, as Finger counts it, and
// false where no fingers can. It is 0 for a close triad.
func (f *Grip) Strain(keys []int) (cost int, ok bool) {
	ks := slices.Clone(keys)
	slices.Sort(ks)
	ks = slices.Compact(ks)
	if f.h == score.Left {
		slices.Reverse(ks)
	}
	opts := f.options(ks, &Strike{Keys: ks}, nil)
	if len(opts) == 0 || opts[0].forced {
		return 0, false
	}
	best := opts[0].cost
	for _, o := range opts {
		best = min(best, o.cost)
	}
	return best, true
}

// weights are the sizes of the rules. The published rules count in points; ten
// of ours are one of theirs.
type weights struct {
	// Published, between two notes in a row. Rule 9, finger 4 on black beside 3 on
	// white, has no weight here.
	stretch    int // per twelfth beyond MaxComf or below MinComf (rule 1)
	small      int // per twelfth below MinRel (rule 2)
	smallThumb int // the same where the thumb is one of the two
	large      int // per twelfth above MaxRel (rule 3)
	splay      int // a fourth between neighbours other than the thumb: slowly, where the hand need not lie so. Common practice, no source
	outer      int // and more where the fingers are 3 and 4, or 4 and 5
	change     int // position change, half; full counts twice (rule 4)
	changeSize int // per twelfth of it (rule 5)
	pivot      int // and at most so many where a slow hand turns on the thumb
	weak       int // finger 4 (rule 6)
	threeFour  int // 4 after 3 (rule 8)
	thumbBlack int // thumb on black (rule 10)
	thumbWhite int // and each white neighbour
	fiveWhite  int // little finger on black, each white neighbour (rule 11)
	pass       int // thumb passing on one level (rule 12)
	passBlack  int // thumb on black, other finger on white

	// Ours; common practice, no source. Sized on the scale manual that the
	// tests compare with.
	under      [6]int // a finger passing over the thumb, or the thumb under it
	underSize  int    // and for each twelfth of it beyond five
	underFar   int    // beyond what the thumb passes
	cramped    [6]int // thumb and another finger, uncrossed, on a step
	lift       int    // the hand lifted between two notes, in the shortest time, and put down elsewhere
	liftLong   int    // the same off a long note
	leap       int    // the same where the notes are too far apart to be joined
	aloft      int    // and for each white key that it moves so
	early      int    // for each finger left on that side where it lifts for a near note
	against    int    // the hand put down with a finger on the wrong side of the one before; twice for a far one
	crossed    int    // a crossing that the thumb has no part in
	overtake   int    // and in haste
	tooLate    int    // a finger that no hand brings there in time (Profile.Late)
	beyond     int    // a pair of fingers beyond what it spans, joined
	sameFinger int    // one finger on two keys in a row, joined
	perTwelfth int    // and for each twelfth between them
	slide      int    // a finger sliding from a black grace note to a white key
	noSlide    int    // another finger there
	crush      int    // a grace note and its main note with fingers that are no neighbours
	ornament   int    // no finger free for a note of an ornament
	settle     int    // per white key that the hand moves between single notes
	shape      int    // the same between the other fingers of a chord of three keys and more
	frame      int    // a chord of a fifth and more without thumb and little finger outside
	restrike   int    // another finger on the same key, slow
	tremor     int    // the same finger on the same key, quick
	exchange   int    // a silent change of finger
	recolour   int    // another finger on a key that stays in the next chord
	reshape    int    // the same, slowly, between chords that each take their shape
	again      int    // other fingers on keys struck two strikes before
	againChord int    // the same, of three keys and more
	move       int    // per white key that the hand moves between chords, up to two
	farther    int    // and beyond
	moves      int    // and once for moving at all
	conflict   int    // a note and the chord after it, both under the hand, fingered in two positions
	sameOuter  int    // chords in a row with the same finger outside
	sameLine   int    // the same beside a chord: a step or third of the outer line
	slurred    int    // one finger on two keys in a row under a slur
	skips      [5]int // fingers so far apart on a step under a slur
	overHeld   int    // and at most so much for two fingers of the line over keys that are held
	third      int    // neighbouring fingers on a third struck together; with the thumb half of it
	outerThird int    // and more on 4 and 5, where the thumb is free
	idle       int    // the thumb idle in a wide interval, or thumb and little finger in one beyond the octave
	spread     int    // a fifth and more struck together by fingers other than the outer ones
	there      int    // another finger on a key that was left for one note
	back       int    // the same under a slur, of the outer line
	amid       int    // the hand moved within a slur, and not at its beginning
	turn       int    // a thumb passing between slow notes that are not steps
	fiveChord  int    // little finger on black in an octave
	alike      int    // a note of a run fingered unlike its octaves
	figure     int    // a note of a repeated figure fingered unlike the others
	bass       int    // a bass note and its chord fingered unlike the chord of both
	root       int    // a low note that stands by itself without the little finger
	wish       int    // a strike fingered otherwise than hoped for
	returns    int    // at most so much for fingering a passage as it was the first time
	start      int    // a run whose thumb is not on its first note, if that is white
	late       int    // per note that the fourth finger comes before the end of the octave
}

// standard are the weights in use.
var standard = weights{
	stretch: 19, small: 12, smallThumb: 5, large: 7, outer: 3, splay: 60, change: 9, changeSize: 15, pivot: 5, weak: 1,
	thumbBlack: 43, thumbWhite: 16, fiveWhite: 25, pass: 48, passBlack: 57,
	under: [6]int{2: 38, 3: 40, 4: 75, 5: 182}, underSize: 30, underFar: 1,
	crossed: 150, overtake: 500, tooLate: 4000, beyond: 300, sameFinger: 82, perTwelfth: 225, noSlide: 70, crush: 240, ornament: 900, settle: 5,
	restrike: 59, tremor: 145, exchange: 120, recolour: 129, reshape: 10, shape: 15, frame: 25,
	move: 24, farther: 9, moves: 25, again: 20, againChord: 60, sameOuter: 7, fiveChord: 8, sameLine: 240, slurred: 400, skips: [5]int{2: 130, 3: 300, 4: 700}, overHeld: 250, third: 50, outerThird: 200, idle: 60, spread: 150, there: 30, back: 120, amid: 30, turn: 60,
	cramped: [6]int{3: 20, 4: 320, 5: 320}, lift: 220, against: 150, liftLong: 90, early: 40, leap: 100, aloft: 14, conflict: 140,
	alike: 31, figure: 15, start: 400, bass: 45, root: 320, returns: 150, wish: 180, late: 12,
}

// Grip knows what one hand holds together.
type Grip struct {
	p      Profile
	h      score.Hand
	w      weights
	shapes bool // chords keep the shape that they are taught in, whatever stands beside them

	spans [6][6]pairSpan // of this hand
	reach [6][6]Length
}

// fingerer fingers for one hand.
type fingerer struct {
	Grip
	pairs [6][6][spanSize]int16 // cost of two single notes by distance
	hops  [6][6][spanSize]int16 // what two fingers cost in haste, the hand lifted between them
	order [6][6][spanSize]int16 // what they cost so at any time: keys in one order, fingers in another
	ways  [6][6][spanSize]int16 // and its way
}

// Distances between neighbouring notes are tabulated from −farStep to farStep
// twelfths; beyond, all are alike.
const (
	farStep  = 30
	spanSize = 2*farStep + 1
)

func newGrip(p Profile, h score.Hand, w weights) Grip {
	f := Grip{p: p, h: h, w: w}
	scale := func(v int) int {
		return int((Length(2*v)*p.Span(h) + modelSpan) / (2 * modelSpan))
	}
	for a := 1; a <= 4; a++ {
		for b := a + 1; b <= 5; b++ {
			s := pairSpans[a][b]
			s.MaxRel, s.MaxComf, s.MaxPrac = scale(s.MaxRel), scale(s.MaxComf), scale(s.MaxPrac)
			f.spans[a][b] = s
			f.reach[a][b] = p.pairReach(h, a, b)
		}
	}
	return f
}

func newFingerer(p Profile, h score.Hand, w weights) *fingerer {
	f := &fingerer{Grip: newGrip(p, h, w)}
	f.shapes = true
	for a := 1; a <= 5; a++ {
		for b := 1; b <= 5; b++ {
			for d := -farStep; d <= farStep; d++ {
				f.pairs[a][b][d+farStep] = int16(f.spanCost(a, b, d) + f.settleCost(a, b, d))
				f.hops[a][b][d+farStep] = int16(f.hopCost(a, b, d))
				f.order[a][b][d+farStep] = int16(f.againstCost(a, b, d))
				f.ways[a][b][d+farStep] = int16(f.aloft(a, b, d))
			}
		}
	}
	return f
}

// spanCost is the cost of two fingers on two notes in a row, the second d
// twelfths further from the thumb's side (rules 1 to 3, and what is beyond).
func (f *fingerer) spanCost(a, b, d int) int {
	w := &f.w
	if a == b {
		if d == 0 {
			return 0
		}
		return w.sameFinger + w.perTwelfth*min(max(d, -d), 12)
	}
	lo, hi := a, b
	if lo > hi {
		lo, hi, d = hi, lo, -d
	}
	s := f.spans[lo][hi]
	if lo == 1 && d < 0 {
		c := w.under[hi] + w.underSize*max(0, -d-5)
		if d < s.MinPrac {
			c += w.underFar
		}
		if -d > farthestPass[hi] {
			c += w.beyond + w.beyond/2
		}
		return c
	}
	c := 0
	if lo == 1 {
		switch {
		case d <= 2:
			c += w.cramped[hi]
		case d <= 4 && hi == 5: // on a third
			c += w.cramped[hi] / 4
		}
	}
	switch {
	case d > s.MaxComf:
		c += w.stretch * (d - s.MaxComf)
	case d < s.MinComf:
		c += w.stretch * (s.MinComf - d)
	}
	if d < s.MinRel {
		if lo == 1 {
			c += w.smallThumb * (s.MinRel - d)
		} else {
			c += w.small * (s.MinRel - d)
		}
	}
	if d > s.MaxRel {
		c += w.large * (d - s.MaxRel)
		if lo >= 3 && hi == lo+1 {
			c += w.outer * (d - s.MaxRel)
		}
	}
	if d > s.MaxPrac {
		c += w.beyond
	}
	if d < 0 {
		c += w.crossed
	}
	return c
}

// farthestPass is how far the thumb passes under a finger, in twelfths: the
// widest steps of broken chords through the octaves; beyond, the hand has let
// go. The little finger and the thumb do not pass. Common practice, no source.
var farthestPass = [6]int{2: 5, 3: 5, 4: 5, 5: 0}

// hopCost is the cost of two notes between which the hand lifts in haste, for the
// fingers alone: one finger on both, or fingers left unused that lie that way.
func (f *fingerer) hopCost(a, b, d int) int {
	c := 0
	if a == b {
		c += f.w.sameFinger
	}
	near := d <= 4 && d >= -4
	switch {
	case d > 0 && near:
		c += f.w.early * (5 - a)
	case near:
		c += f.w.early * (a - 1)
	}
	return c
}

// againstCost is the cost of fingers that stand in another order than their keys,
// where the hand could have both under it. No time makes that right.
func (f *fingerer) againstCost(a, b, d int) int {
	near := d <= 4 && d >= -4
	up := d > 0
	spent := up && a == 5 && (b <= 2 || d > 5) || !up && a == 1 && b >= 4 && d >= -5 // a new place beyond the old one
	down := near && !up && a == 5 && b == 5                                          // the whole hand ready for what lies that way
	switch {
	case up && b-a == 1 && a > 1 && d >= 5 || !up && a-b == 1 && b > 1 && d <= -5:
		return f.w.splay
	case f.far(d) || spent || down || up && b > a || !up && b < a:
		return 0
	case near:
		return f.w.against
	case a == 1 || b == 1: // a thumb passed farther than it reaches
		return 3 * f.w.against
	}
	return 2 * f.w.against
}

// aloft is the cost of the hand's way through the air between two notes: how far
// it moves to have one finger where the other was.
func (f *fingerer) aloft(a, b, d int) int {
	off := Length(d)*Octave/12 - (restingOffset[b] - restingOffset[a])
	if off < 0 {
		off = -off
	}
	return f.w.aloft * int(off) / int(WhiteKey)
}

// haste is a time in which no finger but the thumb gets past another. Common practice, no
// source.
const haste = 3 * Second / 10

// longWait is a time in which the hand finds its next place at leisure. Common
// practice, no source.
const longWait = 6 * Lift

// hop is the cost of lifting the hand between two notes d twelfths apart and
// coming down in another place, in Lift at least or over a leap. What haste costs
// fades on a long note.
func (f *fingerer) hop(a, b, d int, wait Micros) int {
	way := int(f.ways[a][b][d+farStep])
	if f.far(d) {
		return way + f.w.leap
	}
	haste := int(max(longWait-wait, 0) * 100 / (longWait - Lift))
	return way + f.w.liftLong + int(f.order[a][b][d+farStep]) + (f.w.lift-f.w.liftLong+int(f.hops[a][b][d+farStep]))*haste/100
}

// far tells whether two notes lie too far apart for any two fingers.
func (f *fingerer) far(d int) bool {
	m := f.spans[1][5].MaxPrac
	return d > m || d < -m
}

// settleCost is the cost of the hand's own movement between two notes: how far
// the second lies from where its finger rests, seen from the first.
func (f *fingerer) settleCost(a, b, d int) int {
	off := Length(d)*Octave/12 - (restingOffset[b] - restingOffset[a])
	if off < 0 {
		off = -off
	}
	return f.w.settle * int(min(off, Octave)) / int(WhiteKey)
}

// way returns the distance from key a to key b, in twelfths, away from the
// thumb's side.
func (f *Grip) way(a, b int) int {
	d := Twelfths(a, b)
	if f.h == score.Left {
		d = -d
	}
	return min(max(d, -farStep), farStep)
}
