package harmonist

import (
	"gradatim/theory"
)

// keys are the candidates: twelve tonics, with either third.
const keys = 24

// keyFeatures calls f with each feature of a region's being in a key: how long each
// degree sounds, which degrees begin and end it, and what the signature says.
func keyFeatures(h *heard, at, key int, f note) {
	r := &h.regions[at]
	tonic, mode := key%12, key/12
	d := func(class int) int { return mode*12 + (class-tonic+12)%12 }
	for c, x := range r.sounds {
		if x > 0 {
			f(wKeySounds+d(c), 10*x)
		}
	}
	for c, x := range r.strong {
		if x > 0 {
			f(wKeyStrong+d(c), 3*x)
		}
	}
	if r.firstNote >= 0 {
		f(wKeyFirst+d(r.firstNote), 1)
	}
	if r.lastNote >= 0 {
		f(wKeyLast+d(r.lastNote), 1)
	}
	for _, c := range r.goals {
		f(wKeyGoal+d(c), 1/float64(len(r.goals)))
	}
	if r.declared.Valid() {
		sharps := r.declared.Fifths()
		diff := (7*tonic - 3*mode - sharps) % 12 // along the line of fifths
		diff = ((diff+5)%12 + 12) % 12
		f(wKeySignature+mode*12+diff, 1)
		if r.declared.Tonic.Class() == tonic && paletteOf(r.declared) == mode {
			f(wKeyDeclared+mode, 1)
		}
	}
}

// findKeys decides the key of each region. A declared mode that the finding agrees with
// stays as it is written; so does its spelling.
func (m *model) findKeys(h *heard) {
	for i := range h.regions {
		best, top := 0, 0.0
		for k := range keys {
			sum := 0.0
			keyFeatures(h, i, k, func(at int, x float64) { sum += float64(m.w[at] * x) })
			if k == 0 || sum > top {
				best, top = k, sum
			}
		}
		h.regions[i].key = keyNamed(best, h.regions[i].declared)
	}
}

// keyNamed spells a candidate, near the declared key where there is one.
func keyNamed(k int, near theory.Key) theory.Key {
	mode := theory.Major
	if k/12 == minorish {
		mode = theory.Minor
	}
	if near.Valid() && near.Tonic.Class() == k%12 && paletteOf(near) == k/12 {
		return near
	}
	want := 0
	if near.Valid() {
		want = near.Fifths()
	}
	var best theory.Key
	for f := -7; f <= 7; f++ {
		c := theory.KeyOf(f, mode)
		if c.Tonic.Class() == k%12 && (!best.Valid() || distance(f, want) < distance(best.Fifths(), want)) {
			best = c
		}
	}
	return best
}

func distance(a, b int) int { return max(a-b, b-a) }
