package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"gradatim"
	"gradatim/leadsheet"
)

const ladderAbout = `Arranges a lead sheet for two hands at every level and writes, for each level k,
DIR/NAME.k.musicxml (the page), NAME.k.mid (how it sounds) and NAME.k.json (why
every note is there), and DIR/ladder.json (what each level uses and keeps to).
NAME is the sheet's name. Every page has passed the audit; where none did, the
level is not written, and the exit code is 1.`

func ladderCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "ladder", "SHEET -o DIR", ladderAbout,
		"tune.abc -o pages", "book.abc --tune 3 -o pages --levels 1-2 --key easy --hand octave")
	dir := f.String("o", "", "`DIR`: folder to write to; it is made if need be")
	of := declareJob(f, oneKey)
	pdf := f.Bool("pdf", false, "engrave each page too, as NAME.k.pdf")
	lead := f.Bool("lead", false, "write the lead sheet itself too, as NAME.lead.musicxml")
	f.JSON("print ladder.json too, in the place of the list")
	sheet, err := f.argument(args, "lead sheet")
	if err != nil {
		return err
	}
	if *dir == "" {
		return usageError{"where to? Give a folder with -o DIR"}
	}
	job, err := of.job(sheet)
	if err != nil {
		return err
	}
	if len(job.Keys) > 1 {
		return usageError{"--key takes one key here; gradatim lesson takes several"}
	}
	s, err := gradatim.Open(ctx, job)
	if err != nil {
		return err
	}
	defer s.Close()
	stop := sh.progress("arranging")
	pages, err := s.Ladder(ctx)
	stop()
	if err != nil {
		return err
	}
	return sh.writeLadder(ctx, *dir, s, pages, ladderParts{*pdf, *lead})
}

// ladderParts say what is made beside the score of each level.
type ladderParts struct{ pdf, lead bool }

func (sh *shell) writeLadder(ctx context.Context, dir string, s *gradatim.Session, pages []gradatim.Page, what ladderParts) error {
	var outs []output
	add := func(name string, data []byte, err error) error {
		outs = append(outs, output{name, data})
		return err
	}
	failing := false
	for _, a := range pages {
		if a.Failed {
			failing = true
			continue
		}
		page, midi, why := s.Job().Files(a.Level.Number)
		xml, err := s.MusicXML(ctx, a.Level.Number)
		if err := add(page, xml, err); err != nil {
			return err
		}
		sound, _, err := s.MIDI(ctx, a.Level.Number, gradatim.Take{})
		if err := add(midi, sound, err); err != nil {
			return err
		}
		account, err := s.Account(ctx, a.Level.Number)
		if err := add(why, account, err); err != nil {
			return err
		}
	}
	stem := s.Job().Stem()
	if what.lead && len(pages) > 0 {
		lead, err := s.LeadSheet(ctx)
		if err := add(stem+".lead.musicxml", lead, err); err != nil {
			return err
		}
	}
	if what.pdf {
		pdfs, err := sh.engraveAll(ctx, s, pages, what.lead)
		if err != nil {
			return err
		}
		outs = append(outs, pdfs...)
	}
	set, err := fill(dir, outs)
	if err != nil {
		return err
	}
	defer set.Discard()
	summary, kept, err := s.PutLadder(ctx, set)
	if err != nil {
		if system(err) {
			return writeProblem(dir, err)
		}
		return err
	}
	if sh.json {
		fmt.Fprint(sh.out, string(summary))
	} else {
		sh.tellKept(dir, kept)
		tellLadder(sh, s.Song(), pages)
		printLadder(sh, dir, stem, s.Song(), pages)
	}
	if failing {
		return errTold
	}
	return nil
}

// engraveAll makes a PDF of each page, several at a time, and of the lead sheet.
func (sh *shell) engraveAll(ctx context.Context, s *gradatim.Session, pages []gradatim.Page, lead bool) ([]output, error) {
	type part struct {
		name string
		make func() ([]byte, error)
	}
	var parts []part
	for _, a := range pages {
		if n := a.Level.Number; !a.Failed {
			page, _, _ := s.Job().Files(n)
			parts = append(parts, part{strings.TrimSuffix(page, ".musicxml") + ".pdf", func() ([]byte, error) { return s.PDF(ctx, n) }})
		}
	}
	if lead && len(pages) > 0 {
		parts = append(parts, part{s.Job().Stem() + ".lead.pdf", func() ([]byte, error) { return s.LeadSheetPDF(ctx) }})
	}
	stop := sh.progress("engraving")
	defer stop()
	outs, errs := make([]output, len(parts)), make([]error, len(parts))
	var wg sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, p := range parts {
		wg.Go(func() {
			slots <- struct{}{}
			defer func() { <-slots }()
			outs[i].name = p.name
			outs[i].data, errs[i] = p.make()
		})
	}
	wg.Wait()
	return outs, errors.Join(errs...)
}

// tellLadder tells what there is to tell: of the sheet, then of the piece as a
// whole, once, then of each level. Explanations of single bars are left to
// ladder.json.
func tellLadder(sh *shell, song leadsheet.Song, as []gradatim.Page) {
	sh.say(song.Problems...)
	whole := func(p leadsheet.Problem) bool { return p.Pos.Bar == 0 && p.Pos.Beat == 0 }
	common := func(p leadsheet.Problem) bool {
		for _, a := range as {
			if !a.Problems.Has(p) {
				return false
			}
		}
		return true
	}
	for i, a := range as {
		for _, p := range a.Problems {
			switch {
			case whole(p) && common(p):
				if i == 0 {
					sh.say(p)
				}
			case whole(p) || p.Severity > leadsheet.Info:
				fmt.Fprintf(sh.err, "%s: %s\n", sh.words.Say("told.level", "n", a.Level.Number), sh.words.Line(p))
			}
		}
	}
}

func printLadder(sh *shell, dir, stem string, song leadsheet.Song, as []gradatim.Page) {
	w := sh.words
	for _, a := range as {
		if a.Failed {
			fmt.Fprintf(sh.out, "%d %-20s %s\n", a.Level.Number, w.LevelName(a.Level.Name), w.Say("told.no-page"))
			continue
		}
		var used []string
		for _, u := range a.Techniques {
			used = append(used, u.Name)
		}
		line := w.Say("told.page", "Key", a.Key, "Bars", w.Say("site.bars", "n", bars(song)), "Feel", a.Score.Feel, "Techniques", strings.Join(used, ", "))
		fmt.Fprintf(sh.out, "%d %-20s %s\n", a.Level.Number, w.LevelName(a.Level.Name), wrapped(line, 23, 80))
	}
	if slices.ContainsFunc(as, func(a gradatim.Page) bool { return !a.Failed }) {
		fmt.Fprintln(sh.out, w.Say("told.written", "Folder", leadsheet.Name(dir), "Name", leadsheet.Name(stem)))
	} else {
		fmt.Fprintln(sh.out, w.Say("told.listed", "File", leadsheet.Name(filepath.Join(dir, "ladder.json"))))
	}
}

// bars counts the bars as printed, without a pick-up.
func bars(song leadsheet.Song) int {
	n := 0
	for _, b := range song.Bars {
		if !b.Pickup {
			n++
		}
	}
	return n
}
