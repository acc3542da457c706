package gradatim

import (
	"context"

	"gradatim/internal/grade"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// RateOptions say whose hands a score is rated for and in which language what is said
// of it. The zero value is ready.
type RateOptions struct {
	Hand     Hand
	Language string // one of Languages; "": English
}

// Rating says how hard a score is at its printed tempo, and why.
type Rating struct {
	Title string
	// Number is in tenths, from 0 (nothing to play) to 1000, which nothing reaches: the
	// usual page of the built-in level n stands at 100·n. A reader is told Whole.
	Number   int
	Scale    int    // version of the scale: numbers of two versions are not to be compared
	Place    string // among the levels, as a sentence
	Levels   []int  // that it is like, one, or that it lies between, two; none beside the ladder
	Quarters int    // quarter notes a minute that it holds for
	Assumed  bool   // the score prints no tempo

	Measures []Measure
	Hardest  []Passage
	Demands  []Demand
	// Shown are the techniques that the notes show, in teaching order. Heard is set
	// where the score prints no chords, and those that harmony needs were named by ear.
	Shown []Shown
	Heard bool

	of    grade.Rating
	words *words.Words
}

// Whole is the number as a reader is told it, from 0 to 100.
func (r Rating) Whole() int { return grade.Number(r.Number).Whole() }

// Measure is one measure of a score, and what it means at the piano.
type Measure struct {
	ID     string     // "moves"
	Hand   score.Hand // 0: both together
	Value  int        // in thousandths of Unit
	Unit   string
	Number int // of a page with which everything would stand as this does, as Rating.Number
	Text   string
	// First and Last are the printed numbers of the bars where it is worst, where Placed
	// is set.
	First, Last int
	Placed      bool
}

// Whole is the number as a reader is told it, from 0 to 100.
func (m Measure) Whole() int { return grade.Number(m.Number).Whole() }

// Passage is a stretch of bars that is harder than the rest.
type Passage struct {
	First, Last int    // as printed
	Text        string // why
}

// Demand is what a score asks of one hand beyond ease, and how often. Wide stretches can
// hurt a hand: the Caution goes with it.
type Demand struct {
	Name    string
	Hand    score.Hand
	Times   int
	Bars    []int // as printed, ascending
	Width   int   // of the widest place, in hundredths of a millimetre
	Caution string
}

// Shown is a technique that the notes of a score show, however they were made.
type Shown struct {
	Use
	Level int // number of the built-in level that introduces it
	Times int
}

// Rate says how hard a piano score is, ours or anybody's. The error is the context's,
// or that there is no such language.
func Rate(ctx context.Context, s score.Score, o RateOptions) (Rating, error) {
	if err := context.Cause(ctx); err != nil {
		return Rating{}, err
	}
	w, err := words.In(o.Language)
	if err != nil {
		return Rating{}, err
	}
	player := o.Hand.profile()
	r, err := unlessEnded(ctx, func() (grade.Rating, error) {
		return grade.Rate(s, grade.Options{Hand: player, Fingering: grade.ByHand(player)}), nil
	})
	if err != nil {
		return Rating{}, err
	}
	out := Rating{Title: r.Title, Number: int(r.Number), Scale: grade.ScaleVersion, Place: w.Value(r.Number.Place()), Levels: r.Number.Levels(), Quarters: r.Quarters, Assumed: r.Assumed, Heard: r.Heard, of: r, words: w}
	for _, f := range r.Features {
		out.Measures = append(out.Measures, Measure{f.ID, f.Hand, f.Value, f.Unit, int(f.Number), f.Text(w), f.First, f.Last, f.Placed})
	}
	for _, h := range r.Hardest {
		out.Hardest = append(out.Hardest, Passage{h.First, h.Last, h.Text(w)})
	}
	for _, d := range r.Demands {
		of := "demand." + d.Kind.String()
		out.Demands = append(out.Demands, Demand{w.Say(of + ".name"), d.Hand, d.Times, d.Bars, int(d.Width), w.Say(of + ".caution")})
	}
	for _, f := range r.Techniques {
		out.Shown = append(out.Shown, Shown{Use{f.ID, w.Technique(f.ID).Title(), f.Bars}, f.Level, f.Times})
	}
	return out, context.Cause(ctx)
}

// JSON is the JSON of what Rate returned, with what was told in reading the score
// (docs/formats.md).
func (r Rating) JSON(told leadsheet.Problems) ([]byte, error) {
	w := r.words
	if w == nil {
		w = words.Must(words.Default)
	}
	data, err := r.of.JSONWith(told, w)
	return append(data, '\n'), err
}
