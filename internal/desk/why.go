package desk

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"gradatim"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// whyView answers why a note is there.
type whyView struct {
	frame
	Heading string
	Back    string
	Picture string
	Facts   []fact
	Reason  string
	Chord   *chordLine
	Without string // what would happen without it
	Rules   []problem
}

// showWhy says of a note of a page what it is for, and finds out what would happen without
// it by taking it away from a copy.
func (d *Desk) showWhy(w http.ResponseWriter, r *http.Request) error {
	ctx, q := r.Context(), r.URL.Query()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	b, _, err := barOf(st.Session, q.Get("bar"))
	if err != nil {
		return err
	}
	level, _ := strconv.Atoi(q.Get("level"))
	p, ok, err := pageOf(ctx, st.Session, level)
	if err != nil {
		return err
	}
	if beat := q.Get("chord"); beat != "" && ok && !p.Failed {
		return d.whyChord(w, r, st, p, b, beat)
	}
	i := slices.IndexFunc(p.Score.Notes, func(n score.Note) bool { return n.ID == q.Get("note") })
	_, stands := standsAt(p.Score, b)
	if !ok || p.Failed || i < 0 || !stands {
		return errNoPage
	}
	n := p.Score.Notes[i]
	a, err := d.accountOf(ctx, st.Session, p)
	if err != nil {
		return err
	}
	h := tuneHead{ID: st.Tune.ID}
	v := &whyView{frame: d.head(st, "whole"), Back: fmt.Sprintf("%s?level=%d#level-%d", h.Href("bar/"+strconv.Itoa(b.Number)), level, level)}
	pos := p.Score.PosAt(n.At)
	v.Heading = d.say("why.heading", "Note", n.Pitch.Pretty(), "Where", d.where(pos))
	v.Title = v.Heading + " · " + v.Tune.Title
	v.Picture = fmt.Sprintf("/tunes/%s/bar.svg?level=%d&bar=%d&at=%d&mark=%s", st.Tune.ID, level, b.Number, st.Version, url.QueryEscape(n.ID))
	add := func(key, value string) {
		if value != "" {
			v.Facts = append(v.Facts, fact{d.say("why." + key), value})
		}
	}
	add("level", d.words.Level(p.Level.Number, p.Level.Name))
	add("hand", d.say("hand."+n.Hand.String()))
	add("for", d.say("for."+n.Origin.Kind.String()))
	add("degree", d.degreeOf(p.Score, n.At, n.Pitch))
	if n.Finger > 0 {
		add("finger", strconv.Itoa(int(n.Finger)))
	}
	for _, x := range a.Notes {
		if x.ID == n.ID {
			v.Reason = words.Upper(x.Origin.Why)
			if x.Origin.Technique != "" {
				add("technique", d.words.Technique(x.Origin.Technique).Title())
			}
		}
	}
	for _, l := range d.chordLines(p.Score, score.Bar{At: n.At, Dur: 1}, a) {
		v.Chord = &l
	}
	if _, tune := n.Origin.Event(); tune {
		v.Without = d.say("why.tune")
		return d.render(w, r, http.StatusOK, "why", v)
	}
	if err := d.without(ctx, st, p, b, n, v); err != nil {
		return err
	}
	return d.render(w, r, http.StatusOK, "why", v)
}

// without takes a note away from a copy of the session and tells what comes of it.
func (d *Desk) without(ctx context.Context, st *state, p gradatim.Page, b leadsheet.Bar, n score.Note, v *whyView) error {
	home := theory.NearestInterval(p.Key.Tonic, st.Session.Song().Key.Tonic)
	return d.instead(ctx, st, p, b, v, gradatim.Choice{Level: p.Level.Number, Bar: b.Sheet, Beat: p.Score.PosAt(n.At).Beat.String(), Hand: n.Hand, Take: n.Pitch.Up(home).String()})
}

