package desk

import (
	"context"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// chosenLine is a thing that the teacher has fixed, which she can let go.
type chosenLine struct {
	ID   int // its place in the list
	Text string
}

// chosenIn says what the teacher has fixed in a bar at a level.
func (d *Desk) chosenIn(s *gradatim.Session, level int, b leadsheet.Bar) ([]chosenLine, error) {
	fs, err := s.Chosen(level, b.Number)
	if err != nil {
		return nil, err
	}
	var out []chosenLine
	for i, f := range fs {
		out = append(out, chosenLine{i, d.fixedText(f)})
	}
	return out, nil
}

// fixedText says what a choice fixes, and where that is more than one bar.
func (d *Desk) fixedText(f gradatim.Fixed) string {
	text := d.fixedWhat(f)
	if f.Bars > 1 {
		return d.say("fixed.in", "What", text, "Bars", d.inBars(f.Bar, f.Bar+f.Bars-1))
	}
	return text
}

func (d *Desk) fixedWhat(f gradatim.Fixed) string {
	hand := d.say("hand.both")
	if f.Hand != 0 {
		hand = d.say("hand." + f.Hand.String())
	}
	switch {
	case f.Lock:
		return d.say("fixed.lock")
	case f.Chord != "":
		return d.say("fixed.chord", "Chord", prettySymbol(f.Chord))
	case f.Figure != "":
		name, _, named := strings.Cut(f.Figure, ":")
		if !named || name == "rest" {
			return d.say("fixed.figure", "Hand", hand, "Name", d.say("way.by-hand"))
		}
		return d.say("fixed.figure", "Hand", hand, "Name", d.words.Technique(name).Name)
	case f.Technique != "":
		return d.say("fixed.use", "Name", d.words.Technique(f.Technique).Name)
	case f.Avoid != "":
		return d.say("fixed.avoid", "Name", d.words.Technique(f.Avoid).Name)
	case f.Add != "":
		return d.say("fixed.add", "Note", f.Add)
	case f.Take != "":
		return d.say("fixed.take", "Note", d.plainNote(f.Take))
	case f.Move != "":
		return d.say("fixed.move", "Note", f.Move, "To", f.To)
	case f.Finger != 0:
		return d.say("fixed.finger", "Note", d.plainNote(f.Note), "Finger", f.Finger)
	case f.Dynamic != "":
		return d.say("fixed.dynamic", "Sign", f.Dynamic)
	}
	return d.say("fixed.octave", "Octaves", f.Octave)
}

// prettySymbol writes a chord's symbol with its signs; what cannot be read stays.
func prettySymbol(text string) string {
	if s, err := theory.ParseSymbol(text); err == nil {
		return s.Chord.Pretty()
	}
	return text
}

// plainNote is the name of a note that a choice names, without its octave.
func (d *Desk) plainNote(text string) string {
	if p, err := theory.ParsePitch(text); err == nil {
		return d.words.Name(p.Name)
	}
	return text
}

// placeKey is a bar of the tune at a level.
type placeKey struct{ level, bar int }

// changedSince tells which bars sound otherwise than at a version of the choices.
func (d *Desk) changedSince(ctx context.Context, st *state, since string) (map[placeKey]bool, error) {
	out := map[placeKey]bool{}
	version, err := strconv.Atoi(since)
	if err != nil || version == st.Version {
		return out, nil
	}
	old, err := d.at(ctx, st, version)
	if err != nil {
		return out, nil // nobody has to have that version
	}
	return changedBars(ctx, st.Session.Song(), old, st.Session)
}

// changedBars tells which bars of which levels are otherwise in one session than in another
// of the same tune.
func changedBars(ctx context.Context, song leadsheet.Song, old, now *gradatim.Session) (map[placeKey]bool, error) {
	out := map[placeKey]bool{}
	was, err := old.Ladder(ctx)
	if err != nil {
		return nil, err
	}
	is, err := now.Ladder(ctx)
	if err != nil {
		return nil, err
	}
	for _, p := range is {
		i := slices.IndexFunc(was, func(q gradatim.Page) bool { return q.Level.Number == p.Level.Number })
		if i < 0 || p.Failed || was[i].Failed || sameNotes(p.Score, was[i].Score) {
			continue
		}
		for _, b := range song.Bars {
			x, ok := standsAt(p.Score, b)
			y, ok2 := standsAt(was[i].Score, b)
			if ok != ok2 || ok && !sameBar(p.Score, x, was[i].Score, y) {
				out[placeKey{p.Level.Number, b.Number}] = true
			}
		}
	}
	return out, nil
}

// sameBar tells whether bars of two pages say the same to a player.
func sameBar(s score.Score, x score.Bar, t score.Score, y score.Bar) bool {
	return slices.EqualFunc(notesIn(s, x), notesIn(t, y), func(m, n score.Note) bool {
		return m.Hand == n.Hand && m.At-x.At == n.At-y.At && m.Dur == n.Dur && m.Pitch == n.Pitch && m.Grace == n.Grace &&
			m.Finger == n.Finger && m.Marks == n.Marks && m.Ornament == n.Ornament
	}) && slices.EqualFunc(symbolsIn(s, x), symbolsIn(t, y), func(c, d score.Symbol) bool { return c.At-x.At == d.At-y.At && c.Chord == d.Chord })
}

// barText is what a bar says to a player, to be known again.
func barText(s score.Score, b score.Bar) string {
	var out strings.Builder
	for _, n := range notesIn(s, b) {
		fmt.Fprintln(&out, n.Hand, n.At-b.At, n.Dur, n.Pitch, n.Grace, n.Finger, n.Marks, n.Ornament)
	}
	for _, c := range symbolsIn(s, b) {
		fmt.Fprintln(&out, c.At-b.At, c.Chord)
	}
	return out.String()
}

// sameNotes tells whether two pages have their notes in common: a change has left them as they were.
func sameNotes(a, b score.Score) bool {
	return len(a.Notes) > 0 && len(a.Notes) == len(b.Notes) && &a.Notes[0] == &b.Notes[0]
}

// notesIn are the notes that begin in a bar of a page.
func notesIn(s score.Score, b score.Bar) []score.Note {
	at := func(t theory.Dur) int {
		return sort.Search(len(s.Notes), func(i int) bool { return s.Notes[i].At >= t })
	}
	return s.Notes[at(b.At):at(b.End())]
}

// symbolsIn are the chords that are printed in a bar of a page.
func symbolsIn(s score.Score, b score.Bar) []score.Symbol {
	at := func(t theory.Dur) int {
		return sort.Search(len(s.Chords), func(i int) bool { return s.Chords[i].At >= t })
	}
	return s.Chords[at(b.At):at(b.End())]
}

// elsewhere are bars of a level that a change has changed though nobody touched them.
type elsewhere struct {
	Level string
	Bars  []place
}

// elsewhere lists the bars that were changed but for the one that was touched.
func (d *Desk) elsewhere(st *state, pages []gradatim.Page, marked map[placeKey]bool, touched leadsheet.Bar) []elsewhere {
	var out []elsewhere
	h := tuneHead{ID: st.Tune.ID}
	for _, p := range pages {
		e := elsewhere{Level: d.words.Level(p.Level.Number, p.Level.Name)}
		for _, x := range st.Session.Song().Bars {
			if marked[placeKey{p.Level.Number, x.Number}] && x.Number != touched.Number {
				e.Bars = append(e.Bars, place{Path: fmt.Sprintf("%s?level=%d", h.Href("bar/"+strconv.Itoa(x.Number)), p.Level.Number), Text: d.barName(x)})
			}
		}
		if e.Bars != nil {
			out = append(out, e)
		}
	}
	return out
}
