package desk

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// wholeView is the tune at all levels over one time line: a column for each bar as it is
// played, a lane for each level.
type wholeView struct {
	frame
	Width  int // of all columns
	Column int // of one: one of colWidths
	Bars   []column
	Lanes  []lane
}

// column is a bar of the time line.
type column struct {
	place
	X      int
	Begins string // the section that begins here
}

// lane is a level: its notes drawn small, how hard each bar is by itself, what it is made
// of. Positions are in units of the drawing, of which a column has one of colWidths.
type lane struct {
	Number   int
	Name     string
	Failed   bool
	Problems []problem
	Rating   string
	Width    int
	Height   int
	column   int
	Notes    []mark
	Contour  string // points of the line
	Ground   int    // where the contour stands on
	Cells    []cell
	Sections []strand
	Strands  []strand // techniques
	Hardest  []string
	Rows     []laneRow
}

// mark is a note: where, how long, which hand.
type mark struct {
	X, Y, W int
	Left    bool
	Tune    bool
}

// cell is a bar of a lane, which leads to it.
type cell struct {
	X, W   int
	Href   string
	Chosen bool
	Peak   bool
	MarkX  int
	Y      int // of the contour there
}

// strand is something that holds for some bars: a section, a technique.
type strand struct {
	Y, TextX int
	End      bool // the text ends at TextX
	Text     string
	Runs     []run
}

type run struct{ X, W int }

// laneRow is a bar of a lane in words, for who does not see the drawing.
type laneRow struct {
	place
	Number int
	What   string
}

// Sizes of the drawing.
const (
	notesTop   = 14
	notesTall  = 62
	curveTall  = 34
	strandTall = 11
	textWide   = 110  // about the longest text of a strand
	whole      = 1190 // what a wide window has room for
)

// colWidths are the widths that a column can have (the style sheet has a class for each),
// so that a short tune fills the window and a long one can still be read.
var colWidths = []int{56, 46, 36, 26}

func columnOf(bars int) int {
	for _, w := range colWidths {
		if w*bars <= whole {
			return w
		}
	}
	return colWidths[len(colWidths)-1]
}

func (d *Desk) showWhole(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	pages, err := st.Session.Ladder(ctx)
	if err != nil {
		return err
	}
	song := st.Session.Song()
	v := &wholeView{frame: d.head(st, "whole"), Column: columnOf(len(song.Bars))}
	v.Width = v.Column * len(song.Bars)
	h := tuneHead{ID: st.Tune.ID}
	for i, b := range song.Bars {
		text := strconv.Itoa(b.Number)
		if b.Pickup && b.Number == 0 {
			text = "–"
		}
		v.Bars = append(v.Bars, column{place{Path: h.Href("bar/" + strconv.Itoa(b.Number)), Text: text}, i * v.Column, b.Section})
	}
	v.Lanes = make([]lane, len(pages))
	errs := make([]error, len(pages))
	var wait sync.WaitGroup
	for k, p := range pages {
		wait.Go(func() { v.Lanes[k], errs[k] = d.lane(ctx, st, song, p) })
	}
	wait.Wait()
	if err := errors.Join(errs...); err != nil {
		return err
	}
	return d.render(w, r, http.StatusOK, "whole", v)
}

// hardness is how hard each bar of a tune is by itself on a page, from 0 to 100; −1 where
// the page has no such bar. Bars that are alike are rated once.
func hardness(ctx context.Context, s score.Score, song leadsheet.Song, hand gradatim.Hand) ([]int, error) {
	out := make([]int, len(song.Bars))
	known := map[string]int{}
	for i, b := range song.Bars {
		at, ok := standsAt(s, b)
		if !ok {
			out[i] = -1
			continue
		}
		text := barText(s, at)
		n, ok := known[text]
		if !ok {
			k := s.BarAt(at.At)
			r, err := gradatim.Rate(ctx, s.Excerpt(k, k), gradatim.RateOptions{Hand: hand})
			if err != nil {
				return nil, err
			}
			n = r.Whole()
			known[text] = n
		}
		out[i] = n
	}
	return out, nil
}

