package perform

import (
	"hash/fnv"
	"math"
)

// Nobody strikes two keys at the same moment or twice as hard in the same way.
// The amounts are small: a few milliseconds, a few units of velocity. They hang
// on the note's name and the seed alone, so a hand alone, a practice tempo and
// a single bar are uneven in the same way as the whole.
const (
	chordSpread  = 0.003 // seconds, standard deviation of all that a hand strikes together
	noteSpread   = 0.002 // of a single key
	melodyLead   = 0.006 // the tune comes a little before what accompanies it
	velocitySlip = 1.5
)

// unsettle moves strikes a little. The tune's lead is a side effect of playing
// it louder: Goebl, "Melody lead in piano performance: Expressive device or
// artifact?", JASA 110(1), 2001 (there about 30 ms; a fifth of it is enough
// here, for students play along).
func (r *reading) unsettle(strikes []strike) {
	if r.opt.Even {
		return
	}
	for i := range strikes {
		k := &strikes[i]
		name := k.of.note.ID
		move := noteSpread * normal(r.opt.Seed, name, 1)
		if k.chord >= 0 {
			move += chordSpread * normal(r.opt.Seed, "chord", uint64(k.chord)+2)
			if k.of.tune {
				move -= melodyLead
			}
		}
		length := k.end - k.start
		k.start = max(k.start+move, Lead) // nothing before the beginning
		k.end = max(k.end+move/2, k.start+min(length, shortest))
		k.velocity += velocitySlip * normal(r.opt.Seed, name, 0)
	}
}

// normal is a number of a normal distribution, cut at two and a half standard
// deviations, that depends on its arguments alone.
func normal(seed uint64, name string, n uint64) float64 {
	h := fnv.New64a()
	h.Write([]byte(name))
	x := h.Sum64() ^ seed*0x9e3779b97f4a7c15 ^ n*0xd1342543de82ef95
	sum := 0.0
	for range 4 { // the sum of four uniform numbers is nearly normal
		x += 0x9e3779b97f4a7c15
		z := x
		z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		z ^= z >> 31
		sum += float64(z>>11)/(1<<53) - 0.5
	}
	return min(max(sum*math.Sqrt(3), -2.5), 2.5)
}
