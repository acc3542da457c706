package grade

import (
	"cmp"
	"fmt"
	"slices"
)

// cause is one way in which a stretch is harder (or easier) than the whole.
type cause struct {
	weight int // as of a Feature, doubled for both hands together
	above  int // thousandths of a standard deviation above the whole
	text   string
}

// causes compares bars [from, to) with the whole score, measure by measure.
func (p *page) causes(from, to int, fs []Feature) []cause {
	us := p.microseconds(p.bars[to-1].End() - p.bars[from].At)
	whole := map[string]Feature{}
	for _, f := range fs {
		whole[f.ID+f.Hand.String()] = f
	}
	var out []cause
	add := func(id string, hand int, r reference, value int, text string) {
		h, double := hands[max(hand, 0)], 1
		if hand < 0 {
			h, double = 0, 2
		}
		f := whole[id+h.String()]
		out = append(out, cause{double * f.weight, r.z(value) - f.z, text})
	}
	for i := range hands {
		t := p.sums(i, from, to)
		name := "the " + hands[i].String() + " hand "
		if us > 0 {
			v := int(int64(t.strikes) * 1_000_000_000 / us)
			add("speed", i, speeds(betweenTable[i]), v, fmt.Sprintf("%sstrikes %s times a second", name, tenths(v)))
		}
		if t.steps > 0 {
			v := t.points * 1000 / (2 * t.steps)
			far, moves := "an octave or more", t.octaves
			if 4*t.octaves < t.fifths {
				far, moves = "a fifth or more", t.octaves+t.fifths
			}
			add("displacement", i, displacementTable[i], v, fmt.Sprintf("%smoves %s %s", name, far, p.howOften(moves, from, to)))
		}
		if t.strikes > 0 {
			v := t.sounding * 1000 / t.strikes
			add("polyphony", i, polyphonyTable[i], v, fmt.Sprintf("%shas %s notes down at once", name, tenths(v)))
			if p.effort[i] {
				v := t.effort * 1000 / t.notes
				add("fingering", i, fingeringTable, v, fmt.Sprintf("%sis awkward to finger", name))
			}
		}
	}
	if u := p.pulseSums(from, to); u.beats > 0 {
		text := "notes are held over the beat"
		switch {
		case u.crossing >= max(u.held, u.uneven):
			text = "the hands fall between each other's notes"
		case u.uneven > u.held:
			text = "the beat is divided unusually"
		}
		add("rhythm", -1, rhythmTable, u.points()*1000/u.beats, text)
	}
	a, b := p.sums(0, from, to), p.sums(1, from, to)
	if n := a.notes + b.notes; n > 0 {
		add("accidentals", -1, accidentalTable, (a.altered+b.altered)*1000/n, fmt.Sprintf("%s outside the key", count(a.altered+b.altered, "note")))
	}
	return out
}

// say names the two strongest causes.
func say(cs []cause) string {
	cs = slices.Clone(cs)
	slices.SortStableFunc(cs, func(a, b cause) int { return cmp.Compare(b.weight*b.above, a.weight*a.above) })
	text := ""
	for _, c := range cs[:min(2, len(cs))] {
		if c.weight*c.above <= 0 {
			break
		}
		if text != "" {
			text += "; "
		}
		text += c.text
	}
	return text
}
