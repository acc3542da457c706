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
	Least int // pixels that all columns need
	Tall  int // of what a bar is drawn in, from its top
	Bars  []column
	Lanes []lane
}

// column is a bar of the time line.
type column struct {
	place
	Begins string // the section that begins here
}

// lane is a level: its notes drawn small, how hard each bar is by itself, what it is made
// of. Across, positions are shares of the lane, which is as wide as the window lets it be;
// downwards they are pixels.
type lane struct {
	Number   int
	Name     string
	Failed   bool
	Problems []problem
	Rating   string
	Width    int // units of the contour
	bars     int
	Notes    []mark
	Contour  string // points of the line
	Ground   int    // where the contour stands on
	Height   int
	Cells    []cell
	Sections []strand
	Strands  []strand // techniques
	Hardest  []string
	Rows     []laneRow
	Open     bool // its pages are unfolded
	Folds    []fold
	laneMusic
}

// fold is a stretch of the time line that is as wide as a narrow window: what is drawn of its
// bars, W wide and moved by X. A narrow window shows that part alone: a browser copies all that
// it shows again.
type fold struct {
	N     int // of the lane, from 0
	X, W  Share
	Bars  []stripBar
	Cells []cell
	Notes []mark
}

// laneMusic is a level to be heard, and seen as it is printed: for a wide window and for a
// narrow one; of a long tune nothing is shown.
type laneMusic struct {
	Sound         string
	Music, Narrow []strip
}

func (d *Desk) laneMusic(st *state, p gradatim.Page) laneMusic {
	n := p.Level.Number
	m := laneMusic{Sound: fmt.Sprintf("/tunes/%s/sound.wav?level=%d&at=%d", st.Tune.ID, n, st.Version)}
	if len(st.Session.Song().Bars) <= mostMusic {
		all := Player{Level: n, At: st.Version, To: len(p.Score.Bars)}
		m.Music, m.Narrow = d.strips(st, p.Score, all, line, "w"), d.strips(st, p.Score, all, narrowLine, "v")
		leads := d.leads(st, p)
		for _, strips := range [][]strip{m.Music, m.Narrow} {
			for i := range strips {
				to := len(p.Score.Bars)
				if i+1 < len(strips) {
					to = strips[i+1].From - 1
				}
				for _, b := range p.Score.Bars {
					if b.Number >= strips[i].From && b.Number <= to {
						strips[i].Links = append(strips[i].Links, leads[b.Number])
					}
				}
			}
		}
	}
	return m
}

// leads are the bars of the tune by their numbers on a page: the first that is printed there.
func (d *Desk) leads(st *state, p gradatim.Page) map[int]stripBar {
	out := map[int]stripBar{}
	for _, b := range st.Session.Song().Bars {
		at, ok := standsAt(p.Score, b)
		if _, has := out[at.Number]; !ok || has {
			continue
		}
		fixed, _ := st.Session.Chosen(p.Level.Number, b.Number) // a bar of the song has a number
		out[at.Number] = stripBar{place{Path: fmt.Sprintf("/tunes/%s/bar/%d?level=%d", st.Tune.ID, b.Number, p.Level.Number), Text: d.barName(b)}, len(fixed) > 0}
	}
	return out
}

// mark is a note: where, how long, which hand.
type mark struct {
	bar  int // by index, within which it is drawn
	X, W Share
	Y    int
	Left bool
	Tune bool
}

// Share is a share of a lane's width, in hundredths of a percent.
type Share int

// String writes "12.34%".
func (s Share) String() string { return fmt.Sprintf("%d.%02d%%", s/100, s%100) }

// cell is a bar of a lane, which leads to it.
type cell struct {
	X, W   Share
	Href   string
	Chosen bool
	Peak   bool
	MarkX  Share
	Y      int // of the contour there
}

// strand is something that holds for some bars: a section, a technique.
type strand struct {
	Text string
	Bars string // in words
	Runs []run
}

type run struct{ X, W Share }

// laneRow is a bar of a lane in words, for who does not see the drawing.
type laneRow struct {
	place
	Number int
	What   string
}

