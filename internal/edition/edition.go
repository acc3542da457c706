package edition

import (
	"context"
	"runtime"
	"slices"
	"sync"

	"gradatim/internal/arrange"
	"gradatim/internal/choice"
	"gradatim/internal/frame"
	"gradatim/internal/hand"
	"gradatim/internal/harmonist"
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
	Repeats Repeats
	Lyrics  Lyrics
	// WrittenRhythm keeps the tune's rhythm where a level would make it easier.
	WrittenRhythm bool
	// Outline are the levels, by number, that have the tune in outline (package outline).
	Outline []int
	// How much is played before the tune and after it.
	Introduction, Ending idiom.Length
	// Plans is where the plans of a long tune are kept once it is changed; nil: nowhere.
	Plans *Plans
	// Language is that of every sentence that package words has; "": the default.
	Language string
}

// Page is a song at one level.
type Page struct {
	arrange.Arrangement
	Song     leadsheet.Song // as arranged: in the key of the page and in its order of bars, with chords
	Language string         // of what is said of it
	Problems leadsheet.Problems
	// Failed is set where no page passed the audit: then there is no score to
	// hand out, and Problems say why.
	Failed bool

	framed frame.Framed // how Song was framed; zero: it is not
}

// What is arranged at most, as played: several times the longest lead sheet. A
// longer tune is refused.
const (
	MaxBars   = 600
	MaxNotes  = 6000 // of the tune
	MaxChords = 2400
)

// Edition is a tune in one key, at every level asked for. It is never changed: With
// gives another one that shares what stays as it was.
type Edition struct {
	Pages []Page
	Song  leadsheet.Song // in the edition's key and in playing order, with chords where the sheet has none

	from     theory.Interval    // the sheet's key to the edition's
	moved    leadsheet.Problems // of the key, and of chords that the sheet has not
	language string
	lyrics   Lyrics
	first    []rung // each level as it comes by itself, before the ladder climbs
	steps    []step // of that
	rungs    []rung // as they stand
	plans    *Plans
	was      *Edition // the one that this is made from, while it is made; nil: none
}

// Make arranges a song at every level asked for. The error is the context's,
// or a leadsheet.Problems where nothing could be arranged at all.
func Make(ctx context.Context, song leadsheet.Song, opt Options) ([]Page, error) {
	e, err := New(ctx, song, opt)
	if err != nil {
		return nil, err
	}
	return e.Pages, nil
}

// New makes the edition of a song; the error is as in Make.
func New(ctx context.Context, song leadsheet.Song, opt Options) (*Edition, error) {
	levels := opt.Levels
	if levels == nil {
		levels = ladder.Levels()
	}
	w, err := words.In(opt.Language)
	if err != nil {
		return nil, err
	}
	e, err := begin(ctx, song, levels, opt)
	return e, w.Err(err)
}

