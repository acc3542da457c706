package hand

import (
	"slices"

	"gradatim/theory"
)

// Music that returns is fingered as it was the first time: a player learns a
// passage once.

// A passage returns where so many strikes are the same for so long. Its last one
// stays free for what follows, unless the hand rests there.
const (
	shortestReturn = 6
	leastReturn    = 6 * theory.Quarter // in length
	freeAtEnd      = 1
	freeAround     = 6 // strikes before and after it that are chosen again
)

// print is what two strikes have in common that are the same to a hand.
func (s *stage) print() uint64 {
	h := uint64(1469598103934665603)
	mix := func(v uint64) { h = (h ^ v) * 1099511628211 }
	for i := range s.n {
		mix(uint64(s.down[i]))
		if s.struck[i] {
			mix(1)
		}
	}
	mix(uint64(s.n)<<8 | uint64(s.join))
	mix(uint64(s.Wait))
	return h
}

// equal tells whether two strikes are the same to a hand.
func (s *stage) equal(t *stage) bool {
	if s.n != t.n || s.down != t.down || s.struck != t.struck || s.join != t.join || s.Legato != t.Legato || s.Wait != t.Wait || s.End-s.At != t.End-t.At ||
		s.Grace != t.Grace || s.Rolled != t.Rolled || s.Quick != t.Quick || s.want != t.want || s.pull != t.pull ||
		len(s.opts) != len(t.opts) || len(s.Ornaments) != len(t.Ornaments) || s.Asked != nil || t.Asked != nil {
		return false
	}
	for i := range s.Ornaments {
		if s.Ornaments[i] != t.Ornaments[i] {
			return false
		}
	}
	return true
}

// returns gives for each stage the first one that it repeats, or −1; nil where
// nothing returns. Linear in the number of stages but for those that hash alike.
func returns(stages []stage) []int32 {
	if len(stages) < 2*shortestReturn {
		return nil
	}
	prints := make([]uint64, len(stages))
	for i := range stages {
		prints[i] = stages[i].print()
	}
	first := make(map[uint64]int32, len(stages))
	var same []int32
	for i := 0; i+shortestReturn <= len(stages); {
		h := uint64(0)
		for _, p := range prints[i : i+shortestReturn] {
			h = h*0x9E3779B97F4A7C15 + p
		}
		j, known := first[h]
		n := 0
		for known && i+n < len(stages) && prints[i+n] == prints[int(j)+n] && stages[i+n].equal(&stages[int(j)+n]) {
			n++
		}
		if n < shortestReturn || int(j)+shortestReturn > i || stages[i+n-1].End-stages[i].At < leastReturn {
			if !known {
				first[h] = int32(i)
			}
			i++
			continue
		}
		if same == nil {
			same = make([]int32, len(stages))
			for k := range same {
				same[k] = -1
			}
		}
		to := i + n
		if to < len(stages) && stages[to].join > 0 || int(j)+n < i && stages[int(j)+n].join > 0 {
			to -= freeAtEnd
		}
		for k := i; k < to; k++ {
			src := int32(k-i) + j
			if same[src] >= 0 {
				src = same[src]
			}
			same[k] = src
		}
		i += n
	}
	return same
}

// alignReturns changes the choice where a passage that returns is fingered unlike
// the first time and can be fingered like it at little more cost; what stands
// around it is chosen again.
func (f *fingerer) alignReturns(stages []stage, same []int32, choice []int) {
	unlike := func(k int) bool { return same[k] >= 0 && choice[k] != choice[same[k]] }
	for i := 0; i < len(stages); i++ {
		if !unlike(i) {
			continue
		}
		// As far as fingers differ, with no more than a few alike in between.
		j := i + 1
		for k := j; k < min(j+freeAround, len(stages)) && same[k] >= 0; k++ {
			if unlike(k) {
				j = k + 1
			}
		}
		// Two strikes on either side stay as they are: the rules look so far.
		from, to := max(i-freeAround-2, 0), min(j+freeAround+2, len(stages))
		old, passage := slices.Clone(stages[from:to]), slices.Clone(stages[from:to])
		for k := range old {
			at := from + k
			c := choice[at]
			old[k].keep(c)
			if at >= i && at < j {
				passage[k].keep(choice[same[at]])
			} else if at < i-freeAround || at >= j+freeAround || same[at] >= 0 {
				passage[k].keep(c)
			}
		}
		_, before := f.search(old)
		chosen, after := f.search(passage)
		if after-before <= f.w.returns {
			for k, c := range chosen {
				if len(passage[k].opts) > 1 {
					choice[from+k] = c
				} else if at := from + k; at >= i && at < j {
					choice[at] = choice[same[at]]
				}
			}
		}
		i = j - 1
	}
}

// keep leaves a stage one option.
func (s *stage) keep(o int) {
	if o < len(s.opts) {
		s.opts, s.barred = s.opts[o:o+1], s.barred>>o&1
	}
}
