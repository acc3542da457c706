package main

import (
	"cmp"
	"context"
	"fmt"

	"gradatim"
	"gradatim/internal/words"
)

const rateAbout = `Says how hard a two-staff piano score (MusicXML) is: a number from 0 to 100, where
the usual pages of the built-in levels stand at 10, 20, 30, 40 and 50, and its place
among them. Says besides what makes it so, which bars are hardest, what it asks of
the hands, and which techniques it shows. A score without chord symbols has its
chords named by ear. The number holds for the printed tempo.`

func rateCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "rate", "SCORE", rateAbout, "page.musicxml", "page.musicxml --hand octave --json")
	reach, handFile := handFlags(f)
	f.Language()
	asJSON := f.JSON("print the rating as JSON")
	name, err := f.argument(args, "score")
	if err != nil {
		return err
	}
	opt := gradatim.RateOptions{Language: sh.words.ID()}
	if opt.Hand, err = sh.chooseHand(*reach, *handFile); err != nil {
		return err
	}
	data, err := sh.readFile(name)
	if err != nil {
		return err
	}
	s, told, err := gradatim.ReadScore(label(name), data)
	if err != nil {
		return err
	}
	r, err := gradatim.Rate(ctx, s, opt)
	if err != nil {
		return err
	}
	if *asJSON {
		b, err := r.JSON(sh.words.Problems(told))
		if err != nil {
			return err
		}
		_, err = sh.out.Write(b)
		return err
	}
	sh.say(told...)
	sh.tellRating(r)
	return nil
}

// tellRating writes a rating for reading.
func (sh *shell) tellRating(r gradatim.Rating) {
	w := sh.words
	p := func(format string, args ...any) { fmt.Fprintf(sh.out, format, args...) }
	head := w.Say("rate.head", "Title", cmp.Or(r.Title, w.Say("rate.untitled")), "Number", r.Whole(), "Place", r.Place, "Quarters", r.Quarters)
	if r.Assumed {
		head = w.Say("rate.assumed", "Head", head)
	}
	p("%s\n\n%s\n", head, w.Say("rate.features"))
	for _, f := range r.Measures {
		p("  %3d  %s\n", f.Whole(), f.Text)
	}
	if len(r.Hardest) > 0 {
		p("\n%s\n", w.Say("rate.hardest"))
	}
	for _, h := range r.Hardest {
		p("  %s: %s\n", w.Value(words.Span(h.First, h.Last)), h.Text)
	}
	if len(r.Demands) > 0 {
		p("\n%s\n", w.Say("rate.demands"))
	}
	for _, d := range r.Demands {
		p("  %s\n", w.Say("rate.demand", "Kind", d.Name, "Hand", w.Say("lesson.hands."+d.Hand.String()),
			"n", d.Times, "Bars", words.Bars(d.Bars)))
	}
	if len(r.Shown) > 0 {
		key := "rate.techniques"
		if r.Heard {
			key = "rate.heard"
		}
		p("\n%s\n", w.Say(key))
	}
	for _, t := range r.Shown {
		p("  %d  %s: %s\n", t.Level, t.Name, w.Value(words.Bars(t.Bars)))
	}
}
