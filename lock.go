package gradatim

import (
	"context"
	"slices"

	"gradatim/internal/account"
	"gradatim/internal/choice"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Explained is a page that was read from a file, with the origins that its account
// (Session.Account) gives its notes. Notes of which it says nothing have none.
func Explained(page score.Score, why []byte) (score.Score, error) {
	origins, err := account.Origins(why)
	if err != nil {
		return page, err
	}
	page.Notes = slices.Clone(page.Notes)
	for i := range page.Notes {
		page.Notes[i].Origin = origins[page.Notes[i].ID]
	}
	return page, nil
}

// LockText writes bars of a page of ours, in any key, as text that keeps them note for
// note, whatever a newer version would write in their place: a file that a file of
// choices names (docs/formats.md). The song is the lead sheet that the page arranges;
// bars are counted as the sheet has them, a repeat once; none are all. The error is a
// leadsheet.Problems where the page is of another sheet or there is no such bar, or the
// context's.
func LockText(ctx context.Context, page score.Score, song leadsheet.Song, bars ...int) ([]byte, error) {
	var ps leadsheet.Problems
	page, _ = page.Played()
	if first, last, ok := page.OfTune(); ok {
		page = page.Excerpt(first, last) // what stands around the tune is no bar of the sheet
	}
	if len(page.Bars) == 0 || len(song.Bars) == 0 || page.End() != song.End() || slices.ContainsFunc(song.Bars, func(b leadsheet.Bar) bool { return page.Bars[page.BarAt(b.At)].At != b.At }) {
		ps.Tell(leadsheet.Error, leadsheet.Pos{}, "lock-other")
		return nil, words.Must(words.Default).Problems(ps)
	}
	home := theory.NearestInterval(page.Bars[0].Key.Tonic, song.Bars[0].Key.Tonic)
	moved := song.Transpose(home.Neg())
	var locked []choice.Bar
	for i, b := range song.Bars {
		if err := context.Cause(ctx); err != nil {
			return nil, err
		}
		if len(bars) == 0 || slices.Contains(bars, b.Sheet) {
			locked = append(locked, choice.BarOf(moved, page, i).In(home))
		}
	}
	if len(locked) == 0 {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: song.File}, "lock-empty", "Bars", bars[0])
		return nil, words.Must(words.Default).Problems(ps)
	}
	return choice.FormatBars(song, locked), nil
}
