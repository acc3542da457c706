package hand

import "slices"

// Micros is a time in microseconds.
type Micros int64

// Second is one second.
const Second Micros = 1_000_000

// Speed limits. What is impossible, not what is hard; common practice, no
// published source, so they are generous.
const (
	// OneFinger is the shortest time between two strokes of one finger on the
	// same key: six a second.
	OneFinger = Second / 6
	// Lift is the shortest time between two strokes in which a hand leaves its
	// keys and comes down in another place without haste: four a second.
	Lift = Second / 4
	// WholeHand is the shortest time between two strokes of a whole chord from
	// the wrist: nine a second. Song accompaniments of the nineteenth century
	// repeat chords eight to nine times a second for whole pages.
	WholeHand = Second / 9
	// ChangingFingers is the shortest time between strokes on the same key
	// when fingers take turns: twelve a second.
	ChangingFingers = Second / 12
)

// jumps gives how far a hand moves in a time, onset to onset, again and again;
// between two points the limit is a straight line, beyond the last it goes on
// with the last slope.
// 12, 19 and 24 semitones in 0.2, 0.3 and 0.4 s: common practice, no source.
var jumps = [...]struct {
	time Micros
	far  Length
}{
	{0, 0},
	{200_000, Octave},
	{300_000, 19 * Octave / 12},
	{400_000, 2 * Octave},
}

// Farthest returns how far a hand can move from one onset to the next. Landing
// on a black key takes a fifth more time.
func Farthest(t Micros, landsOnBlack bool) Length {
	if landsOnBlack {
		t = t * 5 / 6
	}
	if t <= 0 {
		return 0
	}
	i := 1
	for i < len(jumps)-1 && t > jumps[i].time {
		i++
	}
	a, b := jumps[i-1], jumps[i]
	far := a.far + Length((t-a.time)*Micros(b.far-a.far)/(b.time-a.time))
	return min(far, 8*Octave)
}

// Move is the way of a hand from one chord (or note) to the next.
type Move struct {
	Distance Length // how far the hand travels as a whole
	Black    bool   // it lands on a black key
}

// Outer is the lowest and the highest of keys that are struck together.
type Outer struct{ Low, High int }

// OuterOf returns the outer keys of a list, which may not be empty.
func OuterOf(keys []int) Outer { return Outer{slices.Min(keys), slices.Max(keys)} }

// MoveTo measures the way of a hand to keys struck next. A hand that holds both in
// its reach does not travel. Otherwise it travels as far as the nearer of its two
// edges: lowest key to lowest key, or highest to highest.
func (o Outer) MoveTo(to Outer, reach Length) Move {
	if Distance(min(o.Low, to.Low), max(o.High, to.High)) <= reach {
		return Move{}
	}
	low, high := Distance(o.Low, to.Low), Distance(o.High, to.High)
	if high < low {
		return Move{Distance: high, Black: Black(to.High)}
	}
	return Move{Distance: low, Black: Black(to.Low)}
}

// Within tells whether a hand makes the move in a time, again and again.
func (m Move) Within(t Micros) bool { return m.Distance <= Farthest(t, m.Black) }

// MoveBetween is Outer.MoveTo for lists of keys, neither of them empty.
func MoveBetween(reach Length, from, to []int) Move {
	return OuterOf(from).MoveTo(OuterOf(to), reach)
}

// Jump tells whether a hand with the given reach gets from the keys of one onset
// to those of the next in the time between them, as often as a texture asks.
func Jump(reach Length, from, to []int, t Micros) bool {
	return MoveBetween(reach, from, to).Within(t)
}

// Leaps tells whether a hand makes the jump at all: a leap now and then takes
// three quarters of the time. Song accompaniments of the nineteenth century ask
// for leaps between the two limits.
func Leaps(reach Length, from, to []int, t Micros) bool {
	return Jump(reach, from, to, t*4/3)
}

// Repeats tells whether a key can be struck again after the time: by fingers
// taking turns where it is struck alone, from the wrist where it belongs to a
// chord.
func Repeats(t Micros, inChord bool) bool {
	if inChord {
		return t >= WholeHand
	}
	return t >= ChangingFingers
}
