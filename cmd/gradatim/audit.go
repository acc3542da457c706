package main

import (
	"context"
	"encoding/json"
	"fmt"

	"gradatim"
	"gradatim/internal/audit"
	"gradatim/internal/hand"
	"gradatim/internal/musicxml"
	"gradatim/leadsheet"
)

const auditAbout = `Judges a two-staff piano score (MusicXML): are the bars full, is the tune kept and
on top, can the hands reach and get there, does everything fit the printed chords?
With --sheet the tune is compared with a lead sheet; without it the top line is
taken for the tune. Exit code 1 where a rule is broken.`

func auditCommand(_ context.Context, sh *shell, args []string) error {
	f := flags(sh, "audit", "SCORE", auditAbout)
	sheet := f.String("sheet", "", "`SHEET` that the score arranges, in the score's key")
	tune := f.Int("tune", 0, "`N`umber of the tune in a sheet of several")
	reach := f.String("hand", "ninth", "`REACH`: octave, ninth, tenth, or thumb to little finger in mm")
	asJSON := f.Bool("json", false, "print the violations as JSON")
	rest, err := parse(f, args)
	if err != nil {
		return err
	}
	name, err := one(rest, "score")
	if err != nil {
		return err
	}
	var opt audit.Options
	if opt.Hand, err = hand.ParseProfile(*reach); err != nil {
		return usageError{err.Error()}
	}
	data, err := sh.readFile(name)
	if err != nil {
		return err
	}
	s, told, err := musicxml.ReadScore(data, musicxml.Options{File: name})
	if err != nil {
		return err
	}
	if *sheet != "" {
		text, err := sh.readFile(*sheet)
		if err != nil {
			return err
		}
		song, err := gradatim.Read(*sheet, text, *tune)
		if err != nil {
			return err
		}
		opt.Song = &song
	}
	found := audit.Check(s, opt)
	for i := range found {
		found[i].Pos.File = name
	}
	if *asJSON {
		out := struct {
			Version    int                `json:"version"`
			Violations []audit.Violation  `json:"violations"`
			Problems   leadsheet.Problems `json:"problems"`
		}{gradatim.FormatVersion, found, told}
		if found == nil {
			out.Violations = []audit.Violation{}
		}
		if told == nil {
			out.Problems = leadsheet.Problems{}
		}
		b, err := json.MarshalIndent(out, "", " ")
		if err != nil {
			return err
		}
		fmt.Fprintln(sh.out, string(b))
	} else {
		for _, p := range told {
			fmt.Fprintln(sh.err, p)
		}
		for _, v := range found {
			fmt.Fprintln(sh.out, v.Problem)
		}
		switch len(found) {
		case 0:
			fmt.Fprintln(sh.out, "no rule is broken")
		case 1:
			fmt.Fprintln(sh.out, "1 rule is broken")
		default:
			fmt.Fprintf(sh.out, "%d rules are broken\n", len(found))
		}
	}
	if len(found) > 0 {
		return errTold
	}
	return nil
}