// instead makes a choice on a copy of the session and tells what comes of it.
func (d *Desk) instead(ctx context.Context, st *state, p gradatim.Page, b leadsheet.Bar, v *whyView, c gradatim.Choice) error {
	next, err := st.Session.Change(ctx, c)
	if err == nil {
		err = notKept(ctx, st.Session, next, p.Level.Number)
	}
	var ps leadsheet.Problems
	switch {
	case errors.As(err, &ps):
		v.Without, v.Rules = d.say("why.cannot"), d.problems(ps)
		return nil
	case err != nil:
		return err
	}
	q, _, err := pageOf(ctx, next, p.Level.Number)
	if err != nil {
		return err
	}
	if q.Failed {
		v.Without, v.Rules = d.say("why.breaks"), d.problems(q.Problems)
		return nil
	}
	changed, err := changedBars(ctx, st.Session.Song(), st.Session, next)
	if err != nil {
		return err
	}
	others := 0
	for k := range changed {
		if k.level == p.Level.Number && k.bar != b.Number {
			others++
		}
	}
	if v.Without = d.say("why.alone"); others > 0 {
		v.Without = d.say("why.stands", "n", others)
	}
	return nil
}

// whyChord says of a chord that begins on a beat what it is for in the key, which technique
// has put it there, and what would be with the sheet's own in its place.
func (d *Desk) whyChord(w http.ResponseWriter, r *http.Request, st *state, p gradatim.Page, b leadsheet.Bar, beat string) error {
	ctx := r.Context()
	at, ok := standsAt(p.Score, b)
	a, err := d.accountOf(ctx, st.Session, p)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(p.Score.Chords, func(c score.Symbol) bool {
		return c.At >= at.At && c.At < at.End() && p.Score.PosAt(c.At).Beat.String() == beat
	})
	if !ok || i < 0 {
		return errNoPage
	}
	c := p.Score.Chords[i]
	pos := p.Score.PosAt(c.At)
	h := tuneHead{ID: st.Tune.ID}
	v := &whyView{frame: d.head(st, "whole"), Back: fmt.Sprintf("%s?level=%d#level-%d", h.Href("bar/"+strconv.Itoa(b.Number)), p.Level.Number, p.Level.Number)}
	v.Heading = d.say("why.heading", "Note", c.Chord.Pretty(), "Where", d.where(pos))
	v.Title = v.Heading + " · " + v.Tune.Title
	v.Picture = fmt.Sprintf("/tunes/%s/bar.svg?level=%d&bar=%d&at=%d", st.Tune.ID, p.Level.Number, b.Number, st.Version)
	line := d.chordLines(p.Score, score.Bar{At: c.At, Dur: 1}, a)[0]
	v.Reason, line.Why = words.Upper(line.Why), ""
	v.Chord = &line
	v.Facts = append(v.Facts, fact{d.say("why.level"), d.words.Level(p.Level.Number, p.Level.Name)})
	sheet := ""
	for _, span := range a.Harmony {
		for _, x := range span.Chords {
			if x.Part != "" || x.Bar != pos.Bar || x.Beat != beat {
				continue
			}
			if x.Symbol != span.Sheet || len(span.Chords) > 1 {
				sheet = span.Sheet
			}
			if span.Device != "" {
				v.Facts = append(v.Facts, fact{d.say("why.technique"), d.words.Technique(span.Device).Title()})
			}
		}
	}
	sym, err := theory.ParseSymbol(sheet)
	if sheet == "" || err != nil { // it is the sheet's
		v.Without = d.say("why.sheet-chord")
		return d.render(w, r, http.StatusOK, "why", v)
	}
	v.Facts = append(v.Facts, fact{d.say("why.on-sheet"), sym.Chord.Pretty()})
	home := theory.NearestInterval(p.Key.Tonic, st.Session.Song().Key.Tonic)
	if err := d.instead(ctx, st, p, b, v, gradatim.Choice{Level: p.Level.Number, Bar: b.Sheet, Beat: beat, Chord: sym.Chord.Transpose(home).String()}); err != nil {
		return err
	}
	return d.render(w, r, http.StatusOK, "why", v)
}
