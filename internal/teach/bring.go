package teach

import (
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// bring lists what the page really asks for before anything new: each entry is
// found in its notes, or is a skill that a technique new here begins from.
func (w *writer) bring(p *page) []Item {
	s := p.Score
	out := []Item{{"Scale of " + w.key.Pretty(), signature(w.key) + "."}}
	out = append(out, meterItem(s)...)
	out = append(out, valueItem(s))
	if it, ok := tieItem(s); ok {
		out = append(out, it)
	}
	if s.Feel == leadsheet.Swing && hasOffbeats(s) {
		out = append(out, Item{"Swung eighths", "The first of two eighths is longer than the second."})
	}
	if it, ok := w.chordItem(p); ok {
		out = append(out, it)
	}
	out = append(out, handItems(s)...)
	if bars := pedalBars(s); len(bars) > 0 {
		out = append(out, Item{"Damper pedal", "Changed with each new pedal sign, in " + barList(bars) + "."})
	}
	return append(out, w.needs(p, out)...)
}

// signature says what a key signature holds.
func signature(k theory.Key) string {
	n := k.Fifths()
	order := []string{"F", "C", "G", "D", "A", "E", "B"}
	switch {
	case n == 0:
		return "No sharps and no flats"
	case n > 0:
		return fmt.Sprintf("%s: %s", upper(count(n, "sharp")), list(signs(order[:min(n, 7)], "♯")))
	}
	slices.Reverse(order)
	return fmt.Sprintf("%s: %s", upper(count(-n, "flat")), list(signs(order[:min(-n, 7)], "♭")))
}

func signs(letters []string, sign string) []string {
	out := make([]string, len(letters))
	for i, l := range letters {
		out[i] = l + sign
	}
	return out
}

func meterItem(s score.Score) []Item {
	var out []Item
	seen := map[leadsheet.Meter]bool{}
	for _, b := range s.Bars {
		if seen[b.Meter] || !b.Meter.Valid() {
			continue
		}
		seen[b.Meter] = true
		beat := valueName(b.Meter.BeatDur())
		out = append(out, Item{"Counting " + b.Meter.String(), fmt.Sprintf("%s in a bar, each a %s.", upper(count(b.Meter.BeatCount(), "beat")), beat)})
	}
	return out
}

// valueItem names the note values that the page is written with, from long to
// short. A length that takes several notes to write counts as tied.
func valueItem(s score.Score) Item {
	var names []string
	triplets := false
	for _, v := range values {
		for _, n := range s.Notes {
			if n.Grace == 0 && n.Dur == v.dur {
				names = append(names, v.name)
				break
			}
		}
	}
	for _, n := range s.Notes {
		if n.Grace == 0 && !s.Bars[s.BarAt(n.At)].Meter.Compound() && (n.At-s.Bars[s.BarAt(n.At)].At)%(theory.Quarter/3) == 0 && (n.At-s.Bars[s.BarAt(n.At)].At)%(theory.Quarter/8) != 0 {
			triplets = true
		}
	}
	text := upper(list(names)) + " notes"
	if triplets {
		text += ", and triplets"
	}
	return Item{"Note values", text + "."}
}

// tieItem finds notes held over a bar line.
func tieItem(s score.Score) (Item, bool) {
	var bars []int
	for _, n := range s.Notes {
		if b := s.BarAt(n.At); b >= 0 && n.Grace == 0 && n.End() > s.Bars[b].End() {
			bars = append(bars, s.Bars[b].Number)
		}
	}
	if len(bars) == 0 {
		return Item{}, false
	}
	return Item{"Ties over the bar line", "From " + barList(bars) + " into the next."}, true
}

func hasOffbeats(s score.Score) bool {
	for _, n := range s.Notes {
		b := s.Bars[s.BarAt(n.At)]
		if n.Grace == 0 && (n.At-b.At)%theory.Quarter == theory.Eighth {
			return true
		}
	}
	return false
}

// chordItem names, by its first symbol, each kind of chord of the page that was
// met before: on a level below or, where the lesson begins higher up, by those who
// begin there. The other kinds are what the page teaches.
func (w *writer) chordItem(p *page) (Item, bool) {
	if w.kinds == nil {
		w.kinds = metBefore(p.Level)
	}
	var names []string
	kinds := map[theory.Degrees]bool{}
	roots := map[theory.Name]bool{}
	for _, c := range p.Score.Chords {
		if c.Chord.Silent() || !w.kinds[c.Chord.Tones] {
			continue
		}
		roots[c.Chord.Root] = true
		if !kinds[c.Chord.Tones] {
			kinds[c.Chord.Tones] = true
			names = append(names, unslashed(c.Chord).Pretty())
		}
	}
	return Item{"Chords by name", fmt.Sprintf("%s of chord (%s) on %s.", upper(count(len(kinds), "kind")), strings.Join(names, ", "), count(len(roots), "root"))}, len(names) > 0
}

// metBefore are the kinds of chord that a player knows who begins with a level.
func metBefore(l ladder.Level) map[theory.Degrees]bool {
	out := map[theory.Degrees]bool{}
	for _, kind := range l.Known {
		out[kind] = true
	}
	return out
}

// handItems tell how wide each hand plays at once, how far the left hand leaps,
// and where the tune lies.
func handItems(s score.Score) []Item {
	var out []Item
	low, high := 200, 0
	var lowest, highest theory.Pitch
	wide := map[score.Hand]int{}
	most := map[score.Hand]int{}
	var at theory.Dur = -1
	bottom, top, n := map[score.Hand]int{}, map[score.Hand]int{}, map[score.Hand]int{}
	leap, last, lastBar := 0, -1, 0
	leapBar := 0
	for _, x := range s.Notes {
		k := x.Pitch.MIDI()
		if x.Origin.Kind == score.Melody {
			if k < low {
				low, lowest = k, x.Pitch
			}
			if k > high {
				high, highest = k, x.Pitch
			}
		}
		if x.Grace > 0 || x.Marks.Has(score.Rolled) {
			continue
		}
		if x.At != at {
			at = x.At
			clear(bottom)
			clear(top)
			clear(n)
		}
		h := x.Hand
		if n[h] == 0 {
			bottom[h], top[h] = k, k
			if h == score.Left {
				if last >= 0 && abs(k-last) > leap && s.BarAt(x.At)-lastBar <= 1 {
					leap, leapBar = abs(k-last), s.Bars[s.BarAt(x.At)].Number
				}
				last, lastBar = k, s.BarAt(x.At)
			}
		}
		n[h]++
		bottom[h], top[h] = min(bottom[h], k), max(top[h], k)
		wide[h] = max(wide[h], top[h]-bottom[h])
		most[h] = max(most[h], n[h])
	}
	if high > 0 {
		out = append(out, Item{"The tune's range", fmt.Sprintf("From %s to %s.", lowest.Pretty(), highest.Pretty())})
	}
	for _, h := range []score.Hand{score.Right, score.Left} {
		if most[h] > 1 {
			out = append(out, Item{upper(h.String()) + "-hand chords", fmt.Sprintf("Up to %s at once in the %s hand, no wider than %s.", count(most[h], "note"), h, withArticle(intervalName(wide[h])))})
		}
	}
	if leap >= 12 {
		out = append(out, Item{"Left-hand leaps", fmt.Sprintf("The widest, into bar %d, is %s.", leapBar, withArticle(intervalName(leap)))})
	}
	return out
}

func abs(a int) int {
	if a < 0 {
		return -a
	}
	return a
}

// intervalName names a number of semitones.
func intervalName(semis int) string {
	names := []string{"unison", "minor second", "major second", "minor third", "major third", "fourth", "tritone", "fifth",
		"minor sixth", "major sixth", "minor seventh", "major seventh", "octave", "minor ninth", "major ninth", "minor tenth",
		"major tenth", "eleventh", "augmented eleventh", "twelfth", "minor thirteenth", "major thirteenth"}
	if semis < len(names) {
		return names[semis]
	}
	if semis%12 == 0 {
		return fmt.Sprintf("leap of %d octaves", semis/12)
	}
	return fmt.Sprintf("leap of %s and %s", count(semis/12, "octave"), withArticle(names[semis%12]))
}

func withArticle(s string) string {
	if strings.ContainsRune("aeio", rune(s[0])) {
		return "an " + s
	}
	return "a " + s
}

func pedalBars(s score.Score) []int {
	var out []int
	for _, d := range s.Directions {
		if d.Kind == score.PedalDown {
			out = append(out, s.Bars[s.BarAt(d.At)].Number)
		}
	}
	return out
}

// needs lists the plain skills that the techniques which are new here come after,
// once for the ladder, and those that the page's own entries do not name already.
func (w *writer) needs(p *page, have []Item) []Item {
	var out []Item
	named := func(name string) bool {
		return slices.ContainsFunc(have, func(it Item) bool { return strings.HasPrefix(it.Name, name) })
	}
	for _, u := range p.Used {
		t, ok := technique.ByID(u.Technique)
		if !ok || w.known[t.ID] > 0 {
			continue
		}
		for _, need := range t.Needs {
			it, ok := skills[need]
			if !ok || w.brought[need] || named(it.Name) {
				continue
			}
			w.brought[need] = true
			out = append(out, it)
		}
	}
	return out
}

// skills are plain things that techniques ask for and that are no techniques.
// Those that the page's own items name already say how.
var skills = map[string]Item{
	"the names of the keys": {"Names of the keys", "Every white and black key of the tune's range by name."},
	"counting eighths":      {"Counting eighths", "1 and 2 and …, said aloud while playing."},
	"ties":                  {"Ties", "Two notes joined by a curve sound as one."},
}
