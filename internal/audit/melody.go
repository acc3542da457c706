package audit

import (
	"slices"
	"sort"

	"gradatim/score"
	"gradatim/theory"
)

// cost is what a way through the melody has met: notes lost, notes covered,
// changes of octave within a section, notes early. Compared in that order.
type cost [4]int32

const (
	lost = iota
	covered
	octave
	tooEarly
)

func (c cost) with(what int) cost {
	c[what]++
	return c
}

func (c cost) less(d cost) bool { return slices.Compare(c[:], d[:]) < 0 }

// noShift is the octave before the first note: every one is as good.
const noShift = 1 << 20

// trace is a melody note on its way through the search: where it was found.
type trace struct {
	sound, onset int        // −1: the note is lost
	shift        int        // keys above the sheet's pitch
	covered      bool       // something sounds above it
	at           theory.Dur // onset of the last note found
	cost         cost
	from         int // index among the traces of the note before
}

// findMelody marks the melody's notes among the sounds and judges them.
//
// Without a sheet the top line is the melody, and so it is in an introduction and a tag.
// With one, the tune is searched in the top line.
//
// Problem: for each melody note, in order, choose an onset on its beat or at
// most half a beat early (or later by what Options.Moves allows) at which its pitch class is struck, so that onsets
// rise. Objective: lose as few notes as possible, then cover as few, then change
// the octave outside section starts as seldom as possible, then be early as
// seldom as possible; ties to the earlier onset and the lower key. Method: dynamic programming over the candidates of each note, the few
// notes struck within half a beat, so linear in the melody's length. Rejected:
// taking the first onset that fits, for a fill that ends on the next note's
// pitch class would then pass for that note.
//
// Accepted: the whole melody in another octave, and another octave from the
// start of a section on (counting its pick-up, at most a bar before it); a
// melody doubled in octaves, below or above.
func (p *page) findMelody() {
	if p.song == nil {
		for i := range p.onsets {
			if t := p.onsets[i].top; t >= 0 {
				p.sounds[t].melody = true
			}
		}
		return
	}
	melody := p.song.Melody
	for _, o := range p.onsets {
		if b := &p.s.Bars[o.bar]; o.top >= 0 && p.sounds[o.top].hand == score.Right && b.Part != score.Tune {
			p.sounds[o.top].melody = true
		}
	}
	if len(melody) == 0 {
		return
	}
	sections := p.sections()
	layers := make([][]trace, len(melody))
	before := []trace{{sound: -1, at: -1 << 62, shift: noShift}}
	first := 0
	for i := range melody {
		m := &melody[i]
		half, bar := theory.Eighth, theory.Whole
		if b := p.song.BarAt(m.At); b >= 0 && p.song.Bars[b].Meter.Valid() {
			half = p.song.Bars[b].Meter.BeatDur() / 2
			bar = p.song.Bars[b].Meter.Bar()
		}
		mayMove := i == 0 || sectionBegins(sections, melody[i-1].At, m.At, bar)
		for first < len(p.onsets) && p.onsets[first].at < m.At-max(half, p.slack) {
			first++
		}
		layer := make([]trace, 0, 4)
		for oi := first; oi < len(p.onsets) && p.onsets[oi].at <= m.At+p.slack && len(layer) < most; oi++ {
			o := &p.onsets[oi]
			for si := o.first; si < o.last; si++ {
				if (p.sounds[si].key-m.Pitch.MIDI())%12 != 0 {
					continue
				}
				t, ok := reachedFrom(before, o.at, p.sounds[si].key-m.Pitch.MIDI(), mayMove)
				if !ok {
					continue
				}
				t.sound, t.onset = si, oi
				if t.covered = p.coveredAt(o, p.sounds[si].key) >= 0; t.covered {
					t.cost = t.cost.with(covered)
				}
				if o.at != m.At {
					t.cost = t.cost.with(tooEarly)
				}
				layer = append(layer, t)
			}
		}
		best := cheapest(before)
		layer = append(layer, trace{sound: -1, at: before[best].at, shift: before[best].shift, cost: before[best].cost.with(lost), from: best})
		layers[i], before = layer, layer
	}
	path := make([]trace, len(melody))
	at := cheapest(before)
	for i := len(layers) - 1; i >= 0; i-- {
		path[i] = layers[i][at]
		at = path[i].from
	}
	p.judgeMelody(path, sections)
}

