package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// chordRow is a chord that is proposed for a bare tune, and what else could stand there.
type chordRow struct {
	Name  string // of the field
	Where string
	Why   string
	Ways  []chordWay // the one that was found first
}

// chordWay is one chord that could stand there, to be heard and seen in its bar.
type chordWay struct {
	Symbol, ID     string
	Sound, Picture string
	On             bool
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
		bar, until := numbered(song, c.Measure), 0 // and the last bar in which it is still in force
		if i+1 < len(h.Chords) {
			until = numbered(song, h.Chords[i+1].Measure) - 1
		} else if n := len(song.Bars); n > 0 {
			until = song.Bars[n-1].Sheet
		}
		where := d.barsText(bar, max(bar, until))
		switch {
		case bar == 0:
			where = words.Upper(d.say("where.pickup"))
		case c.Offset != "0":
			where = words.Upper(d.say("sheet.after", "Bar", bar, "Offset", c.Offset))
		}
		row := chordRow{Name: fmt.Sprintf("chord-%d", i), Where: where, Why: c.Why}
		for k, symbol := range append([]string{c.Symbol}, c.Alternatives...) {
			q := "?" + url.Values{"n": {strconv.Itoa(i)}, "chord": {symbol}}.Encode()
			row.Ways = append(row.Ways, chordWay{Symbol: symbol, ID: fmt.Sprintf("chord-%d-%d", i, k), On: k == 0, Sound: "/tunes/" + st.Tune.ID + "/trial.wav" + q, Picture: "/tunes/" + st.Tune.ID + "/trial.svg" + q})
		}
		out = append(out, row)
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
		http.Redirect(w, r, "/tunes/"+st.Tune.ID+"/sheet?told=meanwhile", http.StatusSeeOther)
		return nil
	}
	h, list, err := d.harmonized(ctx, st)
	if err != nil {
		return err
	}
	text := list.picked(h, func(n int) string { return r.PostFormValue(fmt.Sprintf("chord-%d", n)) })
	how, err := d.keepSheet(ctx, st.Tune.ID, seen, strings.TrimRight(text, "\n")+"\n", d.say("note.chords"))
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/tunes/"+st.Tune.ID+"/sheet?told="+how, http.StatusSeeOther)
	return nil
}

// picked is a bare tune's sheet with the chords that were found, or those of their
// alternatives that pick names. The tune was bare, so every symbol is one of those, in order.
func (l harmony) picked(h gradatim.Harmonized, pick func(n int) string) string {
	n := -1
	return symbolInABC.ReplaceAllStringFunc(string(h.Sheet), func(s string) string {
		if n++; n < len(l.Chords) {
			if p := pick(n); slices.Contains(l.Chords[n].Alternatives, p) {
				return `"` + p + `"`
			}
		}
		return s
	})
}

// trialLevel is the level at which a chord is tried: its hands are full enough to hear it.
const trialLevel = 2

// trial is a page of a bare tune with one of its chords (n, counted from 0) another one, and
// the bar in which that stands.
func (d *Desk) trial(r *http.Request) (gradatim.Page, score.Bar, error) {
	ctx, q := r.Context(), r.URL.Query()
	none := func(err error) (gradatim.Page, score.Bar, error) { return gradatim.Page{}, score.Bar{}, err }
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return none(err)
	}
	h, list, err := d.harmonized(ctx, st)
	if err != nil {
		return none(err)
	}
	n, err := strconv.Atoi(q.Get("n"))
	if err != nil || n < 0 || n >= len(list.Chords) || st.Tune.Chords > 0 {
		return none(errNoPage)
	}
	text := list.picked(h, func(i int) string {
		if i != n {
			return ""
		}
		return q.Get("chord")
	})
	s, err := d.session(ctx, st.Tune.ID, gradatim.Job{Sheet: gradatim.File{Name: sheetName(st), Data: []byte(text)}, Levels: []int{trialLevel}})
	if err != nil {
		return none(err)
	}
	p, ok, err := pageOf(ctx, s, trialLevel)
	if err != nil {
		return none(err)
	}
	bars := s.Song().Bars
	bar := numbered(s.Song(), list.Chords[n].Measure)
	i := slices.IndexFunc(bars, func(b leadsheet.Bar) bool { return b.Sheet == bar })
	if !ok || p.Failed || i < 0 {
		return none(errNoPage)
	}
	at, stands := standsAt(p.Score, bars[i])
	if !stands {
		return none(errNoPage)
	}
	return p, at, nil
}

// trialSound answers with the bar of a chord that is tried, as it sounds.
func (d *Desk) trialSound(w http.ResponseWriter, r *http.Request) error {
	p, at, err := d.trial(r)
	if err != nil {
		return err
	}
	return d.sendSound(w, r, p, gradatim.Take{From: at.Number, To: at.Number})
}

// trialPicture answers with the same, engraved.
func (d *Desk) trialPicture(w http.ResponseWriter, r *http.Request) error {
	p, at, err := d.trial(r)
	if err != nil {
		return err
	}
	svgs, err := d.draw(r.Context(), p.Score, gradatim.Layout{From: at.Number, To: at.Number, OneSystem: true, Continued: true, Fingers: gradatim.NoFingers}, "")
	if err != nil {
		return err
	}
	sendSVG(w, r, svgs[0])
	return nil
}