// begin makes the edition; what it refuses is not in words yet.
func begin(ctx context.Context, song leadsheet.Song, levels []ladder.Level, opt Options) (*Edition, error) {
	if err := tooLong(song); err != nil {
		return nil, err
	}
	written := song.Key
	song, moved, err := inKey(song, opt)
	if err != nil {
		return nil, err
	}
	e := &Edition{Song: song, from: theory.NearestInterval(written.Tonic, song.Key.Tonic), moved: moved, language: opt.Language, lyrics: opt.Lyrics, plans: opt.Plans}
	kinds := opt.Kinds
	if kinds == nil {
		kinds = idiom.All()
	}
	kind := func(an harmony.Analysis) idiom.Guess {
		g := idiom.Guess{Sure: true}
		k, ok := idiom.Named(opt.Idiom, kinds)
		if !ok {
			g = idiom.Recognise(e.Song, an, kinds)
			k = g.Idiom
		}
		g.Idiom = k.Of(e.Song, an)
		return g
	}
	an := harmony.Analyse(song)
	if !song.Harmonised() {
		h, ok := harmonist.Of(song, harmonist.Options{Group: harmonist.GroupOf(kind(an).Idiom)})
		if !ok {
			return nil, leadsheet.Problems{leadsheet.Tell(leadsheet.Error, leadsheet.Pos{File: song.File}, "melody-missing.chords")}
		}
		e.Song = h.Song()
		e.moved = append(slices.Clip(e.moved), leadsheet.Tell(leadsheet.Info, leadsheet.Pos{File: song.File}, "chords-made", "Key", h.Key))
		an = harmony.Analyse(e.Song)
	}
	guess := kind(an)
	choices := choice.In(opt.Choices, e.from) // they move with the tune
	printed, respelled := raised(e.Song)
	if respelled != nil {
		e.moved = slices.Concat(e.moved, respelled)
		an = harmony.Analyse(printed)
	}
	ways := sheets{played: sheet{song: printed, analysis: an}}
	on, manner := make([]*sheet, len(levels)), make([]idiom.Idiom, len(levels))
	player := opt.Hand.Player()
	beat := arrange.Counted(printed, guess.Idiom, !opt.WrittenRhythm)
	for i, l := range levels {
		manner[i] = idiom.Manner(guess.Idiom, l, opt.Manner, kinds)
		on[i] = ways.of(manner[i].Shape(l), opt.Repeats).framed(printed, manner[i], l.Like(), opt).outlined(l, opt).eased(l, opt)
		if on[i].easing.outline && manner[i].Touch.Groups { // what does not run is sung
			manner[i].Touch.Groups, manner[i].Touch.Slurs = false, outlineSlurs
		}
	}
	e.first, err = each(len(levels), func(i int) (rung, error) {
		chosen, told := on[i].choices(choices)
		r, err := newRung(ctx, on[i], player, arrange.Options{Level: levels[i], Hand: opt.Hand, Feel: opt.Feel, Tempo: opt.Tempo, Beat: beat, Choices: chosen,
			Idiom: guess, Kind: manner[i]})
		r.told = told
		return r, err
	})
	if err != nil {
		return nil, err
	}
	return e.climbed(ctx)
}

// With makes the edition with other choices, all of them, in the key of the sheet. It
// is the same as a new one that had them from the start; but a level whose choices
// stay is not arranged again, nor is what a level's choices leave as it was.
func (e *Edition) With(ctx context.Context, choices []choice.Choice) (*Edition, error) {
	choices = choice.In(choices, e.from)
	next := *e
	next.was = e
	n := len(e.first)
	was, chosen, told := slices.Clone(e.first), make([][]choice.Choice, n), make([]leadsheet.Problems, n)
	var early []denser // what the ladder will most likely ask for, beside what it asks of
	next.steps = nil
	for i := range was {
		was[i].plans = e.plans
		chosen[i], told[i] = was[i].sheet.choices(choices)
		if !was[i].differs(chosen[i]) {
			if len(next.steps) == i && i < len(e.steps) {
				next.steps = e.steps[:i+1]
			}
			continue
		}
		for _, density := range e.rungs[i].asked {
			early = append(early, denser{i, density})
		}
	}
	made, err := each(n+len(early), func(i int) (rung, error) {
		if i >= n {
			x := early[i-n]
			return rung{}, was[x.level].early(ctx, chosen[x.level], x.density)
		}
		r, err := was[i].with(ctx, chosen[i])
		r.told, r.plans = told[i], e.plans
		return r, err
	})
	if err != nil {
		return nil, err
	}
	next.first = made[:n:n]
	return next.climbed(ctx)
}

