package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// barView is one bar at every level, one under the other.
type barView struct {
	frame
	Bar          string // what it is called
	Here         string // its address
	Before, Next string // addresses of its neighbours; "": there is none
	Player       Player
	Rungs        []place // this bar at each level
	Refused      []problem
	Nearest      string      // that can be had in the place of what was refused
	Else         []elsewhere // what else the last change has changed
	Levels       []barLevel
}

// barLevel is the bar on the page of a level.
type barLevel struct {
	Number     int
	Name       string
	Bar        string // where it stands on this page, if elsewhere than on the sheet; "": there
	Failed     bool
	Problems   []problem // what is told of the bar, or of a page that failed
	Picture    string
	Rating     string
	Harder     string // than the same bar at a level above; "": it is not
	hard       int
	Chords     []chordLine
	Techniques []string
	Chosen     []chosenLine // what the teacher has fixed in it
	Marked     bool         // the last change has changed it
	Here       string       // the address of its section, with its ways
	Ways       *barWays     // of the level that is looked at; nil: it is another
}

// chordLine is a chord that begins in the bar.
type chordLine struct {
	Beat, Symbol, Roman, Degrees, Why string
	More                              string // address of the page that says more; "": it began before
	at                                string // its beat; "": it began before
}

// barWays is what else the bar could be, and the forms by which it becomes so.
type barWays struct {
	Level      int
	Seen       int
	Action     string
	Chosen     []chosenLine
	Decisions  []decisionView
	Tries      []tryPlace    // other chords
	Near       [2]neighbour  // the bars beside it, on the same page; zero: there is none
	Techniques []optionRowOf // to use or to leave alone
	Notes      []noteRow
	Octaves    []string
	Beat       string // at which the bar begins
	Section    string // bars of the section that it belongs to
}

// Fingers are those that a note can have.
func (*barWays) Fingers() []int { return []int{1, 2, 3, 4, 5} }

// neighbour is a bar beside the one that is worked on, drawn smaller.
type neighbour struct{ Path, Picture, Text string }

// optionRowOf is a value to pick from.
type optionRowOf struct{ Value, Text string }

// noteRow is a note that is struck in the bar.
type noteRow struct {
	ID                  string // on the page and in its picture
	Value               string // as the forms send it: hand, beat and pitch
	Beat, Hand, Pitch   string
	Degree, For, Finger string
	Why                 string // address of the page that says more
}

// decisionView is one place where the search had to choose: a card for each pattern, with
// its other forms in it.
type decisionView struct {
	Title string
	Fixed bool
	Ways  []wayView
	More  []wayView // further down the list
}

// shownWays is how many of the patterns stand open, with the one that holds.
const shownWays = 8

func (d *Desk) showBar(w http.ResponseWriter, r *http.Request) error {
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	return d.barPage(w, r, st, http.StatusOK, nil, "")
}

// barOf is the bar that an address names: by its number in playing order.
func barOf(s *gradatim.Session, text string) (leadsheet.Bar, int, error) {
	n, err := strconv.Atoi(text)
	bars := s.Song().Bars
	i := slices.IndexFunc(bars, func(b leadsheet.Bar) bool { return b.Number == n })
	if err != nil || i < 0 {
		return leadsheet.Bar{}, 0, errNoPage
	}
	return bars[i], i, nil
}

// standsAt is the bar of a page at which a bar of the tune is printed.
func standsAt(s score.Score, b leadsheet.Bar) (score.Bar, bool) {
	found := -1
	for i, x := range s.Bars {
		if x.Part != score.Tune || cmp.Or(x.Sheet, x.Number) != b.Sheet {
			continue
		}
		if found < 0 || cmp.Or(x.Pass, 1) == cmp.Or(b.Pass, 1) {
			found = i
		}
	}
	if found < 0 {
		return score.Bar{}, false
	}
	return s.Bars[found], true
}

// level reads the level that somebody looks at: the first of those that there are where
// nothing is said.
func levelAsked(r *http.Request) int {
	n, _ := strconv.Atoi(cmp.Or(r.PostFormValue("level"), r.URL.Query().Get("level")))
	return n
}

