package gradatim

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// File is a file in memory. Its name stands in messages.
type File struct {
	Name string
	Data []byte
}

func (f File) none() bool { return f.Name == "" && len(f.Data) == 0 }

// StandardInput is the name of a sheet that comes from no file.
const StandardInput = "standard input"

// Job is all that a ladder and a lesson are made from: a lead sheet and every option.
// The zero value of an option is what is done where nothing is said. Where pages and
// lessons go is no part of a job: whoever asks a Session for them sees to it. Two jobs that
// have the same Text give the same bytes.
type Job struct {
	Sheet File // ABC or MusicXML, told by its contents
	Tune  int  // which of several in the file; 0: the first
	// Mend are the ids of suspected errors of the sheet whose likely reading is taken
	// (Problem.Mend tells them), or SureMends; nil: the sheet is read as it stands.
	Mend   []string
	Rights File // what is known of the tune's rights (docs/formats.md)

	Levels    []int  // by number; nil: all
	OwnLevels []File // level files, each a level more, or in the place of one with its number
	Keys      []Key  // nil: the tune's own; a lesson has a part for each
	Feel      leadsheet.Feel
	Tempo     int // beats a minute at every level; 0: a share of the tune's, by level
	Style     Style
	OwnStyles []File // kinds of tune, each one more, or in the place of one with its id
	Manner    Manner
	Repeats   Repeats
	Lyrics    Lyrics
	// WrittenRhythm leaves the tune's rhythm as it is written at every level: a level's file
	// may have it moved onto eighths for a beginner.
	WrittenRhythm bool
	// Outline are the levels, by number, that have the tune in outline: on each place of the
	// beat the note that carries it, for hands that cannot run yet. Nil: every level has
	// every note.
	Outline []int
	// What is played before the tune, and after it.
	Introduction, Ending Around

	Hand    Hand
	Choices File   // what a teacher has fixed by hand
	Lesson  File   // what a teacher gives to the lesson of her own: words, look, order (docs/formats.md)
	Beside  []File // files of locked bars that Choices names, and those that Lesson names

	Language   string // of all that is said: one of Languages; "": English
	Fingers    Fingers
	Paper      Paper
	LargePrint bool
	Audio      Audio
	Teacher    bool // the lesson has the teacher's page, too, which is not for pupils
}

// MaxTempo bounds Job.Tempo.
const MaxTempo = 400

// Stem is what files made of the job are called by: the sheet's name without its
// extension, and the number of the tune where one of several was asked for.
func (j Job) Stem() string {
	name := j.Sheet.Name
	if name == StandardInput || Stem(name, 0) == "" {
		name = "sheet"
	}
	return Stem(name, j.Tune)
}

// Check tells what is wrong with the job's options, all of it, as a
// leadsheet.Problems; what is wrong with the sheet and the other files, Open tells.
func (j Job) Check() error {
	var ps leadsheet.Problems
	bad := func(says leadsheet.Saying, parts ...any) { ps.Tell(leadsheet.Error, leadsheet.Pos{}, says, parts...) }
	if j.Tune < 0 {
		bad("job-option.tune", "Option", "tune", "Value", j.Tune)
	}
	if j.Tempo < 0 || j.Tempo > MaxTempo {
		bad("job-option.tempo", "Option", "tempo", "Value", j.Tempo, "Most", MaxTempo)
	}
	for _, id := range j.Mend {
		if id == "" || strings.ContainsAny(id, " \t\r\n") {
			bad("mend-unknown", "ID", leadsheet.Quoted(id))
		}
	}
	for _, k := range j.Keys {
		if p, err := ParseKey(k.String()); err != nil || p != k {
			bad("job-option.key", "Option", "key", "Value", leadsheet.Quoted(k))
		}
	}
	if h, err := ParseHand(j.Hand.String()); err != nil || h != j.Hand.normal() {
		bad("job-option.hand", "Option", "hand", "Value", j.Hand.String())
	}
	if j.Feel > leadsheet.Swing {
		bad("job-option.feel", "Option", "feel", "Value", int(j.Feel))
	}
	if _, err := words.In(j.Language); err != nil {
		bad("job-option.language", "Option", "language", "Value", leadsheet.Quoted(j.Language), "Languages", strings.Join(Languages(), ", "))
	}
	for _, o := range []struct {
		what   string
		v, end uint8
	}{{"fingers", uint8(j.Fingers), uint8(len(fingersNames))}, {"paper", uint8(j.Paper), uint8(len(paperNames))},
		{"audio", uint8(j.Audio), uint8(len(audioNames))}, {"manner", uint8(j.Manner), uint8(len(mannerNames))}, {"repeats", uint8(j.Repeats), uint8(len(repeatsNames))}, {"lyrics", uint8(j.Lyrics), uint8(len(lyricsNames))},
		{"introduction", uint8(j.Introduction), uint8(len(aroundNames))}, {"ending", uint8(j.Ending), uint8(len(aroundNames))}} {
		if o.v >= o.end {
			bad("job-option.range", "Option", o.what, "Value", int(o.v), "End", int(o.end))
		}
	}
	w, err := words.In(j.Language)
	if err != nil {
		w = words.Must(words.Default)
	}
	return w.Err(ps.Err())
}

// normal returns the job with each option written in one way.
func (j Job) normal() Job {
	if j.Language == words.Default {
		j.Language = ""
	}
	j.Levels = slices.Compact(slices.Sorted(slices.Values(j.Levels)))
	j.Outline = slices.Compact(slices.Sorted(slices.Values(j.Outline)))
	j.Mend = slices.Compact(slices.Sorted(slices.Values(j.Mend)))
	var keys []Key
	for _, k := range j.Keys {
		if !slices.Contains(keys, k) {
			keys = append(keys, k)
		}
	}
	if slices.Equal(keys, []Key{OwnKey}) {
		keys = nil
	}
	j.Keys, j.Hand = keys, j.Hand.normal()
	for _, f := range []*File{&j.Sheet, &j.Rights, &j.Choices, &j.Lesson} {
		*f = f.normal()
	}
	for _, fs := range []*[]File{&j.OwnLevels, &j.OwnStyles, &j.Beside} {
		var out []File
		for _, f := range *fs {
			out = append(out, f.normal())
		}
		*fs = out
	}
	return j
}

func (f File) normal() File {
	if len(f.Data) == 0 {
		f.Data = nil
	}
	return f
}

// beside opens one of the files that the choices name.
func (j Job) beside(name string) ([]byte, error) {
	for _, f := range j.Beside {
		if f.Name == name || filepath.Base(f.Name) == name {
			return f.Data, nil
		}
	}
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{File: j.Choices.Name}, "file-read.beside", "Name", leadsheet.Quoted(name))
	return nil, ps
}

// String is a line that names the job.
func (j Job) String() string {
	return fmt.Sprintf("%s (%s)", strings.TrimSpace(j.Stem()), j.Hash()[:12])
}
