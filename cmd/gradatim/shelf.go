package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/internal/words"
	"gradatim/leadsheet"
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

func shelfAdd(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf add", "FILE …", `Puts sheets on the shelf: files, books of many tunes, zip files, and folders of
all these. NAME.rights.toml beside a sheet comes along. A sheet that is there already
is left; a tune that is another again, in another key, metre or spelling, is told.
What cannot be read is told, and the others go on.`, "book.abc", "collection/ --new-only")
	newOnly := f.Bool("new-only", false, "leave out a tune that is another again")
	quiet := f.Bool("quiet", false, "tell only what could not be read, and how many there were")
	asJSON := f.JSON("print what became of each tune as JSON")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if len(rest) == 0 {
		return usageError{"which files?"}
	}
	return f.with(ctx, func(s *gradatim.Shelf) error {
		w := sh.words
		var added, there, alike, refused int
		taken, err := s.Take(ctx, rest, gradatim.TakeOptions{NewOnly: *newOnly, Language: w.ID(), Each: func(t gradatim.Taken) {
			state := "added"
			switch {
			case t.Tune == "" && t.Alike == "":
				refused++
				state = "refused"
			case t.There:
				there++
				state = "there"
			case t.Tune == "":
				alike++
				state = "left"
			default:
				added++
				if t.Alike != "" {
					alike++
				}
			}
			if *asJSON {
				return
			}
			if state == "refused" || !*quiet {
				sh.say(t.Problems...)
			}
			if !*quiet && state != "refused" {
				line := fmt.Sprintf("%-16s  %s", t.Tune, t.Title)
				if t.There {
					line += "; " + w.Say("told.shelf-there")
				} else if t.Alike != "" {
					line += "; " + w.Say("told.shelf-alike", "Tune", t.Alike)
				}
				fmt.Fprintln(sh.out, line)
			}
		}})
		if err != nil {
			return err
		}
		if *asJSON {
			return sh.printTaken(taken, refused)
		}
		fmt.Fprintln(sh.out, w.Say("told.shelf-added", "Added", added, "There", there, "Alike", alike, "Refused", refused))
		if refused > 0 {
			return errTold
		}
		return nil
	})
}

func (sh *shell) printTaken(taken []gradatim.Taken, refused int) error {
	type one struct {
		File     string             `json:"file"`
		Title    string             `json:"title"`
		Tune     string             `json:"tune"`
		There    bool               `json:"there"`
		Alike    string             `json:"alike,omitempty"`
		Problems leadsheet.Problems `json:"problems"`
	}
	out := struct {
		Version int   `json:"version"`
		Tunes   []one `json:"tunes"`
	}{gradatim.FormatVersion, []one{}}
	for _, t := range taken {
		out.Tunes = append(out.Tunes, one{t.Name, t.Title, t.Tune, t.There, t.Alike, listed(t.Problems)})
	}
	if err := sh.printJSON(out); err != nil {
		return err
	}
	if refused > 0 {
		return errTold
	}
	return nil
}

func shelfList(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf list", "[QUERY]", `Lists the tunes for which all of a query holds, by title. Words begin words of the
title, of makers and of the dance. Fields narrow it:

  title: composer: rhythm:   as it begins; quote what has blanks
  key:F, key:"F major"       key:F is any mode
  metre:3/4 kind:waltz
  bars:16-32 seconds:60-     from, to, or both
  incipit:"G A B C5"         as it begins, in any key; or in half steps, "+2 +2 +1"
  technique:ID level:3 rating:20-40   of pages that were made
  rights:DE status:own       what holds there; rights: alone finds what may be published
  alike:yes built:no warned:yes id:ID`, "waltz key:G bars:16-32", `incipit:"D G B"`, "rights:DE technique:walking-bass level:4 --json")
	limit := f.Int("limit", 50, "`N`: tunes at most; 0: all (default: 50)")
	from := f.Int("from", 1, "`N`: begin with the Nth (default: 1)")
	asJSON := f.JSON("print them as JSON")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if *limit < 0 || *from < 1 {
		return usageError{"--limit is from 0 on, --from from 1 on"}
	}
	q, err := gradatim.ParseShelfQuery(joined(rest))
	if err != nil {
		return err
	}
	return f.with(ctx, func(s *gradatim.Shelf) error {
		n, err := s.Count(ctx, q)
		if err != nil {
			return err
		}
		q.Limit, q.Offset = *limit, *from-1
		ts, err := s.Find(ctx, q)
		if err != nil {
			return err
		}
		if *asJSON {
			return sh.printTunes(ts, n)
		}
		for _, t := range ts {
			fmt.Fprintf(sh.out, "%s  %-32s %-24s %-10s %-5s %4d  %s\n", t.ID, cut(t.Title, 32), cut(t.Composer, 24), t.Key, t.Metre, t.Bars, t.Kind)
		}
		fmt.Fprintln(sh.out, sh.words.Say("told.shelf-found", "n", n))
		return nil
	})
}

// joined puts a query together again that a command line took apart at its quotes.
func joined(args []string) string {
	out := make([]string, len(args))
	for i, a := range args {
		if field, value, is := strings.Cut(a, ":"); is && strings.Contains(value, " ") && !strings.Contains(value, `"`) {
			a = field + `:"` + value + `"`
		}
		out[i] = a
	}
	return strings.Join(out, " ")
}

