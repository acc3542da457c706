package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
)

const lockAbout = `Writes bars of a page as text that keeps them, note for note, whatever a newer
version would write in their place. Put the text beside a file of choices, and
name it there under [[lock]] with file = …. The page is one of ours (MusicXML), in
any key; what its notes are for is read from the account beside it, if there is
one. Bars are those of the sheet.`

func lockCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "lock", "PAGE --sheet SHEET", lockAbout, "pages/tune.3.musicxml --sheet tune.abc -o tune.3.lock", "pages/tune.3.musicxml --sheet tune.abc --bars 1-8,12")
	sheet := f.String("sheet", "", "`SHEET`: the lead sheet that the page arranges")
	tune := f.Tune()
	f.Mend()
	bars := f.String("bars", "", "`LIST`: bars of the sheet: 1-8,12 (default: all)")
	out := f.String("o", "", "`FILE`: to write to (default: standard output)")
	f.Language()
	name, err := f.argument(args, "page")
	if err != nil {
		return err
	}
	if *sheet == "" {
		return usageError{"of which tune? Give the lead sheet with --sheet SHEET"}
	}
	wanted, err := barList(*bars)
	if err != nil {
		return err
	}
	data, err := sh.readFile(name)
	if err != nil {
		return err
	}
	page, _, err := gradatim.ReadScore(label(name), data)
	if err != nil {
		return err
	}
	song, err := sh.readSheet(*sheet, *tune)
	if err != nil {
		return err
	}
	text, err := gradatim.LockText(ctx, sh.explained(page, name), song, wanted...)
	if err != nil {
		return leadsheet.InFile(err, label(name))
	}
	if *out == "" {
		_, err := sh.out.Write(text)
		return err
	}
	return writeOne(*out, text)
}

// explained gives the notes of a page the origins of the account beside it; without one
// they have none.
func (sh *shell) explained(page score.Score, name string) score.Score {
	if why, err := sh.readFile(strings.TrimSuffix(name, ".musicxml") + ".json"); err == nil {
		if with, err := gradatim.Explained(page, why); err == nil {
			return with
		}
	}
	return page
}

// barList reads a list such as "1-8,12"; an empty one names none.
func barList(list string) ([]int, error) {
	if list == "" {
		return nil, nil
	}
	const most = 100_000 // bars; more than any sheet has
	var out []int
	for _, part := range strings.Split(list, ",") {
		a, b, is := strings.Cut(strings.TrimSpace(part), "-")
		lo, err := strconv.Atoi(a)
		hi := lo
		if err == nil && is {
			hi, err = strconv.Atoi(b)
		}
		if err != nil || lo < 0 || hi < lo || hi-lo > most {
			return nil, usageError{fmt.Sprintf("--bars %q: say 1-8,12", list)}
		}
		for n := lo; n <= hi; n++ {
			out = append(out, n)
		}
	}
	return out, nil
}
