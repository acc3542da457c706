package main

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strings"

	"gradatim"
	"gradatim/internal/machine"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

const lessonAbout = `Makes the lesson of a tune: a folder with a site that opens from index.html without
a network (every level with its score, player, chords, drills and practice plan), a
workbook, pages to print, scores, MIDI and recordings. manifest.json lists every
file with its hash; a second run makes again only what has changed. The folder
appears whole or not at all. Where the rights are not stated, every page is marked
for private practice only. With --page the lesson is of one piano score on two
staves, anybody's, as it stands; nothing in it is arranged or changed.`

func lessonCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "lesson", "SHEET -o DIR", lessonAbout,
		"tune.abc -o lesson", "tune.abc -o lesson --levels 1-3 --audio none --key F,Bb --zip", "page.musicxml --page -o lesson")
	dir := f.String("o", "", "`DIR`: folder to write to; a lesson that is there is replaced")
	of := declareJob(f, someKeys)
	audio := f.String("audio", "some", "`AMOUNT` of sound: none, some (both hands, each alone, all but the tune) or all (60, 75 and 90 % of the tempo too) (default: some)")
	teacher := f.Bool("teacher", false, "add the teacher's page: talking notes, what to listen for, common mistakes; it is left out of what goes to pupils (as teacher = \"all\" in the lesson file)")
	zipped := f.Bool("zip", false, "write DIR.zip too")
	publish := f.Bool("publish", false, "write nothing unless the sheet, or NAME.rights.toml beside it, states what publishing needs")
	page := f.Bool("page", false, "the file is a page for two hands (MusicXML): the lesson is of that")
	own := f.String("lesson-file", "", "`FILE`: what is yours in the lesson: studio, look, words, order, recordings (TOML) (default: NAME.lesson.toml beside the sheet, if it is there)")
	template := f.Bool("template", false, "print such a file with every key, to be filled in, and do nothing else")
	if len(args) == 1 && strings.TrimLeft(args[0], "-") == "template" {
		*template = true
		_, err := sh.out.Write(gradatim.LessonTemplate())
		return err
	}
	sheet, err := f.argument(args, "lead sheet")
	if err != nil {
		return err
	}
	if *template {
		return usageError{"--template stands alone: gradatim lesson --template"}
	}
	if *page {
		for _, name := range []string{"tune", "levels", "key", "feel", "style", "manner", "repeats", "introduction", "ending", "tempo", "choices", "level-file", "style-file"} {
			if f.given(name) {
				return usageError{"--page takes a page as it stands; --" + name + " is for a lead sheet"}
			}
		}
	}
	if *dir == "" {
		return usageError{"where to? Give a folder with -o DIR"}
	}
	sound, err := gradatim.ParseAudio(*audio)
	if err != nil {
		return usageError{"--audio " + err.Error()}
	}
	job, err := of.job(sheet)
	if err != nil {
		return err
	}
	job.Audio, job.Teacher = sound, *teacher
	if err := of.addLesson(&job, sheet, *own); err != nil {
		return err
	}
	if *page {
		return sh.pageLesson(ctx, *dir, *zipped, *publish, job)
	}
	s, err := gradatim.Open(ctx, job)
	if err != nil {
		return err
	}
	defer s.Close()
	if *publish {
		if err := sh.publishable(s); err != nil {
			return err
		}
	}
	return sh.writeLesson(ctx, *dir, *zipped, s)
}

// lesson is what is put into a folder.
type lesson interface {
	Song() leadsheet.Song
	Publishable() leadsheet.Problems
	Pack(context.Context, gradatim.Store, func(gradatim.Progress)) (gradatim.Report, error)
}

// publishable tells what stands against publishing a lesson, and stops where that is much.
func (sh *shell) publishable(s lesson) error {
	ps := s.Publishable()
	if ps.Err() != nil {
		return ps
	}
	sh.tell(ps, s.Song().File)
	return nil
}

