package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"slices"
	"strings"

	"gradatim"
	"gradatim/internal/account"
	"gradatim/internal/edition"
	"gradatim/internal/engrave"
	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/internal/pack"
	"gradatim/internal/studio"
	"gradatim/internal/teach"
	"gradatim/leadsheet"
)

const lessonAbout = `Makes the lesson of a tune: a folder with a site that opens from index.html without
a network (every level with its score, player, chords, drills and practice plan), a
workbook, pages to print, scores, MIDI and recordings. manifest.json lists every
file with its hash; a second run makes again only what has changed. The folder
appears whole or not at all. Where the rights are not stated, every page is marked
for private practice only.`

func lessonCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "lesson", "SHEET -o DIR", lessonAbout,
		"tune.abc -o lesson", "tune.abc -o lesson --levels 1-3 --audio none --key F,Bb --zip")
	dir := f.String("o", "", "`DIR`: folder to write to; a lesson that is there is replaced")
	tune := f.Tune()
	levels := f.String("levels", "", "`LIST`: levels by number or name: 1-2, late-elementary or 1,3-5 (default: all)")
	key := f.String("key", "", "`KEYS`: tonics to move the tune to, as F or F,Bb; easy picks the one with the fewest black keys (default: the tune's own)")
	audio := f.String("audio", "some", "`AMOUNT` of sound: none, some (both hands, each alone, all but the tune) or all (60, 75 and 90 % of the tempo too) (default: some)")
	reach, handFile := handFlags(f)
	paper := f.String("paper", "a4", "`PAPER` of what is printed: a4, letter or tablet (default: a4)")
	large := f.Bool("large-print", false, "print with larger staves, heavier lines and bigger fingering")
	zipped := f.Bool("zip", false, "write DIR.zip too")
	publish := f.Bool("publish", false, "write nothing unless the sheet, or NAME.rights.toml beside it, states what publishing needs")
	sheet, err := f.argument(args, "lead sheet")
	if err != nil {
		return err
	}
	if *dir == "" {
		return usageError{"where to? Give a folder with -o DIR"}
	}
	o := pack.Options{LargePrint: *large}
	if o.Audio, err = pack.AudioNamed(*audio); err != nil {
		return usageError{"--audio: " + err.Error()}
	}
	if o.Paper, err = engrave.PaperNamed(*paper); err != nil {
		return usageError{"--" + err.Error()}
	}
	var opts []edition.Options
	for k := range strings.SplitSeq(*key, ",") {
		opt, err := ladderOptions(strings.TrimSpace(k), "auto", "auto", "auto")
		if err != nil {
			return err
		}
		opts = append(opts, opt)
	}
	profile, err := sh.chooseHand(*reach, *handFile)
	if err != nil {
		return err
	}
	chosen, err := ladder.Select(*levels, ladder.Levels())
	if err != nil {
		return err
	}
	song, err := sh.readSheet(sheet, *tune)
	if err != nil {
		return err
	}
	if *publish {
		ps := gradatim.Publishable(song)
		if ps.Err() != nil {
			return ps
		}
		sh.tell(ps, song.File)
	}
	in := pack.Input{Name: stem(sheet, *tune), Song: song, Hand: profile, Program: program()}
	for _, opt := range opts {
		opt.Hand, opt.Levels = profile, chosen
		ed, err := sh.edition(ctx, song, opt)
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(in.Editions, func(e pack.Edition) bool { return e.Key == ed.Key }) {
			in.Editions = append(in.Editions, ed)
		}
	}
	return sh.writeLesson(ctx, *dir, *zipped, in, o)
}

// edition arranges the tune in one key and writes its lesson.
func (sh *shell) edition(ctx context.Context, song leadsheet.Song, opt edition.Options) (pack.Edition, error) {
	stop := sh.progress("arranging")
	defer stop()
	as, err := edition.Make(ctx, song, opt)
	var ps leadsheet.Problems
	if errors.As(err, &ps) {
		return pack.Edition{}, slices.Concat(song.Problems, ps)
	} else if err != nil {
		return pack.Edition{}, err
	}
	ed := pack.Edition{Lesson: teach.Prepare(edition.Lesson(as, opt.Hand))}
	for _, a := range as {
		ed.Key = a.Song.Key
		if a.Failed || len(a.Score.Notes) == 0 {
			ed.Refused = append(ed.Refused, pack.Refusal{Level: a.Level, Problems: a.Problems})
			continue
		}
		why, err := account.Of(a)
		if err != nil {
			return ed, err
		}
		ed.Pages = append(ed.Pages, pack.Page{Level: a.Level, Score: a.Score, Printed: hand.Print(a.Score, a.Level.Fingers), Account: append(why, '\n')})
	}
	if len(ed.Pages) == 0 {
		ps := slices.Clone(song.Problems)
		for _, r := range ed.Refused {
			ps = append(ps, r.Problems...)
		}
		if ps.Err() == nil {
			ps.Add(leadsheet.Error, leadsheet.Pos{File: song.File}, "lesson-empty", "no level has a page", "")
		}
		return ed, ps
	}
	return ed, nil
}

