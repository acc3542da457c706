package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/theory"
)

const auditAbout = `Judges a two-staff piano score (MusicXML): are the bars full, is the tune kept and
on top, can the hands reach and get there, does everything fit the printed chords?
With --sheet the tune is compared with a lead sheet; without it the top line is
taken for the tune. Exit code 1 where a rule is broken.`

func auditCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "audit", "SCORE", auditAbout, "page.musicxml", "page.musicxml --sheet tune.abc --hand octave")
	sheet := f.String("sheet", "", "`SHEET`: the lead sheet that the score arranges, in the score's key")
	moves := f.String("moves", "", "`VALUE`: how far notes of the tune may stand from their place on the sheet, as 1/16 for pages of level 1 (default: not at all, but for notes that come early)")
	outline := f.Int("outline", 0, "`LEVEL`: the page has the tune in outline, as that level has it (default: every note of it)")
	tune := f.Tune()
	f.Mend()
	reach, handFile := handFlags(f)
	f.Language()
	asJSON := f.JSON("print the violations as JSON")
	name, err := f.argument(args, "score")
	if err != nil {
		return err
	}
	switch {
	case *sheet == "" && f.given("tune"):
		return usageError{"--tune is a number in the file that --sheet names"}
	case *sheet == "" && f.given("outline"):
		return usageError{"--outline is of the tune that --sheet names"}
	case *sheet == "-" && name == "-":
		return usageError{"the score and the sheet cannot both come from standard input"}
	}
	var opt gradatim.AuditOptions
	switch *moves {
	case "", "0":
	case "1/8", "1/16", "1/32":
		n, _ := strconv.ParseInt(strings.TrimPrefix(*moves, "1/"), 10, 64)
		opt.Moves, _ = theory.Fraction(1, n)
	default:
		return usageError{fmt.Sprintf("--moves %q is none of 1/8, 1/16 and 1/32", *moves)}
	}
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
	if *sheet != "" {
		text, err := sh.file(*sheet)
		if err != nil {
			return err
		}
		number, err := gradatim.FindTune(text, *tune)
		if err != nil {
			return err
		}
		song, err := sh.readMended(text, number)
		if err != nil {
			return err
		}
		if f.given("outline") {
			if song, err = gradatim.Outline(song, *outline); err != nil {
				return err
			}
		}
		opt.Song = &song
	}
	found, err := gradatim.Audit(ctx, s, opt)
	if err != nil {
		return err
	}
	for i := range found {
		found[i].Pos.File = label(name)
		found[i].Problem = sh.words.Problem(found[i].Problem)
	}
	if *asJSON {
		err = sh.printAudit(found, told)
	} else {
		sh.tellAudit(found, told)
	}
	if err == nil && len(found) > 0 {
		return errTold
	}
	return err
}

// printAudit prints the JSON of an audit (docs/formats.md).
func (sh *shell) printAudit(found []gradatim.Violation, told leadsheet.Problems) error {
	if told == nil {
		told = leadsheet.Problems{}
	}
	return sh.printJSON(struct {
		Version    int                  `json:"version"`
		Violations []gradatim.Violation `json:"violations"`
		Problems   leadsheet.Problems   `json:"problems"`
	}{gradatim.FormatVersion, found, sh.words.Problems(told)})
}

func (sh *shell) tellAudit(found []gradatim.Violation, told leadsheet.Problems) {
	sh.say(told...)
	for _, v := range found {
		fmt.Fprintln(sh.out, sh.words.Line(v.Problem))
	}
	if len(found) == 0 {
		fmt.Fprintln(sh.out, sh.words.Say("told.no-rule"))
		return
	}
	fmt.Fprintln(sh.out, sh.words.Say("told.rules", "n", len(found)))
}
