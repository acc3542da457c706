package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/internal/machine"
	"gradatim/leadsheet"
	"gradatim/score"
)

const recordAbout = `Plays a piano score (MusicXML, MIDI) on a sampled grand piano and writes the
sound. The ending of FILE tells the format. With --all it makes a practice set:
the whole at full tempo and at 60, 75 and 90 %, each hand alone, and all but the
tune. Pages made here say which notes are the tune and sound as they were
arranged; in other scores the top line is taken. A MIDI file is played as it was
played: its times, loudness, pedal and tempi; with --even as it is written down.
Of a MusicXML score the tempi, the signs for loudness and pedal, and a loudness of
each note are kept.`

func recordCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "record", "SCORE -o FILE", recordAbout,
		"pages/tune.3.musicxml -o slow.mp3 --tempo 60% --count-in 1", "pages/tune.3.musicxml --all -o practice")
	to := f.String("o", "", "`FILE`: .mp3, .wav, .flac, .opus or .mid; with --all the folder to write to")
	all := f.Bool("all", false, "make the whole practice set")
	format := f.String("format", "mp3", "`FORMAT`: of a practice set: mp3, wav, flac or opus (default: mp3)")
	tempo := f.String("tempo", "", "`TEMPO`: a percentage of the printed tempo, as 60%, or beats a minute, as 92 (default: as printed)")
	hands := f.String("hands", "both", "`HANDS`: both, left, right, melody or without-tune (default: both)")
	countIn := f.Int("count-in", 0, "`BARS`: of clicks before the music, at most 8 (default: none)")
	click := f.Bool("click", false, "click on every beat")
	bars := f.String("bars", "", "`RANGE`: bars to play, as 5-8 or 5 (default: all)")
	loop := f.Int("loop", 1, "`N`: how many times to play them, at most 100 (default: 1)")
	transpose := f.Int("transpose", 0, "`SEMITONES`: to sound higher, or lower where negative; the page stays as it is")
	even := f.Bool("even", false, "play exactly in time and equally loud, without the small unevenness of a player")
	f.Language()
	name, err := f.argument(args, "score")
	if err != nil {
		return err
	}
	if *loop < 1 || *loop > gradatim.MaxLoop {
		return usageError{fmt.Sprintf("--loop %d is not between 1 and %d", *loop, gradatim.MaxLoop)}
	}
	if *countIn < 0 || *countIn > gradatim.MaxCountIn {
		return usageError{fmt.Sprintf("--count-in %d is not between 0 and %d", *countIn, gradatim.MaxCountIn)}
	}
	if *to == "" {
		return usageError{"where to? Give a file with -o FILE.mp3, or a folder with --all -o DIR"}
	}
	t := gradatim.Take{Loop: *loop, Transpose: *transpose, CountIn: *countIn, Click: *click, Even: *even}
	if t.Hands, err = gradatim.ParseHands(*hands); err != nil {
		return usageError{"--hands " + err.Error()}
	}
	if *tempo != "" {
		if t.Percent, t.PerMinute, err = gradatim.ParseTempo(*tempo); err != nil {
			return usageError{"--tempo " + err.Error()}
		}
	}
	if t.From, t.To, err = barRange(*bars); err != nil {
		return err
	}
	s, err := sh.readScore(name)
	if err != nil {
		return err
	}
	if *all {
		if *hands != "both" || *tempo != "" {
			return usageError{"--all makes its own choice of hands and tempi"}
		}
		kind, err := gradatim.ParseFormat(*format)
		if err != nil {
			return usageError{"--format " + *format + ": say mp3, wav, flac or opus"}
		}
		return sh.recordAll(ctx, s, *to, gradatim.Job{Sheet: gradatim.File{Name: label(name)}}.Stem(), kind, t)
	}
	ext := strings.ToLower(filepath.Ext(*to))
	if ext == ".mid" {
		data, told, err := gradatim.WriteMIDI(ctx, s, t)
		if err != nil {
			return leadsheet.InFile(err, name)
		}
		sh.tell(told, name)
		if err := writeOne(*to, data); err != nil {
			return err
		}
		fmt.Fprintln(sh.out, leadsheet.Name(*to))
		return nil
	}
	kind, err := gradatim.ParseFormat(ext)
	if err != nil {
		return usageError{fmt.Sprintf("-o %s: the file must end in .mp3, .wav, .flac, .opus or .mid", *to)}
	}
	var st gradatim.Studio
	dir, file := filepath.Split(*to)
	set, err := gradatim.BeginSet(filepath.Clean(dir))
	if err != nil {
		return writeProblem(*to, err)
	}
	defer set.Discard()
	if err := sh.recordOne(ctx, &st, s, set, dir, file, kind, t, name); err != nil {
		return err
	}
	if err := set.Commit(); err != nil {
		return writeProblem(*to, err)
	}
	fmt.Fprintln(sh.out, leadsheet.Name(*to))
	return nil
}