func (d *Desk) barPage(w http.ResponseWriter, r *http.Request, st *state, status int, refused leadsheet.Problems, nearest string) error {
	ctx := r.Context()
	b, i, err := barOf(st.Session, r.PathValue("bar"))
	if err != nil {
		return err
	}
	pages, err := st.Session.Ladder(ctx)
	if err != nil {
		return err
	}
	h := tuneHead{ID: st.Tune.ID}
	v := &barView{frame: d.head(st, "whole"), Bar: d.barName(b), Here: h.Href("bar/" + strconv.Itoa(b.Number)), Refused: d.problems(refused), Nearest: nearest}
	v.Title = v.Bar + " · " + v.Tune.Title
	bars := st.Session.Song().Bars
	asked := levelAsked(r)
	if !slices.ContainsFunc(pages, func(p gradatim.Page) bool { return p.Level.Number == asked }) && len(pages) > 0 {
		asked = pages[len(pages)-1].Level.Number
	}
	for _, p := range pages {
		n := p.Level.Number
		v.Rungs = append(v.Rungs, place{fmt.Sprintf("%s?level=%d", v.Here, n), strconv.Itoa(n), n == asked})
	}
	if i > 0 {
		v.Before = fmt.Sprintf("%s?level=%d", h.Href("bar/"+strconv.Itoa(bars[i-1].Number)), asked)
	}
	if i+1 < len(bars) {
		v.Next = fmt.Sprintf("%s?level=%d", h.Href("bar/"+strconv.Itoa(bars[i+1].Number)), asked)
	}
	for _, p := range pages { // of a page that failed there is nothing to hear
		if at, ok := standsAt(p.Score, b); ok && p.Level.Number == asked && !p.Failed {
			number := strconv.Itoa(at.Number)
			if v.Player, _, err = d.player(ctx, st, url.Values{"level": {strconv.Itoa(asked)}, "from": {number}, "to": {number}}); err != nil {
				return err
			}
		}
	}
	marked, err := d.changedSince(ctx, st, r.URL.Query().Get("since"))
	if err != nil {
		return err
	}
	v.Levels = make([]barLevel, len(pages))
	errs := make([]error, len(pages))
	var wait sync.WaitGroup
	for k, p := range pages {
		wait.Go(func() { v.Levels[k], errs[k] = d.barLevel(ctx, st, p, b, asked, marked) })
	}
	wait.Wait()
	if err := errors.Join(errs...); err != nil {
		return err
	}
	d.climbs(v.Levels)
	if k := slices.IndexFunc(v.Levels, func(l barLevel) bool { return l.Ways != nil }); k > 0 { // what is worked on stands first
		open := v.Levels[k]
		v.Levels = slices.Insert(slices.Delete(v.Levels, k, k+1), 0, open)
	}
	v.Else = d.elsewhere(st, pages, marked, b)
	return d.render(w, r, status, "bar", v)
}

// climbs says of each level's bar which levels above have it easier.
func (d *Desk) climbs(ls []barLevel) {
	for i := range ls {
		var above []string
		for _, l := range ls[i+1:] {
			if l.hard > 0 && l.hard < ls[i].hard {
				above = append(above, strconv.Itoa(l.Number))
			}
		}
		if above != nil {
			ls[i].Harder = d.say("bar.harder", "Levels", d.words.List(above), "n", len(above))
		}
	}
}

// barName calls a bar as a reader does.
func (d *Desk) barName(b leadsheet.Bar) string {
	switch {
	case b.Pickup && b.Number == 0:
		return d.say("bar.pickup")
	case b.Sheet != b.Number:
		return d.say("bar.again", "Bar", b.Sheet, "Pass", b.Pass)
	}
	return d.say("bar.name", "Bar", b.Number)
}

func (d *Desk) barLevel(ctx context.Context, st *state, p gradatim.Page, b leadsheet.Bar, asked int, marked map[placeKey]bool) (barLevel, error) {
	n := p.Level.Number
	h := tuneHead{ID: st.Tune.ID}
	l := barLevel{Number: n, Name: d.words.Level(n, p.Level.Name), Failed: p.Failed, Marked: marked[placeKey{n, b.Number}]}
	l.Here = fmt.Sprintf("%s?level=%d", h.Href("bar/"+strconv.Itoa(b.Number)), n)
	if p.Failed {
		l.Problems = d.problems(p.Problems)
		return l, nil
	}
	at, ok := standsAt(p.Score, b)
	if !ok {
		return l, nil
	}
	if at.Number != b.Sheet {
		l.Bar = d.say("bar.on-page", "Bar", at.Number)
	}
	var told leadsheet.Problems
	for _, x := range p.Problems {
		if x.Pos.Bar == at.Number && (x.Pos.Bar > 0 || x.Pos.Beat > 0) {
			told = append(told, x)
		}
	}
	l.Problems = d.problems(told)
	l.Picture = fmt.Sprintf("/tunes/%s/bar.svg?level=%d&bar=%d&at=%d", st.Tune.ID, n, b.Number, st.Version)
	whole, err := ratingOf(ctx, p.Score, at, st.Job.Hand)
	if err != nil {
		return l, err
	}
	l.Rating, l.hard = d.say("bar.rating", "Number", whole), whole
	for _, u := range p.Techniques {
		if slices.Contains(u.Bars, at.Number) {
			l.Techniques = append(l.Techniques, u.Name)
		}
	}
	why, err := d.accountOf(ctx, st.Session, p)
	if err != nil {
		return l, err
	}
	l.Chords = d.chordLines(p.Score, at, why)
	for i, c := range l.Chords {
		if c.at != "" {
			l.Chords[i].More = fmt.Sprintf("/tunes/%s/why?%s", st.Tune.ID, url.Values{"level": {strconv.Itoa(n)}, "bar": {strconv.Itoa(b.Number)}, "chord": {c.at}}.Encode())
		}
	}
	if l.Chosen, err = d.chosenIn(st.Session, n, b); err != nil {
		return l, err
	}
	if n == asked {
		if l.Ways, err = d.barWays(ctx, st, p, b, at, why); l.Ways != nil {
			l.Ways.Chosen = l.Chosen
		}
	}
	return l, err
}

