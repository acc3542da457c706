package desk

import (
	"fmt"
	"slices"
	"strings"

	"gradatim/score"
)

// differences says in words what some bars of a page, by their printed numbers, have otherwise
// than the same bars of another: chords, the notes of each hand, and the fingers of the notes that
// both have.
func (d *Desk) differences(a, b score.Score, from, to int) []string {
	var out []string
	for n := from; n <= to; n++ {
		x, y := printedBar(a, n), printedBar(b, n)
		if x.Dur == 0 || y.Dur == 0 {
			continue
		}
		bar := d.barsText(n, n)
		if was, is := d.chordNames(a, x), d.chordNames(b, y); was != is {
			out = append(out, d.say("compare.chords", "Bar", bar, "Was", was, "Is", is))
		}
		for _, h := range []score.Hand{score.Right, score.Left} {
			hand := d.say("hand." + h.String())
			gone, more := apartIn(a, b, x, y, h), apartIn(b, a, y, x, h)
			switch {
			case len(gone) > 0 && len(more) > 0:
				out = append(out, d.say("compare.notes", "Bar", bar, "Hand", hand, "Was", d.noteNames(gone), "Is", d.noteNames(more)))
			case len(gone) > 0:
				out = append(out, d.say("compare.gone", "Bar", bar, "Hand", hand, "Was", d.noteNames(gone)))
			case len(more) > 0:
				out = append(out, d.say("compare.more", "Bar", bar, "Hand", hand, "Is", d.noteNames(more)))
			}
			out = append(out, d.fingerDifferences(a, b, x, y, h, bar)...)
		}
	}
	return out
}

func printedBar(s score.Score, number int) score.Bar {
	if i := slices.IndexFunc(s.Bars, func(b score.Bar) bool { return b.Number == number }); i >= 0 {
		return s.Bars[i]
	}
	return score.Bar{}
}

// chordNames are the chords that begin in a bar.
func (d *Desk) chordNames(s score.Score, bar score.Bar) string {
	var out []string
	for _, c := range s.Chords {
		if c.At >= bar.At && c.At < bar.End() {
			out = append(out, c.Chord.Pretty())
		}
	}
	if out == nil {
		return d.say("compare.no-chord")
	}
	return strings.Join(out, " – ")
}

// inBar are the notes of a hand that are struck in a bar.
func inBar(s score.Score, bar score.Bar, h score.Hand) (out []score.Note) {
	for _, n := range s.Notes {
		if n.Hand == h && n.At >= bar.At && n.At < bar.End() && !n.Marks.Has(score.Hidden) {
			out = append(out, n)
		}
	}
	return out
}

// placeIn is what a note is in its bar, to be compared.
func placeIn(n score.Note, bar score.Bar) string {
	return fmt.Sprint(n.At-bar.At, n.Dur, n.Pitch, n.Grace)
}

// apartIn are the notes of a bar that the same bar of another page does not have.
func apartIn(a, b score.Score, x, y score.Bar, h score.Hand) (out []score.Note) {
	there := map[string]int{}
	for _, n := range inBar(b, y, h) {
		there[placeIn(n, y)]++
	}
	for _, n := range inBar(a, x, h) {
		if k := placeIn(n, x); there[k] > 0 {
			there[k]--
		} else {
			out = append(out, n)
		}
	}
	return out
}

func (d *Desk) noteNames(ns []score.Note) string {
	var out []string
	for _, n := range ns {
		if name := d.words.Name(n.Pitch.Name); !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return d.words.List(out)
}

// fingerDifferences says which notes of two bars have another finger.
func (d *Desk) fingerDifferences(a, b score.Score, x, y score.Bar, h score.Hand, bar string) (out []string) {
	was := map[string]score.Note{}
	for _, n := range inBar(a, x, h) {
		was[placeIn(n, x)] = n
	}
	for _, n := range inBar(b, y, h) {
		o, ok := was[placeIn(n, y)]
		if !ok || o.Finger == n.Finger {
			continue
		}
		how := "finger-other"
		switch uint8(0) {
		case o.Finger:
			how = "finger"
		case n.Finger:
			how = "finger-gone"
		}
		out = append(out, d.say("compare."+how, "Bar", bar, "Was", int(o.Finger), "Finger", int(n.Finger), "Note", d.noteOf(h, n.Pitch, b.PosAt(n.At).Beat.String())))
	}
	return out
}
