package gradatim

import (
	"context"
	"slices"

	"gradatim/internal/engrave"
	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Layout says how a score is put on pages. The zero value is a portrait A4 page with the
// fingers that a teacher would write in.
type Layout struct {
	Paper      Paper
	LargePrint bool
	// Fingers chooses among those that stand in the score. Of a score with every finger
	// some are those of its Level, as on a ladder's Page; one in which some stand keeps
	// them.
	Fingers    Fingers
	HideChords bool // print no chord symbols
	Degrees    bool // print 3, ♭7, ♯9 … under the chord symbols
	From, To   int  // bars as printed, both included, without title and foot; 0, 0 is everything
	OneSystem  bool // as one system, cut to its size; the paper does not count
	Continued  bool // bars from the middle leave out what holds there from before: tempo, metre, loudness
	// Column is the width of one endless page for a screen, in mm, 80 to 2000, without title
	// and foot and cut to the music; the paper does not count. 0: pages.
	Column   float64
	Language string // of titles and descriptions: one of Languages; "": English
}

// Engraving is a score on pages. It does not change and may be used by several
// goroutines.
type Engraving struct {
	doc  *engrave.Document
	told leadsheet.Problems
}

// Pages is how many there are, at least one.
func (e *Engraving) Pages() int { return e.doc.Pages() }

// PDF is all pages as one file. The error is the context's, or the writer's.
func (e *Engraving) PDF(ctx context.Context) ([]byte, error) { return e.doc.PDF(ctx) }

// SVG is a page, counted from 0 and below Pages, as a file that needs no other. Notes,
// rests and bars are groups with their ids.
func (e *Engraving) SVG(page int) []byte { return e.doc.SVG(page) }

// PNG is a page, counted from 0 and below Pages, as a picture of 1 to 2400 dots an inch.
func (e *Engraving) PNG(page int, dpi float64) ([]byte, error) { return e.doc.PNG(page, dpi) }

// Problems tell what could not be printed, or had to be printed otherwise.
func (e *Engraving) Problems() leadsheet.Problems { return e.told }

// Engrave prints a score. The error is a leadsheet.Problems where it cannot be printed
// so, or the context's.
func (st *Studio) Engrave(ctx context.Context, s score.Score, l Layout) (*Engraving, error) {
	s, err := l.Cut(s)
	if err != nil {
		return nil, err
	}
	xml, told, err := WriteScore(ctx, s)
	if err != nil {
		return nil, err
	}
	return st.engrave(ctx, xml, l, told)
}

// Cut is what of a score a layout prints: its bars, with its fingers. Engraved with every
// finger and no From and To it is the same picture; whoever keeps pictures knows them by it.
func (l Layout) Cut(s score.Score) (score.Score, error) {
	some := hand.Positions
	if l.Fingers == SomeFingers { // which takes a look at every note
		some = usual(s)
	}
	s = l.Fingers.shown(s, some)
	if l.From == 0 && l.To == 0 {
		return s, nil
	}
	cut, err := Excerpt(s, l.From, l.To) // last: bars are fingered as in the whole
	if err == nil && l.Continued {
		cut = continued(cut, s, l.From)
	}
	return cut, err
}

// continued is an excerpt without what it says only since it begins in the middle: a line
// repeats clefs and key, not tempo, metre and loudness (common practice, no source).
func continued(cut, whole score.Score, from int) score.Score {
	i := slices.IndexFunc(whole.Bars, func(b score.Bar) bool { return b.Number >= from })
	if i <= 0 || len(cut.Bars) == 0 {
		return cut
	}
	at := whole.Bars[i].At
	there := func(d score.Direction) bool {
		return slices.ContainsFunc(whole.Directions, func(x score.Direction) bool { return x.At == at && x.Kind == d.Kind })
	}
	cut.Directions = slices.DeleteFunc(slices.Clone(cut.Directions), func(d score.Direction) bool {
		return d.At == 0 && (d.Kind == score.Dynamic || d.Kind == score.TempoChange) && !there(d)
	})
	cut.Tempo, cut.Feel, cut.Swing = leadsheet.Tempo{}, leadsheet.Unstated, score.Ratio{}
	if m := cut.Bars[0].Meter; m == whole.Bars[i-1].Meter {
		cut.Bars = slices.Clone(cut.Bars)
		for k := range cut.Bars {
			if cut.Bars[k].Meter != m {
				break
			}
			cut.Bars[k].Meter.Symbol = leadsheet.FreeSymbol // holds, and is not printed
		}
	}
	return cut
}

// EngraveFile prints a MusicXML file, plain or packed, as it is, or a MIDI file as it is
// written down: what a score.Score has
// no place for is printed too, unless the Layout asks for some bars or some fingers.
func (st *Studio) EngraveFile(ctx context.Context, f File, l Layout) (*Engraving, error) {
	if l.From == 0 && l.To == 0 && l.Fingers != SomeFingers && !midi(f.Data) {
		e, err := st.engrave(ctx, f.Data, l, nil)
		return e, leadsheet.InFile(err, f.Name)
	}
	s, told, err := ReadScore(f.Name, f.Data)
	if err != nil {
		return nil, err
	}
	e, err := st.Engrave(ctx, s, l)
	if err != nil {
		return nil, leadsheet.InFile(err, f.Name)
	}
	e.told = slices.Concat(told, e.told)
	return e, nil
}

// engrave prints a MusicXML file, of which something was told when it was made.
func (st *Studio) engrave(ctx context.Context, xml []byte, l Layout, told leadsheet.Problems) (*Engraving, error) {
	g, err := st.pages(ctx)
	if err != nil {
		return nil, err
	}
	o := engrave.Layout{Paper: l.Paper.page(), LargePrint: l.LargePrint, HideFingers: l.Fingers == NoFingers, HideChords: l.HideChords, Degrees: l.Degrees, Lang: l.Language}
	if l.From != 0 || l.To != 0 {
		o.Title.Hide, o.HideFoot = true, true
	}
	engraved := g.Pages
	switch {
	case l.OneSystem:
		engraved = g.Part
	case l.Column != 0:
		o.Paper = engrave.Paper{Name: "column", Width: l.Column}
		engraved = g.Column
	}
	w, err := words.In(l.Language)
	if err != nil {
		return nil, err
	}
	doc, err := engraved(ctx, xml, o)
	if err != nil {
		return nil, w.Err(err)
	}
	return &Engraving{doc, w.Problems(slices.Concat(told, doc.Warnings))}, nil
}

// usual are the fingers that a page of the score's level shows: of a level that is not
// built in, as of none, what a level file has that says nothing of fingers. Where a
// choice of fingers has been made already it stays.
func usual(s score.Score) hand.Printed {
	if !hand.Fingered(s) {
		return hand.All
	}
	for _, l := range ladder.Levels() {
		if l.Number == s.Level {
			return l.Fingers
		}
	}
	return hand.Positions
}
