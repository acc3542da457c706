package teach

import (
	"slices"

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
	out := []Item{{Name: w.say("bring.scale.name", "Key", w.key), Text: w.signature(p, w.key)}}
	out = append(out, w.meterItem(p)...)
	out = append(out, w.valueItem(p))
	if it, ok := w.tieItem(p); ok {
		out = append(out, it)
	}
	if s.Feel == leadsheet.Swing && hasOffbeats(s) {
		out = append(out, w.item(p, "swung"))
	}
	if it, ok := w.chordItem(p); ok {
		out = append(out, it)
	}
	out = append(out, w.handItems(p)...)
	if bars := pedalBars(s); len(bars) > 0 {
		out = append(out, w.item(p, "pedal", "Bars", words.Bars(bars)))
	}
	out = slices.DeleteFunc(out, func(it Item) bool { return it.Text == "" })
	return append(out, w.needs(p, out)...)
}

// item is an entry by its key.
func (w *writer) item(p *page, key string, parts ...any) Item {
	return Item{Name: w.say("bring."+key+".name", parts...), Text: words.Upper(p.claim("bring."+key+".text", p.whole(), parts...)), of: key}
}

// signature says what a key signature holds.
func (w *writer) signature(p *page, k theory.Key) string {
	n := k.Fifths()
	if n == 0 {
		return p.claim("bring.scale.none", p.whole(), "key", k)
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
	return p.claim("bring.scale.text", p.whole(), "Signature", reason.Signature(n), "Names", names, "key", k)
}

func (w *writer) meterItem(p *page) []Item {
	s := p.Score
	var out []Item
	seen := map[leadsheet.Meter]bool{}
	for _, b := range s.Bars {
		if seen[b.Meter] || !b.Meter.Valid() {
			continue
		}
		seen[b.Meter] = true
		out = append(out, w.item(p, "metre", "Metre", b.Meter, "n", b.Meter.BeatCount(), "Value", b.Meter.BeatDur()))
	}
	return out
}

// valueItem names the note values that the page is written with, from long to
// short. A length that takes several notes to write counts as tied.
func (w *writer) valueItem(p *page) Item {
	s := p.Score
	var names []string
	var used []theory.Dur
	triplets := false
	for _, v := range values {
		if slices.ContainsFunc(s.Notes, func(n score.Note) bool { return n.Grace == 0 && n.Dur == v }) {
			names, used = append(names, w.words.Value(v)), append(used, v)
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
	return Item{Name: w.say("bring.values.name"), Text: words.Upper(p.claim(key, p.whole(), "Values", names, "values", used))}
}

// values are the note values that are named, from long to short.
var values = []theory.Dur{theory.Whole * 3 / 2, theory.Whole, theory.Half * 3 / 2, theory.Half, theory.Quarter * 3 / 2, theory.Quarter,
	theory.Eighth * 3 / 2, theory.Eighth, theory.Sixteenth * 3 / 2, theory.Sixteenth, theory.Sixteenth / 2}

// tieItem finds notes held over a bar line.
func (w *writer) tieItem(p *page) (Item, bool) {
	s := p.Score
	var bars []int
	for _, n := range s.Notes {
		if b := s.BarAt(n.At); b >= 0 && n.Grace == 0 && n.End() > s.Bars[b].End() {
			bars = append(bars, s.Bars[b].Number)
		}
	}
	if len(bars) == 0 {
		return Item{}, false
	}
	return w.item(p, "ties", "Bars", words.Bars(bars)), true
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

// mostNamed is how many chords are named at once.
const mostNamed = 12

// chordItem names the chords of the page whose kind was met before: on a level below
// or, where the lesson begins higher up, by those who begin there. The other kinds are
// what the page teaches.
func (w *writer) chordItem(p *page) (Item, bool) {
	if w.kinds == nil {
		w.kinds = metBefore(p.Level)
	}
	var names []string
	var met []theory.Chord
	for _, c := range p.Score.Chords {
		if c.Chord.Silent() || !w.kinds[c.Chord.Tones] || slices.Contains(met, unslashed(c.Chord)) || len(met) == mostNamed {
			continue
		}
		met = append(met, unslashed(c.Chord))
		names = append(names, unslashed(c.Chord).Pretty())
	}
	if len(names) == 0 {
		return Item{}, false
	}
	return w.item(p, "chords", "Names", names, "chords", met), true
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
func (w *writer) handItems(p *page) []Item {
	s := p.Score
	var out []Item
	low, high := 200, 0
	var lowest, highest theory.Pitch
	wide := map[score.Hand]int{}
	most := map[score.Hand]int{}
	var at theory.Dur = -1
	bottom, top, n := map[score.Hand]int{}, map[score.Hand]int{}, map[score.Hand]int{}
	leap, last, lastBar := 0, -1, 0
	leapBar, inside := 0, false
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
					leap, leapBar, inside = abs(k-last), s.Bars[s.BarAt(x.At)].Number, s.BarAt(x.At) == lastBar
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
		out = append(out, w.item(p, "range", "Low", lowest, "High", highest))
	}
	for _, h := range []score.Hand{score.Right, score.Left} {
		if most[h] > 1 {
			out = append(out, w.item(p, "chords-"+h.String(), "n", most[h], "Width", words.HalfSteps(wide[h])))
		}
	}
	if leap >= 12 {
		key := "leaps"
		if inside {
			key = "leaps-inside"
		}
		out = append(out, w.item(p, key, "Bar", leapBar, "Width", words.HalfSteps(leap)))
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