// ratingOf says how hard a bar of a page is by itself, for a hand.
func ratingOf(ctx context.Context, s score.Score, bar score.Bar, hand gradatim.Hand) (whole int, err error) {
	k := s.BarAt(bar.At)
	r, err := gradatim.Rate(ctx, s.Excerpt(k, k), gradatim.RateOptions{Hand: hand})
	return r.Whole(), err
}

// chordLines are the chords of a bar, the first being the one in force when it begins.
func (d *Desk) chordLines(s score.Score, at score.Bar, a accounted) []chordLine {
	var out []chordLine
	add := func(c score.Symbol, beat string) {
		l := chordLine{Beat: beat, Symbol: c.Chord.Pretty()}
		var names []string
		for _, n := range c.Chord.SpellReading() {
			if g, ok := c.Chord.Degree(n); ok {
				names = append(names, g.Pretty()+" "+d.words.Name(n))
			}
		}
		l.Degrees = strings.Join(names, ", ")
		pos := s.PosAt(c.At)
		for _, h := range a.Harmony {
			for _, x := range h.Chords {
				if x.Part == "" && x.Bar == pos.Bar && x.Beat == pos.Beat.String() {
					l.Roman, l.Why = x.Roman, x.Why
				}
			}
		}
		out = append(out, l)
	}
	if c, ok := s.ChordAt(at.At); ok && c.At < at.At {
		add(c, d.say("bar.held-chord"))
	}
	for _, c := range s.Chords {
		if c.At >= at.At && c.At < at.End() {
			beat := s.PosAt(c.At).Beat.String()
			add(c, d.say("bar.beat", "Beat", beat))
			out[len(out)-1].at = beat
		}
	}
	return out
}

// noteRows are the notes that are struck in a bar.
func (d *Desk) noteRows(st *state, p gradatim.Page, b leadsheet.Bar, at score.Bar, a accounted) []noteRow {
	var out []noteRow
	for _, n := range p.Score.Notes {
		if n.At < at.At || n.At >= at.End() || n.Marks.Has(score.Hidden) {
			continue
		}
		beat := p.Score.PosAt(n.At).Beat.String()
		row := noteRow{ID: n.ID, Value: fmt.Sprintf("%s %s %s", n.Hand, beat, n.Pitch), Beat: beat, Hand: d.say("hand." + n.Hand.String()), Pitch: n.Pitch.Pretty(), Degree: d.degreeOf(p.Score, n.At, n.Pitch)}
		if n.Finger > 0 {
			row.Finger = strconv.Itoa(int(n.Finger))
		}
		if n.Grace > 0 {
			row.Beat = d.say("bar.grace", "Beat", beat)
		}
		row.For = d.say("for." + n.Origin.Kind.String())
		row.Why = fmt.Sprintf("/tunes/%s/why?%s", st.Tune.ID, url.Values{"level": {strconv.Itoa(p.Level.Number)}, "bar": {strconv.Itoa(b.Number)}, "note": {n.ID}}.Encode())
		out = append(out, row)
	}
	return out
}

// degreeOf says which degree of the chord in force a note is; "": none of its.
func (d *Desk) degreeOf(s score.Score, at theory.Dur, p theory.Pitch) string {
	c, ok := s.ChordAt(at)
	if !ok || c.Chord.Silent() {
		return ""
	}
	g, ok := c.Chord.Degree(p.Name)
	if !ok {
		return d.say("bar.outside")
	}
	return g.Pretty()
}

// sectionOf are the bars, by their numbers on the sheet, of the section that a bar belongs
// to: all of the tune where the sheet shows none.
func sectionOf(song leadsheet.Song, b leadsheet.Bar) (first, last int) {
	i := slices.IndexFunc(song.Bars, func(x leadsheet.Bar) bool { return x.Number == b.Number })
	from := i
	for from > 0 && song.Bars[from].Section == "" {
		from--
	}
	to := i + 1
	for to < len(song.Bars) && song.Bars[to].Section == "" {
		to++
	}
	first, last = song.Bars[from].Sheet, song.Bars[from].Sheet
	for _, x := range song.Bars[from:to] {
		first, last = min(first, x.Sheet), max(last, x.Sheet)
	}
	return first, last
}
