package edition

import (
	"context"

	"gradatim/internal/grade"
	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/perform"
	"gradatim/internal/teach"
	"gradatim/internal/words"
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
			_, in.Song = a.Played()
			in.Analysis, in.Language = harmony.Analyse(in.Song), a.Language
		}
		in.Pages = append(in.Pages, lessonPage(a))
	}
	return in
}

func lessonPage(a Page) teach.Page {
	p := teach.Page{Level: a.Level}
	p.Score, _ = a.Played() // a lesson compares levels, some of which write out what others repeat
	_, order := a.Score.Played()
	for k, i := range order {
		b := a.Score.Bars[i]
		later := p.Score.Bars[k].At - b.At
		for _, d := range a.Decisions {
			if d.At < b.At || d.At >= b.End() {
				continue
			}
			c := teach.Choice{At: d.At + later, End: d.End + later, Sheet: d.Sheet, Device: d.Device}
			for _, ch := range d.Chords {
				c.Chords = append(c.Chords, teach.Chosen{At: ch.At + later, End: ch.End + later, Chord: ch.Chord, Why: ch.Why})
			}
			p.Choices = append(p.Choices, c)
		}
	}
	for _, u := range a.Used {
		p.Used = append(p.Used, teach.Use{Technique: u.Technique, Bars: u.Bars})
	}
	for _, h := range grade.Rate(a.Score, grade.Options{WithoutTechniques: true}).Hardest {
		p.Hardest = append(p.Hardest, teach.Hard{From: h.First, To: h.Last, Why: h.Text(words.Must(a.Language))})
	}
	if played, err := perform.Perform(a.Score, perform.Options{Even: true}); err == nil {
		timing := played.Timing
		p.Seconds = func(at theory.Dur) float64 { return timing.Seconds(at, 0) }
	}
	return p
}
