package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
)

// jobFlags are the options of whatever is made from a lead sheet: declared once, so
// that one command takes what another does.
type jobFlags struct {
	f  *flagSet
	sh *shell

	tempo                                                      *int
	tune                                                       *string
	levels, outline, key, feel, style, manner, repeats, lyrics *string
	introduction, ending                                       *string
	reach, handFile, choices, levelFile, styles                *string
	fingers, paper, language                                   *string
	large, written                                             *bool
}

// declareJob declares them. What is made in several keys at once says so.
func declareJob(f *flagSet, keys string) *jobFlags {
	j := &jobFlags{f: f, sh: f.sh}
	j.tune = f.Tune()
	f.Mend()
	j.levels = f.String("levels", "", "`LIST`: levels by number or name: 1-2, late-elementary or 1,3-5 (default: all)")
	j.key = f.String("key", "", keys)
	j.feel = f.String("feel", "auto", "`FEEL`: swing, straight, or auto: the level's feel, else the tune's (default: auto)")
	j.style = f.String("style", "auto", "`KIND` of tune: "+kindNames()+"; auto: found from the sheet (default: auto)")
	j.manner = f.String("manner", "auto", "`WAY` up the ladder: walk (another manner at each level), stay (the tune's own kind at every level), or auto: as tunes of the kind do (default: auto)")
	j.repeats = f.String("repeats", "auto", "`HOW` what the sheet repeats is printed: fold (once, with repeat signs and endings), written (out), or auto: by level (default: auto)")
	j.written = f.Bool("written-rhythm", false, "keep the tune's rhythm at every level (else level 1 moves short notes onto eighths, by a sixteenth at most)")
	j.outline = f.String("outline", "", "`LIST`: levels that have the tune in outline: on each place of the beat the note that carries it (default: none; every note is played)")
	j.lyrics = f.String("lyrics", "auto", "`WHERE` what is sung stands under the tune: auto (where the level has it: 1 to 3), all levels, or none (default: auto)")
	j.introduction = f.String("introduction", "auto", "`HOW` much is played before the tune: none, short (two bars mostly), long (four), or auto: by kind of tune and level (default: auto)")
	j.ending = f.String("ending", "auto", "`HOW` much of a tag is played after the tune: none, short (two bars mostly), long (four), or auto: by kind of tune and level (default: auto)")
	j.tempo = f.Int("tempo", 0, "`N`: beats a minute, for all levels (default: a share of the tune's tempo, by level)")
	j.reach, j.handFile = handFlags(f)
	j.choices = f.String("choices", "", "`FILE`: the teacher's own choices by level, bar and beat (TOML)")
	j.levelFile = f.String("level-file", "", "`FILE`: a level of her own (TOML); it joins the others, or replaces the one with its number")
	j.styles = f.String("style-file", "", "`FILE`: a kind of tune of her own (TOML); it joins the others, or replaces the one with its name")
	j.language = f.Language()
	j.fingers = f.String("fingers", "some", "`WHICH`: fingerings to print: all, some (what a teacher would write in, by level) or none (default: some)")
	j.paper = f.String("paper", "a4", "`PAPER` of what is printed: a4, letter or tablet (default: a4)")
	j.large = f.Bool("large-print", false, "print with larger staves, heavier lines and bigger fingering")
	return j
}

const (
	oneKey   = "`KEY`: tonic to move the tune to, as F, Bb or C#; easy picks the one with the fewest black keys and says why (default: the tune's own)"
	someKeys = "`KEYS`: tonics to move the tune to, as F or F,Bb; easy picks the one with the fewest black keys and says why (default: the tune's own)"
)

// kindNames lists the kinds of tune, for a reader.
func kindNames() string {
	var ids []string
	for _, k := range gradatim.Styles() {
		ids = append(ids, string(k))
	}
	return strings.Join(ids, ", ")
}

