package hand

import (
	"slices"

	"gradatim/score"
)

// MaxKeys is the number of keys that one hand strikes together.
const MaxKeys = 5

// RollSlack is how far beyond its reach a hand swings from one note of a rolled
// chord to the next while the pedal holds the note it leaves. A hand that plays
// an octave so rolls every tenth, D♭–F included. Common practice, no source.
const RollSlack = 62 * Millimetre

// Reaches tells whether the hand strikes all the keys (MIDI numbers, any order)
// together: at most five, no further apart than the span allows, and with a
// finger for each such that no pair of fingers is stretched beyond what it can
// do. No key and one key are always reached.
func (p Profile) Reaches(h score.Hand, keys []int) bool {
	var buf [MaxKeys]int
	ks, ok := ascending(buf[:0], h, keys)
	return ok && p.fits(h, ks, p.Reach(h), p.pairReach)
}

// Comfortable tells whether the hand strikes all the keys together without
// strain.
func (p Profile) Comfortable(h score.Hand, keys []int) bool {
	var buf [MaxKeys]int
	ks, ok := ascending(buf[:0], h, keys)
	return ok && p.fits(h, ks, p.EasyReach(h), p.pairComfort)
}

// Rolls tells whether the hand plays the keys one after the other from the
// lowest upwards, as a rolled chord under the pedal: each step from note to note
// within the reach and RollSlack, and all but the lowest, which may be let go,
// within the reach together.
func (p Profile) Rolls(h score.Hand, keys []int) bool {
	if len(keys) > MaxKeys {
		return false
	}
	var buf [MaxKeys]int
	ks := append(buf[:0], keys...)
	slices.Sort(ks)
	ks = slices.Compact(ks)
	for i := 1; i < len(ks); i++ {
		if Distance(ks[i-1], ks[i]) > p.Reach(h)+RollSlack {
			return false
		}
	}
	return len(ks) < 2 || p.Reaches(h, ks[1:])
}

// ascending returns the distinct keys from the thumb's side to the little
// finger's; ok is false where there are more than fingers.
func ascending(buf []int, h score.Hand, keys []int) ([]int, bool) {
	for _, k := range keys {
		if slices.Contains(buf, k) {
			continue
		}
		if len(buf) == MaxKeys {
			return nil, false
		}
		buf = append(buf, k)
	}
	slices.Sort(buf)
	if h == score.Left {
		slices.Reverse(buf)
	}
	return buf, true
}

// fits tells whether some set of fingers plays the keys within the limits.
func (p Profile) fits(h score.Hand, ks []int, span Length, limit func(score.Hand, int, int) Length) bool {
	if len(ks) < 2 {
		return true
	}
	if Distance(ks[0], ks[len(ks)-1]) > span {
		return false
	}
	for _, set := range fingerSets[len(ks)] {
		if spanned(h, ks, set, limit) {
			return true
		}
	}
	return false
}

// spanned tells whether no pair of fingers is stretched too far.
func spanned(h score.Hand, ks, set []int, limit func(score.Hand, int, int) Length) bool {
	for i := range ks {
		for j := i + 1; j < len(ks); j++ {
			if Distance(ks[i], ks[j]) > limit(h, set[i], set[j]) {
				return false
			}
		}
	}
	return true
}

// fingerSets lists, by number of keys, the ascending choices of fingers.
var fingerSets = func() (sets [MaxKeys + 1][][]int) {
	for mask := 0; mask < 1<<5; mask++ {
		var set []int
		for f := 1; f <= 5; f++ {
			if mask>>(f-1)&1 == 1 {
				set = append(set, f)
			}
		}
		sets[len(set)] = append(sets[len(set)], set)
	}
	for _, s := range sets {
		slices.SortFunc(s, slices.Compare[[]int])
	}
	return sets
}()
