package main

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gradatim"
)

const bookAbout = `Reads a whole book: every tune of an ABC file, or of a folder with all that lies in
it (ABC, MusicXML and MIDI). One table tells what was found: number, title, key, metre,
bars as played, how many chord symbols or none, and what is wrong with the tune.
The other commands take a tune of a book by its number or its title, as
--tune 12 or --tune "the lantern".`

func bookCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "book", "FILE|FOLDER", bookAbout, "tunes.abc", "sheets --json")
	f.Language()
	asJSON := f.JSON("print it as JSON, with every problem")
	name, err := f.argument(args, "book")
	if err != nil {
		return err
	}
	files, err := sh.bookFiles(name)
	if err != nil {
		return err
	}
	book, err := gradatim.ReadBook(ctx, sh.words.ID(), files...)
	if err != nil {
		return err
	}
	if *asJSON {
		data, err := book.JSON()
		if err == nil {
			_, err = sh.out.Write(data)
		}
		return err
	}
	fmt.Fprint(sh.out, book.Text())
	sh.say(book.Problems...)
	return nil
}

// maxBookFiles and maxBookBytes bound what is read of a folder.
const (
	maxBookFiles = 5_000
	maxBookBytes = 128 << 20
)

// sheetNames are the endings of files that may hold a lead sheet.
var sheetNames = []string{".abc", ".mid", ".midi", ".musicxml", ".mxl", ".xml"}

// bookFiles reads a file, or the sheets of a folder and of those in it, by name.
func (sh *shell) bookFiles(name string) ([]gradatim.File, error) {
	if st, err := os.Stat(name); name == "-" || err != nil || !st.IsDir() {
		f, err := sh.file(name)
		return []gradatim.File{f}, err
	}
	var out []gradatim.File
	size := 0
	err := filepath.WalkDir(name, func(p string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return fileProblem(p, err)
		case d.IsDir() && strings.HasPrefix(d.Name(), ".") && p != name:
			return filepath.SkipDir
		case !d.Type().IsRegular() || strings.HasPrefix(d.Name(), ".") || !slices.Contains(sheetNames, strings.ToLower(filepath.Ext(p))):
			return nil
		}
		f, err := sh.file(p)
		if err != nil {
			return err
		}
		if size += len(f.Data); len(out) == maxBookFiles || size > maxBookBytes {
			return problem(name, "book-too-large", "Files", maxBookFiles, "Most", maxBookBytes>>20)
		}
		out = append(out, f)
		return nil
	})
	if err == nil && len(out) == 0 {
		err = problem(name, "book-empty")
	}
	return out, err
}
