package desk

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strconv"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// tryPlace is a chord of a bar, and others that the key has and that hold the tune there: the
// search offers only what its level would do by itself.
type tryPlace struct {
	Title, Beat string
	Tries       []chordTry
}

// chordTry is a chord to be heard and taken.
type chordTry struct{ Symbol, Value, Why, Sound string }

// mostTries is how many chords are offered in the place of one.
const mostTries = 3

// tries lists what else could stand for each chord of a bar: its own triad, if it is more than
// that, then the triads of the key and its dominant seventh, by how long they hold the tune under them; of equals
// one that holds its first note goes first, a diminished one last. Common practice, no source.
func (d *Desk) tries(st *state, p gradatim.Page, b leadsheet.Bar, at score.Bar) []tryPlace {
	var out []tryPlace
	s := p.Score
	place := func(c score.Symbol, from, to theory.Dur) {
		if c.Chord.Silent() {
			return
		}
		pos := s.PosAt(from)
		t := tryPlace{Title: d.say("try.title", "Chord", c.Chord.Pretty(), "Beat", pos.Beat.String()), Beat: pos.Beat.String()}
		type found struct {
			chord theory.Chord
			held  theory.Dur
			first bool
			notes []theory.Name
		}
		var fs []found
		own := c.Chord.Triad()
		for i, x := range append([]theory.Chord{own}, chordsIn(at.Key)...) {
			if x == c.Chord || i > 0 && x.Triad() == own {
				continue
			}
			f := found{chord: x}
			begun := false
			for _, n := range s.Notes {
				if n.Origin.Kind != score.Melody || n.Grace > 0 || n.At >= to || n.End() <= from {
					continue
				}
				if x.HasClass(n.Pitch.Class()) {
					f.held += min(n.End(), to) - max(n.At, from)
					f.first = f.first || !begun
					if !slices.Contains(f.notes, n.Pitch.Name) {
						f.notes = append(f.notes, n.Pitch.Name)
					}
				}
				begun = true
			}
			if f.held > 0 {
				fs = append(fs, f)
			}
		}
		slices.SortStableFunc(fs, func(a, b found) int {
			return cmp.Or(after(a.chord != own, b.chord != own), cmp.Compare(b.held, a.held), after(a.chord.Diminished(), b.chord.Diminished()), after(!a.first, !b.first))
		})
		for _, f := range fs[:min(mostTries, len(fs))] {
			var names []string
			for _, n := range f.notes {
				names = append(names, d.words.Name(n))
			}
			q := url.Values{"level": {strconv.Itoa(p.Level.Number)}, "bar": {strconv.Itoa(b.Number)}, "at": {strconv.Itoa(st.Version)},
				"from": {strconv.Itoa(at.Number)}, "to": {strconv.Itoa(at.Number)}, "chord": {f.chord.String()}, "beat": {t.Beat}}
			t.Tries = append(t.Tries, chordTry{Symbol: f.chord.Pretty(), Value: f.chord.String(), Why: d.say("try.holds", "Notes", d.words.List(names)),
				Sound: fmt.Sprintf("/tunes/%s/sound.wav?%s", st.Tune.ID, q.Encode())})
		}
		if t.Tries != nil {
			out = append(out, t)
		}
	}
	var in []score.Symbol
	for _, c := range s.Chords {
		if c.At > at.At && c.At < at.End() {
			in = append(in, c)
		}
	}
	from := at.At
	c, ok := s.ChordAt(at.At)
	for _, next := range in {
		if ok {
			place(c, from, next.At)
		}
		c, from, ok = next, next.At, true
	}
	if ok {
		place(c, from, at.End())
	}
	return out
}

// after orders what is not so before what is.
func after(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}

// chordsIn are the triads of a key, in minor with the dominant's major third, and the dominant
// seventh.
func chordsIn(k theory.Key) []theory.Chord {
	if !k.Valid() {
		return nil
	}
	var out []theory.Chord
	read := func(text string) theory.Chord {
		s, err := theory.ParseSymbol(text)
		if err != nil {
			return theory.Chord{}
		}
		return s.Chord
	}
	for _, root := range k.Scale() {
		for _, kind := range []string{"", "m", "dim"} {
			c := read(root.String() + kind)
			if !c.Silent() && !slices.ContainsFunc(c.Spell(), func(n theory.Name) bool { return !k.Contains(n) }) {
				out = append(out, c)
			}
		}
	}
	fifth := k.Scale()[4].String()
	if k.Mode == theory.Minor {
		out = append(out, read(fifth))
	}
	return append(out, read(fifth+"7"))
}

// chordChoice is the choice of a chord that is named as the page has it.
func chordChoice(p gradatim.Page, song leadsheet.Song, b leadsheet.Bar, symbol, beat string) (gradatim.Choice, theory.Chord, error) {
	sym, err := theory.ParseSymbol(symbol)
	if err != nil {
		return gradatim.Choice{}, theory.Chord{}, err
	}
	home := theory.NearestInterval(p.Key.Tonic, song.Key.Tonic) // from the page to the sheet
	return gradatim.Choice{Level: p.Level.Number, Bar: b.Sheet, Beat: beat, Chord: sym.Chord.Transpose(home).String()}, sym.Chord, nil
}
