package main

import (
	"context"
	"fmt"
	"strings"

	"gradatim"
	"gradatim/internal/words"
)

const chordAbout = `Says what chord symbols are: their notes as the symbol spells them, their degrees, a
keyboard of two octaves, and what each level may play of them. One that cannot be
read is told with the nearest that can.`

func chordCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "chord", "SYMBOL ...", chordAbout, "Bm7b5 'E7(b9)'", "C6/9 --json")
	f.Language()
	asJSON := f.JSON("print it as JSON")
	symbols, err := f.parse(args)
	switch {
	case err != nil:
		return err
	case len(symbols) == 0:
		return usageError{"which symbol?"}
	}
	id, err := gradatim.ParseLanguage(*f.language)
	if err != nil {
		return usageError{"--language " + err.Error()}
	}
	sh.words = words.Must(id)
	text, data, err := gradatim.DescribeChords(ctx, id, symbols...)
	switch {
	case err != nil:
		return err
	case *asJSON:
		text = string(data)
	}
	fmt.Fprint(sh.out, strings.TrimRight(text, "\n")+"\n")
	return nil
}
