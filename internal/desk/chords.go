package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
)

// chordRow is a chord that is proposed for a bare tune, and what else could stand there.
type chordRow struct {
	Name   string // of the field
	Where  string
	Symbol string
	Why    string
	Others []string
	Bar    int
}

// harmony is what Harmonize says, as far as it is shown (docs/formats.md).
type harmony struct {
	Chords []struct {
		Measure      int
		Offset       string
		Symbol       string
		Alternatives []string
		Why          string
	}
}

// harmonized is a bare tune with the chords that were found for it.
func (d *Desk) harmonized(ctx context.Context, st *state) (gradatim.Harmonized, harmony, error) {
	h, err := gradatim.Harmonize(ctx, st.Job.Sheet, gradatim.HarmonizeOptions{Format: gradatim.SheetABC, Language: d.words.ID()})
	if err != nil {
		return h, harmony{}, err
	}
	var out harmony
	return h, out, json.Unmarshal(h.JSON, &out)
}

// proposed lists the chords of a bare tune with reasons. A tune that no chords can be found
// for has none.
func (d *Desk) proposed(ctx context.Context, st *state, song leadsheet.Song) ([]chordRow, error) {
	_, h, err := d.harmonized(ctx, st)
	var ps leadsheet.Problems
	if errors.As(err, &ps) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	var out []chordRow
	for i, c := range h.Chords {
		bar := numbered(song, c.Measure)
		where := d.say("where.bar", "Bar", bar)
		switch {
		case bar == 0:
			where = d.say("where.pickup")
		case c.Offset != "0":
			where = d.say("sheet.after", "Bar", bar, "Offset", c.Offset)
		}
		out = append(out, chordRow{Name: fmt.Sprintf("chord-%d", i), Where: where, Symbol: c.Symbol, Why: c.Why, Others: c.Alternatives, Bar: bar})
	}
	return out, nil
}

// numbered is the number that a written bar, counted from 0, has above the staff: the
// pick-up has none.
func numbered(song leadsheet.Song, measure int) int {
	for _, b := range song.Bars {
		if b.Page[0] > 0 && (b.Page[0]-1)/leadsheet.PageParts == measure {
			return b.Sheet
		}
	}
	return measure + 1
}

// symbolInABC finds chord symbols in ABC: quoted texts that no sign before them makes a
// remark (ABC 2.1, 4.18 and 4.19).
var symbolInABC = regexp.MustCompile(`"[^"^_<>@\n][^"\n]*"`)

// takeChords writes the proposed chords into the sheet, or those that were picked.
func (d *Desk) takeChords(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	seen, err := d.newest(ctx, st.Tune.ID, gradatim.SheetHistory)
	if err != nil {
		return err
	}
	if r.PostFormValue("seen") != fmt.Sprint(seen) { // what was proposed was for another sheet
		http.Redirect(w, r, "/tunes/"+st.Tune.ID+"?told=meanwhile", http.StatusSeeOther)
		return nil
	}
	h, list, err := d.harmonized(ctx, st)
	if err != nil {
		return err
	}
	// The tune was bare, so every symbol is one of those that were found, in order.
	n := -1
	text := symbolInABC.ReplaceAllStringFunc(string(h.Sheet), func(s string) string {
		n++
		if n >= len(list.Chords) {
			return s
		}
		picked := r.PostFormValue(fmt.Sprintf("chord-%d", n))
		for _, a := range list.Chords[n].Alternatives {
			if a == picked {
				return `"` + a + `"`
			}
		}
		return s
	})
	how, err := d.keepSheet(ctx, st.Tune.ID, seen, strings.TrimRight(text, "\n")+"\n", d.say("note.chords"))
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/tunes/"+st.Tune.ID+"?told="+how, http.StatusSeeOther)
	return nil
}