// Sizes of the drawing.
const (
	notesTop    = 38 // below a row for sections and one for what is fixed
	notesTall   = 70
	curveTall   = 40
	leastColumn = 44   // of a bar
	unit        = 1000 // of the contour, a bar
	mostMusic   = 64   // bars of a tune that is shown engraved, too
)

// share is where a bar of a lane begins, or the place n/of within it.
func (l *lane) share(bar, n, of int) Share {
	return Share((bar*of + n) * 10000 / (of * max(1, l.bars)))
}

// reach is how much of a lane some bars take.
func (l *lane) reach(from, bars int) run {
	x := l.share(from, 0, 1)
	return run{x, l.share(from+bars, 0, 1) - x}
}

// foldBars is about how many bars of a time line a narrow window takes.
const foldBars = 8

// folded cuts the time line of a lane for a narrow window, into stretches of one length.
func (l *lane) folded(columns []column) []fold {
	n := len(l.Cells)
	if n == 0 {
		return nil
	}
	folds := max(1, (n-1+foldBars-1)/foldBars)
	per := (n + folds - 1) / folds
	var out []fold
	for from := 0; from < n; from += per {
		to := min(from+per, n)
		bar := func(m mark, bar int) int { return m.bar - bar }
		first, _ := slices.BinarySearchFunc(l.Notes, from, bar)
		last, _ := slices.BinarySearchFunc(l.Notes, to, bar)
		f := fold{N: len(out), X: -Share(from / per * 10000), W: Share(n * 10000 / per), Cells: l.Cells[from:to], Notes: l.Notes[first:last]}
		for i := from; i < to; i++ {
			f.Bars = append(f.Bars, stripBar{place{Path: l.Cells[i].Href, Text: columns[i].Text}, l.Cells[i].Chosen})
		}
		out = append(out, f)
	}
	return out
}

