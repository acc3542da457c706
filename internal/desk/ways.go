package desk

import (
	"context"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// wayView is one way to decide.
type wayView struct {
	ID      string // its decision and its place in the list: "2.5"
	Text    string
	Why     string
	Price   string // in words
	Picture string
	Sound   string
	Holds   bool      // it is what stands
	Forms   []wayView // the same pattern with other notes
}

// waysAt are the choices that make a way so, by the id that wayView has, with the decision
// that it belongs to.
func (d *Desk) waysAt(ctx context.Context, s *gradatim.Session, level, bar int, id string) ([]gradatim.Choice, gradatim.Decision, error) {
	ds, err := d.tunes.runnersUp(ctx, s, level, bar)
	if err != nil {
		return nil, gradatim.Decision{}, err
	}
	a, b, _ := strings.Cut(id, ".")
	i, err1 := strconv.Atoi(a)
	k, err2 := strconv.Atoi(b)
	if err1 != nil || err2 != nil || i < 0 || i >= len(ds) || k < 0 || k >= len(ds[i].Runners) {
		return nil, gradatim.Decision{}, errNoPage
	}
	return ds[i].Runners[k].Choices, ds[i], nil
}

func (d *Desk) barWays(ctx context.Context, st *state, p gradatim.Page, b leadsheet.Bar, at score.Bar, a accounted) (*barWays, error) {
	n := p.Level.Number
	w := &barWays{Level: n, Seen: st.Version, Action: fmt.Sprintf("/tunes/%s/bar/%d", st.Tune.ID, b.Number)}
	ds, err := d.tunes.runnersUp(ctx, st.Session, n, b.Number)
	if err != nil {
		return nil, err
	}
	known := map[string]bool{}
	offer := func(id string) {
		if id != "" && !known[id] {
			known[id] = true
			w.Techniques = append(w.Techniques, optionRowOf{id, d.words.Technique(id).Title()})
		}
	}
	for i, x := range ds {
		for _, r := range x.Runners {
			offer(r.Technique)
		}
		if len(x.Runners) < 2 && !x.Fixed {
			continue
		}
		v := decisionView{Title: d.decisionTitle(x), Fixed: x.Fixed}
		prices := map[string]bool{}
		var all []wayView
		for k, r := range x.Runners {
			way := wayView{ID: fmt.Sprintf("%d.%d", i, k), Why: r.Why, Holds: k == 0}
			q := url.Values{"level": {strconv.Itoa(n)}, "bar": {strconv.Itoa(b.Number)}, "at": {strconv.Itoa(st.Version)}}
			if k > 0 {
				q.Set("way", way.ID)
				way.Price = d.price(p.Score, at, x, r)
				way.Text = d.wayText(x, r)
				if said := way.Text + way.Why + way.Price; !prices[said] {
					prices[said] = true
				} else if apart := d.apart(x, r); apart != "" { // two that nothing else tells apart
					way.Price = apart + ", " + way.Price
				}
			}
			only := ""
			if x.Hand != 0 { // the other hand is what it is
				only = "&only=" + x.Hand.String()
			}
			way.Picture = fmt.Sprintf("/tunes/%s/bar.svg?%s%s", st.Tune.ID, q.Encode(), only)
			q.Set("from", strconv.Itoa(at.Number))
			q.Set("to", strconv.Itoa(at.Number))
			way.Sound = fmt.Sprintf("/tunes/%s/sound.wav?%s", st.Tune.ID, q.Encode())
			way.Text = d.wayText(x, r)
			all = byPattern(all, way, x.Hand != 0)
		}
		v.Ways, v.More = all[:min(shownWays, len(all))], all[min(shownWays, len(all)):]
		w.Decisions = append(w.Decisions, v)
	}
	w.Tries = d.tries(st, p, b, at)
	w.Near = d.nearBars(st, n, b)
	pages, err := st.Session.Ladder(ctx)
	if err != nil {
		return nil, err
	}
	for _, q := range pages { // what the tune can have elsewhere may go here
		if q.Level.Number <= n {
			for _, u := range q.Techniques {
				offer(u.Technique)
			}
		}
	}
	slices.SortStableFunc(w.Techniques, func(a, b optionRowOf) int { return strings.Compare(a.Text, b.Text) })
	first, last := sectionOf(st.Session.Song(), b)
	w.Section = d.say("bar.section", "Bars", d.barsText(first, last))
	w.Beat = p.Score.PosAt(at.At).Beat.String()
	w.Octaves = []string{"-2", "-1", "0", "1", "2"}
	w.Notes = d.noteRows(st, p, b, at, a)
	return w, nil
}

// byPattern puts a way of a hand with the one before it that is the same pattern.
func byPattern(ways []wayView, w wayView, hand bool) []wayView {
	if i := slices.IndexFunc(ways, func(x wayView) bool { return x.Text == w.Text }); hand && i >= 0 {
		ways[i].Forms = append(ways[i].Forms, w)
		return ways
	}
	return append(ways, w)
}

// nearBars are the bars before and after one at a level: where a run comes from and leads to.
func (d *Desk) nearBars(st *state, level int, b leadsheet.Bar) (out [2]neighbour) {
	bars := st.Session.Song().Bars
	i := slices.IndexFunc(bars, func(x leadsheet.Bar) bool { return x.Number == b.Number })
	for k, j := range [2]int{i - 1, i + 1} {
		if j >= 0 && j < len(bars) {
			h := tuneHead{ID: st.Tune.ID}
			out[k] = neighbour{fmt.Sprintf("%s?level=%d", h.Href("bar/"+strconv.Itoa(bars[j].Number)), level),
				fmt.Sprintf("/tunes/%s/bar.svg?level=%d&bar=%d&at=%d", st.Tune.ID, level, bars[j].Number, st.Version), d.barName(bars[j])}
		}
	}
	return out
}

func (d *Desk) decisionTitle(x gradatim.Decision) string {
	who := "chord"
	if x.Hand != 0 {
		who = x.Hand.String()
	}
	return d.say("ways."+who, "Beat", x.Beat.String())
}

// wayText says what is played: the chords, or the technique of a figure.
func (d *Desk) wayText(x gradatim.Decision, r gradatim.Runner) string {
	if x.Hand == 0 {
		var out []string
		for _, c := range strings.Fields(r.Text) {
			if s, err := theory.ParseSymbol(c); err == nil {
				c = s.Chord.Pretty()
			}
			out = append(out, c)
		}
		return strings.Join(out, " – ")
	}
	switch {
	case r.Text == "rest" && x.Hand == score.Right:
		return d.say("way.tune-alone")
	case r.Text == "rest":
		return d.say("way.rest")
	case r.Technique == "":
		return d.say("way.by-hand")
	}
	return d.words.Technique(r.Technique).Title()
}

// price says what a way costs against the one that stands: first what a player or a
// listener notices, then how well it suits the page, in words: the search's count is in no
// unit that a reader could know.
func (d *Desk) price(s score.Score, at score.Bar, x gradatim.Decision, r gradatim.Runner) string {
	var out []string
	if x.Hand == 0 {
		out = d.chordPrice(s, at, x, r)
	} else {
		out = d.figurePrice(s, at, x, r)
	}
	return strings.Join(append(out, d.extra(r.Extra)), ", ")
}

// Steps of the search's measure, in words. A weak beat that repeats the bass costs it about
// 20, a rest where a hand is expected about 800 (costs of internal/arrange).
var extras = []struct {
	most int
	name string
}{{-1, "better"}, {9, "same"}, {60, "little"}, {250, "some"}, {600, "much"}}

func (d *Desk) extra(n int) string {
	for _, e := range extras {
		if n <= e.most {
			return d.say("extra." + e.name)
		}
	}
	return d.say("extra.far")
}

// chordPrice compares a chord with the one that stands: its notes, and how its bass moves.
func (d *Desk) chordPrice(s score.Score, at score.Bar, x gradatim.Decision, r gradatim.Runner) []string {
	a, ok1 := chordsOf(x.Runners[0].Text)
	b, ok2 := chordsOf(r.Text)
	if !ok1 || !ok2 {
		return nil
	}
	var out []string
	if len(a) != len(b) {
		out = append(out, d.say("price.changes", "n", len(b)))
	}
	if a[0].Root != b[0].Root {
		out = append(out, d.say("price.root", "Root", d.words.Name(b[0].Root)))
	} else {
		more, less := d.degreesBeside(b[0], a[0]), d.degreesBeside(a[0], b[0])
		if more != "" {
			out = append(out, d.say("price.adds", "Degrees", more))
		}
		if less != "" {
			out = append(out, d.say("price.leaves", "Degrees", less))
		}
	}
	return append(out, d.tuneIn(s, at, x, b[0])...)
}

// tuneIn says what the notes of the tune under a chord are to it.
func (d *Desk) tuneIn(s score.Score, at score.Bar, x gradatim.Decision, c theory.Chord) []string {
	if c.Silent() {
		return nil
	}
	var has []string
	for _, n := range s.Notes {
		if n.Origin.Kind != score.Melody || n.At < at.At || n.At >= at.End() || s.PosAt(n.At).Beat < x.Beat {
			continue
		}
		if g, ok := c.Degree(n.Pitch.Name); ok {
			if t := g.Pretty(); !slices.Contains(has, t) {
				has = append(has, t)
			}
		}
	}
	if has == nil {
		return nil
	}
	return []string{d.say("price.tune", "Degrees", strings.Join(has[:min(len(has), 4)], " "))}
}

func chordsOf(text string) ([]theory.Chord, bool) {
	var out []theory.Chord
	for _, f := range strings.Fields(text) {
		s, err := theory.ParseSymbol(f)
		if err != nil {
			return nil, false
		}
		out = append(out, s.Chord)
	}
	return out, len(out) > 0
}

// degreesBeside are the degrees of a chord that another has not.
func (d *Desk) degreesBeside(a, b theory.Chord) string {
	var out []string
	for g := range a.Tones.Normal().All() {
		if !slices.ContainsFunc(slices.Collect(b.Tones.Normal().All()), func(h theory.Degree) bool { return h == g }) {
			out = append(out, g.Pretty())
		}
	}
	return strings.Join(out, " ")
}

// struck is what a hand strikes at a moment of a figure, as keys (MIDI numbers, lowest
// first).
type struck struct {
	beat  string
	keys  []int
	notes []string // their names, as they stand there
}

// strikesOf reads the notes of a figure as a choice writes them: "F2@1:1/4:bass …".
func strikesOf(text string) []struck {
	_, notes, ok := strings.Cut(text, ": ")
	if !ok {
		notes = text
	}
	var out []struck
	for _, f := range strings.Fields(notes) {
		pitch, rest, ok := strings.Cut(f, "@")
		if !ok {
			continue
		}
		p, err := theory.ParsePitch(pitch)
		if err != nil {
			continue
		}
		beat, _, _ := strings.Cut(rest, ":")
		if n := len(out); n > 0 && out[n-1].beat == beat {
			out[n-1].keys = append(out[n-1].keys, p.MIDI())
			slices.Sort(out[n-1].keys)
			out[n-1].notes = append(out[n-1].notes, p.Pretty())
			continue
		}
		out = append(out, struck{beat, []int{p.MIDI()}, []string{p.Pretty()}})
	}
	return out
}

// shape is what a player notices of some strikes.
type shape struct {
	strikes, notes int
	widest         int // half steps between the outer keys of a strike
	travel         int // half steps that the lowest key moves, neighbours included
	jumps          int // moves of the lowest key by more than a fifth, neighbours included
	lowest         int
	blacks         int
}

// blackKeys are the black keys by their places in the octave.
var blackKeys = []int{1, 3, 6, 8, 10}

// jump is the least move that is one, in half steps.
const jump = 8

func shapeOf(ss []struck, before, after int) shape {
	var x shape
	last := before
	moves := func(from, to int) {
		by := max(to-from, from-to)
		x.travel += by
		if by >= jump {
			x.jumps++
		}
	}
	for _, s := range ss {
		x.strikes++
		x.notes += len(s.keys)
		x.widest = max(x.widest, s.keys[len(s.keys)-1]-s.keys[0])
		if last > 0 {
			moves(last, s.keys[0])
		}
		last = s.keys[0]
		if x.lowest == 0 || last < x.lowest {
			x.lowest = last
		}
		for _, k := range s.keys {
			if slices.Contains(blackKeys, k%12) {
				x.blacks++
			}
		}
	}
	if after > 0 && last > 0 {
		moves(last, after)
	}
	return x
}

// figurePrice compares a figure with the one that stands: how its lowest line moves from
// and to its neighbours, its widest grip, how full and how busy it is. What is noticed most
// stands first, three things at most.
func (d *Desk) figurePrice(s score.Score, at score.Bar, x gradatim.Decision, r gradatim.Runner) []string {
	was, is := strikesOf(x.Runners[0].Text), strikesOf(r.Text)
	before, after := around(s, at, x.Hand, x.Beat, was)
	a, b := shapeOf(was, before, after), shapeOf(is, before, after)
	if b.strikes == 0 || a.strikes == 0 {
		if b.strikes == 0 && a.strikes > 0 {
			if x.Hand == score.Right { // which has the tune
				return []string{d.say("price.rests-right")}
			}
			return []string{d.say("price.rests")}
		}
		return nil
	}
	var out []string
	line := "line-"
	if x.Hand == score.Left {
		line = "bass-"
	}
	add := func(what string) { out = append(out, d.say("price."+what)) }
	switch diff := b.travel - a.travel; {
	case b.jumps < a.jumps:
		out = append(out, d.say("price.jumps-fewer", "n", a.jumps-b.jumps))
	case b.jumps > a.jumps:
		out = append(out, d.say("price.jumps-more", "n", b.jumps-a.jumps))
	case diff <= -3:
		add(line + "smoother")
	case diff >= 3:
		add(line + "leaps")
	}
	switch diff := b.widest - a.widest; {
	case diff >= 2:
		add("wider")
	case diff <= -2:
		add("narrower")
	}
	switch {
	case b.strikes > a.strikes:
		add("busier")
	case b.strikes < a.strikes:
		add("calmer")
	case b.notes > a.notes:
		add("fuller")
	case b.notes < a.notes:
		add("thinner")
	}
	switch diff := b.lowest - a.lowest; {
	case diff <= -5:
		add("lower")
	case diff >= 5:
		add("higher")
	}
	if len(out) < 3 && b.blacks > a.blacks {
		add("blacks")
	}
	return out[:min(3, len(out))]
}

// apart tells the first strike that a figure has otherwise than the one that stands: "on
// beat 3 F♯3"; "": there is none.
func (d *Desk) apart(x gradatim.Decision, r gradatim.Runner) string {
	was, is := strikesOf(x.Runners[0].Text), strikesOf(r.Text)
	for i, s := range is {
		if i >= len(was) || was[i].beat != s.beat || !slices.Equal(was[i].keys, s.keys) {
			return d.say("price.at", "Beat", s.beat, "Notes", strings.Join(s.notes, " "))
		}
	}
	return ""
}

// around are the lowest keys that a hand strikes last before a decision and first after
// what it plays there; 0: none.
func around(s score.Score, at score.Bar, h score.Hand, beat leadsheet.Beat, was []struck) (before, after int) {
	begin := at.At
	for _, n := range s.Notes {
		if n.At >= at.At && n.At < at.End() && s.PosAt(n.At).Beat >= beat {
			begin = n.At
			break
		}
	}
	tune := func(n score.Note) bool { return n.Origin.Kind == score.Melody && h == score.Right }
	var lastAt, nextAt theory.Dur = -1, -1
	left := len(was)
	seen := theory.Dur(-1)
	for _, n := range s.Notes {
		if n.Hand != h || n.Grace > 0 || tune(n) {
			continue
		}
		k := n.Pitch.MIDI()
		switch {
		case n.At < begin:
			if n.At > lastAt || k < before {
				before = k
			}
			lastAt = n.At
		case left > 0 || n.At == seen:
			if n.At != seen {
				left--
				seen = n.At
			}
		case nextAt < 0 || n.At == nextAt && k < after:
			nextAt, after = n.At, k
		}
	}
	return before, after
}
