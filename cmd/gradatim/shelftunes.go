package main

import (
	"context"
	"fmt"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
)

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