// readScore reads a score and tells what was dropped or guessed.
func (sh *shell) readScore(name string) (score.Score, error) {
	data, err := sh.readFile(name)
	if err != nil {
		return score.Score{}, err
	}
	s, told, err := gradatim.ReadScore(label(name), data)
	if err != nil {
		return s, err
	}
	sh.tell(told, name)
	return s, nil
}

// tell prints warnings.
func (sh *shell) tell(ps leadsheet.Problems, file string) {
	for _, p := range ps {
		if p.Pos.File == "" {
			p.Pos.File = file
		}
		if p.Severity > leadsheet.Info {
			sh.say(p)
		}
	}
}

func (sh *shell) recordAll(ctx context.Context, s score.Score, dir, base string, kind gradatim.Format, o gradatim.Take) error {
	var st gradatim.Studio
	set, err := gradatim.BeginSet(dir)
	if err != nil {
		return writeProblem(dir, err)
	}
	defer set.Discard()
	var takes []gradatim.Recording
	for _, t := range gradatim.PracticeSet() {
		take := o
		take.Name, take.What, take.Track, take.Hands, take.Percent = t.Name, t.What, t.Track, t.Hands, t.Percent
		to := fmt.Sprintf("%s.%s.%s", base, t.Name, kind)
		if err := sh.recordOne(ctx, &st, s, set, dir, to, kind, take, base); err != nil {
			return err
		}
		takes = append(takes, gradatim.Recording{Path: to, Take: take})
	}
	kept, err := gradatim.PutRecordings(set, base, s, takes)
	if err != nil {
		return writeProblem(dir, err)
	}
	sh.tellKept(dir, kept)
	for _, t := range takes {
		fmt.Fprintf(sh.out, "%s: %s\n", leadsheet.Name(filepath.Join(dir, t.Path)), t.Take.What)
	}
	return nil
}

// recordOne records into a file of a set.
func (sh *shell) recordOne(ctx context.Context, st *gradatim.Studio, s score.Score, set *gradatim.Set, dir, to string, kind gradatim.Format, t gradatim.Take, name string) error {
	progress, stop := sh.bar("recording " + to)
	var told leadsheet.Problems
	err := set.Create(to, func(w io.Writer) (err error) {
		buffered := bufio.NewWriterSize(w, 1<<16)
		told, err = st.Record(ctx, buffered, s, t, kind, progress)
		return errors.Join(err, buffered.Flush())
	})
	stop()
	if err != nil {
		if system(err) {
			return writeProblem(filepath.Join(dir, to), err)
		}
		return leadsheet.InFile(err, name)
	}
	sh.tell(told, name)
	return nil
}

// bar shows on a terminal how much is done.
func (sh *shell) bar(what string) (progress func(float64), stop func()) {
	if !machine.Terminal(sh.err) {
		return func(float64) {}, func() {}
	}
	last := -1
	return func(part float64) {
			if n := int(part * 100); n != last {
				last = n
				fmt.Fprintf(sh.err, "\r%s … %d %%", what, n)
			}
		}, func() {
			if last >= 0 {
				fmt.Fprint(sh.err, "\r\x1b[K")
			}
		}
}

// barRange reads "5-8" or "5".
func barRange(s string) (from, to int, err error) {
	if s == "" {
		return 0, 0, nil
	}
	a, b, two := strings.Cut(s, "-")
	from, err = strconv.Atoi(a)
	to = from
	if err == nil && two {
		to, err = strconv.Atoi(b)
	}
	if err != nil || from < 0 || to < from {
		return 0, 0, usageError{fmt.Sprintf("--bars %q: say a range like 5-8, or one bar", s)}
	}
	return from, to, nil
}
