package teach

import (
	"fmt"
	"slices"

	"gradatim/internal/harmony"
	"gradatim/score"
	"gradatim/theory"
)

// chordCards explains every chord symbol of the page, in order of appearance.
func (w *writer) chordCards(p *page) []ChordCard {
	out := []ChordCard{}
	where := map[theory.Chord]int{}
	s := p.Score
	var syms []score.Symbol
	for _, c := range s.Chords {
		if !c.Chord.Silent() {
			syms = append(syms, c)
		}
	}
	for i, sym := range syms {
		k, ok := where[sym.Chord]
		if !ok {
			k = len(out)
			where[sym.Chord] = k
			card := cardOf(sym.Chord)
			end := s.End()
			if i+1 < len(syms) {
				end = syms[i+1].At
			}
			card.Hands = p.asPlayed(sym, end)
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
		end := s.End()
		if i+1 < len(syms) {
			end = syms[i+1].At
		}
		use.Bars = barsOver(s, sym.At, end)
		out[k].add(use)
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
func cardOf(c theory.Chord) ChordCard {
	card := ChordCard{Symbol: c.Pretty(), Chord: c, Tones: []Tone{}, Keys: []Key{}, Hands: []Key{}}
	root := c.Root.Reading().Above(53) // F3 to E4: the chord lies round middle C
	for d := range c.Tones.All() {
		n := d.On(c.Root)
		card.Tones = append(card.Tones, Tone{d.Pretty(), degreeName(d), n.Pretty()})
		card.Keys = append(card.Keys, Key{MIDI: root.MIDI() + d.Semitones(), Note: n.Pretty(), Degree: d.Pretty()})
	}
	for d := range c.UpperTones.All() {
		n := d.On(c.UpperRoot)
		card.Tones = append(card.Tones, Tone{"upper " + d.Pretty(), degreeName(d) + " of the upper chord", n.Pretty()})
	}
	if c.Slash {
		card.Bass = c.Bass.Pretty()
		low := c.Bass.Below(root.MIDI() - 1)
		d := ""
		if deg, ok := c.Degree(c.Bass); ok {
			d = deg.Pretty()
		}
		card.Keys = append(card.Keys, Key{MIDI: low.MIDI(), Note: c.Bass.Pretty(), Degree: d})
	}
	slices.SortStableFunc(card.Keys, func(a, b Key) int { return a.MIDI - b.MIDI })
	return card
}

// asPlayed lists the keys of the chord as the page first plays it: what is struck
// of the chord in its first bar, the tune's own notes left out.
func (p *page) asPlayed(sym score.Symbol, end theory.Dur) []Key {
	out := []Key{}
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
		k := Key{n.Pitch.MIDI(), n.Pitch.Name.Pretty(), d.Pretty(), n.Hand.String()}
		if !slices.Contains(out, k) && len(out) < 10 {
			out = append(out, k)
		}
	}
	slices.SortStableFunc(out, func(a, b Key) int { return a.MIDI - b.MIDI })
	return out
}

// chordUse says what a chord does where it stands and why it is there.
func (w *writer) chordUse(p *page, sym score.Symbol, prev, next theory.Chord) ChordUse {
	key := p.Score.Bars[max(0, p.Score.BarAt(sym.At))].Key
	if sp, ok := w.in.Analysis.SpanAt(sym.At); ok && sp.Key.Valid() {
		key = sp.Key
	}
	r := harmony.Read(key, prev, sym.Chord, next)
	u := ChordUse{Roman: r.Roman(key, sym.Chord).Pretty(), Function: r.Function.String()}
	u.Why = w.chordWhy(key, r, sym.Chord)
	c, ok := p.choiceAt(sym.At)
	switch {
	case !ok:
	case c.Sheet == sym.Chord:
		u.Why = "On the sheet. " + u.Why
	default:
		ch, ok := p.chosenAt(sym.At)
		switch {
		case ok && c.Device != "" && ch.Chord.Root != c.Sheet.Root && ch.At > c.At:
			u.Why = fmt.Sprintf("Added after the sheet's %s. ", c.Sheet.Pretty()) + u.Why
		case ok && c.Device != "" && ch.Chord.Root != c.Sheet.Root && ch.End < c.End:
			u.Why = fmt.Sprintf("Added before the sheet's %s. ", c.Sheet.Pretty()) + u.Why
		case ok && c.Device != "" && ch.Chord.Root != c.Sheet.Root:
			u.Why = fmt.Sprintf("In the place of the sheet's %s. ", c.Sheet.Pretty()) + u.Why
		default:
			u.Why = fmt.Sprintf("The sheet's %s%s. ", c.Sheet.Pretty(), difference(c.Sheet, sym.Chord)) + u.Why
		}
	}
	return u
}

// difference says how a chord on the same root differs from the sheet's.
func difference(sheet, now theory.Chord) string {
	var more, less []string
	for d := range now.Tones.All() {
		if !sheet.Tones.Has(d) {
			more = append(more, d.Pretty())
		}
	}
	for d := range sheet.Tones.All() {
		if !now.Tones.Has(d) {
			less = append(less, d.Pretty())
		}
	}
	out := ""
	if len(more) > 0 {
		out += " with " + list(more)
	}
	if len(less) > 0 {
		if out != "" {
			out += ","
		}
		out += " without " + list(less)
	}
	if now.Slash && !sheet.Slash {
		out += " over " + now.Bass.Pretty()
	}
	return out
}

// chordWhy says what the function means here.
func (w *writer) chordWhy(key theory.Key, r harmony.Reading, c theory.Chord) string {
	target := r.Target.Pretty()
	switch r.Function {
	case harmony.Tonic:
		if c.Root.Class() == key.Tonic.Class() {
			if c.Dominant() {
				return "It is home, and its seventh does not let it rest."
			}
			return "It is home."
		}
		return fmt.Sprintf("It shares two notes with %s and stands in for it.", theory.Chord{Root: key.Tonic, Tones: tonicTriad(key)}.Pretty())
	case harmony.Subdominant:
		return "It leads away from home."
	case harmony.Dominant:
		return fmt.Sprintf("It asks for %s, the tonic.", key.Tonic.Pretty())
	case harmony.Cadential:
		return "The tonic over its fifth: it leans on the dominant that follows."
	case harmony.Applied:
		if r.Resolves {
			return fmt.Sprintf("It leads to %s as a dominant leads home.", target)
		}
		return fmt.Sprintf("It points to %s, which does not follow directly.", target)
	case harmony.Related:
		return fmt.Sprintf("It is the ii that prepares the dominant of %s.", target)
	case harmony.Substitute:
		if r.Resolves {
			return fmt.Sprintf("It lies a half step above %s and shares third and seventh with its dominant.", target)
		}
		return fmt.Sprintf("It lies a half step above %s, which does not follow directly.", target)
	case harmony.Borrowed:
		if key.Mode.Minorish() {
			return "It is borrowed from the parallel major key."
		}
		return "It is borrowed from the parallel minor key."
	case harmony.Passing:
		if target == c.Root.Pretty() || r.Target.Class() == c.Root.Class() {
			return "It colours a root that stays."
		}
		return fmt.Sprintf("It passes on to %s.", target)
	}
	return "It lies outside the key."
}

func tonicTriad(k theory.Key) theory.Degrees {
	third := theory.Degree{Number: 3}
	if k.Mode.Minorish() {
		third.Alter = -1
	}
	return theory.DegreesOf(theory.Degree{Number: 1}, third, theory.Degree{Number: 5})
}
