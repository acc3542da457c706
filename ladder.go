package gradatim

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"gradatim/internal/arrange"
	"gradatim/internal/audit"
	"gradatim/internal/choice"
	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
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

// Arrangement is a song at one level.
type Arrangement struct {
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

// Ladder arranges a song at every level asked for. The error is the context's,
// or a leadsheet.Problems where nothing could be arranged at all.
func Ladder(ctx context.Context, song leadsheet.Song, opt Options) ([]Arrangement, error) {
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
	out := make([]Arrangement, len(rungs))
	for i := range out {
		out[i] = rungs[i].Arrangement
		out[i].Language = opt.Language
		out[i].Problems = append(slices.Clone(moved), out[i].Problems...)
	}
	return out, nil
}

// repairs is how often a page is made again, more plainly where it failed.
const repairs = 8

// judge has the page of a plan audited and fingers it. Bars that fail are made
// again with plainer figures, until all pass or nothing plainer is left.
func judge(ctx context.Context, song leadsheet.Song, plan arrange.Plan, a arrange.Arrangement, player hand.Profile) (Arrangement, error) {
	plain := map[int]arrange.Plainness{}
	var told leadsheet.Problems
	for try := 0; ; try++ {
		found := audit.Check(a.Score, audit.Options{Song: &song, Hand: player})
		if len(found) == 0 || try == repairs {
			out := Arrangement{Arrangement: a, Song: song}
			if len(found) > 0 {
				out.Failed = true
				out.Problems = append(out.Problems, audit.Problems(found)...)
			} else {
				out.Problems = append(out.Problems, told...)
				out.Score = hand.FingerScore(out.Score, player)
			}
			out.Problems.Sort()
			return out, nil
		}
		seen, letGo := map[int]bool{}, map[int]string{}
		for _, v := range found {
			b := song.BarAt(v.At)
			if b < 0 || seen[b] {
				continue
			}
			seen[b] = true
			if plan.Fixes(b) { // the rules go before what the teacher has fixed
				letGo[b] = fmt.Sprintf("on beat %s %s [%s]", v.Pos.Beat, v.Text, v.Code)
				continue
			}
			if plain[b] == (arrange.Plainness{}) {
				pos := v.Pos
				pos.File = song.File
				told.Add(leadsheet.Info, pos, simplified, fmt.Sprintf("%s is made plainer: %s", barName(v.Pos.Bar), v.Text), "")
			}
			plain[b] = plainer(plain[b], a.Score, v.Notes, try)
		}
		var err error
		if len(letGo) > 0 {
			if plan, err = plan.LetGo(ctx, letGo); err != nil {
				return Arrangement{}, err
			}
		}
		if a, err = plan.Page(ctx, plain); err != nil {
			return Arrangement{}, err
		}
	}
}

// simplified is the code of the problem that tells of a bar made again.
const simplified = "bar-simplified"

// plainer says what to simplify after a violation: the ornament if one is at
// fault, else the right hand under the tune, else the left; everything where that
// did not help.
func plainer(p arrange.Plainness, s score.Score, ids []string, try int) arrange.Plainness {
	if try >= repairs/2 {
		return arrange.Plainness{Left: p.Left + 1, Right: p.Right + 1, Ornaments: p.Ornaments + 1}
	}
	ornament, right := false, false
	for _, n := range s.Notes {
		if !slices.Contains(ids, n.ID) {
			continue
		}
		switch n.Origin.Kind {
		case score.Ornamental, score.Fill, score.Run:
			ornament = true
		case score.Melody:
		default:
			right = right || n.Hand == score.Right
		}
	}
	switch {
	case ornament:
		p.Ornaments++
	case right:
		p.Right++
	default:
		p.Left++
	}
	return p
}

func barName(n int) string {
	if n == 0 {
		return "the pick-up"
	}
	return fmt.Sprintf("bar %d", n)
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
