package main

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/internal/choice"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

const lockAbout = `Writes bars of a page as text that keeps them, note for note, whatever a newer
version would write in their place. Put the text beside a file of choices, and
name it there under [[lock]] with file = …. The page is one of ours (MusicXML), in
any key; what its notes are for is read from the account beside it, if there is
one. Bars are those of the sheet.`

func lockCommand(_ context.Context, sh *shell, args []string) error {
	f := flags(sh, "lock", "PAGE --sheet SHEET", lockAbout, "pages/tune.3.musicxml --sheet tune.abc -o tune.3.lock", "pages/tune.3.musicxml --sheet tune.abc --bars 1-8,12")
	sheet := f.String("sheet", "", "`SHEET`: the lead sheet that the page arranges")
	tune := f.Tune()
	bars := f.String("bars", "", "`LIST`: bars of the sheet: 1-8,12 (default: all)")
	out := f.String("o", "", "`FILE`: to write to (default: standard output)")
	name, err := f.argument(args, "page")
	if err != nil {
		return err
	}
	if *sheet == "" {
		return usageError{"of which tune? Give the lead sheet with --sheet SHEET"}
	}
	wanted, err := barList(*bars)
	if err != nil {
		return err
	}
	data, err := sh.readFile(name)
	if err != nil {
		return err
	}
	page, _, err := gradatim.ReadScore(label(name), data)
	if err != nil {
		return err
	}
	song, err := sh.readSheet(*sheet, *tune)
	if err != nil {
		return err
	}
	sh.explain(&page, name)
	page, _ = page.Played()
	if page.End() != song.End() || slices.ContainsFunc(song.Bars, func(b leadsheet.Bar) bool { return page.Bars[page.BarAt(b.At)].At != b.At }) {
		return problem(label(name), "lock-other", "the page is none of this sheet: its bars are others", "name the sheet that it was made from")
	}
	home := theory.NameInterval(page.Bars[0].Key.Tonic, song.Bars[0].Key.Tonic)
	if home.Semitones > 6 { // pages are moved to the nearest place
		home.Steps, home.Semitones = home.Steps-7, home.Semitones-12
	}
	moved := song.Transpose(home.Neg())
	var locked []choice.Bar
	for i, b := range song.Bars {
		if wanted(b.Sheet) {
			locked = append(locked, choice.BarOf(moved, page, i).In(home))
		}
	}
	if len(locked) == 0 {
		return problem(label(*sheet), "lock-empty", "the sheet has no bar "+*bars, "bars are counted as the sheet has them, a repeat once")
	}
	text := choice.FormatBars(song, locked)
	if *out == "" {
		_, err := sh.out.Write(text)
		return err
	}
	return writeAll(".", []output{{*out, text}})
}

// explain gives the notes of a page the origins of the account beside it; without one
// they have none.
func (sh *shell) explain(page *score.Score, name string) {
	data, err := sh.readFile(strings.TrimSuffix(name, ".musicxml") + ".json")
	if err != nil {
		return
	}
	var account struct {
		Notes []struct {
			ID     string
			Origin struct {
				Kind      score.Kind
				Melody    *int
				Technique string
			}
		}
	}
	if json.Unmarshal(data, &account) != nil {
		return
	}
	origins := map[string]score.Origin{}
	for _, n := range account.Notes {
		o := score.Origin{Kind: n.Origin.Kind, Technique: n.Origin.Technique}
		if n.Origin.Melody != nil {
			o.Melody = *n.Origin.Melody + 1
		}
		origins[n.ID] = o
	}
	for i := range page.Notes {
		page.Notes[i].Origin = origins[page.Notes[i].ID]
	}
}

// barList reads a list such as "1-8,12"; an empty one means all.
func barList(list string) (func(int) bool, error) {
	if list == "" {
		return func(int) bool { return true }, nil
	}
	const most = 100_000 // bars; more than any sheet has
	in := map[int]bool{}
	for _, part := range strings.Split(list, ",") {
		a, b, is := strings.Cut(strings.TrimSpace(part), "-")
		lo, err := strconv.Atoi(a)
		hi := lo
		if err == nil && is {
			hi, err = strconv.Atoi(b)
		}
		if err != nil || lo < 0 || hi < lo || hi-lo > most {
			return nil, usageError{fmt.Sprintf("--bars %q: say 1-8,12", list)}
		}
		for n := lo; n <= hi; n++ {
			in[n] = true
		}
	}
	return func(n int) bool { return in[n] }, nil
}
