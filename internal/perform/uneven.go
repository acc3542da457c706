package perform

import (
	"hash/fnv"
	"math"

	"gradatim/theory"
)

// Nobody strikes two keys at the same moment or twice as hard in the same way.
// The amounts are small: a few milliseconds, a few units of velocity. They hang
// on the note's name and the seed alone, so a hand alone, a practice tempo and
// a single bar are uneven in the same way as the whole.
const (
	chordSpread  = 0.003 // seconds, standard deviation of all that a hand strikes together
	noteSpread   = 0.002 // of a single key
	melodyLead   = 0.020 // the tune comes a little before what accompanies it
	clickedLead  = 0.006 // and less where it is played to a click
	velocitySlip = 1.5
)

// Nobody keeps a tempo exactly either: it drifts, slowly, so that neighbouring beats
// agree and distant ones do not (that the intervals of steady playing are correlated over
// many beats: Hennig et al., "The nature and perception of fluctuations in human musical
// rhythms", PLoS ONE 6(10), 2011; the amounts, ours, are shares of the tempo, standard
// deviation). Swing is kept more strictly.
const (
	slowDrift = 0.014 // over the length of driftStep beats
	fastDrift = 0.004 // from beat to beat
	driftStep = 4
)

// drift returns by how much each step of a pass is longer than what slowing says. The sum
// is 1, so that every pass lasts as long as it is written to. None while a click
// sounds.
func (r *reading) drift(steps []step, slow []float64, pass int) []float64 {
	out := make([]float64, len(steps))
	for i := range out {
		out[i] = 1
	}
	if r.opt.Even || r.opt.Click || r.live {
		return out
	}
	share := 1.0
	if r.swing.Upbeat() > 0.5 {
		share = 0.5
	}
	knot := func(n int, name string) float64 {
		return normal(r.opt.Seed, name, uint64(pass)<<32|uint64(n))
	}
	var sum, whole float64
	for i, s := range steps {
		// Counted from the start of the score, so that a few bars drift as they do in the whole.
		n := int(s.at / theory.Quarter)
		at := float64(n%driftStep) / driftStep
		ease := (1 - math.Cos(math.Pi*at)) / 2
		slowly := knot(n/driftStep, "drift")*(1-ease) + knot(n/driftStep+1, "drift")*ease
		out[i] += share * (slowDrift*slowly + fastDrift*knot(n, "beat"))
		unit, _ := r.unitOver(s.at, s.dur)
		w := float64(s.dur) * slow[i] * (unit / r.paces[0].unit)
		sum += w * out[i]
		whole += w
	}
	for i := range out {
		out[i] *= whole / sum
	}
	return out
}

// unsettle moves strikes a little. The tune's lead is a side effect of playing
// it louder: Goebl, "Melody lead in piano performance: Expressive device or
// artifact?", JASA 110(1), 2001 (there about 30 ms; two thirds of it are enough
// here, for students play along).
func (r *reading) unsettle(strikes []strike) {
	if r.opt.Even || r.live {
		return
	}
	lead := melodyLead
	if r.opt.Click {
		lead = clickedLead
	}
	for i := range strikes {
		k := &strikes[i]
		name := k.of.note.ID
		move := noteSpread * normal(r.opt.Seed, name, 1)
		if k.chord >= 0 {
			move += chordSpread * normal(r.opt.Seed, "chord", uint64(k.chord)+2)
			if k.of.tune {
				move -= lead
			}
		}
		length := k.end - k.start
		k.start = max(k.start+move, Lead) // nothing before the beginning
		k.end = max(k.end+move/2, k.start+min(length, shortest))
		if k.of.note.Stroke.Velocity == 0 {
			k.velocity += velocitySlip * normal(r.opt.Seed, name, 0)
		}
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
