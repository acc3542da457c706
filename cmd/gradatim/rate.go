package main

import (
	"context"
	"fmt"
	"strings"

	"gradatim"
	"gradatim/internal/grade"
	"gradatim/internal/words"
)

const rateAbout = `Says how hard a two-staff piano score (MusicXML) is, on a scale of nine levels like
that of published collections, what makes it so, which bars are hardest, what it
asks of the hands, and which techniques it shows. A score without chord symbols
has its chords named by ear. The number holds for the printed tempo.`

func rateCommand(_ context.Context, sh *shell, args []string) error {
	f := flags(sh, "rate", "SCORE", rateAbout, "page.musicxml", "page.musicxml --hand octave --json")
	reach, handFile := handFlags(f)
	asJSON := f.JSON("print the rating as JSON")
	name, err := f.argument(args, "score")
	if err != nil {
		return err
	}
	var opt grade.Options
	if opt.Hand, err = sh.chooseHand(*reach, *handFile); err != nil {
		return err
	}
	opt.Fingering = grade.ByHand(opt.Hand)
	data, err := sh.readFile(name)
	if err != nil {
		return err
	}
	s, told, err := gradatim.ReadScore(label(name), data)
	if err != nil {
		return err
	}
	r := grade.Rate(s, opt)
	if *asJSON {
		b, err := r.JSONWith(told)
		if err != nil {
			return err
		}
		fmt.Fprintln(sh.out, string(b))
		return nil
	}
	for _, p := range told {
		fmt.Fprintln(sh.err, p)
	}
	sh.tellRating(r)
	return nil
}

// tellRating writes a rating for reading.
func (sh *shell) tellRating(r grade.Rating) {
	p := func(format string, args ...any) { fmt.Fprintf(sh.out, format, args...) }
	title := r.Title
	if title == "" {
		title = "This page"
	}
	assumed := ""
	if r.Assumed {
		assumed = " (assumed: the score gives no tempo)"
	}
	p("%s: %s of 9, at %d quarter notes a minute%s\n", title, level(r.Level), r.Quarters, assumed)
	p("\nwhat makes it so, each with the level of pieces that are like it in this:\n")
	for _, f := range r.Features {
		p("  %s  %s\n", level(f.Level), f.Text)
	}
	if len(r.Hardest) > 0 {
		p("\nhardest:\n")
	}
	for _, h := range r.Hardest {
		p("  %s: %s\n", grade.Bars(h.First, h.Last), h.Text)
	}
	if len(r.Demands) > 0 {
		p("\nasks for care of the hands:\n")
	}
	for _, d := range r.Demands {
		p("  %s, %s hand, %d times: %s\n", d.Kind, d.Hand, d.Times, ranges(d.Bars))
	}
	if len(r.Techniques) > 0 {
		heard := ""
		if r.Heard {
			heard = " (chords named by ear)"
		}
		p("\ntechniques found, each with the level that introduces it%s:\n", heard)
	}
	for _, t := range r.Techniques {
		p("  %d  %s: %s\n", t.Level, words.Must(words.Default).Technique(t.ID).Title(), ranges(t.Bars))
	}
}

// level writes tenths: "4.3".
func level(tenths int) string { return fmt.Sprintf("%d.%d", tenths/10, tenths%10) }

// ranges writes bar numbers with runs joined: "bars 1–4, 7, 9–10".
func ranges(bars []int) string {
	var parts []string
	if len(bars) > 0 && bars[0] == 0 {
		bars = bars[1:]
		parts = append(parts, "the pick-up")
	}
	word := "bars "
	if len(bars) == 1 {
		word = "bar "
	}
	for i := 0; i < len(bars); {
		j := i
		for j+1 < len(bars) && bars[j+1] == bars[j]+1 {
			j++
		}
		part := fmt.Sprint(bars[i])
		if j > i {
			part = fmt.Sprintf("%d–%d", bars[i], bars[j])
		}
		parts = append(parts, word+part)
		word = ""
		i = j + 1
	}
	return strings.Join(parts, ", ")
}
