package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"gradatim"
)

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
