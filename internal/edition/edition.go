package edition

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"gradatim/internal/arrange"
	"gradatim/internal/choice"
	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Options say which pages to make and for whom. The zero value makes every
// level in the tune's own key for the default hand.
type Options struct {
	Levels  []ladder.Level // nil: all that are built
	Key     theory.Key     // zero: the tune's own; only the tonic is asked for
	Easy    bool           // choose a friendly key instead
	Feel    leadsheet.Feel
	Tempo   leadsheet.Tempo
	Hand    hand.Profile
	Idiom   string // id of a kind of tune; "": recognised
	Manner  idiom.Way
	Kinds   []idiom.Idiom   // nil: the built-in ones
	Choices []choice.Choice // in the key of the sheet
	// Language is that of every sentence that package words has; "": the default.
	Language string
}

// Page is a song at one level.
type Page struct {
	arrange.Arrangement
	Song     leadsheet.Song // as arranged: in the key of the page
	Language string         // of what is said of it
	// Failed is set where no page passed the audit: then there is no score to
	// hand out, and Problems say why.
	Failed bool
}

// What is arranged at most, as played: several times the longest lead sheet. A
// longer tune is refused.
const (
	MaxBars   = 600
	MaxNotes  = 6000 // of the tune
	MaxChords = 2400
)

// Make arranges a song at every level asked for. The error is the context's,
// or a leadsheet.Problems where nothing could be arranged at all.
func Make(ctx context.Context, song leadsheet.Song, opt Options) ([]Page, error) {
	levels := opt.Levels
	if levels == nil {
		levels = ladder.Levels()
	}
	if _, err := words.In(opt.Language); err != nil {
		return nil, err
	}
	if err := tooLong(song); err != nil {
		return nil, err
	}
	written := song.Key
	song, moved, err := inKey(song, opt)
	if err != nil {
		return nil, err
	}
	opt.Choices = choice.In(opt.Choices, nearest(written.Tonic, song.Key.Tonic)) // they move with the tune
	analysis := harmony.Analyse(song)
	if len(song.Chords) == 0 {
		if song, err = harmony.Harmonise(song); err != nil {
			return nil, err
		}
		analysis = harmony.Analyse(song)
	}
	kinds := opt.Kinds
	if kinds == nil {
		kinds = idiom.All()
	}
	guess := idiom.Recognise(song, analysis, kinds)
	if k, ok := idiom.Named(opt.Idiom, kinds); ok {
		guess = idiom.Guess{Idiom: k, Sure: true}
	}
	rungs, errs := make([]rung, len(levels)), make([]error, len(levels))
	var wg sync.WaitGroup
	for i, l := range levels {
		opt := arrange.Options{Level: l, Hand: opt.Hand, Feel: opt.Feel, Tempo: opt.Tempo, Choices: opt.Choices,
			Idiom: guess, Kind: idiom.Manner(guess.Idiom, l, opt.Manner, kinds)}
		wg.Go(func() { rungs[i], errs[i] = newRung(ctx, song, analysis, opt) })
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	if err := climb(ctx, song, analysis, rungs); err != nil {
		return nil, err
	}
	out := make([]Page, len(rungs))
	for i := range out {
		out[i] = rungs[i].Page
		out[i].Language = opt.Language
		out[i].Problems = append(slices.Clone(moved), out[i].Problems...)
	}
	return out, nil
}

// tooLong refuses a tune beyond the limits, with the bar that passes one.
func tooLong(song leadsheet.Song) error {
	var ps leadsheet.Problems
	refuse := func(at theory.Dur, what string, n, most int) {
		ps.Add(leadsheet.Error, song.PosAt(at), "tune-too-long", fmt.Sprintf("the tune has %d %s as played; %d are arranged at most", n, what, most), "cut it into parts, or leave repeats out")
	}
	if n := len(song.Bars); n > MaxBars {
		refuse(song.Bars[MaxBars].At, "bars", n, MaxBars)
	}
	if n := len(song.Melody); n > MaxNotes {
		refuse(song.Melody[MaxNotes].At, "notes", n, MaxNotes)
	}
	if n := len(song.Chords); n > MaxChords {
		refuse(song.Chords[MaxChords].At, "chords", n, MaxChords)
	}
	return ps.Err()
}
