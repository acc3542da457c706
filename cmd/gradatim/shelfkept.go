package main

import (
	"context"
	"fmt"
	"path/filepath"

	"gradatim"
	"gradatim/leadsheet"
)

func shelfExport(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf export", "DIR", `Writes everything on the shelf as plain files: of each tune its sheet, choices, texts,
rights and whole history, every file as it was handed in, and what was made. The same
shelf gives the same files. DIR appears whole or not at all; an earlier export there is
replaced.`, "out", "out --without-builds")
	without := f.Bool("without-builds", false, "leave out what was made; it can be made again")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if len(rest) != 1 {
		return usageError{"where to? One folder"}
	}
	return f.with(ctx, func(s *gradatim.Shelf) error {
		n, err := s.Export(ctx, rest[0], gradatim.ShelfExport{WithoutBuilds: *without})
		if err == nil {
			fmt.Fprintln(sh.out, sh.words.Say("told.shelf-exported", "n", n, "Folder", rest[0]))
		}
		return err
	})
}

func shelfImport(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf import", "DIR", `Puts on the shelf what export wrote, with its whole history. All of it is compared
with its hashes first; tunes that are on the shelf stay as they are there.`, "out --shelf other")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if len(rest) != 1 {
		return usageError{"where from? One folder"}
	}
	return f.with(ctx, func(s *gradatim.Shelf) error {
		n, there, err := s.Import(ctx, rest[0])
		if err == nil {
			fmt.Fprintln(sh.out, sh.words.Say("told.shelf-imported", "n", n, "There", len(there)))
		}
		return err
	})
}

func shelfCheck(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf check", "", "Compares every file and every version with its hash, and says what is damaged or\nmissing, and of which tune.", "--shelf tunes")
	asJSON := f.JSON("print it as JSON")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if err := noMore(rest); err != nil {
		return err
	}
	return f.with(ctx, func(s *gradatim.Shelf) error {
		c, err := s.Check(ctx)
		if err != nil {
			return err
		}
		if *asJSON {
			err = sh.printJSON(struct {
				Version   int                `json:"version"`
				Tunes     int                `json:"tunes"`
				Revisions int                `json:"revisions"`
				Files     int                `json:"files"`
				Bytes     int64              `json:"bytes"`
				Loose     int                `json:"loose"`
				Problems  leadsheet.Problems `json:"problems"`
			}{gradatim.FormatVersion, c.Tunes, c.Revisions, c.Files, c.Bytes, c.Loose, listed(sh.words.Problems(c.Problems))})
		} else {
			sh.say(c.Problems...)
			fmt.Fprintln(sh.out, sh.words.Say("told.shelf-checked", "Tunes", c.Tunes, "Versions", c.Revisions, "Files", c.Files, "Size", size(sh.words, c.Bytes), "Loose", c.Loose))
		}
		if err == nil && len(c.Problems) > 0 {
			err = errTold
		}
		return err
	})
}

func shelfBackup(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf backup", "DIR", `Copies an embedded shelf into a folder, which is a shelf itself then, also while
others work on it. Done again into the same folder, only new files are copied.`, "/mnt/disk/tunes")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if len(rest) != 1 {
		return usageError{"where to? One folder"}
	}
	return f.with(ctx, func(s *gradatim.Shelf) error {
		dir, err := filepath.Abs(rest[0])
		if err == nil {
			err = s.Backup(ctx, dir)
		}
		return err
	})
}

// listed is a list for JSON, which is never null.
func listed(ps leadsheet.Problems) leadsheet.Problems {
	if ps == nil {
		return leadsheet.Problems{}
	}
	return ps
}
