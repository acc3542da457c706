package teach

import (
	"slices"
	"strings"

	"gradatim/internal/harmony"
	"gradatim/score"
	"gradatim/theory"
)

// chordCards explains every chord symbol of the page, those around the tune too, in order
// of appearance.
func (w *writer) chordCards(p *page) []ChordCard {
	out := []ChordCard{}
	where := map[theory.Chord]int{}
	syms := p.symbols()
	for i, sym := range syms {
		k, ok := where[sym.Chord]
		if !ok {
			k = len(out)
			where[sym.Chord] = k
			card := w.cardOf(sym.Chord)
			card.Hands, card.struck = sym.page.asPlayed(sym.Symbol, sym.end)
			card.First = sym.page.Score.Bars[max(0, sym.page.Score.BarAt(sym.At))].Number
			out = append(out, card)
		}
		var prev, next theory.Chord
		if i > 0 {
			prev = syms[i-1].Chord
		}
		if i+1 < len(syms) {
			next = syms[i+1].Chord
		}
		use := w.chordUse(p, sym, prev, next)
		use.Bars = barsOver(sym.page.Score, sym.At, sym.end)
		out[k].add(use)
	}
	return out
}

// symbolOn is a printed chord with the part of the page that it stands on, and how long it
// is in force there.
type symbolOn struct {
	score.Symbol
	page *page
	end  theory.Dur
}

// symbols lists the chords of a page and of what stands around its tune. One that goes on
// from one part into the next is printed once.
func (p *page) symbols() []symbolOn {
	var out []symbolOn
	for _, q := range p.parts() {
		begun := len(out)
		for _, c := range q.Score.Chords {
			if c.Chord.Silent() {
				continue
			}
			if k := len(out); k > begun {
				out[k-1].end = c.At
			} else if k > 0 && c.At == q.Score.Bars[0].At && out[k-1].Chord == c.Chord {
				continue
			}
			out = append(out, symbolOn{c, q, q.Score.End()})
		}
	}
	return out
}

// barsOver lists the printed numbers of the bars in [from, to).
func barsOver(s score.Score, from, to theory.Dur) []int {
	var out []int
	for i := max(0, s.BarAt(from)); i < len(s.Bars) && s.Bars[i].At < to; i++ {
		out = append(out, s.Bars[i].Number)
	}
	return slices.Compact(out)
}

// add joins a use to the one of the same function, whose reason stays.
func (c *ChordCard) add(u ChordUse) {
	for i := range c.Uses {
		if v := &c.Uses[i]; v.Roman == u.Roman && v.Function == u.Function && v.Why == u.Why {
			v.Bars = append(v.Bars, u.Bars...)
			slices.Sort(v.Bars)
			v.Bars = slices.Compact(v.Bars)
			return
		}
	}
	c.Uses = append(c.Uses, u)
}

// cardOf describes a chord by itself.
func (w *writer) cardOf(c theory.Chord) ChordCard {
	card := ChordCard{Symbol: c.Pretty(), Chord: c, Tones: []Tone{}, Keys: []Key{}, Hands: []Key{}}
	root := c.Root.Reading().Above(53) // F3 to E4: the chord lies round middle C
	for d := range c.Tones.All() {
		n := d.On(c.Root)
		card.Tones = append(card.Tones, Tone{d.Pretty(), w.words.Value(d), w.words.Name(n)})
		card.Keys = append(card.Keys, Key{MIDI: root.MIDI() + d.Semitones(), Note: w.words.Name(n), Degree: d.Pretty()})
	}
	for d := range c.UpperTones.All() {
		n := d.On(c.UpperRoot)
		card.Tones = append(card.Tones, Tone{w.say("chord.upper", "Degree", d), w.say("chord.of-upper", "Degree", d), w.words.Name(n)})
	}
	if c.Slash {
		card.Bass = w.words.Name(c.Bass)
		low := c.Bass.Below(root.MIDI() - 1)
		d := ""
		if deg, ok := c.Degree(c.Bass); ok {
			d = deg.Pretty()
		}
		card.Keys = append(card.Keys, Key{MIDI: low.MIDI(), Note: w.words.Name(c.Bass), Degree: d})
	}
	slices.SortStableFunc(card.Keys, func(a, b Key) int { return a.MIDI - b.MIDI })
	return card
}

// asPlayed lists the keys of the chord as the page first plays it: what is struck
// of the chord in its first bar, the tune's own notes left out; and the most of them that a
// hand strikes at once, the first time that it does.
func (p *page) asPlayed(sym score.Symbol, end theory.Dur) (out, struck []Key) {
	out = []Key{}
	type strike struct {
		hand score.Hand
		at   theory.Dur
	}
	together := map[strike][]Key{}
	b := p.Score.BarAt(sym.At)
	for _, n := range p.byBar[b] {
		if n.At < sym.At || n.At >= end || n.Grace > 0 || n.Origin.Kind == score.Melody {
			continue
		}
		switch n.Origin.Kind {
		case score.Chord, score.Bass, score.Tension:
		default:
			continue
		}
		d, ok := sym.Chord.Degree(n.Pitch.Name)
		if !ok {
			continue
		}
		k := Key{n.Pitch.MIDI(), p.words.Name(n.Pitch.Name), d.Pretty(), n.Hand.String(), int(n.Finger)}
		same := func(o Key) bool { return o.MIDI == k.MIDI && o.Hand == k.Hand } // again, perhaps by another finger
		if !slices.ContainsFunc(out, same) && len(out) < 10 {
			out = append(out, k)
		}
		s := strike{n.Hand, n.At}
		if together[s] = append(together[s], k); len(together[s]) > len(struck) {
			struck = together[s]
		}
	}
	for _, keys := range [][]Key{out, struck} {
		slices.SortStableFunc(keys, func(a, b Key) int { return a.MIDI - b.MIDI })
	}
	return out, struck
}