// climbed makes the pages out of the levels as they come by themselves.
func (e *Edition) climbed(ctx context.Context) (*Edition, error) {
	e.rungs = slices.Clone(e.first)
	var err error
	if e.steps, err = climb(ctx, e.rungs, e.steps); err != nil {
		return nil, err
	}
	w := words.Must(e.language)
	e.Pages = make([]Page, len(e.rungs))
	for i := range e.Pages {
		e.Pages[i] = e.rungs[i].Page
		e.Pages[i].Language = e.language
		var unsung leadsheet.Problems
		e.Pages[i].Score = titled(w, e.Pages[i], e.rungs[i].sheet.easing)
		e.Pages[i].Score = again(w, e.Pages[i])
		e.Pages[i].Score, unsung = sung(w, e.Pages[i], e.Song, e.rungs[i].sheet.frame.Lead, e.lyrics)
		e.Pages[i].Score = e.rungs[i].sheet.own(e.Pages[i].Score)
		e.Pages[i].framed = e.rungs[i].sheet.frame
		e.Pages[i].Problems = w.Problems(slices.Concat(e.moved, e.rungs[i].sheet.easing.told, e.rungs[i].told, e.Pages[i].Remarks, e.Pages[i].Problems, unsung))
		if was := e.was; was != nil && samePage(was.rungs[i].Page, e.rungs[i].Page) {
			e.Pages[i].Score.Notes, e.Pages[i].Decisions = was.Pages[i].Score.Notes, was.Pages[i].Decisions
			continue
		}
		e.Pages[i] = told(e.Pages[i])
	}
	e.was = nil
	return e, nil
}

// titled writes what stands above and below the music: the level, and the manner where
// it is not the tune's own; the tempo; what the sheet prints of its rights, or all that
// the file beside it tells.
func titled(w *words.Words, p Page, e easing) score.Score {
	s := p.Score
	s.Subtitle = w.Level(p.Level.Number, p.Level.Name)
	if p.Kind.ID != p.Idiom.Idiom.ID {
		s.Subtitle = w.Say("level.manner", "Level", s.Subtitle, "Manner", w.Manner(p.Kind.ID, p.Kind.Name))
	}
	switch {
	case e.outline:
		s.Subtitle = w.Say("level.outline", "Level", s.Subtitle)
	case e.moves > 0:
		s.Subtitle = w.Say("level.eased", "Level", s.Subtitle)
	}
	s.Tempo.Words = w.Tempo(s.Tempo.Words)
	s.Bars = slices.Clone(s.Bars)
	for i := range s.Bars {
		if b := &s.Bars[i]; b.Part != score.Tune && !b.Pickup && b.Number == 1 && i+1 < len(s.Bars) { // a last bar alone needs no name
			b.Section = w.Say("part." + b.Part.String())
		}
	}
	if p.Song.Rights.Filed != "" {
		s.Rights = w.Rights(p.Song.Rights)
	}
	return s
}

// each makes n rungs, as many at once as there are processors: the plan of a long tune is
// large, and more at once are no faster. Of several errors it returns the first one's.
func each(n int, f func(i int) (rung, error)) ([]rung, error) {
	rungs, errs := make([]rung, n), make([]error, n)
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wg sync.WaitGroup
	for i := range n {
		slots <- struct{}{}
		wg.Go(func() {
			defer func() { <-slots }()
			rungs[i], errs[i] = f(i)
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return rungs, nil
}

// Plan returns what the page of a level was made from, by its index among Pages: what
// else the search had to offer. A failed page has one too.
func (e *Edition) Plan(ctx context.Context, i int) (arrange.Plan, error) {
	r := e.rungs[i]
	r.plans = e.plans
	return r.standing(ctx)
}

// tooLong refuses a tune beyond the limits, with the bar that passes one.
func tooLong(song leadsheet.Song) error {
	var out leadsheet.Problems
	refuse := func(at theory.Dur, says leadsheet.Saying, n, most int) {
		out.Tell(leadsheet.Error, song.PosAt(at), says, "N", n, "Most", most)
	}
	if n := len(song.Bars); n > MaxBars {
		refuse(song.Bars[MaxBars].At, "tune-too-long.bars", n, MaxBars)
	}
	if n := len(song.Melody); n > MaxNotes {
		refuse(song.Melody[MaxNotes].At, "tune-too-long.notes", n, MaxNotes)
	}
	if n := len(song.Chords); n > MaxChords {
		refuse(song.Chords[MaxChords].At, "tune-too-long.chords", n, MaxChords)
	}
	if len(out) > 0 {
		return out
	}
	return nil
}