func (d *Desk) lane(ctx context.Context, st *state, song leadsheet.Song, p gradatim.Page) (lane, error) {
	l := lane{Number: p.Level.Number, Name: d.words.Level(p.Level.Number, p.Level.Name), Failed: p.Failed, column: columnOf(len(song.Bars))}
	l.Width = l.column * len(song.Bars)
	if p.Failed {
		l.Problems = d.problems(p.Problems)
		return l, nil
	}
	whole, err := gradatim.Rate(ctx, p.Score, gradatim.RateOptions{Hand: st.Job.Hand, Language: d.words.ID()})
	if err != nil {
		return l, err
	}
	l.Rating = d.say("bar.rating", "Number", whole.Whole(), "Place", whole.Place)
	for _, h := range whole.Hardest {
		l.Hardest = append(l.Hardest, d.say("whole.hard", "Bars", barsSpan(h.First, h.Last), "Why", h.Text))
	}
	hard, err := hardness(ctx, p.Score, song, st.Job.Hand)
	if err != nil {
		return l, err
	}
	a, err := d.accountOf(ctx, st.Session, p.Level.Number)
	if err != nil {
		return l, err
	}
	d.drawNotes(&l, p.Score, song)
	l.Ground = notesTop + notesTall + curveTall
	d.drawContour(&l, st, song, p, hard)
	l.Height = l.Ground + 4
	printed := make([]int, len(song.Bars)) // number on the page of each column
	for i, b := range song.Bars {
		printed[i] = -1
		if at, ok := standsAt(p.Score, b); ok {
			printed[i] = at.Number
		}
	}
	for _, f := range a.Form {
		if f.Role == "introduction" || f.Role == "ending" {
			continue // beside the tune
		}
		s := strand{Y: notesTop - 4, Text: strings.Join(slices.DeleteFunc([]string{f.Section, d.say("role." + f.Role), f.Dynamic}, func(x string) bool { return x == "" }), " · ")}
		s.Runs = runsOf(l.column, printed, func(n int) bool { return n >= f.Bars[0] && n <= f.Bars[1] })
		if len(s.Runs) > 0 {
			s.TextX = s.Runs[0].X + 3
			l.Sections = append(l.Sections, s)
		}
	}
	for _, u := range p.Techniques {
		s := strand{Y: l.Height, Text: u.Name}
		s.Runs = runsOf(l.column, printed, func(n int) bool { return slices.Contains(u.Bars, n) })
		if len(s.Runs) == 0 {
			continue
		}
		s.TextX = s.Runs[0].X + 2
		if s.End = s.TextX > l.Width-textWide; s.End {
			s.TextX = l.Width - 2
		}
		l.Strands = append(l.Strands, s)
		l.Height += strandTall
	}
	for i, b := range song.Bars {
		if printed[i] < 0 {
			continue
		}
		var what []string
		for _, u := range p.Techniques {
			if slices.Contains(u.Bars, printed[i]) {
				what = append(what, u.Name)
			}
		}
		if l.Cells[i].Chosen {
			what = append(what, d.say("whole.chosen"))
		}
		l.Rows = append(l.Rows, laneRow{place{Path: l.Cells[i].Href, Text: d.barName(b)}, hard[i], strings.Join(what, ", ")})
	}
	return l, nil
}

// barsSpan writes bars from one to another.
func barsSpan(first, last int) string {
	switch {
	case first == last:
		return strconv.Itoa(first)
	case last < first: // into what stands after the tune, whose bars are counted anew
		return strconv.Itoa(first) + "–"
	}
	return fmt.Sprintf("%d–%d", first, last)
}

// runsOf are the stretches of columns whose numbers are in a set.
func runsOf(column int, numbers []int, in func(int) bool) []run {
	var out []run
	open := false
	for i, n := range numbers {
		is := n >= 0 && in(n)
		switch {
		case is && open:
			out[len(out)-1].W += column
		case is:
			out = append(out, run{i*column + 1, column - 2})
		}
		open = is
	}
	return out
}

// drawNotes draws the notes of a page: time to the right, pitch upwards.
func (d *Desk) drawNotes(l *lane, s score.Score, song leadsheet.Song) {
	low, high := 127, 0
	for _, n := range s.Notes {
		k := n.Pitch.MIDI()
		low, high = min(low, k), max(high, k)
	}
	span := max(high-low, 1)
	in := make([][]score.Note, len(s.Bars))
	for _, n := range s.Notes {
		if k := s.BarAt(n.At); k >= 0 && n.Grace == 0 {
			in[k] = append(in[k], n)
		}
	}
	for i, b := range song.Bars {
		at, ok := standsAt(s, b)
		if !ok || at.Dur == 0 {
			continue
		}
		scale := func(x theory.Dur) int { return int(x * theory.Dur(l.column-3) / at.Dur) }
		for _, n := range in[s.BarAt(at.At)] {
			from, to := n.At-at.At, min(n.End(), at.End())-at.At
			l.Notes = append(l.Notes, mark{
				X: i*l.column + 2 + scale(from), W: max(2, scale(to-from)-1),
				Y:    notesTop + 2 + (high-n.Pitch.MIDI())*(notesTall-6)/span,
				Left: n.Hand == score.Left, Tune: n.Origin.Kind == score.Melody,
			})
		}
	}
}

// drawContour draws how hard each bar is by itself. A bar that stands far above the middle
// of its level is a peak.
func (d *Desk) drawContour(l *lane, st *state, song leadsheet.Song, p gradatim.Page, hard []int) {
	var sorted []int
	for _, n := range hard {
		if n >= 0 {
			sorted = append(sorted, n)
		}
	}
	slices.Sort(sorted)
	middle, most := 0, 1
	if n := len(sorted); n > 0 {
		middle, most = sorted[n/2], max(sorted[n-1], 1)
	}
	var points []string
	for i, b := range song.Bars {
		c := cell{X: i * l.column, W: l.column, MarkX: i*l.column + l.column/2}
		c.Href = fmt.Sprintf("/tunes/%s/bar/%d?level=%d#level-%d", st.Tune.ID, b.Number, l.Number, l.Number)
		c.Chosen = len(d.chosenIn(st.Job.Choices.Data, l.Number, b)) > 0
		if hard[i] >= 0 {
			c.Y = l.Ground - hard[i]*(curveTall-8)/most
			c.Peak = hard[i] >= middle+8 && hard[i]*2 >= middle*3
			points = append(points, fmt.Sprintf("%d,%d %d,%d", c.X+1, c.Y, c.X+l.column-1, c.Y))
		}
		l.Cells = append(l.Cells, c)
	}
	l.Contour = strings.Join(points, " ")
}