// chordUse says what a chord does where it stands and why it is there.
func (w *writer) chordUse(whole *page, sym symbolOn, prev, next theory.Chord) ChordUse {
	p := sym.page
	key := p.Score.Bars[max(0, p.Score.BarAt(sym.At))].Key
	if sp, ok := w.in.Analysis.SpanAt(sym.At); p == whole && ok && sp.Key.Valid() {
		key = sp.Key
	}
	r := harmony.Read(key, prev, sym.Chord, next)
	var u ChordUse
	if !p.plain() {
		u = ChordUse{Roman: r.Roman(key, sym.Chord).Pretty(), Function: w.words.Word("function", r.Function.String(), "", r.Function.String())}
	}
	why := w.chordWhy(p, key, r, prev, sym.Chord, next)
	u.Why = why
	c, ok := p.decisionAt(sym.At)
	from := func(key string, parts ...any) string {
		return strings.TrimSpace(p.claim("chord."+key, here{sym.At, sym.At + 1}, append(parts, "Sheet", c.Sheet, "chord", sym.Chord)...) + " " + why)
	}
	switch {
	case !ok:
	case c.Sheet == sym.Chord:
		u.Why = from("sheet")
	default:
		ch, ok := p.chosenAt(sym.At)
		switch {
		case ok && c.Device != "" && ch.Chord.Root != c.Sheet.Root && ch.At > c.At:
			u.Why = from("after")
		case ok && c.Device != "" && ch.Chord.Root != c.Sheet.Root && ch.End < c.End:
			u.Why = from("before")
		case ok && c.Device != "" && ch.Chord.Root != c.Sheet.Root:
			u.Why = from("instead")
		default:
			u.Why = from("changed", "Change", w.difference(p, c.Sheet, sym.Chord))
		}
	}
	return u
}

// difference says how a chord on the same root differs from the sheet's.
func (w *writer) difference(p *page, sheet, now theory.Chord) string {
	var more, less []string
	var moreDegrees, lessDegrees []theory.Degree
	claim := func(key string, parts ...any) string {
		return p.claim("chord."+key, p.whole(), append(parts, "chord", now, "sheet", sheet)...)
	}
	for d := range now.Tones.All() {
		if !sheet.Tones.Has(d) {
			more, moreDegrees = append(more, d.Pretty()), append(moreDegrees, d)
		}
	}
	for d := range sheet.Tones.All() {
		if !now.Tones.Has(d) {
			less, lessDegrees = append(less, d.Pretty()), append(lessDegrees, d)
		}
	}
	out := ""
	if len(more) > 0 {
		out += claim("with", "Degrees", more, "more", moreDegrees)
	}
	if len(less) > 0 {
		key := "without"
		if out != "" {
			key = "and-without"
		}
		out += claim(key, "Degrees", less, "less", lessDegrees)
	}
	if now.Slash && !sheet.Slash {
		out += claim("over", "Bass", now.Bass)
	}
	return out
}

// plainLevels is up to which level chords are told by their names, without numerals and
// without the names of functions and cadences: what a beginner needs is where to put the
// hand (common practice, no source).
const plainLevels = 2

// plain tells whether a page is for readers who know chords by their names alone.
func (p *page) plain() bool { return p.Level.Number > 0 && p.Level.Like() <= plainLevels }

// inPlainWords are the functions that have words without a term of harmony.
var inPlainWords = []string{"asks", "cadential", "applied", "related", "substitute", "borrowed-from-major", "borrowed-from-minor"}

// chordWhy says what the function means here.
func (w *writer) chordWhy(p *page, key theory.Key, r harmony.Reading, prev, c, next theory.Chord) string {
	about := func(what string, parts ...any) string {
		if p.plain() && slices.Contains(inPlainWords, what) {
			what = "plain." + what
		}
		return p.claim("function."+what, p.whole(), append(parts, "Target", r.Target, "Tonic", key.Tonic, "key", key, "function", r.Function, "prev", prev, "chord", c, "next", next)...)
	}
	why := func(what string) string { return about(what) }
	switch r.Function {
	case harmony.Tonic:
		if c.Root.Class() == key.Tonic.Class() {
			if c.Dominant() {
				return why("restless-home")
			}
			return why("home")
		}
		return about("stands-in", "Chord", theory.Chord{Root: key.Tonic, Tones: tonicTriad(key)})
	case harmony.Subdominant:
		return why("away")
	case harmony.Dominant:
		return why("asks")
	case harmony.Cadential:
		return why("cadential")
	case harmony.Applied:
		if r.Resolves {
			return why("applied")
		}
		return why("applied-elsewhere")
	case harmony.Related:
		return why("related")
	case harmony.Substitute:
		if r.Resolves {
			return why("substitute")
		}
		return why("substitute-elsewhere")
	case harmony.Borrowed:
		if key.Mode.Minorish() {
			return why("borrowed-from-major")
		}
		return why("borrowed-from-minor")
	case harmony.Passing:
		if r.Target.Class() == c.Root.Class() {
			return why("colours")
		}
		return why("passes")
	}
	return why("outside")
}

func tonicTriad(k theory.Key) theory.Degrees {
	third := theory.Degree{Number: 3}
	if k.Mode.Minorish() {
		third.Alter = -1
	}
	return theory.DegreesOf(theory.Degree{Number: 1}, third, theory.Degree{Number: 5})
}
