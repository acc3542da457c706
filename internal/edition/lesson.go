package edition

import (
	"context"
	"slices"

	"gradatim/internal/grade"
	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/perform"
	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/score"
	"gradatim/theory"
)

// Lesson gathers what a lesson is written from: the pages with their timing
// and their hardest bars. Where the context ends, pages are missing.
func Lesson(ctx context.Context, as []Page, h hand.Profile) teach.Input {
	in := teach.Input{Hand: h}
	for _, a := range as {
		if a.Failed || len(a.Score.Notes) == 0 {
			continue
		}
		if ctx.Err() != nil {
			break
		}
		if len(in.Pages) == 0 {
			_, in.Song, _ = a.Tune()
			in.Analysis, in.Language = harmony.Analyse(in.Song), a.Language
		}
		in.Pages = append(in.Pages, lessonPage(a))
	}
	return in
}

func lessonPage(a Page) teach.Page {
	p := teach.Page{Level: a.Level}
	// A lesson compares levels, some of which write out what others repeat, or begin with
	// an introduction.
	tune, _, lead := a.Tune()
	p.Score = tune
	whole, _ := a.Played()
	decisions := playedDecisions(a, whole)
	p.Decisions = within(decisions, lead, lead+tune.End())
	for _, u := range a.Used {
		p.Used = append(p.Used, teach.Use{Technique: u.Technique, Bars: u.Bars})
	}
	hardest := a.Score
	if a.framed.Notes > 0 {
		hardest = whole
		hardest.Bars = slices.Clone(hardest.Bars)
		for i := range hardest.Bars {
			hardest.Bars[i].Number = hardest.Bars[i].Part.Place(hardest.Bars[i].Number)
		}
		first, last, _ := whole.OfTune()
		p.Before = around(hardest, decisions, 0, first-1, lead)
		p.After = around(hardest, decisions, last+1, len(whole.Bars)-1, lead)
	}
	for _, h := range grade.Rate(hardest, grade.Options{WithoutTechniques: true}).Hardest {
		p.Hardest = append(p.Hardest, teach.Hard{From: h.First, To: h.Last, Why: h.Text(words.Must(a.Language))})
	}
	if played, err := perform.Perform(a.Score, perform.Options{Even: true}); err == nil {
		timing := played.Timing
		p.Seconds = func(at theory.Dur) float64 { return timing.Seconds(at+lead, 0) }
	}
	return p
}

// around cuts an introduction or a tag, from one bar to another, out of a page as it is
// played; none where it has none.
func around(whole score.Score, decisions []teach.Decision, first, last int, lead theory.Dur) teach.Around {
	if first > last {
		return teach.Around{}
	}
	from, to := whole.Bars[first].At, whole.Bars[last].End()
	return teach.Around{Score: whole.Excerpt(first, last), Decisions: within(decisions, from, to), Offset: from - lead}
}

// within cuts the decisions of a stretch out; it begins at 0.
func within(cs []teach.Decision, from, to theory.Dur) []teach.Decision {
	var out []teach.Decision
	for _, c := range cs {
		if c.At >= to || c.End <= from {
			continue
		}
		cut := func(at *theory.Dur) { *at = min(max(*at, from), to) - from }
		var chords []teach.Chosen
		for _, ch := range c.Chords {
			if ch.At < to && ch.End > from {
				cut(&ch.At)
				cut(&ch.End)
				chords = append(chords, ch)
			}
		}
		c.Chords = chords
		cut(&c.At)
		cut(&c.End)
		out = append(out, c)
	}
	return out
}

// playedDecisions are the decisions of a page on its chords, each as often as it is played.
func playedDecisions(a Page, played score.Score) []teach.Decision {
	var out []teach.Decision
	order := a.Score.Route()
	for k, i := range order {
		b := a.Score.Bars[i]
		later := played.Bars[k].At - b.At
		jumps := k > 0 && order[k-1] != i-1
		for _, d := range a.Decisions {
			if d.At >= b.End() || d.At < b.At && !(jumps && d.End > b.At) {
				continue
			}
			c := teach.Decision{At: max(d.At, b.At) + later, End: d.End + later, Sheet: d.Sheet, Device: d.Device}
			for _, ch := range d.Chords {
				if ch.End > b.At || !jumps {
					c.Chords = append(c.Chords, teach.Chosen{At: max(ch.At+later, c.At), End: ch.End + later, Chord: ch.Chord, Why: ch.Why})
				}
			}
			n := len(out) - 1
			if n >= 0 && out[n].End > c.At { // the music has jumped out of it
				out[n].End = c.At
				if m := len(out[n].Chords) - 1; m >= 0 {
					out[n].Chords[m].End = min(out[n].Chords[m].End, c.At)
				}
			}
			if n >= 0 && jumps && k > 0 && stays(out[n], c) {
				out[n].End = c.End
				out[n].Chords[0].End = c.Chords[0].End
				continue
			}
			out = append(out, c)
		}
	}
	return out
}

// stays tells whether a decision only goes on with the one before it: the same chord of
// the sheet, kept.
func stays(a, b teach.Decision) bool {
	return a.End == b.At && a.Sheet == b.Sheet && len(a.Chords) == 1 && len(b.Chords) == 1 && a.Chords[0].Chord == b.Chords[0].Chord
}
