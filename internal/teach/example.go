package teach

import (
	"context"
	"slices"

	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/score"
	"gradatim/theory"
)

// most words of a worked example's reason.
const mostWords = 40

// Choosing the worked example.
//
// Problem: of all places where a page uses a technique, show the one that a
// student sees at a glance, and never one that the technique's own recogniser
// would not find. Source: common practice, no source. What its subject does must be heard there. Objective, in this order:
// few bars, nothing held in from before, a melody note struck at the place, a
// stated reason, another bar than the other examples of the page; then the earliest. Method: each of the first places is cut out
// and handed to the recogniser; where it needs what follows (a dominant is one
// only by its target) the cut is made a bar longer, up to four. Cost: linear in the
// page for each technique and a constant for each place. Rejected: the first
// place, which is often a pick-up or half hidden by a tie.

// places is how many places of one technique are looked at.
const places = 24

// news teaches each technique that this page uses and no level below has taught.
// One that its recogniser finds nowhere on the page is left to a later level. Where the
// context ends, some are missing.
func (w *writer) news(ctx context.Context, p *page) []New {
	out := []New{}
	taken := map[int]int{} // how many examples begin in a bar
	for _, u := range p.Used {
		t, ok := technique.ByID(u.Technique)
		if !ok || w.known[t.ID] > 0 || ctx.Err() != nil {
			continue
		}
		ex, ok := w.example(p, t, taken)
		if !ok {
			continue
		}
		taken[ex.Bars[0]]++
		told := w.words.Technique(t.ID)
		out = append(out, New{Technique: t.ID, Name: told.Title(), Stage: w.words.Word("stage", t.Stage.String(), "", ""), What: told.What, How: told.How,
			Practise: told.Practise, Bars: u.Bars, Elsewhere: p.elsewhere(t, u.Bars, ex.Bars), Chief: p.Level.Brings(t.ID), Example: ex})
	}
	return out
}

// place is a candidate for a worked example.
type place struct {
	find        technique.Finding // in the page
	inside      technique.Finding // in the excerpt
	first, last int
	after       score.Score
	cost        int
}

func (w *writer) example(p *page, t *technique.Technique, taken map[int]int) (Example, bool) {
	best := place{cost: -1}
	looked := 0
	for _, f := range p.found[t.ID] {
		if !w.belongs(p, t, f) {
			continue
		}
		if looked++; looked > places {
			break
		}
		pl, ok := w.cut(p, t, f)
		pl.cost += 7 * taken[p.Score.Bars[pl.first].Number]
		if ok && (best.cost < 0 || pl.cost < best.cost) {
			best = pl
		}
	}
	if best.cost < 0 {
		return Example{}, false
	}
	e := Example{After: Music{Score: best.after}, Notes: []string{}}
	for _, b := range p.Score.Bars[best.first : best.last+1] {
		e.Bars = append(e.Bars, b.Number)
	}
	e.Notes = append(e.Notes, p.fresh(t, best)...)
	e.Before = Music{Score: w.fingered(w.before(p, t, best))}
	e.After.Caption = w.say("example.with", "Bars", words.Bars(e.Bars))
	e.Before.Caption = w.say("example.without." + t.Stage.String())
	if t.Stage == technique.LeftHand && (ghosts(best) || !slices.ContainsFunc(e.Before.Score.Notes, func(n score.Note) bool { return n.Hand == score.Left })) {
		e.Before.Caption = w.say("example.without." + technique.RightHand.String()) // no chords are held
	}
	e.Why = w.why(p, t, best)
	return e, true
}

// belongs tells whether a finding is the technique's own work on the page: its
// notes or its chord, not a likeness.
func (w *writer) belongs(p *page, t *technique.Technique, f technique.Finding) bool {
	if !p.usedIn(t.ID, p.Score.Bars[p.Score.BarAt(f.At)].Number) && !p.usedIn(t.ID, p.Score.Bars[p.Score.BarAt(f.End-1)].Number) {
		return false
	}
	if t.Stage != technique.Device {
		for _, id := range f.Notes {
			if n, ok := p.note(id, f.At, f.End); ok && n.Origin.Technique == t.ID {
				return true
			}
		}
		return false
	}
	if t.Rewrite != nil {
		c, ok := p.decisionAt(f.At)
		if !ok || c.Device != t.ID {
			return false
		}
		// The chord that the device put there, not the one it left.
		for _, ch := range c.Chords {
			if ch.Why != nil && ch.At < f.End && ch.End > f.At {
				return true
			}
		}
		return false
	}
	c, ok := p.decisionAt(f.At)
	if !ok || !p.usedIn(t.ID, p.Score.Bars[p.Score.BarAt(f.At)].Number) {
		return false
	}
	ch, ok := p.chosenAt(f.At)
	// A symbol that the sheet has already teaches nothing, and another root is a
	// device's.
	return ok && ch.Chord != c.Sheet && (c.Device == "" || ch.Why == nil)
}

// note finds a note by id among those struck in [from, to).
func (p *page) note(id string, from, to theory.Dur) (score.Note, bool) {
	for b := max(0, p.Score.BarAt(from)); b < len(p.byBar) && p.Score.Bars[b].At < to; b++ {
		for _, n := range p.byBar[b] {
			if n.ID == id {
				return n, true
			}
		}
	}
	return score.Note{}, false
}

// decisionAt returns the decision in force at a position.
func (p *page) decisionAt(at theory.Dur) (Decision, bool) {
	for _, c := range p.Decisions {
		if c.At <= at && at < c.End {
			return c, true
		}
	}
	return Decision{}, false
}