// cut shortens a text for a column.
func cut(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

// tuneJSON is a tune in a list.
type tuneJSON struct {
	Tune     string `json:"tune"`
	Title    string `json:"title"`
	Composer string `json:"composer"`
	Key      string `json:"key"`
	Metre    string `json:"meter"`
	Kind     string `json:"kind"`
	Sure     bool   `json:"sure"`
	Form     string `json:"form,omitempty"`
	Bars     int    `json:"bars"`
	Notes    int    `json:"notes"`
	Chords   int    `json:"chords"`
	Seconds  int    `json:"seconds"`
	Incipit  string `json:"incipit"`
	Alike    string `json:"alike,omitempty"`
	Sheet    string `json:"sheet"`
	SHA256   string `json:"sha256"`
	Source   string `json:"source"`
	Added    string `json:"added"`
	Author   string `json:"author"`
}

const stamp = "2006-01-02T15:04:05Z"

func jsonOf(t gradatim.ShelfTune) tuneJSON {
	return tuneJSON{t.ID, t.Title, t.Composer, t.Key, t.Metre, t.Kind, t.Sure, t.Form, t.Bars, t.Notes, t.Chords, t.Seconds, t.Incipit.First, t.Alike, t.Name, t.Hash, t.Source, t.Added.Format(stamp), t.Author}
}

func (sh *shell) printTunes(ts []gradatim.ShelfTune, n int) error {
	out := struct {
		Version int        `json:"version"`
		Found   int        `json:"found"`
		Tunes   []tuneJSON `json:"tunes"`
	}{gradatim.FormatVersion, n, []tuneJSON{}}
	for _, t := range ts {
		out.Tunes = append(out.Tunes, jsonOf(t))
	}
	return sh.printJSON(out)
}

func shelfSet(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf set", "TUNE", `Writes something about a tune: choices (as --choices of ladder takes them), a text
of a lesson, a rights file, or another sheet in the place of the one that is there. What
was before stays in the history. A dash in the place of a file is standard input.`,
		"3f2a --choices mine.toml --note \"for the recital\"", "3f2a --text level-2 words.md", "3f2a --sheet corrected.abc")
	choices := f.String("choices", "", "`FILE` of choices")
	sheet := f.String("sheet", "", "`FILE`: the sheet")
	rights := f.String("rights-file", "", "`FILE`: the rights file that goes with the sheet into pages and lessons")
	text := f.String("text", "", "`NAME` of a text, of small letters, digits and hyphens; its file is --file")
	file := f.String("file", "", "`FILE` of the text")
	note := f.String("note", "", "`WHY`: a line for the history")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	given := 0
	for _, s := range []string{*choices, *sheet, *rights, *text} {
		if s != "" {
			given++
		}
	}
	if given != 1 || (*text == "") != (*file == "") {
		return usageError{"one thing to set at a time: --choices FILE, --sheet FILE, --rights-file FILE, or --text NAME --file FILE"}
	}
	return f.withTune(ctx, rest, func(s *gradatim.Shelf, t gradatim.ShelfTune) error {
		what, name := gradatim.ChoicesHistory, *choices
		switch {
		case *sheet != "":
			what, name = gradatim.SheetHistory, *sheet
		case *rights != "":
			what, name = gradatim.RightsHistory, *rights
		case *text != "":
			what, name = gradatim.TextHistory(*text), *file
		}
		if err := s.CheckHistory(what); err != nil {
			return err
		}
		in, err := sh.file(name)
		if err != nil {
			return err
		}
		if what == gradatim.SheetHistory {
			if name == "-" {
				in.Name = t.Name
			}
			ps, err := s.ReplaceSheet(ctx, t.ID, in, *note)
			if err != nil {
				return err
			}
			sh.say(ps...)
			return nil
		}
		if err := s.CheckWriting(ctx, t.ID, what, in); err != nil {
			return err
		}
		version, err := s.Write(ctx, t.ID, what, in.Data, *note, -1)
		if err == nil {
			fmt.Fprintln(sh.out, sh.words.Say("told.shelf-written", "Of", what, "Version", version))
		}
		return err
	})
}

func shelfRights(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf rights", "TUNE", `Shows what is written down of what may be done with a tune, by territory; with --in
and --status, writes it down. A territory is a country by its two letters (ISO 3166-1),
or world, which holds where nothing is written down for a country. To publish in a
territory needs public domain with a basis, own, or licensed with evidence, in force
today. Nothing becomes free by a date here: whoever writes it down decides, and the law
of the place, and somebody who knows it, come first.`,
		"3f2a", `3f2a --in DE --status "public domain" --basis "composer died in 1901" --evidence "Example's Dictionary, 1950"`, "3f2a --in FR --status licensed --evidence letter-12.pdf --until 2031-12-31")
	in := f.String("in", "", "`TERRITORY` that is written about")
	status := f.String("status", "", "`STATUS`: \"public domain\", own, licensed or unknown")
	basis := f.String("basis", "", "`WHY` it is so")
	year := f.Int("year", 0, "`N`: year of first publication")
	died := f.Int("died", 0, "`N`: year in which the last of the makers died")
	evidence := f.String("evidence", "", "`WHERE` it can be checked")
	holder := f.String("holder", "", "`NAME` of whose right it is")
	since := f.String("since", "", "`DATE` from which it holds, as 2024-05-31")
	until := f.String("until", "", "`DATE`: the last day on which it holds")
	note := f.String("note", "", "`TEXT` for whoever looks after the rights")
	all := f.Bool("all", false, "show what was written down before, too")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if (*in == "") != (*status == "") {
		return usageError{"to write it down, --in TERRITORY and --status STATUS"}
	}
	return f.withTune(ctx, rest, func(s *gradatim.Shelf, t gradatim.ShelfTune) error {
		if *in != "" {
			st, ok := gradatim.ParseStatus(*status)
			if !ok {
				return usageError{fmt.Sprintf("--status %q is not one: say \"public domain\", own, licensed or unknown", *status)}
			}
			_, err := s.SetRight(ctx, t.ID, gradatim.Right{Territory: *in, Status: st, Basis: *basis, Year: *year, Died: *died, Evidence: *evidence, Holder: *holder, Since: *since, Expires: *until, Note: *note})
			if err != nil {
				return err
			}
		}
		list := s.Rights
		if *all {
			list = s.RightsHistory
		}
		rs, err := list(ctx, t.ID)
		if err != nil {
			return err
		}
		sh.printRights(rs)
		ps, err := s.Publications(ctx, t.ID)
		if err != nil {
			return err
		}
		for _, p := range ps {
			fmt.Fprintln(sh.out, sh.words.Say("told.shelf-published", "Date", p.At.Format("2006-01-02"), "Territory", p.Territory, "Status", p.Right.Status.String(), "Author", p.Author))
		}
		return nil
	})
}

func (sh *shell) printRights(rs []gradatim.Right) {
	if len(rs) == 0 {
		fmt.Fprintln(sh.out, sh.words.Say("told.shelf-no-rights"))
	}
	for _, r := range rs {
		var more []string
		for _, m := range []struct{ name, value string }{{"basis", r.Basis}, {"year", year(r.Year)}, {"died", year(r.Died)}, {"evidence", r.Evidence}, {"holder", r.Holder}, {"since", r.Since}, {"until", r.Expires}, {"note", r.Note}} {
			if m.value != "" {
				more = append(more, m.name+" "+m.value)
			}
		}
		fmt.Fprintf(sh.out, "%-6s %-14s %s  (%d, %s, %s)\n", r.Territory, r.Status, strings.Join(more, "; "), r.Version, r.Author, r.At.Format("2006-01-02"))
	}
}

func year(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func shelfHistory(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf history", "TUNE", `Shows what was written about a tune when and by whom. Nothing of it is ever lost:
--undo takes back what was written last, --redo puts it there again, and --at prints what
held after any version.`, "3f2a", "3f2a --of choices --undo", "3f2a --of choices --at 3 > choices.toml", "3f2a --of text:level-2")
	of := f.String("of", "", "`WHAT`: choices, sheet, rights, or text:NAME (default: all)")
	at := f.Int("at", 0, "`N`: print what held after this version")
	undo := f.Bool("undo", false, "take back what was written last")
	redo := f.Bool("redo", false, "put there again what was taken back last")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	what := *of
	if name, is := strings.CutPrefix(what, "text:"); is {
		what = gradatim.TextHistory(name)
	}
	if (*undo || *redo || f.given("at")) && what == "" || *undo && *redo {
		return usageError{"of what? --of choices, rights or text:NAME, and one thing at a time"}
	}
	return f.withTune(ctx, rest, func(s *gradatim.Shelf, t gradatim.ShelfTune) error {
		whats := []string{what}
		if what == "" {
			if whats, err = s.Histories(ctx, t.ID); err != nil {
				return err
			}
		} else if err := s.CheckHistory(what); err != nil {
			return err
		}
		switch {
		case f.given("at"):
			data, err := s.At(ctx, t.ID, what, *at)
			if err == nil {
				_, err = sh.out.Write(data)
			}
			return err
		case *undo:
			if _, err := s.Undo(ctx, t.ID, what); err != nil {
				return err
			}
		case *redo:
			if _, err := s.Redo(ctx, t.ID, what); err != nil {
				return err
			}
		}
		for _, what := range whats {
			rs, err := s.History(ctx, t.ID, what)
			if err != nil {
				return err
			}
			for _, r := range rs {
				line := fmt.Sprintf("%-10s %3d  %-4s %3d  %s  %s", what, r.Version, r.Act, r.Shows, r.At.Format(stamp), r.Author)
				if r.Note != "" {
					line += ": " + r.Note
				}
				fmt.Fprintln(sh.out, line)
			}
		}
		return nil
	})
}

func shelfHand(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf hand", "[NAME SPAN]", `Lists the players' hands as they were measured last, or writes one down. A SPAN is as
--hand of ladder takes it: octave, ninth, tenth, or 215mm. A hand grows: what was
measured before stays. A stretch that hurts is too wide, whatever a number says.`, "mia octave", "tom 221mm")
	note := f.String("note", "", "`TEXT`: when and how it was measured")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if len(rest) == 1 || len(rest) > 2 {
		return usageError{"a NAME and a SPAN, or nothing"}
	}
	return f.with(ctx, func(s *gradatim.Shelf) error {
		if len(rest) == 2 {
			if _, err := gradatim.ParseHand(rest[1]); err != nil {
				return usageError{err.Error()}
			}
			if err := s.SetHand(ctx, gradatim.ShelfHand{Name: rest[0], Spans: rest[1], Note: *note}); err != nil {
				return err
			}
		}
		hs, err := s.Hands(ctx)
		for _, h := range hs {
			fmt.Fprintf(sh.out, "%-20s %-30s %s\n", h.Name, h.Spans, h.Note)
		}
		return err
	})
}

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
