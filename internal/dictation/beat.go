package dictation

import (
	"math"
	"slices"
)

// beats puts the onsets in quarters: those of the file, or, where it has none that the
// notes keep to, beats that are found.
func (t *take) beats() {
	t.tempo = t.fileTempo()
	t.gatherLead()
	if !t.file.Timed && (t.mapped() || t.metric()) {
		t.ownBeats()
		return
	}
	var beats []strike
	if onsets := t.onsets(); len(onsets) >= 8 {
		beats = track(onsets)
	}
	if len(beats) < 3 {
		t.ownBeats()
		return
	}
	t.found = true
	period := (beats[len(beats)-1].at - beats[0].at) / float64(len(beats)-1)
	t.tempo = max(1, int(math.Round(60/period)))
	place := func(q float64) float64 { // beats, from the first
		sec := t.seconds(q)
		i, _ := slices.BinarySearchFunc(beats, sec, func(b strike, s float64) int {
			if b.at <= s {
				return -1
			}
			return 1
		})
		i = min(max(i, 1), len(beats)-1)
		a, b := beats[i-1].at, beats[i].at
		return float64(i-1) + (sec-a)/(b-a)
	}
	first := math.Inf(1)
	for i := range t.notes {
		n := &t.notes[i]
		n.on, n.off = place(n.on), place(n.off)
		n.down, n.up = place(n.down), place(n.up)
		first = min(first, n.on)
	}
	shift := math.Ceil(max(0, -first-0.1))
	if shift > 0 {
		for i := range t.notes {
			n := &t.notes[i]
			n.on, n.off, n.down, n.up = n.on+shift, n.off+shift, n.down+shift, n.up+shift
		}
	}
	for i := range beats[1:] {
		t.paces = append(t.paces, pace{float64(i) + shift, 1e6 * (beats[i+1].at - beats[i].at)})
	}
	for _, c := range t.file.Pedal {
		t.feet = append(t.feet, foot{place(float64(c.At)/float64(t.file.Division)) + shift, c.Value})
	}
	t.file.Meters, t.file.Keys = nil, nil
	t.info("midi-beats-found", "PerMinute", t.tempo)
	t.sortNotes()
}

// fileTempo is the tempo that the file is in longest, in quarters a minute.
func (t *take) fileTempo() int {
	if len(t.file.Tempos) == 0 {
		return 120
	}
	end := 0.0
	for _, n := range t.notes {
		end = max(end, n.off)
	}
	type held struct {
		micros int
		long   float64
	}
	var all []held
	sum := 0.0
	for i, x := range t.file.Tempos {
		to := end
		if i+1 < len(t.file.Tempos) {
			to = float64(t.file.Tempos[i+1].At) / float64(t.file.Division)
		}
		long := max(0, to-float64(x.At)/float64(t.file.Division))
		all, sum = append(all, held{x.MicrosPerQuarter, long}), sum+long
	}
	slices.SortFunc(all, func(a, b held) int { return a.micros - b.micros })
	at := 0.0
	for _, h := range all { // the median
		if at += h.long; 2*at >= sum {
			return max(1, min(1000, int(math.Round(60e6/float64(h.micros)))))
		}
	}
	return 120
}

// seconds is when a place of the file sounds.
func (t *take) seconds(q float64) float64 {
	now, at, micros := 0.0, 0.0, 500000.0
	if !t.file.Timed {
		for _, x := range t.file.Tempos {
			to := float64(x.At) / float64(t.file.Division)
			if to >= q {
				break
			}
			now += (to - at) * micros / 1e6
			at, micros = to, float64(x.MicrosPerQuarter)
		}
	}
	return now + (q-at)*micros/1e6
}

// mapped tells whether the file says its beats by its tempi: they change every other
// bar or more often, and nearly always on an eighth. Who records without a beat has one
// tempo.
func (t *take) mapped() bool {
	if len(t.notes) == 0 {
		return false
	}
	n, on := 0, 0
	for i, x := range t.file.Tempos {
		if i == 0 || x.MicrosPerQuarter == t.file.Tempos[i-1].MicrosPerQuarter {
			continue
		}
		n++
		if eighths := 2 * float64(x.At) / float64(t.file.Division); math.Abs(eighths-math.Round(eighths)) < 0.01 {
			on++
		}
	}
	end := t.notes[len(t.notes)-1].on
	return float64(n) >= end/8 && n >= 4 && 10*on >= 9*n
}

