package edition

import (
	"context"
	"slices"

	"gradatim/internal/choice"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// Decision is one place of a page where the search had to choose.
type Decision struct {
	At, End theory.Dur
	Hand    score.Hand // whose notes; 0: which chords
	Fixed   bool       // the teacher has chosen
	Runners []Runner   // what stands, then the others, cheapest first
}

// Runner is one way to decide.
type Runner struct {
	Technique string // id; "": the sheet's chord, a rest, or by hand
	Text      string // the chords, or the notes as a choice writes them, in the page's key
	Why       reason.Reason
	Extra     int             // how much dearer the whole page would be, in the search's own measure
	Choices   []choice.Choice // that make it so, in the sheet's key
}

// Decisions lists what was decided in a bar (by index) of a level's page (by index among
// Pages): the chords that begin in it, then both hands, stretch by stretch.
func (e *Edition) Decisions(ctx context.Context, level, bar int) ([]Decision, error) {
	plan, err := e.Plan(ctx, level)
	if err != nil {
		return nil, err
	}
	on := e.rungs[level].sheet
	asked := e.Song.Bars[bar]
	place := on.printed(asked.At)
	number, b := e.Pages[level].Level.Number, on.song.Bars[on.song.BarAt(place)]
	later := asked.At - place // from the page to the bar asked for
	inBar := func(at theory.Dur) bool { return at >= b.At && at < b.End() }
	toSheet := func(at, until theory.Dur, f choice.Fix) choice.Choice {
		c, _ := choice.Choice{Level: number, At: at, Until: until, Fix: f}.Within(at, until, on.first(at))
		return c.In(e.from.Neg())
	}
	var out []Decision
	for _, s := range on.analysis.Spans {
		if !inBar(s.At) {
			continue
		}
		d := Decision{At: s.At + later, End: s.End + later, Fixed: e.fixed(plan.Choices(), number, s.At, s.End, 0)}
		for _, a := range plan.Chords(s.At) {
			r := Runner{Technique: a.Device, Extra: a.Extra}
			for i, c := range a.Chords {
				if i > 0 {
					r.Text += " "
				} else {
					r.Why = c.Why
				}
				r.Text += c.Chord.String()
				r.Choices = append(r.Choices, toSheet(c.At, c.End, choice.Chord{Chord: c.Chord}))
			}
			d.Runners = append(d.Runners, r)
		}
		if d.Runners != nil {
			out = append(out, d)
		}
	}
	for _, st := range plan.Stretches() {
		if !inBar(st.At) {
			continue
		}
		if err := context.Cause(ctx); err != nil {
			return nil, err
		}
		for _, h := range []score.Hand{score.Right, score.Left} {
			d := Decision{At: st.At + later, End: st.End + later, Hand: h, Fixed: e.fixed(plan.Choices(), number, st.At, st.End, h)}
			fs, err := plan.Figures(ctx, st.At, h)
			if err != nil {
				return nil, err
			}
			for _, f := range fs {
				d.Runners = append(d.Runners, Runner{Technique: f.By, Text: f.Text(b), Why: f.Say, Extra: f.Extra,
					Choices: []choice.Choice{toSheet(st.At, st.End, f.Figure)}})
			}
			if d.Runners != nil {
				out = append(out, d)
			}
		}
	}
	return out, nil
}

// fixed tells whether a choice decides on a stretch: on its chords, or on the notes of
// a hand.
func (e *Edition) fixed(cs []choice.Choice, level int, at, end theory.Dur, h score.Hand) bool {
	return slices.ContainsFunc(cs, func(c choice.Choice) bool {
		if c.Level != level || c.At >= end || c.Until <= at {
			return false
		}
		switch f := c.Fix.(type) {
		case choice.Lock:
			return true
		case choice.Chord:
			return h == 0
		case choice.Figure:
			return f.Hand == h
		}
		return false
	})
}

// Lock is the choice that keeps a bar (by index) of a level's page (by index among Pages)
// as it is, in the sheet's key.
func (e *Edition) Lock(level, bar int) choice.Choice {
	b := e.Song.Bars[bar]
	played, _, _ := e.Pages[level].Tune()
	return choice.Choice{Level: e.Pages[level].Level.Number, At: b.At, Until: b.End(),
		Fix: choice.Lock{Bar: choice.BarOf(e.Song, played, bar)}}.In(e.from.Neg())
}
