package main

import (
	"context"
	"fmt"

	"gradatim/internal/account"
	"gradatim/internal/harmony"
	"gradatim/leadsheet"
)

const readAbout = `Shows what was understood of a lead sheet, in playing order: title, rights, key,
metre, form, and each bar with its chords and its tune. A dot marks where a
phrase begins; C4@2.5:1/8 is middle C on the second half of beat 2, an eighth
long. What was dropped or guessed is told with its place.`

func readCommand(_ context.Context, sh *shell, args []string) error {
	f := flags(sh, "read", "SHEET", readAbout, "tune.abc", "book.abc --tune 3 --json")
	tune := f.Tune()
	asJSON := f.JSON("print it as JSON, with the role of each note and more")
	name, err := f.argument(args, "lead sheet")
	if err != nil {
		return err
	}
	song, err := sh.readSheet(name, *tune)
	if err != nil {
		return err
	}
	if *asJSON {
		b, err := account.Sheet(song)
		if err != nil {
			return err
		}
		fmt.Fprintln(sh.out, string(b))
		return nil
	}
	fmt.Fprint(sh.out, account.SheetText(song))
	ps := append(leadsheet.Problems{}, song.Problems...)
	ps = append(ps, harmony.Analyse(song).Problems...)
	ps.Sort()
	for _, p := range ps {
		fmt.Fprintln(sh.err, p)
	}
	return nil
}
