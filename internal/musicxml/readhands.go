package musicxml

import (
	"cmp"
	"slices"

	"gradatim/internal/musicxml/markup"
	"gradatim/score"
)

// voiceHand says which hand a voice is and its number there.
type voiceHand struct {
	hand   score.Hand // 0: that of each note's staff
	number uint8
}

type voiceKey struct {
	lane  int
	voice string
	hand  score.Hand // where one voice serves both staves
}

// hands finds out whose voice each voice is.
//
// Files number voices in three ways: 1 to 4 on the upper and 5 to 8 on the lower
// staff (then odd and even from 9); freely, each voice with a home staff that it
// sometimes leaves; or anew on each staff. The first is recognised by its upper
// voices standing mostly on the upper staff and the lower staff holding mostly
// its lower voices; a voice that has at least four notes in five on
// one staff is at home there, and what it writes on the other is cross-staff; the
// rest belongs to the hand of the staff it stands on.
func hands(mains []*lane) map[voiceKey]voiceHand {
	type count struct{ on [3]int }
	counts := map[voiceKey]*count{}
	upper, upperHome, lower, lowerHome := 0, 0, 0, 0
	var order []voiceKey
	for li, l := range mains {
		for i := range l.bars {
			for _, n := range l.bars[i].notes {
				if !n.pitched || n.staff > 2 {
					continue
				}
				k := voiceKey{lane: li, voice: n.voice}
				if counts[k] == nil {
					counts[k] = &count{}
					order = append(order, k)
				}
				counts[k].on[n.staff]++
				h, _ := common(n.voice)
				if h == score.Right {
					upper++
					if n.staff == 1 {
						upperHome++
					}
				}
				if n.staff == 2 {
					lower++
					if h == score.Left {
						lowerHome++
					}
				}
			}
		}
	}
	out := map[voiceKey]voiceHand{}
	if len(mains) == 1 && 3*upperHome >= 2*upper && 3*lowerHome >= 2*lower {
		for _, k := range order {
			h, number := common(k.voice)
			if h == 0 {
				continue
			}
			out[k] = voiceHand{h, number}
		}
	}
	slices.SortStableFunc(order, func(a, b voiceKey) int {
		x, _ := markup.Integer(a.voice)
		y, _ := markup.Integer(b.voice)
		return cmp.Or(cmp.Compare(a.lane, b.lane), cmp.Compare(x, y), cmp.Compare(a.voice, b.voice))
	})
	next := [3]uint8{}
	for _, k := range order {
		if _, done := out[k]; done {
			continue
		}
		c := counts[k]
		total := c.on[1] + c.on[2]
		for st := 1; st <= 2; st++ {
			if 5*c.on[st] >= 4*total {
				next[st] = min(next[st]+1, 8)
				out[k] = voiceHand{score.Hand(st), next[st]}
			}
		}
		if _, done := out[k]; done {
			continue
		}
		out[k] = voiceHand{}
		for st := 1; st <= 2; st++ {
			next[st] = min(next[st]+1, 8)
			out[voiceKey{k.lane, k.voice, score.Hand(st)}] = voiceHand{score.Hand(st), next[st]}
		}
	}
	return out
}

// common reads a voice number of the common scheme; hand 0 where it is none.
func common(voice string) (score.Hand, uint8) {
	v, ok := markup.Integer(voice)
	switch {
	case !ok || v < 1 || v > 64:
		return 0, 0
	case v <= 4:
		return score.Right, uint8(v)
	case v <= 8:
		return score.Left, uint8(v - 4)
	}
	n := (v + 1) / 2
	if n > 16 { // voices that only sound
		n -= 16
	}
	return score.Hand(2 - v%2), uint8(min(n, 8))
}
