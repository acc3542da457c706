package main

import (
	"context"
	"fmt"

	"gradatim"
)

const readAbout = `Shows what was understood of a lead sheet, in playing order: title, rights, key,
metre, form, and each bar with its chords and its tune. A dot marks where a
phrase begins; C4@2.5:1/8 is middle C on the second half of beat 2, an eighth
long. What was dropped or guessed is told with its place.`

func readCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "read", "SHEET", readAbout, "tune.abc", "book.abc --tune 3 --json")
	tune := f.Tune()
	f.Language()
	asJSON := f.JSON("print it as JSON, with the role of each note and more")
	name, err := f.argument(args, "lead sheet")
	if err != nil {
		return err
	}
	song, err := sh.readSheet(name, *tune)
	if err != nil {
		return err
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
