package main

import (
	"context"
	"fmt"
	"path/filepath"

	"gradatim"
	"gradatim/leadsheet"
)

const checkAbout = `Compares the files in a folder with the lists that were written beside them: those of
a ladder (ladder.json), of recordings (NAME.recordings.json) and of a lesson
(manifest.json). Files that are missing or changed are named, and the exit code is
1. What is on no list is not looked at, but in a lesson.`

func checkCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "check", "DIR", checkAbout, "pages", "lesson")
	f.Language()
	dir, err := f.argument(args, "folder")
	if err != nil {
		return err
	}
	lists, err := gradatim.CheckFolder(ctx, dir)
	if err != nil {
		if system(err) {
			return fileProblem(dir, err)
		}
		return err
	}
	var ps leadsheet.Problems
	for _, l := range lists {
		if len(l.Missing)+len(l.Changed) == 0 {
			fmt.Fprintln(sh.out, sh.words.Say("told.intact", "List", leadsheet.Name(filepath.Join(dir, l.Name)), "n", l.Files))
		}
		for _, w := range l.Missing {
			ps.Tell(leadsheet.Error, leadsheet.Pos{File: filepath.Join(dir, w)}, "folder-file.missing", "List", l.Name)
		}
		for _, w := range l.Changed {
			ps.Tell(leadsheet.Error, leadsheet.Pos{File: filepath.Join(dir, w)}, "folder-file.changed", "List", l.Name)
		}
	}
	return sh.words.Err(ps.Err())
}
