package teach

import (
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/arrange"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// ownNotes returns what the left hand strikes in a bar where all of it is of one
// technique.
func (p *page) ownNotes(id string, b int) []score.Note {
	var out []score.Note
	for _, n := range p.byBar[b] {
		if n.Hand != score.Left {
			continue
		}
		if n.Origin.Technique != id || n.Grace > 0 || n.End() > p.Score.Bars[b].End() {
			return nil
		}
		out = append(out, n)
	}
	return out
}

// figureRhythm writes when notes are struck and how many at a time: what a figure is like
// whatever its chord.
func figureRhythm(at func(int) (theory.Dur, theory.Dur), n int) string {
	count := map[theory.Dur]int{}
	var order []theory.Dur
	long := map[theory.Dur]theory.Dur{}
	for i := range n {
		from, dur := at(i)
		if count[from] == 0 {
			order = append(order, from)
		}
		count[from]++
		long[from] = max(long[from], dur)
	}
	slices.Sort(order)
	var b strings.Builder
	for _, x := range order {
		fmt.Fprintf(&b, "%s:%d:%s ", x, count[x], long[x])
	}
	return b.String()
}

func rhythmOf(ts []technique.Tone, from theory.Dur) string {
	return figureRhythm(func(i int) (theory.Dur, theory.Dur) { return ts[i].At - from, ts[i].Dur }, len(ts))
}

func rhythmOfNotes(ns []score.Note, from theory.Dur) string {
	return figureRhythm(func(i int) (theory.Dur, theory.Dur) { return ns[i].At - from, ns[i].Dur }, len(ns))
}

// ownShapes lists the rhythms in which a page plays a left-hand technique, and how wide
// and how low its figures are, in half steps: the medians.
func (p *page) ownShapes(id string) (rhythms map[string]bool, width, bottom int) {
	out := map[string]bool{}
	var widths, bottoms []int
	for b := range p.byBar {
		ns := p.ownNotes(id, b)
		if len(ns) == 0 {
			continue
		}
		out[rhythmOfNotes(ns, p.Score.Bars[b].At)] = true
		low, high := 128, 0
		for _, n := range ns {
			low, high = min(low, n.Pitch.MIDI()), max(high, n.Pitch.MIDI())
		}
		widths, bottoms = append(widths, high-low), append(bottoms, low)
	}
	if len(widths) == 0 {
		return out, 0, 0
	}
	slices.Sort(widths)
	slices.Sort(bottoms)
	return out, widths[len(widths)/2], bottoms[len(bottoms)/2]
}

// ownBars is the left hand alone in the first bars of the page that have nothing
// but the technique.
func (w *writer) ownBars(p *page, t *technique.Technique, _ New) (made, bool) {
	for first := 0; first+fewestBars <= len(p.Score.Bars); first++ {
		last := first + fewestBars - 1
		pure := true
		for b := first; b <= last && pure; b++ {
			pure = len(p.ownNotes(t.ID, b)) > 0 && !p.Score.Bars[b].Pickup
		}
		if !pure {
			continue
		}
		s := alone(excerpt(p.Score, first, last), score.Left)
		if w.passes(s) && len(t.Find(s)) > 0 {
			return w.made(t, "left-alone", s, "Bars", numbers(p, first, last)), true
		}
	}
	return made{}, false
}

// ownFigure repeats a bar of the page that has the technique over one chord: of
// its commonest rhythm the first.
func (w *writer) ownFigure(p *page, t *technique.Technique, _ New) (made, bool) {
	times := map[string]int{}
	for b := range p.byBar {
		if ns := p.ownNotes(t.ID, b); len(ns) > 0 {
			times[rhythmOfNotes(ns, p.Score.Bars[b].At)]++
		}
	}
	var bars []int
	for b, bar := range p.Score.Bars {
		if len(p.ownNotes(t.ID, b)) > 0 && len(p.chordsIn(bar)) == 1 && bar.Dur == bar.Meter.Bar() && !bar.Pickup {
			bars = append(bars, b)
		}
	}
	slices.SortStableFunc(bars, func(a, b int) int {
		return times[rhythmOfNotes(p.ownNotes(t.ID, b), p.Score.Bars[b].At)] - times[rhythmOfNotes(p.ownNotes(t.ID, a), p.Score.Bars[a].At)]
	})
	for _, b := range bars {
		bar := p.Score.Bars[b]
		sym, ok := p.Score.ChordAt(bar.At)
		ns := p.ownNotes(t.ID, b)
		if !ok || slices.ContainsFunc(ns, func(n score.Note) bool {
			return n.Origin.Kind == score.Approach || n.Origin.Kind == score.Passing || !sym.Chord.HasClass(n.Pitch.Class())
		}) {
			continue
		}
		d := w.sheet(p)
		d.meter = bar.Meter
		d.syms = []score.Symbol{{Chord: sym.Chord}}
		for k := range theory.Dur(fewestBars) {
			for _, n := range ns {
				n.At += k*d.bar() - bar.At
				n.ID, n.Finger, n.FingerTo = "", 0, 0
				d.notes = append(d.notes, n)
			}
		}
		if s := d.score(); w.passes(s) && len(t.Find(s)) > 0 {
			return w.made(t, "own-figure", s, "Bar", bar.Number, "Chord", sym.Chord), true
		}
	}
	return made{}, false
}

// lastChord plays the end of the page, then the same left hand under the chord's
// notes in other places of the right.
func (w *writer) lastChord(p *page, t *technique.Technique, _ New) (made, bool) {
	if len(p.Score.Chords) == 0 {
		return made{}, false
	}
	c := p.Score.Chords[len(p.Score.Chords)-1].Chord
	end := p.Score.End()
	var left, right []technique.Tone
	for _, n := range p.Score.Notes {
		tone := technique.Tone{Pitch: n.Pitch, Kind: n.Origin.Kind, Marks: n.Marks & score.Rolled}
		switch {
		case n.End() < end || n.Grace > 0:
		case n.Hand == score.Left:
			left = append(left, tone)
		default:
			tone.Kind, tone.Marks = score.Chord, 0
			right = append(right, tone)
		}
	}
	if c.Silent() || len(left) == 0 {
		return made{}, false
	}
	has := func(ts []technique.Tone, d theory.Degree) bool {
		return slices.ContainsFunc(ts, func(x technique.Tone) bool { return x.Pitch.Class() == d.On(c.Root).Class() })
	}
	missing := slices.DeleteFunc(technique.PromisedAndFifth(c), func(d theory.Degree) bool { return has(left, d) })
	whole := len(right) > 0 && !slices.ContainsFunc(missing, func(d theory.Degree) bool { return !has(right, d) })
	upper := technique.Struck{Degrees: func(c theory.Chord) []theory.Degree { return technique.FilledUp(unslashed(c), missing, 3) }, Most: 3}
	for _, first := range []bool{whole, false} {
		st := w.chordStudy(p)
		for i := range fewestBars {
			part := arrange.Part{Dur: st.Meter.Bar(), Chord: c, Left: given(left), Right: arrange.Play{Figures: upper.Turned(i)}}
			if i == 0 && first {
				part.Right = given(right)
			}
			st.Parts = append(st.Parts, part)
		}
		key := "last-chord.places"
		if first {
			key = "last-chord.whole"
		}
		if s, ok := played(p, st); ok && w.passes(s) && len(t.Find(s)) > 0 {
			return w.made(t, key, s, "Chord", c), true
		}
	}
	return made{}, false
}

// given is what stands on the page, held for a bar.
func given(ts []technique.Tone) arrange.Play {
	return arrange.Play{Figures: func(c technique.Cell) []technique.Figure {
		f := technique.Figure{Tones: slices.Clone(ts)}
		for i := range f.Tones {
			f.Tones[i].At, f.Tones[i].Dur = c.At, c.Dur()
		}
		return []technique.Figure{f}
	}}
}
