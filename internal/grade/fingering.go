package grade

import (
	"slices"

	"gradatim/internal/hand"
	"gradatim/score"
	"gradatim/theory"
)

// ByHand gives what the fingering of a score costs a player's hands, for
// Options.Fingering: the fingers that stand in the score and, where there are
// none, those that hand.FingerScore chooses, counted in points of the published
// rules of Parncutt, Sloboda, Clarke, Raekallio and Desain (1997) as revised by
// Jacobs (2001; table fingering_rules): stretches and cramped pairs (rules 1 to 3),
// changes of position (4, 5), the fourth finger (6), 3 before 4 (8), 4 on black
// beside 3 on white (9), thumb and little finger on black keys (10, 11), the thumb
// passing (12). Chords, which the rules leave out, count what the hand package
// says of the strain of holding them (a roll beyond the reach as much as leaving
// the place), and one point for each white key that the hand travels to the next.
// Under the pedal a hand may leave a note early, so what joins one note to the
// next counts half. The points are those of the fingering, not of the search that
// found it: a fingering written by a teacher is judged alike.
func ByHand(p hand.Profile) func(score.Score) [2][]Effort {
	return func(s score.Score) [2][]Effort { return AsFingered(p)(hand.FingerScore(s, p)) }
}

// AsFingered is ByHand for a score that hand.FingerScore has fingered: it counts
// the fingers that stand there and chooses none.
func AsFingered(p hand.Profile) func(score.Score) [2][]Effort {
	return func(s score.Score) (out [2][]Effort) {
		for i, h := range hands {
			out[i] = efforts(s, p, h)
		}
		return out
	}
}

// fingered is one strike with its fingers.
type fingered struct {
	at      theory.Dur
	keys    []int
	fingers []int
}

func efforts(s score.Score, p hand.Profile, h score.Hand) []Effort {
	n := 0
	for i := range s.Notes {
		if handIndex(s.Notes[i].Hand) == handIndex(h) {
			n++
		}
	}
	sts := make([]fingered, 0, n)
	keys, fingers := make([]int, 0, n), make([]int, 0, n) // each strike has its part
	for i := range s.Notes {
		n := &s.Notes[i]
		if handIndex(n.Hand) != handIndex(h) || n.Grace > 0 || n.Finger == 0 {
			continue
		}
		if k := len(sts); k == 0 || sts[k-1].at != n.At {
			sts = append(sts, fingered{at: n.At, keys: keys[len(keys):], fingers: fingers[len(fingers):]})
		}
		st := &sts[len(sts)-1]
		if k := n.Pitch.MIDI(); !slices.Contains(st.keys, k) {
			keys, fingers = append(keys, k), append(fingers, int(n.Finger))
			st.keys, st.fingers = keys[len(keys)-len(st.keys)-1:], fingers[len(fingers)-len(st.fingers)-1:]
		}
	}
	out := make([]Effort, len(sts))
	strain, grip := map[keySet]int{}, p.Grip(h)
	pedals := pedallingOf(s)
	for i, st := range sts {
		out[i].At = st.at
		if len(st.keys) > 1 {
			var set keySet
			for _, k := range st.keys {
				set.add(k & 127)
			}
			c, known := strain[set]
			if !known {
				c = strainPoints(grip, st.keys)
				strain[set] = c
			}
			out[i].Cost += c
		}
		for _, f := range st.fingers {
			if f == 4 {
				out[i].Cost++ // rule 6
			}
		}
		if i == 0 {
			continue
		}
		before := sts[i-1]
		if len(st.keys) > 1 || len(before.keys) > 1 {
			out[i].Cost += int(hand.MoveBetween(p.Reach(h), before.keys, st.keys).Distance / hand.WhiteKey)
			continue
		}
		join := stepPoints(h, before, st)
		if i > 1 && len(sts[i-2].keys) == 1 {
			join += positionPoints(h, sts[i-2], before, st)
		}
		if pedals.holds(before.at, st.at) {
			join /= 2
		}
		out[i].Cost += join
	}
	return out
}

// strainPoints is what it costs to hold keys together, or to roll them.
func strainPoints(grip *hand.Grip, keys []int) int {
	if c, ok := grip.Strain(keys); ok {
		return c / pointSize
	}
	ks := slices.Clone(keys)
	slices.Sort(ks)
	c, _ := grip.Strain(ks[1:])
	return c/pointSize + lifted
}

// pedalling is the stretches in which the damper pedal is down, in order.
type pedalling struct {
	spans [][2]theory.Dur
	at    int
}

func pedallingOf(s score.Score) *pedalling {
	var p pedalling
	down := theory.Dur(-1)
	for _, d := range s.Directions {
		switch d.Kind {
		case score.PedalDown:
			if down >= 0 {
				p.spans = append(p.spans, [2]theory.Dur{down, d.At})
			}
			down = d.At
		case score.PedalUp:
			if down >= 0 {
				p.spans = append(p.spans, [2]theory.Dur{down, d.At})
			}
			down = -1
		}
	}
	if down >= 0 {
		p.spans = append(p.spans, [2]theory.Dur{down, s.End()})
	}
	return &p
}

