package gradatim

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/choice"
	"gradatim/internal/edition"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Choice is one thing that a teacher fixes at one level: it says where, and one thing of
// what. It stands in a file of choices as its String, a table; docs/formats.md says more
// of each field. Chords and notes are in the key of the sheet.
type Choice struct {
	Level int
	// Where: a bar of the sheet, where a repeat stands once, on which pass (0: each time
	// that it is played), from which beat ("2.5"; "": the first), for how many bars or
	// for which length ("1/2"; both left out: to the end of the bar).
	Bar, Pass int
	Beat      string
	Bars      int
	Length    string

	Chord     string     // "F7"
	Technique string     // id of a technique to use
	Avoid     string     // id of one to leave alone
	Hand      score.Hand // whose Figure, note or Finger; 0: whichever has it
	Figure    string     // what the hand plays: "walking-bass: F2@1:1/4 A2@2:1/4 …"
	Add       string     // a note more: "C#3@2:1/4"
	Take      string     // a note less: "C#3"
	Move, To  string     // a note moved: "C#3" to "E3@2:1/4"
	Note      string     // the note for
	Finger    int        // a finger, 1 to 5
	Octave    int        // the tune, by so many octaves
	Dynamic   string     // how loud: "mf"
}

// String writes the choice as a table of a file of choices, version 2.
func (c Choice) String() string { return choice.Written(c).String() }

// Change is the session with further choices. A choice takes the place of earlier ones
// that it contradicts. Only what the choices touch is searched again; the pages are
// those that Open would give for the new Job. The session itself stays as it is, so
// that a change can be taken back. The error is a leadsheet.Problems where a choice
// means nothing, or the context's.
func (s *Session) Change(ctx context.Context, choices ...Choice) (*Session, error) {
	var text strings.Builder
	for _, c := range choices {
		text.WriteString("\n" + c.String())
	}
	made, _, err := choice.Parse("the choice", []byte(choicesHead+text.String()), s.song, s.built, nil)
	if err != nil {
		return nil, s.words().Err(err)
	}
	kept := choice.Besides(s.chosen, made)
	if len(kept) == len(s.chosen) && s.choicesVersion() == choice.Version { // the teacher's text stays as she wrote it
		data := slices.Concat(s.job.Choices.Data, []byte(text.String()))
		if s.job.Choices.none() {
			data = []byte(choicesHead + text.String())
		}
		return s.chose(ctx, data, s.job.Beside)
	}
	return s.chose(ctx, choice.Format(s.song, slices.Concat(kept, made)), nil)
}

var choicesHead = fmt.Sprintf("version = %d\n", choice.Version)

// choicesVersion is the version of the file of choices; the newest where there is none.
func (s *Session) choicesVersion() int {
	if version, _, ok := choice.Head(s.job.Choices.Data); ok && !s.job.Choices.none() {
		return version
	}
	return choice.Version
}

// Lock is the session in which some bars of a level, as printed, stay as they are now,
// whatever else is changed.
func (s *Session) Lock(ctx context.Context, level int, bars ...int) (*Session, error) {
	e, i, err := s.level(ctx, level)
	if err != nil {
		return nil, err
	}
	var made []choice.Choice
	for _, number := range bars {
		bar, err := s.bar(number)
		if err != nil {
			return nil, err
		}
		made = append(made, e.Lock(i, bar))
	}
	return s.chose(ctx, choice.Format(s.song, slices.Concat(choice.Besides(s.chosen, made), made)), nil)
}

// Free is the session without the choices that begin in some bars of a level, as
// printed.
func (s *Session) Free(ctx context.Context, level int, bars ...int) (*Session, error) {
	kept := slices.Clone(s.chosen)
	for _, number := range bars {
		bar, err := s.bar(number)
		if err != nil {
			return nil, err
		}
		b := s.song.Bars[bar]
		kept = slices.DeleteFunc(kept, func(c choice.Choice) bool { return c.Level == level && c.At >= b.At && c.At < b.End() })
	}
	return s.chose(ctx, choice.Format(s.song, kept), nil)
}

// Fixed is a choice that holds on a page. Of a bar that is locked only its place is said.
type Fixed struct {
	Choice
	Lock bool // the bar stays as it is
}

// Chosen lists what is fixed at a level in a bar, as printed: also by a choice that begins
// before the bar or ends after it.
func (s *Session) Chosen(level, bar int) ([]Fixed, error) {
	i, err := s.bar(bar)
	if err != nil {
		return nil, err
	}
	b := s.song.Bars[i]
	var out []Fixed
	for _, c := range s.chosen {
		if c.Level == level && c.At < b.End() && c.Until > b.At {
			out = append(out, s.fixed(c))
		}
	}
	return out, nil
}

