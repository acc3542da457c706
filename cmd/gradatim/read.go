package main

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
)

const readAbout = `Shows what was understood of a lead sheet, in playing order: title, rights, key,
metre, form, and each bar with its chords and its tune. A dot marks where a
phrase begins; C4@2.5:1/8 is middle C on the second half of beat 2, an eighth
long. What was dropped or guessed is told with its place, and so is what looks like
an error of the sheet, with its likely reading; --mend takes those that are sure.

With --lead the sheet is taken out of a piano score (MusicXML) on two staves: its
tune, or that of the voice above it, and the chords that it prints or, where it
prints none, those that sound. With -o the sheet is written as it was understood,
in the order of playing; what is written can be arranged at every level.`

func readCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "read", "SHEET", readAbout, "tune.abc", "book.abc --tune 3 --json", "tune.abc --mend -o mended.abc", "page.musicxml --lead -o tune.abc")
	tune := f.Tune()
	lead := f.Bool("lead", false, "take the lead sheet out of a piano score")
	to := f.String("o", "", "`FILE`: .abc or .musicxml; write the sheet, and show nothing")
	f.Mend()
	f.Language()
	asJSON := f.JSON("print it as JSON, with the role of each note and more")
	name, err := f.argument(args, "lead sheet")
	if err != nil {
		return err
	}
	format, err := sheetFormat(*to)
	switch {
	case err != nil:
		return err
	case *lead && f.given("tune"):
		return usageError{"--tune is for lead sheets; a score holds one tune"}
	case *to != "" && *asJSON:
		return usageError{"-o writes the sheet, --json shows what was understood of it: one of the two"}
	}
	song, err := sh.readLead(name, *tune, *lead)
	if err != nil {
		return err
	}
	if *to != "" {
		data, err := gradatim.WriteSheet(song, format)
		if err != nil {
			return leadsheet.InFile(err, label(name))
		}
		sh.say(sh.words.Problems(song.Problems)...)
		return writeOne(*to, data)
	}
	d, err := gradatim.Describe(ctx, song, sh.words.ID())
	if err != nil {
		return err
	}
	if *asJSON {
		_, err := sh.out.Write(d.JSON)
		return err
	}
	fmt.Fprint(sh.out, d.Text)
	sh.say(d.Problems...)
	return nil
}

// readLead reads a lead sheet, or takes one out of a piano score.
func (sh *shell) readLead(name, tune string, lead bool) (leadsheet.Song, error) {
	if !lead {
		return sh.readSheet(name, tune)
	}
	data, err := sh.readFile(name)
	if err != nil {
		return leadsheet.Song{}, err
	}
	song, err := gradatim.Lead(label(name), data)
	if err != nil || len(sh.mend) == 0 {
		return song, err
	}
	return gradatim.Mend(song, sh.mend...)
}

// sheetFormat is told by the name of the file to write.
func sheetFormat(file string) (f gradatim.SheetFormat, err error) {
	switch ext := strings.ToLower(filepath.Ext(file)); {
	case file == "":
		return 0, nil
	case ext == ".abc":
		return gradatim.SheetABC, nil
	case ext == ".musicxml" || ext == ".xml":
		return gradatim.SheetMusicXML, nil
	}
	return 0, usageError{"-o " + file + ": the file must end in .abc or .musicxml"}
}