// holds tells whether one pedal holds from one moment to a later one; moments
// must not go back.
func (p *pedalling) holds(from, to theory.Dur) bool {
	for p.at < len(p.spans) && p.spans[p.at][1] <= from {
		p.at++
	}
	return p.at < len(p.spans) && p.spans[p.at][0] <= from && to < p.spans[p.at][1]
}

// lifted is what it costs to go beyond what two fingers span: the hand leaves its
// place. The published rules, made for joined notes, would count a stretch that
// nobody makes. Ours, common practice.
const lifted = 3

// pointSize is how many units of the hand package's costs are one point of the
// published rules.
const pointSize = 10

// span is what a pair of fingers spans, in twelfths of an octave.
type span struct{ MinPrac, MinComf, MinRel, MaxRel, MaxComf, MaxPrac int }

// spans is the table of finger pairs, indexed by lower and higher finger: what
// can be done, is comfortable, is relaxed. Source: Parncutt et al. 1997, as
// transcribed in table finger_spans.
var spans = [6][6]span{
	1: {2: {-5, -3, 1, 5, 8, 10}, 3: {-4, -2, 3, 7, 10, 12}, 4: {-3, -1, 5, 9, 12, 14}, 5: {-1, 1, 7, 10, 13, 15}},
	2: {3: {1, 1, 1, 2, 3, 5}, 4: {1, 1, 3, 4, 5, 7}, 5: {2, 2, 5, 6, 8, 10}},
	3: {4: {1, 1, 1, 2, 2, 4}, 5: {1, 1, 3, 4, 5, 7}},
	4: {5: {1, 1, 1, 2, 3, 5}},
}

// way is the distance between two keys away from the thumb, in twelfths of an
// octave on real keys.
func way(h score.Hand, a, b int) int {
	d := hand.Twelfths(a, b)
	if h == score.Left {
		return -d
	}
	return d
}

// stepPoints counts the rules of two single notes in a row.
func stepPoints(h score.Hand, from, to fingered) int {
	k, l, a, b := from.keys[0], to.keys[0], from.fingers[0], to.fingers[0]
	if k == l {
		return 0
	}
	d := way(h, k, l)
	points := 0
	if a == b {
		points += min(abs(d), 12) // no rule speaks of it: the hand moves as a whole
	} else {
		lo, hi, e := a, b, d
		if lo > hi {
			lo, hi, e = hi, lo, -d
		}
		s := spans[lo][hi]
		if e > s.MaxPrac || e < s.MinPrac { // the hand is lifted, so nothing is stretched
			return min(lifted+max(e-s.MaxPrac, s.MinPrac-e)/4, 2*lifted)
		}
		points += 2 * (max(0, e-s.MaxComf) + max(0, s.MinComf-e)) // rule 1
		small := max(0, s.MinRel-e)
		if lo > 1 {
			small *= 2
		}
		points += small + max(0, e-s.MaxRel) // rules 2 and 3
	}
	bk, bl := hand.Black(k), hand.Black(l)
	if a == 3 && b == 4 {
		points++ // rule 8
	}
	if a == 3 && b == 4 && !bk && bl || a == 4 && b == 3 && bk && !bl {
		points++ // rule 9
	}
	if b == 1 && bl {
		points++ // rule 10
		if !bk {
			points += 2
		}
	}
	if a == 1 && bk && !bl {
		points += 2
	}
	if b == 5 && bl && !bk || a == 5 && bk && !bl {
		points += 2 // rule 11
	}
	if a > 1 && b == 1 && d > 0 || a == 1 && b > 1 && d < 0 { // rule 12
		thumb, other := bl, bk
		if a == 1 {
			thumb, other = bk, bl
		}
		switch {
		case thumb == other:
			points++
		case thumb:
			points += 3
		}
	}
	return points
}

// positionPoints counts the changes of position over three single notes (rules 4
// and 5).
func positionPoints(h score.Hand, a, b, c fingered) int {
	f, g := a.fingers[0], c.fingers[0]
	if f == g || a.keys[0] == c.keys[0] {
		return 0
	}
	d := way(h, a.keys[0], c.keys[0])
	mid := b.keys[0] > min(a.keys[0], c.keys[0]) && b.keys[0] < max(a.keys[0], c.keys[0])
	if f > g {
		f, g, d = g, f, -d
	}
	s := spans[f][g]
	over := max(0, d-s.MaxComf) + max(0, s.MinComf-d)
	if over == 0 {
		return 0
	}
	over = min(over, lifted)
	points := 1 + over
	if b.fingers[0] == 1 && mid && (d > s.MaxPrac || d < s.MinPrac) {
		points++
	}
	return points
}

func abs(a int) int {
	if a < 0 {
		return -a
	}
	return a
}
