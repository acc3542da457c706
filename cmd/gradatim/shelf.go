package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/user"
	"strings"

	"gradatim"
	"gradatim/internal/words"
)

const shelfAbout = `Keeps a catalogue of tunes: their sheets as they were handed in, what may be done
with them where, what was chosen, and what was made of them. What is written stays:
a change takes nothing away from what was before.

  init                  make an empty shelf
  add FILE …            put sheets there: files, books of many tunes, zip files, folders
  list [QUERY]          list tunes
  show TUNE             show what is known of a tune
  set TUNE              write its choices, sheet or texts
  rights TUNE           show or write what may be done with it in a territory
  history TUNE          show what was written when; take it back, or have it again
  hand [NAME SPAN]      list the players' hands, or write one down
  export DIR            write everything as plain files
  import DIR            put on the shelf what export wrote
  check                 compare every file with its hash
  backup DIR            copy a shelf that others may be working on

A QUERY is words of the title, of makers and of the dance, and fields: title:, composer:,
key:, metre:, kind:, rhythm:, technique:, level:, rating:, bars:, seconds:, rights:,
status:, incipit:, alike:, built:, warned:, id:. A TUNE is its id, the beginning of
it, or its title. gradatim shelf ACTION --help says more of each.`

// shelfAction is one thing that is done with a shelf.
type shelfAction struct {
	name string
	run  func(context.Context, *shell, []string) error
}

func shelfActions() []shelfAction {
	return []shelfAction{
		{"init", shelfInit}, {"add", shelfAdd}, {"list", shelfList}, {"show", shelfShow}, {"set", shelfSet}, {"rights", shelfRights},
		{"history", shelfHistory}, {"hand", shelfHand}, {"export", shelfExport}, {"import", shelfImport}, {"check", shelfCheck}, {"backup", shelfBackup},
	}
}

func shelfCommand(ctx context.Context, sh *shell, args []string) error {
	for _, a := range shelfActions() {
		if len(args) > 0 && a.name == args[0] {
			return a.run(ctx, sh, args[1:])
		}
	}
	f := flags(sh, "shelf", "ACTION", shelfAbout, "init --shelf tunes", "add book.abc", `list waltz key:G bars:16-32`, "rights 3f2a --in DE --status own")
	rest, err := f.parse(args)
	if err != nil {
		return err
	}
	if len(rest) == 0 {
		return usageError{"what is to be done? Say init, add, list, show, set, rights, history, hand, export, import, check or backup"}
	}
	return usageError{fmt.Sprintf("there is no action %q", rest[0])}
}

// shelfFlags are those of whatever works on a shelf.
type shelfFlags struct {
	*flagSet
	place, author *string
	logger        *slog.Logger
}

func declareShelf(sh *shell, name, args, about string, examples ...string) *shelfFlags {
	f := flags(sh, name, args, about, examples...)
	s := &shelfFlags{flagSet: f}
	s.place = f.String("shelf", "", "`PLACE` of the shelf: a folder, or a TOML file that names a database and a place for files (default: $GRADATIM_SHELF)")
	s.author = f.String("author", "", "`NAME` of who writes (default: $GRADATIM_AUTHOR, or the user's)")
	f.Language()
	return s
}

// at finds out where the shelf stands.
func (f *shelfFlags) at() (gradatim.ShelfPlace, error) {
	if *f.place != "" {
		return gradatim.ParseShelfPlace(*f.place, "", false)
	}
	return gradatim.ParseShelfPlace(os.Getenv("GRADATIM_SHELF"), os.Getenv("GRADATIM_FILES"), true)
}

func (f *shelfFlags) config() gradatim.ShelfConfig {
	c := gradatim.ShelfConfig{Author: *f.author, Logger: f.logger}
	if c.Author == "" {
		c.Author = os.Getenv("GRADATIM_AUTHOR")
	}
	if c.Author == "" {
		if u, err := user.Current(); err == nil {
			c.Author = u.Username
		}
	}
	return c
}

// words reads the command line.
func (f *shelfFlags) words(args []string) ([]string, error) {
	rest, err := f.parse(args)
	if err != nil {
		return nil, err
	}
	id, err := gradatim.ParseLanguage(*f.language)
	if err != nil {
		return nil, usageError{"--language " + err.Error()}
	}
	f.sh.words = words.Must(id)
	return rest, nil
}

// with opens the shelf for as long as do takes.
func (f *shelfFlags) with(ctx context.Context, do func(*gradatim.Shelf) error) error {
	at, err := f.at()
	if err != nil {
		return err
	}
	s, err := gradatim.OpenShelf(ctx, at, f.config())
	if err != nil {
		return err
	}
	return errors.Join(do(s), s.Close())
}

// withTune is with for what is done with one tune.
func (f *shelfFlags) withTune(ctx context.Context, rest []string, do func(*gradatim.Shelf, gradatim.ShelfTune) error) error {
	switch {
	case len(rest) == 0:
		return usageError{"which tune?"}
	case len(rest) > 1:
		return usageError{"one tune at a time: " + strings.Join(rest, ", ")}
	}
	return f.with(ctx, func(s *gradatim.Shelf) error {
		t, err := s.Tune(ctx, rest[0])
		if err != nil {
			return err
		}
		return do(s, t)
	})
}

func noMore(rest []string) error {
	if len(rest) > 0 {
		return usageError{fmt.Sprintf("%q is too much", rest[0])}
	}
	return nil
}

func shelfInit(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf init", "--shelf PLACE", "Makes an empty shelf: in a folder that is not there yet or is empty, or in a\nPostgreSQL database that has none.", "--shelf tunes")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if err := noMore(rest); err != nil {
		return err
	}
	at, err := f.at()
	if err != nil {
		return err
	}
	s, err := gradatim.CreateShelf(ctx, at, f.config())
	if err != nil {
		return err
	}
	fmt.Fprintln(sh.out, sh.words.Say("told.shelf-made", "Place", at.String()))
	return s.Close()
}