// fixed says a choice as its file does.
func (s *Session) fixed(c choice.Choice) Fixed {
	if _, ok := c.Fix.(choice.Lock); ok {
		b := s.song.Bars[s.song.BarAt(c.At)]
		return Fixed{Choice{Level: c.Level, Bar: b.Sheet, Pass: b.Pass}, true}
	}
	return Fixed{Choice(choice.Write(s.song, c)), false}
}

// LetGo is the session without a choice, as Chosen lists it, on every pass on which it holds.
func (s *Session) LetGo(ctx context.Context, f Fixed) (*Session, error) {
	f.Pass = 0
	kept := slices.DeleteFunc(slices.Clone(s.chosen), func(c choice.Choice) bool {
		x := s.fixed(c)
		x.Pass = 0
		return x == f
	})
	return s.chose(ctx, choice.Format(s.song, kept), nil)
}

// bar finds a bar by its number as printed.
func (s *Session) bar(number int) (int, error) {
	i := slices.IndexFunc(s.song.Bars, func(b leadsheet.Bar) bool { return b.Number == number })
	if i >= 0 {
		return i, nil
	}
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{File: s.song.File}, "bar-unknown", "Bar", number)
	return 0, s.words().Problems(ps)
}

// chose is the session with another file of choices.
func (s *Session) chose(ctx context.Context, data []byte, beside []File) (*Session, error) {
	next := &Session{studio: s.studio, job: s.job, built: s.built, levels: s.levels, kinds: s.kinds, turn: make(chan struct{}, 1)}
	next.job.Choices.Data, next.job.Beside = data, beside
	if next.job.Choices.Name == "" {
		next.job.Choices.Name = s.job.Stem() + "-choices.toml"
	}
	next.song = s.song
	next.song.Problems = s.song.Problems[:len(s.song.Problems)-s.toldOfChoices]
	if err := next.readChoices(); err != nil {
		return nil, s.words().Err(err)
	}
	es, pages, err := s.made(ctx)
	if err != nil {
		return nil, err
	}
	next.before = pages
	for _, e := range es {
		changed, err := e.With(ctx, next.chosen)
		if err != nil {
			return nil, err
		}
		next.editions = append(next.editions, changed)
	}
	return next, nil
}

// ChoiceFiles lists the files that a file of choices names, which Job.Beside has to
// hold.
func ChoiceFiles(data []byte) []string {
	_, beside, _ := choice.Head(data)
	return beside // Open says what is wrong with a file that cannot be read
}

// Decision is one place of a page where the search had to choose.
type Decision struct {
	Bar   int // as printed
	Beat  leadsheet.Beat
	Hand  score.Hand // whose notes; 0: which chords
	Fixed bool       // the teacher has chosen
	// Runners are the ways to decide, the one that stands first, then by their price.
	Runners []Runner
}

// Runner is one way to decide.
type Runner struct {
	Technique string // id; "": the sheet's own chord, a rest, or by hand
	Text      string // the chords or notes, in the page's key
	Why       string // a sentence to read out; may be empty
	// Extra is how much dearer the whole page would be, in the search's own measure,
	// exactly: below 0 where a choice keeps a better one away.
	Extra   int
	Choices []Choice // that make it so, for Change
}

// RunnersUp lists what was decided in a bar, as printed, of a level's page, and what else
// there was: the chords that begin in it, then what each hand plays.
func (s *Session) RunnersUp(ctx context.Context, level, bar int) ([]Decision, error) {
	e, i, err := s.level(ctx, level)
	if err != nil {
		return nil, err
	}
	b, err := s.bar(bar)
	if err != nil {
		return nil, err
	}
	ds, err := e.Decisions(ctx, i, b)
	if err != nil {
		return nil, err
	}
	out := make([]Decision, len(ds))
	for k, d := range ds {
		out[k] = s.decision(d)
	}
	return out, nil
}

// Undecided lists those of RunnersUp that the teacher has left to the program.
func (s *Session) Undecided(ctx context.Context, level, bar int) ([]Decision, error) {
	ds, err := s.RunnersUp(ctx, level, bar)
	return slices.DeleteFunc(ds, func(d Decision) bool { return d.Fixed }), err
}

func (s *Session) decision(d edition.Decision) Decision {
	pos := s.song.PosAt(d.At)
	out := Decision{Bar: pos.Bar, Beat: pos.Beat, Hand: d.Hand, Fixed: d.Fixed}
	w := words.Must(s.job.Language)
	for _, r := range d.Runners {
		x := Runner{Technique: r.Technique, Text: r.Text, Why: w.Reason(r.Why), Extra: r.Extra}
		for _, c := range r.Choices {
			x.Choices = append(x.Choices, Choice(choice.Write(s.song, c)))
		}
		out.Runners = append(out.Runners, x)
	}
	return out
}
