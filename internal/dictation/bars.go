package dictation

import (
	"math"
	"slices"
	"sort"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// mostBars bounds what is written down.
const mostBars = roadmap.MaxPlayedBars

func barAt(bars []score.Bar, at theory.Dur) int {
	return sort.Search(len(bars), func(i int) bool { return bars[i].At > at }) - 1
}

// change is a metre from a place on.
type change struct {
	at    theory.Dur
	meter leadsheet.Meter
}

// measure lays out the bars: by the file's metres, or by one that is found.
func (t *take) measure() error {
	end := theory.Dur(0)
	for _, n := range t.notes {
		end = max(end, n.end)
	}
	var changes []change
	for _, m := range t.file.Meters {
		at := quarters(float64(m.At) / float64(t.file.Division))
		c := change{at, leadsheet.Meter{Beats: m.Beats, Unit: m.Unit}}
		if k := len(changes) - 1; k >= 0 && changes[k].at == at {
			changes[k] = c
		} else if at < end {
			changes = append(changes, c)
		}
	}
	pickup := theory.Dur(0)
	switch {
	case len(changes) == 0:
		m, phase := t.findMeter(nil)
		changes, pickup = []change{{0, m}}, phase
		t.info("midi-metre-found", "Metre", m)
	case len(changes) == 1 && changes[0].at == 0:
		_, pickup = t.findMeter(&changes[0].meter)
		if pickup > 0 {
			t.info("midi-pickup-found", "Length", pickup)
		}
	}
	if changes[0].at > 0 {
		changes = append([]change{{0, leadsheet.Meter{Beats: 4, Unit: 4}}}, changes...)
	}
	at, k := theory.Dur(0), 0
	for at < end {
		for k+1 < len(changes) && changes[k+1].at <= at {
			k++
		}
		if len(t.bars) == mostBars {
			t.tell(leadsheet.Error, "too-long.played", "Notes", roadmap.MaxPlayedNotes, "Bars", mostBars)
			return t.problems
		}
		m := changes[k].meter
		b := score.Bar{At: at, Dur: m.Bar(), Meter: m, Number: len(t.bars) + 1}
		if len(t.bars) == 0 && pickup > 0 {
			b.Dur, b.Pickup = pickup, true
		}
		if k+1 < len(changes) && changes[k+1].at < b.At+b.Dur { // a bar that the file cuts short
			b.Dur = changes[k+1].at - at
		}
		t.bars = append(t.bars, b)
		at += b.Dur
	}
	t.dropSilence()
	t.asPickup()
	for i := range t.bars {
		b := &t.bars[i]
		b.Number = i + 1
		if t.bars[0].Pickup {
			b.Number = i
		}
	}
	t.tellDoubt()
	return nil
}

// dropSilence leaves out whole bars of rest before the music, as a count-in is.
func (t *take) dropSilence() {
	first := t.notes[0].at
	for _, n := range t.notes {
		first = min(first, n.at)
	}
	n := 0
	for n+1 < len(t.bars) && t.bars[n+1].At <= first {
		n++
	}
	shift := t.bars[n].At
	t.shift = shift
	t.bars = t.bars[n:]
	for i := range t.bars {
		t.bars[i].At -= shift
	}
	for i := range t.notes {
		t.notes[i].at -= shift
		t.notes[i].end -= shift
	}
	for i := range t.doubtful {
		t.doubtful[i] -= shift
	}
}

// asPickup reads a first bar that is alone in a shorter metre, or that begins with
// rests alone, as the pick-up that it is, and a last one as its rest.
func (t *take) asPickup() {
	if len(t.bars) < 2 || t.bars[0].Pickup {
		return
	}
	b, next := &t.bars[0], t.bars[1]
	if b.Dur < next.Meter.Bar() && b.Meter != next.Meter {
		b.Meter, b.Pickup = next.Meter, true
	} else if first := t.notes[0].at; b.Dur == b.Meter.Bar() && 2*first >= b.Dur { // rests, then a pick-up
		b.Dur -= first
		b.Pickup = true
		for i := range t.bars[1:] {
			t.bars[i+1].At -= first
		}
		for i := range t.notes {
			t.notes[i].at -= first
			t.notes[i].end -= first
		}
		for i := range t.doubtful {
			t.doubtful[i] -= first
		}
		t.shift += first
	}
	if n := len(t.bars) - 1; n > 1 && b.Pickup && t.bars[n].Meter != t.bars[n-1].Meter && t.bars[n].Dur+b.Dur == t.bars[n-1].Meter.Bar() {
		t.bars[n].Meter = t.bars[n-1].Meter
	}
}

// tellDoubt tells in which bars the rhythm could be read otherwise, at the first of them.
func (t *take) tellDoubt() {
	var numbers leadsheet.BarNumbers
	pos := leadsheet.Pos{File: t.opt.File}
	for _, at := range t.doubtful {
		i := barAt(t.bars, at)
		if i < 0 {
			continue
		}
		b := t.bars[i]
		if numbers == nil {
			pos.Bar, pos.Beat = b.Number, b.Meter.BeatAt(at-b.At)
		}
		numbers = append(numbers, b.Number)
	}
	if numbers != nil {
		t.problems.Tell(leadsheet.Warning, pos, "midi-rhythm", "Bars", slices.Compact(numbers))
	}
}

// findMeter finds how many beats are a bar, and how long a pick-up stands before the
// first full one; where the metre is given only that.
//
// Objective: bars on whose first beats more weight falls than on the others: notes that
// last long, low ones, loud ones. 4/4 is preferred by a tenth, 6/8 is taken where
// quarters divide in three. No pick-up is found that does not gather a fifth more than
// none. Our own bounds; common practice, no source.
func (t *take) findMeter(given *leadsheet.Meter) (leadsheet.Meter, theory.Dur) {
	metres := []leadsheet.Meter{{Beats: 4, Unit: 4}, {Beats: 3, Unit: 4}, {Beats: 2, Unit: 4}, {Beats: 6, Unit: 8}}
	if given != nil {
		metres = []leadsheet.Meter{*given}
	}
	type place struct {
		at theory.Dur
		w  float64
	}
	var weight []place
	total := 0.0
	first := t.notes[0].at
	for _, n := range t.notes {
		w := math.Sqrt(float64(n.end-n.at)/float64(theory.Quarter)) * (0.6 + float64(n.vel)/127)
		if n.key < 55 {
			w *= 1.8
		}
		weight = append(weight, place{n.at, w})
		total += w
		first = min(first, n.at)
	}
	best, bestPhase, most := metres[0], theory.Dur(0), -1.0
	for i, m := range metres {
		bar, beat := m.Bar(), theory.Whole/theory.Dur(m.Unit)
		if m.Unit < 8 { // a pick-up of an eighth is usual
			beat = theory.Eighth
		}
		zero := 0.0
		for phase := theory.Dur(0); phase < bar; phase += beat {
			sum := 0.0
			for _, p := range weight {
				if (p.at-phase)%bar == 0 {
					sum += p.w
				}
			}
			v := sum / total * math.Sqrt(float64(bar)/float64(theory.Whole)) // longer bars have fewer first beats
			if phase == first%bar {
				v *= 1.1
			}
			if phase == 0 {
				zero = v
			}
			if i == 0 && given == nil {
				v *= 1.1
			}
			if phase > 0 && (v < 1.2*zero || first > 0) { // what begins later has its rests
				continue
			}
			if v > most+1e-9 {
				best, bestPhase, most = m, phase, v
			}
		}
	}
	return best, bestPhase
}