func (sh *shell) writeLesson(ctx context.Context, dir string, zipped bool, in pack.Input, o pack.Options) error {
	g, err := engrave.New(engrave.Config{})
	if err != nil {
		return err
	}
	defer g.Close()
	tools := pack.Tools{Engraver: g}
	for _, t := range studio.PracticeSet() {
		tools.Takes = append(tools.Takes, pack.Take{Name: t.Name, What: t.What, Options: t.Options})
	}
	if o.Audio != pack.NoAudio {
		r, err := studio.NewRecorder()
		if err != nil {
			return err
		}
		tools.Recorder = r
	}
	progress, stop := sh.parts()
	o.Progress = progress
	folder, err := pack.NewFolder(dir)
	var r pack.Report
	if err == nil {
		r, err = pack.Make(ctx, folder, in, o, tools)
	}
	stop()
	zip := ""
	if err == nil && zipped {
		zip = folder.Name() + ".zip"
		err = zipInto(ctx, zip, folder)
	}
	if err != nil {
		var pe *os.PathError
		var le *os.LinkError
		if errors.As(err, &pe) || errors.As(err, &le) {
			return writeProblem(dir, err)
		}
		return inFile(err, in.Song.File)
	}
	sh.tell(in.Song.Problems, in.Song.File)
	sh.tell(r.Problems, in.Song.File)
	failing := false
	for _, ed := range in.Editions {
		for _, ref := range ed.Refused {
			failing = true
			sh.tell(ref.Problems, in.Song.File)
		}
	}
	sh.printLesson(dir, zip, in, r)
	if failing {
		return errTold
	}
	return nil
}

// zipInto zips a pack.
func zipInto(ctx context.Context, file string, from pack.Store) error {
	to, err := pack.NewZip(file)
	if err != nil {
		return err
	}
	return pack.Copy(ctx, to, from)
}

// printLesson tells what was written and how large it is.
func (sh *shell) printLesson(dir, zip string, in pack.Input, r pack.Report) {
	kinds := []struct {
		name, ends string
		files      int
		bytes      int64
	}{{name: "pages", ends: ".html .css .js"}, {name: "to print", ends: ".pdf"}, {name: "scores", ends: ".musicxml .json"}, {name: "MIDI", ends: ".mid"}, {name: "sound", ends: ".mp3"}}
	var total int64
	for _, f := range r.Manifest.Files {
		total += f.Bytes
		ext := f.Path[strings.LastIndexByte(f.Path, '.'):]
		for i := range kinds {
			if slices.Contains(strings.Fields(kinds[i].ends), ext) {
				kinds[i].files++
				kinds[i].bytes += f.Bytes
			}
		}
	}
	for _, k := range kinds {
		if k.files > 0 {
			fmt.Fprintf(sh.out, "%-9s %3d files %9s\n", k.name, k.files, size(k.bytes))
		}
	}
	fmt.Fprintf(sh.out, "%-9s %3d files %9s; parts made: %d, as before: %d\n", "together", len(r.Manifest.Files), size(total), r.Made, r.Reused)
	for _, k := range r.Kept {
		fmt.Fprintf(sh.out, "left in place: %s\n", k)
	}
	if st, err := os.Stat(zip); err == nil {
		fmt.Fprintf(sh.out, "zipped: %s, %s\n", zip, size(st.Size()))
	}
	if in.Song.Rights.Status == leadsheet.Unknown {
		fmt.Fprintln(sh.out, "The rights are not stated: every page is marked for private practice only.")
	}
	fmt.Fprintf(sh.out, "open %s\n", strings.TrimSuffix(dir, "/")+"/index.html")
}

// size writes a number of bytes in decimal units.
func size(n int64) string {
	switch {
	case n < 1000:
		return fmt.Sprintf("%d B", n)
	case n < 1000*1000:
		return fmt.Sprintf("%d kB", (n+500)/1000)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}

// parts shows on a terminal how the parts of a lesson get on.
func (sh *shell) parts() (progress func(pack.Progress), stop func()) {
	if !terminal(sh.err) {
		return nil, func() {}
	}
	last := ""
	return func(p pack.Progress) {
			line := fmt.Sprintf("%d of %d parts; %s %d %%", p.Done, p.Parts, p.Part, int(100*p.Share))
			if line != last {
				last = line
				fmt.Fprintf(sh.err, "\r\x1b[K%s", line)
			}
		}, func() {
			if last != "" {
				fmt.Fprint(sh.err, "\r\x1b[K")
			}
		}
}

// program names this program for a manifest. One that was built from changed
// files is told apart by its own hash: nothing that it makes may be taken for
// the work of another.
func program() string {
	name := "gradatim " + release
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return name
	}
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	if rev := set["vcs.revision"]; rev != "" && set["vcs.modified"] == "false" {
		return name + " (" + rev[:min(len(rev), 12)] + ")"
	}
	exe, err := os.Executable()
	if err != nil {
		return name
	}
	f, err := os.Open(exe)
	if err != nil {
		return name
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return name
	}
	return fmt.Sprintf("%s (build %x)", name, h.Sum(nil)[:6])
}
