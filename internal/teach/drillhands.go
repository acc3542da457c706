package teach

import (
	"cmp"
	"slices"

	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// figures returns a left-hand technique's own figures for a cell, cheapest first.
func figures(t *technique.Technique, c technique.Cell) []technique.Figure {
	if t.Left == nil {
		return nil
	}
	fs := slices.DeleteFunc(slices.Clone(t.Left(c)), func(f technique.Figure) bool {
		return len(f.Tones) == 0 || f.By != "" && f.By != t.ID || undercut(f)
	})
	slices.SortStableFunc(fs, func(a, b technique.Figure) int { return cmp.Compare(a.Cost, b.Cost) })
	return fs
}

// undercut tells whether a figure puts a note of the chord below the bass note
// that it begins with; another bass note may lie there.
func undercut(f technique.Figure) bool {
	low := 0
	for _, t := range f.Tones {
		switch {
		case t.Kind == score.Bass && low == 0:
			low = t.Pitch.MIDI()
		case (t.Kind == score.Chord || t.Kind == score.Tension) && t.Pitch.MIDI() < low:
			return true
		}
	}
	return false
}

// figure writes one figure.
func (d *sheet) figure(f technique.Figure, c technique.Cell) {
	for _, t := range f.Tones {
		q := t.Pitch
		if t.Kind == score.Chord || t.Kind == score.Tension || t.Kind == score.Bass {
			q = theory.HarmonicSpelling(d.key, c.Chord, t.Pitch.MIDI())
		}
		d.notes = append(d.notes, score.Note{Hand: score.Left, Voice: 1, At: t.At, Dur: t.Dur, Pitch: q, Grace: t.Grace,
			Marks: t.Marks, Ornament: t.Ornament, Velocity: t.Velocity, Origin: score.Origin{Kind: t.Kind, Why: exercise}})
	}
	twoVoices(d.notes)
}

// twoVoices puts left-hand notes that are held under others into a second voice.
func twoVoices(notes []score.Note) {
	for i := range notes {
		n := &notes[i]
		if n.Hand != score.Left || n.Grace > 0 {
			continue
		}
		n.Voice = 1
		for _, m := range notes {
			if m.Hand == score.Left && m.Grace == 0 && m.At > n.At && m.At < n.End() {
				n.Voice = 2
				break
			}
		}
	}
}

// onOneChord plays the left-hand figure on one chord for four bars.
func (w *writer) onOneChord(p *page, t *technique.Technique, n New) (made, bool) {
	chords := append([]theory.Chord{w.home(p)}, p.chordsOfPage()...)
	for _, c := range chords[:min(len(chords), 6)] {
		c = unslashed(c)
		d := w.sheet(p)
		for _, f := range figures(t, d.cell(0, d.bar(), c, c, c)) {
			d := w.sheet(p)
			d.chord(0, c)
			for b := range theory.Dur(fewestBars) {
				g := f
				g.Tones = slices.Clone(f.Tones)
				for i := range g.Tones {
					g.Tones[i].At += b * d.bar()
				}
				d.figure(g, d.cell(b*d.bar(), (b+1)*d.bar(), c, c, c))
			}
			if s := d.score(); w.passes(s) && len(t.Find(s)) > 0 {
				return w.made(t, "one-chord", s, "Chord", c), true
			}
		}
	}
	return made{}, false
}

// aroundChords plays the figure on the chords of the page, a bar each.
func (w *writer) aroundChords(p *page, t *technique.Technique, _ New) (made, bool) {
	return w.left(p, t, p.chordsOfPage(), "around")
}

// figureCadence plays the figure on ii–V–I.
func (w *writer) figureCadence(p *page, t *technique.Technique, _ New) (made, bool) {
	return w.left(p, t, w.cadence(p, true), "cadence.figure")
}

// left strings a left-hand technique's figures over chords, a bar each, the
// nearest that the audit passes; chords for which it has none are left out.
func (w *writer) left(p *page, t *technique.Technique, cs []theory.Chord, key string) (made, bool) {
	d := w.sheet(p)
	var used []theory.Chord
	last := 0
	at := theory.Dur(0)
	own, wide := p.ownShapes(t.ID)
	for i := 0; i < 3*len(cs) && len(used) < mostBars; i++ {
		if i >= len(cs) && len(used) >= fewestBars {
			break
		}
		c := cs[i%len(cs)]
		if len(used) > 0 && used[len(used)-1] == c && len(cs) > 1 && key == "around" {
			continue
		}
		next := cs[(i+1)%len(cs)]
		cell := d.cell(at, at+d.bar(), c, theory.Chord{}, next)
		fs := figures(t, cell)
		slices.SortStableFunc(fs, func(a, b technique.Figure) int {
			cost := func(f technique.Figure) int {
				out := 2 * f.Cost
				if last > 0 {
					out += abs(f.Bottom()-last) / 2
				}
				if len(own) > 0 && !own[rhythmOf(f.Tones, at)] {
					out += 1000
				}
				if wide > 0 {
					out += 4 * abs(f.Top()-f.Bottom()-wide)
				}
				return out
			}
			return cmp.Compare(cost(a), cost(b))
		})
		notes, syms := slices.Clone(d.notes), slices.Clone(d.syms)
		for _, f := range fs {
			d.notes, d.syms = slices.Clone(notes), slices.Clone(syms)
			d.chord(at, c)
			d.figure(f, cell)
			if d.clean() {
				used = append(used, c)
				last = f.Bottom()
				at += d.bar()
				break
			}
			d.notes, d.syms = notes, syms
		}
	}
	s := d.score()
	if len(used) < fewestBars || len(t.Find(s)) == 0 {
		return made{}, false
	}
	return w.made(t, key, s, "Chords", firsts(used)), true
}

// fromPage is the hand that has the technique, alone, in four bars of the page;
// both hands where it takes both to show it.
func (w *writer) fromPage(p *page, t *technique.Technique, n New) (made, bool) {
	h := score.Left
	if t.Stage == technique.RightHand || t.Stage == technique.Ornament {
		h = score.Right
	}
	first, last := w.phraseOf(p, n.Example.Bars[0])
	at := first
	for i := first; i <= last; i++ {
		if p.Score.Bars[i].Number == n.Example.Bars[0] {
			at = i
		}
	}
	for _, hands := range []struct {
		keep []score.Hand
		key  string
	}{{[]score.Hand{h}, "from-page." + h.String()}, {[]score.Hand{score.Right, score.Left}, "from-page.both"}} {
		for _, start := range []int{at, at - 1, at - 2, at - 3, first} {
			end := start + fewestBars - 1
			if start < 0 || end >= len(p.Score.Bars) || p.Score.Bars[start].Pickup {
				continue
			}
			s := alone(excerpt(p.Score, start, end), hands.keep...)
			if w.passes(s) && len(t.Find(s)) > 0 {
				return w.made(t, hands.key, s, "Bars", numbers(p, start, end)), true
			}
		}
	}
	return made{}, false
}

// alone keeps some hands and numbers the bars from 1.
func alone(s score.Score, keep ...score.Hand) score.Score {
	s.Notes = slices.DeleteFunc(slices.Clone(s.Notes), func(n score.Note) bool { return !slices.Contains(keep, n.Hand) })
	for i := range s.Notes {
		s.Notes[i].ID = ""
	}
	s.Directions = nil
	s.Bars = slices.Clone(s.Bars)
	for i := range s.Bars {
		s.Bars[i].Number, s.Bars[i].Section = i+1, ""
		s.Bars[i].Part, s.Bars[i].Sheet, s.Bars[i].Pass = score.Tune, 0, 0
	}
	return s.Finish()
}

// bassAlone is the left hand of a phrase that uses the technique.
func (w *writer) bassAlone(p *page, t *technique.Technique, n New) (made, bool) {
	first, last := w.phraseOf(p, n.Example.Bars[0])
	s := alone(excerpt(p.Score, first, last), score.Left)
	if !w.passes(s) || len(t.Find(s)) == 0 {
		return w.fromPage(p, t, n)
	}
	return w.made(t, "left-alone", s, "Bars", numbers(p, first, last)), true
}

// rolled plays the tenth over the root of each chord, rolled upwards.
func (w *writer) rolled(p *page, t *technique.Technique, _ New) (made, bool) {
	d := w.sheet(p)
	var used []theory.Chord
	cs := p.chordsOfPage()
	for i := 0; i < 2*len(cs) && len(used) < mostBars; i++ {
		if i >= len(cs) && len(used) >= fewestBars {
			break
		}
		c := cs[i%len(cs)]
		third, ok := c.Third()
		if !ok || third.Number != 3 || c.Slash {
			continue
		}
		root := c.Root.Above(max(d.p.Level.Low.MIDI(), 40))
		if root.MIDI() > 50 {
			continue
		}
		tenth := third.On(c.Root).Above(root.MIDI() + 12)
		at := theory.Dur(len(used)) * d.bar()
		notes, syms := slices.Clone(d.notes), slices.Clone(d.syms)
		d.chord(at, c)
		d.add(score.Left, at, d.bar(), root, tenth)
		for k := len(d.notes) - 2; k < len(d.notes); k++ {
			d.notes[k].Marks |= score.Rolled
		}
		if !d.clean() {
			d.notes, d.syms = notes, syms
			continue
		}
		used = append(used, c)
	}
	return w.made(t, "tenths", d.score(), "Chords", firsts(used)), len(used) >= fewestBars
}

// rhythm plays the tune's pushed rhythm on one key over held basses.
func (w *writer) rhythm(p *page, t *technique.Technique, n New) (made, bool) {
	first, last := w.phraseOf(p, n.Example.Bars[0])
	last = min(last, first+fewestBars-1)
	if last+1 < len(p.Score.Bars) && p.Score.Bars[last].Number == n.Example.Bars[0] { // a pushed note is held into the next bar
		first, last = first+1, last+1
	}
	ex := excerpt(p.Score, first, last)
	for _, up := range []int{7, 12, 0, 5, 9, 2, 4} {
		d := w.sheet(p)
		d.meter = ex.Bars[0].Meter
		key := w.key.Tonic.Above(60).MIDI() + up
		for _, m := range ex.Notes {
			if m.Origin.Kind == score.Melody && m.Grace == 0 {
				d.notes = append(d.notes, score.Note{Hand: score.Right, Voice: 1, At: m.At, Dur: m.Dur,
					Pitch: theory.HarmonicSpelling(w.key, theory.Chord{}, key), Origin: score.Origin{Kind: score.Melody, Why: reason.Fact("rhythm-of-the-tune")}})
			}
		}
		for b := range ex.Bars {
			at := theory.Dur(b) * d.bar()
			c, ok := ex.ChordAt(at)
			if !ok || c.Chord.Silent() {
				continue
			}
			d.add(score.Left, at, d.bar(), d.bass(c.Chord, 48))
		}
		if s := d.score(); w.passes(s) && len(t.Find(s)) > 0 {
			return w.made(t, "rhythm", s, "Bars", numbers(p, first, last)), true
		}
	}
	return made{}, false
}