// metric tells whether the notes keep to the file's quarters: three of four begin within
// a twenty-fifth of a quarter from a sixteenth or from a third, or nine of ten nearly on
// a 32nd or on a twelfth. Of notes that know nothing of the file's beat half would, or
// four of ten.
func (t *take) metric() bool {
	near := func(on float64, within float64, grids ...float64) int {
		for _, parts := range grids {
			if math.Abs(on*parts-math.Round(on*parts)) < within*parts {
				return 1
			}
		}
		return 0
	}
	wide, fine := 0, 0
	for _, n := range t.notes {
		wide += near(n.on, 0.04, 4, 3)
		fine += near(n.on, 0.012, 8, 12)
	}
	return len(t.notes) < 8 || 4*wide > 3*len(t.notes) || 10*fine > 9*len(t.notes)
}

// strike is a moment at which keys go down.
type strike struct {
	at, weight float64 // seconds
}

// onsets lists the strikes of the file; what is low, loud, long or several notes weighs
// more.
func (t *take) onsets() []strike {
	var out []strike
	for _, n := range t.notes {
		at := t.seconds(n.on)
		w := 0.5 + float64(n.vel)/127 + min(1, t.seconds(n.off)-at)
		if n.key < 52 {
			w += 0.7
		}
		if k := len(out) - 1; k >= 0 && at-out[k].at < 0.04 {
			out[k].weight += w / 2
			continue
		}
		out = append(out, strike{at, w})
	}
	return out
}

// track finds the beats of a playing.
//
// Problem: where the beat is when nobody wrote it down. Objective: beats that fall on
// strikes that weigh much, each about as long after the last as the one before (100
// times the squared logarithm of the ratio to the period). The period first: of those
// from 0.28 to 1.4 seconds the one at whose distance most strikes have another, with a
// preference for 0.55 seconds; then dynamic programming over a grid of 10 ms. Linear in
// the length. Source: D. Ellis, Beat tracking by dynamic programming, Journal of New
// Music Research 36, 2007 (from memory). Rejected: a clock that follows the playing note
// by note, which loses the beat at the first syncopation.
func track(onsets []strike) []strike {
	const step = 0.01
	if len(onsets) == 0 {
		return nil
	}
	start, end := onsets[0].at, onsets[len(onsets)-1].at
	n := int((end-start)/step) + 60
	if n > 600_000 {
		return nil
	}
	strength := make([]float64, n)
	for _, o := range onsets {
		c := int((o.at - start) / step)
		for d := -4; d <= 4; d++ {
			if i := c + d; i >= 0 && i < n {
				strength[i] += o.weight * math.Exp(-float64(d*d)/6)
			}
		}
	}
	best, period := 0.0, 55
	for lag := 28; lag <= 140; lag++ {
		sum := 0.0
		for i := lag; i < n; i++ {
			sum += strength[i] * strength[i-lag]
		}
		l := math.Log2(float64(lag) / 55)
		if v := sum * math.Exp(-l*l/1.6); v > best {
			best, period = v, lag
		}
	}
	total := 0.0
	for _, o := range onsets {
		total += o.weight
	}
	tight := 12 * total / float64(len(onsets))
	score, from := make([]float64, n), make([]int, n)
	cost := make([]float64, 2*period+1)
	for lag := 1; lag < len(cost); lag++ {
		l := math.Log(float64(lag) / float64(period))
		cost[lag] = tight * l * l
	}
	for i := range n {
		score[i], from[i] = strength[i], -1
		for lag := period / 2; lag <= 2*period && lag <= i; lag++ {
			if v := strength[i] + score[i-lag] - cost[lag]; v > score[i] {
				score[i], from[i] = v, i-lag
			}
		}
	}
	at := n - 1
	for i := max(0, n-period); i < n; i++ {
		if score[i] > score[at] {
			at = i
		}
	}
	var out []strike
	for ; at >= 0; at = from[at] {
		out = append(out, strike{at: start + float64(at)*step})
	}
	slices.Reverse(out)
	// Each beat to the strike that it stands for, as the grid is coarse.
	for i := range out {
		near := 0.035
		b := out[i].at
		k, _ := slices.BinarySearchFunc(onsets, b, func(o strike, s float64) int {
			if o.at < s {
				return -1
			}
			return 1
		})
		for _, j := range []int{k - 1, k} {
			if j >= 0 && j < len(onsets) && math.Abs(onsets[j].at-b) < near {
				near, out[i].at = math.Abs(onsets[j].at-b), onsets[j].at
			}
		}
	}
	return slices.CompactFunc(out, func(b, before strike) bool { return b.at <= before.at })
}
