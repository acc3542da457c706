package teach

import (
	"cmp"
	"slices"

	"gradatim/internal/arrange"
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

// onOneChord plays the left-hand figure on one chord for four bars.
func (w *writer) onOneChord(p *page, t *technique.Technique, n New) (made, bool) {
	chords := append([]theory.Chord{w.home(p)}, p.chordsOfPage()...)
	for _, c := range chords[:min(len(chords), 6)] {
		c = unslashed(c)
		st := w.study(p)
		bar := st.Meter.Bar()
		var all []technique.Figure // for the first bar
		look := func(c technique.Cell) []technique.Figure {
			if c.At == 0 {
				all = figures(t, c)
			}
			return figures(t, c)
		}
		st.Parts = slices.Repeat([]arrange.Part{{Dur: bar, Chord: c, Left: arrange.Play{By: t.ID, Figures: look}}}, 2)
		st.Score()
		for _, f := range all {
			same := func(c technique.Cell) []technique.Figure {
				g := f
				g.Tones = slices.Clone(f.Tones)
				for i := range g.Tones {
					g.Tones[i].At += c.At
				}
				return []technique.Figure{g}
			}
			st.Parts = slices.Repeat([]arrange.Part{{Dur: bar, Chord: c, Left: arrange.Play{By: t.ID, Figures: same}}}, fewestBars)
			if s, ok := played(p, st); ok && w.passes(s) && len(t.Find(s)) > 0 {
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

// left strings a left-hand technique's figures over chords: of what the page has, in
// its rhythms, about as wide and as low.
func (w *writer) left(p *page, t *technique.Technique, cs []theory.Chord, key string) (made, bool) {
	own, wide, low := p.ownShapes(t.ID)
	s, used := w.strung(p, cs, key == "around", arrange.Play{By: t.ID, Figures: func(c technique.Cell) []technique.Figure {
		fs := figures(t, c)
		for i := range fs {
			if len(own) > 0 && !own[rhythmOf(fs[i].Tones, c.At)] {
				fs[i].Cost += otherRhythm
			}
			if wide > 0 {
				fs[i].Cost += abs(fs[i].Top()-fs[i].Bottom()-wide) + abs(fs[i].Bottom()-low)/3
			}
		}
		return fs
	}})
	return w.made(t, key, s, "Chords", firsts(used)), len(used) >= fewestBars && len(t.Find(s)) > 0
}

// otherRhythm is what a figure costs that has none of the page's rhythms.
const otherRhythm = 250

// strung has the left hand play chords, a bar each: those that it can play, and from the
// first again until there are enough bars. once drops a chord that comes twice running.
func (w *writer) strung(p *page, cs []theory.Chord, once bool, left arrange.Play) (s score.Score, used []theory.Chord) {
	st := w.study(p)
	for i := 0; i < 3*len(cs) && len(used) < mostBars; i++ {
		if i >= len(cs) && len(used) >= fewestBars {
			break
		}
		c := cs[i%len(cs)]
		if once && len(used) > 0 && used[len(used)-1] == c && len(cs) > 1 {
			continue
		}
		more := st
		more.Parts = append(slices.Clip(st.Parts), arrange.Part{Dur: st.Meter.Bar(), Chord: c, Left: left})
		if try, ok := played(p, more); ok {
			st, s, used = more, try, append(used, c)
		}
	}
	return s, used
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
	var cs []theory.Chord
	tenths := map[[2]int]bool{} // root and third, by key: D7 and D9 have one tenth
	for _, c := range p.chordsOfPage() {
		third, ok := c.Third()
		k := [2]int{c.Lowest().Class(), third.On(c.Root).Class()}
		if ok && !tenths[k] {
			tenths[k] = true
			cs = append(cs, c)
		}
	}
	s, used := w.strung(p, cs, false, arrange.Play{By: t.ID, Figures: technique.RolledTenth})
	return w.made(t, "tenths", s, "Chords", firsts(used)), len(used) >= fewestBars
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
		st := w.study(p)
		st.Meter = ex.Bars[0].Meter
		key := theory.HarmonicSpelling(w.key, theory.Chord{}, w.key.Tonic.Above(60).MIDI()+up)
		for _, m := range ex.Notes {
			if m.Origin.Kind == score.Melody && m.Grace == 0 {
				st.Line = append(st.Line, score.Note{Hand: score.Right, Voice: 1, At: m.At, Dur: m.Dur, Pitch: key,
					Origin: score.Origin{Kind: score.Melody, Why: reason.Fact("rhythm-of-the-tune")}})
			}
		}
		for _, b := range ex.Bars {
			c, _ := ex.ChordAt(b.At)
			st.Parts = append(st.Parts, bass(c.Chord, b.Dur))
		}
		s, ok := played(p, st)
		s.Chords = nil // one key belongs to none
		if ok && w.passes(s) && len(t.Find(s)) > 0 {
			return w.made(t, "rhythm", s, "Bars", numbers(p, first, last)), true
		}
	}
	return made{}, false
}
