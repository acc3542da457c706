package teach

import (
	"slices"
	"strings"

	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// bring lists what the page really asks for before anything new: each entry is
// found in its notes, or is a skill that a technique new here begins from.
func (w *writer) bring(p *page) []Item {
	s := p.Score
	out := []Item{{Name: w.say("bring.scale.name", "Key", w.key), Text: w.signature(w.key)}}
	out = append(out, w.meterItem(s)...)
	out = append(out, w.valueItem(s))
	if it, ok := w.tieItem(s); ok {
		out = append(out, it)
	}
	if s.Feel == leadsheet.Swing && hasOffbeats(s) {
		out = append(out, w.item("swung"))
	}
	if it, ok := w.chordItem(p); ok {
		out = append(out, it)
	}
	out = append(out, w.handItems(s)...)
	if bars := pedalBars(s); len(bars) > 0 {
		out = append(out, w.item("pedal", "Bars", words.Bars(bars)))
	}
	return append(out, w.needs(p, out)...)
}

// item is an entry by its key.
func (w *writer) item(key string, parts ...any) Item {
	return Item{Name: w.say("bring."+key+".name", parts...), Text: words.Upper(w.say("bring."+key+".text", parts...)), of: key}
}

// signature says what a key signature holds.
func (w *writer) signature(k theory.Key) string {
	n := k.Fifths()
	if n == 0 {
		return w.say("bring.scale.none")
	}
	order := []theory.Letter{theory.F, theory.C, theory.G, theory.D, theory.A, theory.E, theory.B}
	alter := int8(1)
	if n < 0 {
		slices.Reverse(order)
		alter = -1
	}
	var names []string
	for _, l := range order[:min(abs(n), 7)] {
		names = append(names, w.words.Name(theory.Name{Letter: l, Alter: alter}))
	}
	return w.say("bring.scale.text", "Signature", reason.Signature(n), "Names", names)
}

func (w *writer) meterItem(s score.Score) []Item {
	var out []Item
	seen := map[leadsheet.Meter]bool{}
	for _, b := range s.Bars {
		if seen[b.Meter] || !b.Meter.Valid() {
			continue
		}
		seen[b.Meter] = true
		out = append(out, w.item("metre", "Metre", b.Meter, "n", b.Meter.BeatCount(), "Value", b.Meter.BeatDur()))
	}
	return out
}

// valueItem names the note values that the page is written with, from long to
// short. A length that takes several notes to write counts as tied.
func (w *writer) valueItem(s score.Score) Item {
	var names []string
	triplets := false
	for _, v := range values {
		if slices.ContainsFunc(s.Notes, func(n score.Note) bool { return n.Grace == 0 && n.Dur == v }) {
			names = append(names, w.words.Value(v))
		}
	}
	for _, n := range s.Notes {
		if n.Grace == 0 && !s.Bars[s.BarAt(n.At)].Meter.Compound() && (n.At-s.Bars[s.BarAt(n.At)].At)%(theory.Quarter/3) == 0 && (n.At-s.Bars[s.BarAt(n.At)].At)%(theory.Quarter/8) != 0 {
			triplets = true
		}
	}
	key := "bring.values.text"
	if triplets {
		key = "bring.values.triplets"
	}
	return Item{Name: w.say("bring.values.name"), Text: words.Upper(w.say(key, "Values", names))}
}

// values are the note values that are named, from long to short.
var values = []theory.Dur{theory.Whole * 3 / 2, theory.Whole, theory.Half * 3 / 2, theory.Half, theory.Quarter * 3 / 2, theory.Quarter,
	theory.Eighth * 3 / 2, theory.Eighth, theory.Sixteenth * 3 / 2, theory.Sixteenth, theory.Sixteenth / 2}

// tieItem finds notes held over a bar line.
func (w *writer) tieItem(s score.Score) (Item, bool) {
	var bars []int
	for _, n := range s.Notes {
		if b := s.BarAt(n.At); b >= 0 && n.Grace == 0 && n.End() > s.Bars[b].End() {
			bars = append(bars, s.Bars[b].Number)
		}
	}
	if len(bars) == 0 {
		return Item{}, false
	}
	return w.item("ties", "Bars", words.Bars(bars)), true
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
	return w.item("chords", "n", len(kinds), "Names", strings.Join(names, ", "), "Roots", w.say("bring.chords.roots", "n", len(roots))), len(names) > 0
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
func (w *writer) handItems(s score.Score) []Item {
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
		out = append(out, w.item("range", "Low", lowest, "High", highest))
	}
	for _, h := range []score.Hand{score.Right, score.Left} {
		if most[h] > 1 {
			out = append(out, w.item("chords-"+h.String(), "n", most[h], "Width", words.HalfSteps(wide[h])))
		}
	}
	if leap >= 12 {
		out = append(out, w.item("leaps", "Bar", leapBar, "Width", words.HalfSteps(leap)))
	}
	return out
}

func abs(a int) int {
	if a < 0 {
		return -a
	}
	return a
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
	for _, u := range p.Used {
		t, ok := technique.ByID(u.Technique)
		if !ok || w.known[t.ID] > 0 {
			continue
		}
		for _, need := range t.Needs {
			if w.brought[need] || !w.words.Has("lesson.skill."+need+".name") {
				continue
			}
			if slices.ContainsFunc(have, func(x Item) bool { return x.of == need }) {
				continue
			}
			w.brought[need] = true
			out = append(out, Item{Name: w.say("skill." + need + ".name"), Text: w.say("skill." + need + ".text")})
		}
	}
	return out
}