// chosenAt returns the chord of the page in force at a position.
func (p *page) chosenAt(at theory.Dur) (Chosen, bool) {
	c, ok := p.decisionAt(at)
	if !ok {
		return Chosen{}, false
	}
	for _, ch := range c.Chords {
		if ch.At <= at && at < ch.End {
			return ch, true
		}
	}
	return Chosen{}, false
}

// cut makes the shortest excerpt in which the recogniser finds the same again: from
// the place's own bar, or from the bar before it where what is held into it counts.
func (w *writer) cut(p *page, t *technique.Technique, f technique.Finding) (place, bool) {
	first := p.Score.BarAt(f.At)
	best, found := place{}, false
	for _, from := range []int{first, first - 1} {
		if from < 0 {
			break
		}
		for last := first; last < len(p.Score.Bars) && last-from <= 3; last++ {
			if pl, ok := w.cutAt(p, t, f, from, last); ok {
				if !found || pl.cost < best.cost {
					best, found = pl, true
				}
				break
			}
		}
	}
	return best, found
}

// cutAt cuts given bars and weighs them.
func (w *writer) cutAt(p *page, t *technique.Technique, f technique.Finding, first, last int) (place, bool) {
	s := p.Score
	ex := excerpt(s, first, last)
	at := f.At - s.Bars[first].At
	for _, g := range t.Find(ex) {
		if g.At != at || !same(f, g) {
			continue
		}
		if t.Stage == technique.LeftHand && last == first && last+1 < len(s.Bars) && p.approaches(first) {
			return w.cutAt(p, t, f, first, last+1) // an approach is nothing without its goal
		}
		f.End = g.End + s.Bars[first].At
		f.Notes = g.Notes
		pl := place{find: f, inside: g, first: first, last: last, after: ex, cost: 10 * (last - first)}
		if heldInto(s, first) {
			pl.cost += 12
		}
		if !p.sounds(t, pl) {
			return place{}, false
		}
		if t.Stage == technique.LeftHand && leapsIn(ex) {
			pl.cost += 6
		}
		if !p.tuneStruck(f.At) {
			pl.cost += 4
		}
		if !p.tuneBelongs(f.At, f.End) {
			pl.cost += 5
		}
		if s.Bars[first].Pickup {
			pl.cost += 8
		}
		if p.sharedChord(t, f.At) {
			pl.cost += 9
		}
		if t.Stage == technique.Line && !w.stands(w.before(p, t, pl)) {
			pl.cost += 30
		}
		if last == len(s.Bars)-1 && !t.Closes {
			pl.cost += 3
		}
		return pl, true
	}
	return place{}, false
}

// sounds tells whether an example lets its subject be heard: of a device a note that it
// brings; of chords that are made plain the whole triad, in whatever hands.
func (p *page) sounds(t *technique.Technique, pl place) bool {
	if t.Stage != technique.Device {
		return true
	}
	if !t.Plain {
		return len(p.fresh(t, pl)) > 0
	}
	c, ok := pl.after.ChordAt(pl.inside.At)
	struck := map[int]bool{}
	for _, n := range pl.after.Notes {
		if n.At >= pl.inside.At && n.At < pl.inside.End {
			struck[n.Pitch.Class()] = true
		}
	}
	for d := range c.Chord.Triad().Tones.All() {
		ok = ok && struck[d.On(c.Chord.Root).Class()]
	}
	return ok
}

// leapsIn tells whether a left hand goes to a goal by more than a step: an approach that
// its own words call near should be.
func leapsIn(s score.Score) bool {
	var last *score.Note
	for i := range s.Notes {
		n := &s.Notes[i]
		if n.Hand != score.Left || n.Marks.Has(score.Ghost) {
			continue
		}
		if last != nil && last.Origin.Kind == score.Approach && abs(n.Pitch.MIDI()-last.Pitch.MIDI()) > 2 {
			return true
		}
		last = n
	}
	return false
}

// sharedChord tells whether a chord has taken notes of another paint as well: it shows
// less clearly what this one adds.
func (p *page) sharedChord(t *technique.Technique, at theory.Dur) bool {
	c, ok := p.decisionAt(at)
	ch, chosen := p.chosenAt(at)
	if !ok || !chosen || t.Adds == nil || ch.Chord.Root != c.Sheet.Root {
		return false
	}
	for d := range ch.Chord.Tones.All() {
		if !c.Sheet.Tones.Has(d) && !t.Adds(ch.Chord, d) {
			return true
		}
	}
	return false
}

// approaches tells whether the left hand ends a bar on a note that leads on.
func (p *page) approaches(b int) bool {
	for _, n := range slices.Backward(p.byBar[b]) {
		if n.Hand == score.Left {
			return n.Origin.Kind == score.Approach
		}
	}
	return false
}

// same tells whether two findings show the same notes; what reaches beyond the
// excerpt does not count.
func same(f, g technique.Finding) bool {
	if len(f.Notes) == 0 {
		return len(g.Notes) == 0
	}
	for _, id := range g.Notes {
		if !slices.Contains(f.Notes, id) {
			return false
		}
	}
	return len(g.Notes) > 0
}

// sheetSymbols lists the sheet's chords in [from, to), from 0.
func sheetSymbols(p *page, from, to theory.Dur) []score.Symbol {
	var out []score.Symbol
	for _, c := range p.Decisions {
		if c.End <= from || c.At >= to {
			continue
		}
		out = append(out, score.Symbol{At: max(c.At, from) - from, Chord: c.Sheet})
	}
	return out
}
