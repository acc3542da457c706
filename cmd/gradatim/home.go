package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"html"
	"io"
	"os"
	"path/filepath"

	"gradatim"
	"gradatim/internal/machine"
)

// Who has no terminal starts the program with a double click: it is asked for nothing then,
// and nobody would see what it prints. It opens the desk on a shelf among the user's
// documents, which it makes where there is none, and what stops it is told in the browser.

// homeShelf is what the folder of that shelf is called, among the documents.
const homeShelf = "Gradatim"

// homePlace is where that shelf stands.
func homePlace() (string, error) {
	dir, err := machine.Documents()
	if err != nil {
		return "", err
	}
	return filepath.Join(dir, homeShelf), nil
}

// homeMade makes the shelf among the documents where nothing stands there.
func homeMade(ctx context.Context, dir string, cfg gradatim.ShelfConfig) (gradatim.ShelfPlace, error) {
	at, err := gradatim.ParseShelfPlace(dir, "", false)
	if err != nil {
		return at, err
	}
	names, err := os.ReadDir(dir)
	if len(names) > 0 || err != nil && !os.IsNotExist(err) {
		return at, nil // opening it tells what is wrong
	}
	s, err := gradatim.CreateShelf(ctx, at, cfg)
	if err != nil {
		return at, err
	}
	return at, s.Close()
}

// runHome is what a double click does: run, with what went wrong shown in the browser.
func runHome(ctx context.Context, in io.Reader, out, errw io.Writer, show func(address string)) int {
	var told bytes.Buffer
	code := run(ctx, []string{"desk", "--home", "--language", homeLanguage()}, in, out, io.MultiWriter(errw, &told))
	if code != done {
		if file, err := troublePage(told.String()); err == nil {
			show(file)
		}
	}
	return code
}

// troublePage writes a page that says why the program has ended.
func troublePage(text string) (string, error) {
	f, err := os.CreateTemp("", "gradatim-*.html")
	if err != nil {
		return "", err
	}
	_, err = fmt.Fprintf(f, "<!DOCTYPE html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n<title>gradatim</title>\n<h1>gradatim has ended</h1>\n<pre>%s</pre>\n</html>\n", html.EscapeString(text))
	return f.Name(), cmp.Or(err, f.Close())
}

// homeLanguage is the language of the machine where the desk speaks it, else English.
func homeLanguage() string {
	said := machine.Language()
	for _, l := range gradatim.Languages() {
		if len(said) >= 2 && l == said[:2] {
			return l
		}
	}
	return "en"
}