// reachedFrom returns the cheapest way to a note struck at the given onset and
// octave.
func reachedFrom(before []trace, at theory.Dur, shift int, mayMove bool) (trace, bool) {
	best := trace{from: -1}
	for j := range before {
		q := &before[j]
		if q.at >= at {
			continue
		}
		c := q.cost
		if q.shift != shift && q.shift != noShift && !mayMove {
			c = c.with(octave)
		}
		if best.from < 0 || c.less(best.cost) {
			best = trace{cost: c, from: j}
		}
	}
	best.at, best.shift = at, shift
	return best, best.from >= 0
}

func cheapest(ts []trace) int {
	best := 0
	for j := range ts {
		if ts[j].cost.less(ts[best].cost) {
			best = j
		}
	}
	return best
}

// coveredAt returns the key that sounds above a note struck at the onset, other
// than the note's own octave; −1: none.
func (p *page) coveredAt(o *onset, key int) int {
	if o.held > key {
		return o.held
	}
	for i := o.last - 1; i >= o.first; i-- {
		if k := p.sounds[i].key; k > key && (k-key)%12 != 0 {
			return k
		}
	}
	return -1
}

// sections returns where sections begin, of the sheet or of the score.
func (p *page) sections() []theory.Dur {
	var at []theory.Dur
	for _, b := range p.song.Bars {
		if b.Section != "" {
			at = append(at, b.At)
		}
	}
	for _, b := range p.s.Bars {
		if b.Section != "" {
			at = append(at, b.At)
		}
	}
	slices.Sort(at)
	return slices.Compact(at)
}

// sectionBegins tells whether a section begins with the note at the position: on
// it, between it and the note before, or at most a bar after it.
func sectionBegins(sections []theory.Dur, before, at, bar theory.Dur) bool {
	i := sort.Search(len(sections), func(i int) bool { return sections[i] >= at })
	return i < len(sections) && sections[i] <= at+bar || i > 0 && sections[i-1] > before
}

// judgeMelody marks what was found and reports what was not.
func (p *page) judgeMelody(path []trace, sections []theory.Dur) {
	p.tune = make([]int, len(path))
	last := -1 // the last note found
	for i, t := range path {
		m := p.song.Melody[i]
		p.tune[i] = -1
		if t.sound < 0 {
			p.report(m.At, MelodyMissing, nil, "Note", m.Pitch)
			continue
		}
		p.sounds[t.sound].melody = true
		p.tune[i] = p.sounds[t.sound].note
		if t.covered {
			o := &p.onsets[t.onset]
			p.report(o.at, MelodyCovered, []int{p.sounds[t.sound].note}, "Above", keyPitch(p.coveredAt(o, p.sounds[t.sound].key)), "Note", p.pitch(p.sounds[t.sound]))
		}
		if last >= 0 && path[last].shift != t.shift {
			bar := theory.Whole
			if b := p.song.BarAt(m.At); b >= 0 && p.song.Bars[b].Meter.Valid() {
				bar = p.song.Bars[b].Meter.Bar()
			}
			if !sectionBegins(sections, p.song.Melody[last].At, m.At, bar) {
				p.report(p.onsets[t.onset].at, MelodyOctave, []int{p.sounds[t.sound].note}, "Note", p.pitch(p.sounds[t.sound]))
			}
		}
		last = i
	}
}

// keyPitch names a key of the keyboard; black keys by their sharp.
func keyPitch(key int) theory.Pitch {
	names := [12]theory.Name{{Letter: theory.C}, {Letter: theory.C, Alter: 1}, {Letter: theory.D}, {Letter: theory.D, Alter: 1}, {Letter: theory.E}, {Letter: theory.F},
		{Letter: theory.F, Alter: 1}, {Letter: theory.G}, {Letter: theory.G, Alter: 1}, {Letter: theory.A}, {Letter: theory.A, Alter: 1}, {Letter: theory.B}}
	return names[((key%12)+12)%12].Below(key)
}