// pageLesson makes the lesson of one page.
func (sh *shell) pageLesson(ctx context.Context, dir string, zipped, publish bool, job gradatim.Job) error {
	st := new(gradatim.Studio)
	defer st.Close()
	l, err := st.PageLesson(ctx, job)
	if err != nil {
		return err
	}
	if publish {
		if err := sh.publishable(l); err != nil {
			return err
		}
	}
	for _, p := range l.Song().Problems {
		if p.Severity == leadsheet.Info { // what was guessed; the others are told below
			sh.say(p)
		}
	}
	return sh.writeLesson(ctx, dir, zipped, l)
}

func (sh *shell) writeLesson(ctx context.Context, dir string, zipped bool, s lesson) error {
	folder, err := gradatim.Folder(dir)
	zip := ""
	if err == nil && zipped {
		folder, zip, err = gradatim.FolderAndZip(dir)
	}
	if err != nil {
		return writeProblem(dir, err)
	}
	progress, stop := sh.parts()
	r, err := s.Pack(ctx, folder, progress)
	stop()
	if err != nil {
		if system(err) {
			return writeProblem(dir, err)
		}
		return err
	}
	file := s.Song().File
	sh.tell(s.Song().Problems, file)
	sh.tell(r.Problems, file)
	for _, x := range r.Refused {
		sh.tell(x.Problems, file)
	}
	sh.printLesson(dir, zip, s.Song(), r)
	if len(r.Refused) > 0 {
		return errTold
	}
	return nil
}

// printLesson tells what was written and how large it is.
func (sh *shell) printLesson(dir, zip string, song leadsheet.Song, r gradatim.Report) {
	w := sh.words
	kinds := []struct {
		name, ends string
		files      int
		bytes      int64
	}{{name: "pages", ends: ".html .css .js"}, {name: "print", ends: ".pdf"}, {name: "scores", ends: ".musicxml .json"}, {name: "midi", ends: ".mid"}, {name: "sound", ends: ".mp3"}}
	var total int64
	for _, f := range r.Files {
		total += f.Bytes
		ext := f.Path[strings.LastIndexByte(f.Path, '.'):]
		for i := range kinds {
			if slices.Contains(strings.Fields(kinds[i].ends), ext) {
				kinds[i].files++
				kinds[i].bytes += f.Bytes
			}
		}
	}
	files := func(n int) string { return fmt.Sprintf("%3d %s", n, w.Say("told.files", "n", n)) }
	for _, k := range kinds {
		if k.files > 0 {
			fmt.Fprintf(sh.out, "%-9s %s %9s\n", w.Say("told."+k.name), files(k.files), size(w, k.bytes))
		}
	}
	fmt.Fprintf(sh.out, "%-9s %s %9s; %s\n", w.Say("told.together"), files(len(r.Files)), size(w, total), w.Say("told.parts", "Made", r.Made, "Reused", r.Reused))
	for _, k := range r.Kept {
		fmt.Fprintln(sh.out, w.Say("told.kept", "File", leadsheet.Name(k)))
	}
	if st, err := os.Stat(zip); err == nil {
		fmt.Fprintln(sh.out, w.Say("told.zipped", "File", leadsheet.Name(zip), "Size", size(w, st.Size())))
	}
	if song.Rights.Status == leadsheet.Unknown {
		fmt.Fprintln(sh.out, w.Say("told.private"))
	}
	for _, f := range r.Files {
		if f.Teacher {
			fmt.Fprintln(sh.out, w.Say("told.teacher", "File", leadsheet.Name(strings.TrimSuffix(dir, "/")+"/"+f.Path)))
		}
	}
	fmt.Fprintln(sh.out, w.Say("told.open", "File", leadsheet.Name(strings.TrimSuffix(dir, "/")+"/index.html")))
}

// size writes a number of bytes in decimal units.
func size(w *words.Words, n int64) string {
	switch {
	case n < 1000:
		return fmt.Sprintf("%d B", n)
	case n < 1000*1000:
		return fmt.Sprintf("%d kB", (n+500)/1000)
	}
	return w.Value(words.Tenths((n+50_000)/100_000)) + " MB"
}

// parts shows on a terminal how the parts of a lesson get on.
func (sh *shell) parts() (progress func(gradatim.Progress), stop func()) {
	if !machine.Terminal(sh.err) {
		return nil, func() {}
	}
	last := ""
	return func(p gradatim.Progress) {
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