// job gathers the job for a sheet: what the flags say, and the files that they name.
// Flags are read before files, so that a slip of the pen is told at once.
func (j *jobFlags) job(sheet string) (gradatim.Job, error) {
	job := gradatim.Job{Mend: j.sh.mend, Tempo: *j.tempo, LargePrint: *j.large, WrittenRhythm: *j.written}
	if j.f.given("tempo") && (*j.tempo < 1 || *j.tempo > gradatim.MaxTempo) {
		return job, usageError{fmt.Sprintf("--tempo %d is not between 1 and %d", *j.tempo, gradatim.MaxTempo)}
	}
	for k := range strings.SplitSeq(*j.key, ",") {
		key, err := gradatim.ParseKey(strings.TrimSpace(k))
		if err != nil {
			return job, usageError{"--key " + err.Error()}
		}
		job.Keys = append(job.Keys, key)
	}
	var err error
	if *j.feel != "auto" {
		if job.Feel, err = leadsheet.ParseFeel(*j.feel); err != nil || job.Feel == leadsheet.Unstated {
			return job, usageError{fmt.Sprintf("--feel %q is not one: say auto, swing or straight", *j.feel)}
		}
	}
	if job.Manner, err = gradatim.ParseManner(*j.manner); err != nil {
		return job, usageError{"--manner " + err.Error()}
	}
	if job.Repeats, err = gradatim.ParseRepeats(*j.repeats); err != nil {
		return job, usageError{"--repeats " + err.Error()}
	}
	if job.Lyrics, err = gradatim.ParseLyrics(*j.lyrics); err != nil {
		return job, usageError{"--lyrics " + err.Error()}
	}
	if job.Introduction, err = gradatim.ParseAround(*j.introduction); err != nil {
		return job, usageError{"--introduction " + err.Error()}
	}
	if job.Ending, err = gradatim.ParseAround(*j.ending); err != nil {
		return job, usageError{"--ending " + err.Error()}
	}
	job.Language = *j.language
	if job.Fingers, err = gradatim.ParseFingers(*j.fingers); err != nil {
		return job, usageError{"--fingers " + err.Error()}
	}
	if job.Paper, err = gradatim.ParsePaper(*j.paper); err != nil {
		return job, usageError{"--paper " + err.Error()}
	}
	if job.OwnStyles, err = j.sh.someFile(*j.styles); err != nil {
		return job, err
	}
	if job.Style, err = gradatim.ParseStyle(*j.style, job.OwnStyles...); err != nil {
		return job, asUsage("--style ", err)
	}
	if job.Hand, err = j.sh.chooseHand(*j.reach, *j.handFile); err != nil {
		return job, err
	}
	if job.OwnLevels, err = j.sh.someFile(*j.levelFile); err != nil {
		return job, err
	}
	if *j.levels != "" {
		if job.Levels, err = gradatim.ParseLevels(*j.levels, job.OwnLevels...); err != nil {
			return job, err
		}
	} else if _, err := gradatim.Levels(job.OwnLevels...); err != nil {
		return job, err
	}
	if *j.outline != "" {
		if job.Outline, err = gradatim.ParseLevels(*j.outline, job.OwnLevels...); err != nil {
			return job, err
		}
	}
	if job.Sheet, err = j.sh.file(sheet); err != nil {
		return job, err
	}
	if job.Tune, err = gradatim.FindTune(job.Sheet, *j.tune); err != nil {
		return job, err
	}
	if job.Rights, err = j.sh.rightsBeside(sheet, job.Tune); err != nil {
		return job, err
	}
	return job, j.sh.addChoices(&job, *j.choices)
}

// asUsage makes wrong usage of an error that is about a word, not about a file.
func asUsage(flag string, err error) error {
	var ps leadsheet.Problems
	if errors.As(err, &ps) {
		return err
	}
	return usageError{flag + err.Error()}
}

// file reads a file of a job.
func (sh *shell) file(name string) (gradatim.File, error) {
	data, err := sh.readFile(name)
	return gradatim.File{Name: label(name), Data: data}, err
}

// someFile reads the file that an option names, if it names one.
func (sh *shell) someFile(name string) ([]gradatim.File, error) {
	if name == "" {
		return nil, nil
	}
	f, err := sh.file(name)
	return []gradatim.File{f}, err
}

// rightsBeside reads the rights file beside a sheet, where there is one.
func (sh *shell) rightsBeside(sheet string, tune int) (gradatim.File, error) {
	if sheet == "-" {
		return gradatim.File{}, nil
	}
	for _, name := range gradatim.RightsFiles(sheet, tune) {
		if _, err := os.Lstat(name); !os.IsNotExist(err) {
			return sh.file(name)
		}
	}
	return gradatim.File{}, nil
}

// addChoices reads a file of choices, and what there is of those that it names, which
// lie beside it or below.
func (sh *shell) addChoices(job *gradatim.Job, name string) error {
	if name == "" {
		return nil
	}
	var err error
	if job.Choices, err = sh.file(name); err != nil {
		return err
	}
	for _, beside := range gradatim.ChoiceFiles(job.Choices.Data) {
		if !filepath.IsLocal(beside) {
			continue // whoever reads the choices tells that it is missing
		}
		if data, err := sh.readFile(filepath.Join(filepath.Dir(name), beside)); err == nil {
			job.Beside = append(job.Beside, gradatim.File{Name: beside, Data: data})
		}
	}
	return nil
}

// addLesson reads the teacher's own part of a lesson: the file that is named, else the one
// beside the sheet, with what it names in turn. Its language rules where no other is asked
// for.
func (j *jobFlags) addLesson(job *gradatim.Job, sheet, name string) error {
	if name == "" && sheet != "-" {
		for _, beside := range gradatim.LessonFiles(sheet, job.Tune) {
			if _, err := os.Lstat(beside); !os.IsNotExist(err) {
				name = beside
				break
			}
		}
	}
	if name == "" {
		return nil
	}
	var err error
	if job.Lesson, err = j.sh.file(name); err != nil {
		return err
	}
	for _, beside := range gradatim.LessonBeside(job.Lesson.Data) {
		if !filepath.IsLocal(beside) {
			continue // whoever reads the file tells that it is missing
		}
		if data, err := j.sh.readFile(filepath.Join(filepath.Dir(name), beside)); err == nil {
			job.Beside = append(job.Beside, gradatim.File{Name: beside, Data: data})
		}
	}
	if l := gradatim.LessonLanguage(job.Lesson.Data); l != "" && !j.f.given("language") {
		job.Language = l
	}
	return nil
}