// openTune leads to where a tune opens: at its pages.
func (d *Desk) openTune(w http.ResponseWriter, r *http.Request) error {
	t, err := d.shelf.Tune(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	to := "/tunes/" + t.ID + "/whole"
	if r.URL.RawQuery != "" {
		to += "?" + r.URL.Query().Encode()
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
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
	v := &wholeView{frame: d.head(st, "whole"), Least: leastColumn * len(song.Bars), Tall: notesTop + notesTall + curveTall - 20}
	h := tuneHead{ID: st.Tune.ID}
	for _, b := range song.Bars {
		v.Bars = append(v.Bars, column{place{Path: h.Href("bar/" + strconv.Itoa(b.Number)), Text: d.columnName(b)}, b.Section})
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
	open := max(0, slices.IndexFunc(v.Lanes, func(l lane) bool { return l.Number == levelAsked(r) }))
	for i := range v.Lanes {
		v.Lanes[i].Folds, v.Lanes[i].Open = v.Lanes[i].folded(v.Bars), i == open
	}
	return d.render(w, r, http.StatusOK, "whole", v)
}

// columnName is what stands above the column of a bar.
func (d *Desk) columnName(b leadsheet.Bar) string {
	if b.Pickup && b.Number == 0 {
		return d.say("where.pickup")
	}
	return strconv.Itoa(b.Number)
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
			var err error
			if n, err = ratingOf(ctx, s, at, hand); err != nil {
				return nil, err
			}
			known[text] = n
		}
		out[i] = n
	}
	return out, nil
}

func (d *Desk) lane(ctx context.Context, st *state, song leadsheet.Song, p gradatim.Page) (lane, error) {
	l := lane{Number: p.Level.Number, Name: d.words.Level(p.Level.Number, p.Level.Name), Failed: p.Failed, bars: len(song.Bars), Width: unit * len(song.Bars)}
	if p.Failed {
		l.Problems = d.problems(p.Problems)
		return l, nil
	}
	whole, err := gradatim.Rate(ctx, p.Score, gradatim.RateOptions{Hand: st.Job.Hand, Language: d.words.ID()})
	if err != nil {
		return l, err
	}
	l.Rating = d.say("whole.rating", "Number", whole.Whole())
	l.laneMusic = d.laneMusic(st, p)
	hard, err := hardness(ctx, p.Score, song, st.Job.Hand)
	if err != nil {
		return l, err
	}
	a, err := d.accountOf(ctx, st.Session, p)
	if err != nil {
		return l, err
	}
	d.drawNotes(&l, p.Score, song)
	l.Ground = notesTop + notesTall + curveTall
	if err := d.drawContour(&l, st, song, hard); err != nil {
		return l, err
	}
	var peaks []int
	for i, c := range l.Cells {
		if n := song.Bars[i].Sheet; c.Peak && !slices.Contains(peaks, n) {
			peaks = append(peaks, n)
		}
	}
	if slices.Sort(peaks); peaks != nil {
		l.Hardest = []string{d.say("whole.hard", "Bars", d.barList(peaks))}
	}
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
		s := strand{Text: strings.Join(slices.DeleteFunc([]string{f.Section, d.say("role." + f.Role), f.Dynamic}, func(x string) bool { return x == "" }), " · ")}
		s.Runs = l.runs(printed, func(n int) bool { return n >= f.Bars[0] && n <= f.Bars[1] })
		if len(s.Runs) > 0 {
			l.Sections = append(l.Sections, s)
		}
	}
	for _, u := range p.Techniques {
		s := strand{Text: u.Name, Bars: d.barList(u.Bars), Runs: l.runs(printed, func(n int) bool { return slices.Contains(u.Bars, n) })}
		if len(s.Runs) > 0 {
			l.Strands = append(l.Strands, s)
		}
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

// runs are the stretches of a lane whose bars have their numbers in a set.
func (l *lane) runs(numbers []int, in func(int) bool) []run {
	var out []run
	begin := -1
	for i := range len(numbers) + 1 {
		is := i < len(numbers) && numbers[i] >= 0 && in(numbers[i])
		switch {
		case is && begin < 0:
			begin = i
		case !is && begin >= 0:
			out = append(out, l.reach(begin, i-begin))
			begin = -1
		}
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
		// A note is a little shorter than it is held, so that two of a kind are two.
		share := func(x theory.Dur) Share { return l.share(i, int(x*970/at.Dur), unit) }
		for _, n := range in[s.BarAt(at.At)] {
			from, to := n.At-at.At, min(n.End(), at.End())-at.At
			l.Notes = append(l.Notes, mark{
				bar: i, X: share(from), W: max(10, share(to)-share(from)-l.share(0, 25, unit)),
				Y:    notesTop + 2 + (high-n.Pitch.MIDI())*(notesTall-6)/span,
				Left: n.Hand == score.Left, Tune: n.Origin.Kind == score.Melody,
			})
		}
	}
}

// drawContour draws how hard each bar is by itself. A bar that stands far above the middle
// of its level is a peak.
func (d *Desk) drawContour(l *lane, st *state, song leadsheet.Song, hard []int) error {
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
	// Where many bars stand above the middle none stands out: then it is the hardest alone.
	peak := func(n int) bool { return n >= middle+8 && n*2 >= middle*3 }
	above := 0
	for _, n := range sorted {
		if peak(n) {
			above++
		}
	}
	if above > max(1, len(sorted)/4) {
		peak = func(n int) bool { return n == most }
	}
	var points []string
	for i, b := range song.Bars {
		r := l.reach(i, 1)
		c := cell{X: r.X, W: r.W, MarkX: l.share(i, 1, 2)}
		c.Href = fmt.Sprintf("/tunes/%s/bar/%d?level=%d", st.Tune.ID, b.Number, l.Number)
		chosen, err := st.Session.Chosen(l.Number, b.Number)
		if err != nil {
			return err
		}
		c.Chosen = len(chosen) > 0
		if hard[i] >= 0 {
			c.Y = l.Ground - hard[i]*(curveTall-8)/most
			c.Peak = peak(hard[i])
			points = append(points, fmt.Sprintf("%d,%d %d,%d", i*unit, c.Y, (i+1)*unit, c.Y))
		}
		l.Cells = append(l.Cells, c)
	}
	l.Contour = strings.Join(points, " ")
	return nil
}
