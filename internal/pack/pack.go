// Package pack puts a lesson together: a static site that opens from a folder
// without a network, a printed workbook, the scores and recordings beside them,
// and a manifest with a hash of every file.
//
// It joins what others make (words, pages, sound) and decides nothing about
// music: no note, no chord, no sentence of teaching begins here. The same input
// gives the same bytes.
package pack

import (
	"context"
	"io"
	"slices"

	"gradatim/internal/engrave"
	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/internal/perform"
	"gradatim/internal/sound/codec"
	"gradatim/internal/teach"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Input is what a pack is made of.
type Input struct {
	Name     string         // stem of the files' names: "lantern"
	Song     leadsheet.Song // as it was handed in; its Rights rule
	Editions []Edition      // one for each key, at least one
	Hand     hand.Profile
	Language string // of the site and the workbook, as package words has them; "": the default
	Own      Own    // what a teacher gives to it
	// Program names what made the pack, and its version. It is part of every
	// hash of inputs: another program makes everything again.
	Program string
	// Job is the SHA-256 of all that the other fields and the options are made from, in
	// hexadecimal; "": it is not known.
	Job string
}

// Edition is the ladder of a tune in one key.
type Edition struct {
	Key    theory.Key
	Lesson teach.Lesson
	Pages  []Page // as Lesson.Levels, in the same order
	// Refused are the levels for which no page passed the audit, with why.
	Refused []Refusal
}

// Refusal is a level that could not be made.
type Refusal struct {
	Level    ladder.Level
	Problems leadsheet.Problems
}

// Page is one level in one key.
type Page struct {
	Level ladder.Level
	// Score is the page with every fingering; Printed is the same with those
	// that are printed at this level.
	Score, Printed score.Score
	Account        []byte // JSON: why every note is there
}

// Audio says how much sound a pack carries.
type Audio uint8

// Amounts of sound.
const (
	SomeAudio Audio = iota + 1 // full tempo: both hands, each alone, all but the tune
	AllAudio                   // the slower tempi too
	NoAudio
)

// Recorder makes sound files of scores.
type Recorder interface {
	Record(ctx context.Context, w io.Writer, s score.Score, t perform.Take, format codec.Format, progress func(float64)) (leadsheet.Problems, error)
}

// Tools are what the parts are made with.
type Tools struct {
	Engraver *engrave.Engraver
	Recorder Recorder       // may be nil where Options.Audio is NoAudio
	Takes    []perform.Take // all that there are; Audio chooses among them
}

// Options say what a pack contains.
type Options struct {
	Audio      Audio         // 0: SomeAudio
	Paper      engrave.Paper // of the PDF files; zero: A4
	LargePrint bool
	// Progress, if not nil, is told when a part is begun, goes on and is done. It
	// is called from several goroutines, one call at a time.
	Progress func(Progress)
}

// Progress tells of one part.
type Progress struct {
	Part   string   // "level 2: page", "level 2: left hand alone"
	Share  float64  // of this part; 1 when it is done
	Reused bool     // nothing it is made of has changed
	Parts  int      // of the pack
	Done   int      // parts that are done
	All    []string // the names of the parts, in order
}

// takes chooses the recordings that a pack carries.
func (o Options) takes(all []perform.Take) []perform.Take {
	switch o.Audio {
	case NoAudio:
		return nil
	case AllAudio:
		return all
	}
	return slices.DeleteFunc(slices.Clone(all), func(t perform.Take) bool { return t.Options.Tempo.Percent != 0 })
}

// Kbps is the bit rate of a lesson's recordings, in kbit/s. A phone carries twenty of them: at half
// the 192 of single recordings the noise stays 20 dB below what the sound hides (docs/mp3.md).
const Kbps = 96

// CountIn is the number of bars that are clicked before every recording; the
// player on the page can leave them out.
const CountIn = 1
