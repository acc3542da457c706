package hand

import "gradatim/score"

// Delay says why a finger is not in time.
type Delay uint8

// Delays.
const (
	InTime Delay = iota
	Travels
	Crosses
	Restrikes
)

// Touch is a key that a finger strikes.
type Touch struct {
	Key    int
	Finger uint8 // 1 to 5; 0: not known, and in time
}

// Turn is the time from one strike of a hand to a later one, and what the hand does with
// it.
type Turn struct {
	Time  Micros
	Next  bool // no other strike stands between the two
	Chord bool // both are chords
	Held  bool // another key is held down through both
	Stays bool // the key that it comes from stays down
	Row   bool // the finger was as quick the time before
}

// Late tells whether a finger that strikes a key is too late for it after another touch of
// the hand, or the same finger's own. It asks for what no hand does, not for what is hard.
//
//   - One finger strikes six times a second, eight times now and then (OneFinger); fingers in
//     turn twelve times (ChangingFingers), chords from the wrist nine times (WholeHand). A
//     hand that holds a key has one finger's time, whatever strikes.
//   - A finger, or a hand beyond what two fingers span, travels as far as the hand leaps now
//     and then (Leaps).
//   - From one strike to the next in Lift no finger but the thumb gets past another where
//     both keys lie under the hand, nor the thumb farther than it passes: the hand would be
//     lifted and put down elsewhere. A chord after a chord is, from the wrist, and the hand
//     that goes on from its little finger by more than a fourth, which it does with any finger.
//
// A finger slides from a black key to the white one beside it. Repetition and leaps: table
// of the trade; the rest common practice, no source.
func (p Profile) Late(h score.Hand, from, to Touch, t Turn) Delay {
	a, b := int(from.Finger), int(to.Finger)
	if a < 1 || b < 1 || a > MaxKeys || b > MaxKeys || t.Time <= 0 || t.Time > slowest {
		return InTime
	}
	wrist := t.Chord && !t.Held
	stroke := ChangingFingers
	switch {
	case wrist:
		stroke = WholeHand
	case t.Held || a == b && !slides(from.Key, to.Key):
		stroke = OneFinger
		if !t.Row {
			stroke = OneFinger * 3 / 4
		}
	}
	if from.Key == to.Key {
		if t.Time < stroke {
			return Restrikes
		}
		return InTime
	}
	way := Distance(from.Key, to.Key)
	far := func(way Length) bool { return way > Farthest(t.Time*4/3, Black(to.Key)) }
	if a == b {
		if t.Time < stroke || far(way) {
			return Travels
		}
		return InTime
	}
	if !t.Next {
		return InTime
	}
	up := to.Key > from.Key
	if h == score.Left {
		up = !up
	}
	switch {
	case up == (b > a): // in the order of their keys
		if far(way - p.pairReach(h, min(a, b), max(a, b))) {
			return Travels
		}
	case way > p.Reach(h), a == MaxKeys && up && way > fourth && !t.Held && !t.Stays:
		if far(way) {
			return Travels
		}
	case t.Time > Lift || wrist:
	case a != 1 && b != 1:
		return Crosses
	default:
		if Twelfths(min(from.Key, to.Key), max(from.Key, to.Key)) > farthestPass[max(a, b)] {
			return Crosses
		}
	}
	return InTime
}

// fourth is what lies beside the little finger without the hand going there.
const fourth = 3 * WhiteKey

// slowest is a time in which every finger is in time: a hand leaps the whole keyboard.
const slowest = 2 * Second
