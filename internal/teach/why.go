package teach

import (
	"cmp"
	"slices"
	"strings"

	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// why says, in at most 40 words, what was done and why it fits the tune's note.
func (w *writer) why(p *page, t *technique.Technique, pl place) string {
	parts := w.reasons(p, t, pl)
	text := ""
	for _, s := range parts {
		if s = sentence(s); s == "" || strings.Contains(text, s) {
			continue
		}
		if wordCount(text)+wordCount(s) > mostWords {
			continue
		}
		if text != "" {
			text += " "
		}
		text += s
	}
	return text
}

// reasons lists clauses, most important first.
func (w *writer) reasons(p *page, t *technique.Technique, pl place) []string {
	f := pl.find
	var notes []score.Note // those of the finding that the technique made
	for _, id := range f.Notes {
		if n, ok := p.note(id, f.At, f.End); ok && (n.Origin.Technique == t.ID || t.Stage == technique.LeftHand) {
			notes = append(notes, n)
		}
	}
	slices.SortStableFunc(notes, func(a, b score.Note) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(b.Grace, a.Grace), theory.ComparePitch(a.Pitch, b.Pitch))
	})
	switch t.Stage {
	case technique.Device:
		return w.chordReasons(p, t, f)
	case technique.LeftHand:
		return p.leftReasons(f, notes, pl.first < pl.last)
	case technique.RightHand:
		return w.underReasons(p, f)
	case technique.Line:
		return w.pushReasons(p, notes)
	}
	return w.ornamentReasons(p, t, f, notes)
}

// chordReasons are those of a changed or coloured chord.
func (w *writer) chordReasons(p *page, t *technique.Technique, f technique.Finding) []string {
	c, ok := p.decisionAt(f.At)
	if !ok {
		return []string{p.tuneFit(f.At, f.End)}
	}
	if t.Rewrite != nil {
		var syms []string
		var why reason.Reason
		at := f.At
		for _, ch := range c.Chords {
			syms = append(syms, ch.Chord.Pretty())
			if ch.Why != nil && ch.At < f.End && ch.End > f.At && why == nil {
				why, at = ch.Why, ch.At
			}
		}
		out := []string{w.say("change.becomes", "Was", c.Sheet, "Now", strings.Join(slices.Compact(syms), " – "))}
		fit := true
		for _, r := range reason.Split(why) {
			if m, ok := r.(reason.MelodyIs); ok {
				fit = false
				out = append(out, w.say("why.melody-is-its", "Note", m.Note, "Degree", m.Degree))
				continue
			}
			out = append(out, w.words.Reason(r))
		}
		if fit {
			out = append(out, p.tuneFit(at, f.End))
		}
		return out
	}
	ch, ok := p.chosenAt(f.At)
	if !ok {
		return []string{p.tuneFit(f.At, f.End)}
	}
	var more, less []string
	for d := range ch.Chord.Tones.All() {
		if !c.Sheet.Tones.Has(d) || ch.Chord.Root != c.Sheet.Root {
			more = append(more, w.say("why.called", "Note", d.On(ch.Chord.Root), "Degree", d))
		}
	}
	for d := range c.Sheet.Tones.All() {
		if !ch.Chord.Tones.Has(d) && ch.Chord.Root == c.Sheet.Root {
			less = append(less, w.say("why.called", "Note", d.On(c.Sheet.Root), "Degree", d))
		}
	}
	key, n := "change.becomes", 0
	switch {
	case len(more) > 0 && len(less) > 0:
		key = "why.exchanged"
	case len(more) > 0:
		key, n = "why.joined", len(more)
	case len(less) > 0:
		key, n = "why.left-out", len(less)
	}
	text := w.say(key, "Was", c.Sheet, "Now", ch.Chord, "More", more, "Less", less, "n", n)
	fit := p.tuneFit(f.At, f.End)
	if top, ok := p.tuneNear(f.At, f.End); ok && len(more) > 0 && smooth(ch.Chord, c.Sheet, top.Pitch) {
		fit = w.say("why.smooth", "Fit", fit)
	}
	return []string{text, fit}
}

// smooth tells whether a note of the tune lies a half step from none of the notes
// that a chord has more than the sheet's.
func smooth(now, sheet theory.Chord, tune theory.Pitch) bool {
	for d := range now.Tones.All() {
		if sheet.Tones.Has(d) {
			continue
		}
		if apart := (d.On(now.Root).Class() - tune.Class() + 12) % 12; apart == 1 || apart == 11 {
			return false
		}
	}
	return true
}

// tuneFit says what the tune's note is to the chord of the page.
func (p *page) tuneFit(at, until theory.Dur) string {
	n, ok := p.tuneNear(at, until)
	if !ok {
		return ""
	}
	when := max(at, n.At)
	c, ok := p.Score.ChordAt(when)
	if !ok || c.Chord.Silent() {
		return ""
	}
	if tone, ok := toneOf(c.Chord, n.Pitch.Name); ok {
		return p.say("why.melody-is", "Note", n.Pitch.Name, "Tone", tone)
	}
	next, ok := p.tuneAfter(n.End())
	if ok && next.At-n.End() <= theory.Quarter {
		if d := next.Pitch.MIDI() - n.Pitch.MIDI(); d != 0 && d >= -2 && d <= 2 {
			return p.say("why.melody-steps", "Note", n.Pitch.Name, "Next", next.Pitch.Name)
		}
	}
	return p.say("why.melody-above", "Note", n.Pitch.Name, "Chord", c.Chord)
}

// strikes names the notes of a hand in order: "F (root), then A (third) and C
// (fifth)". After four strikes it stops.
func (p *page) strikes(notes []score.Note) string {
	var groups [][]string
	var at theory.Dur = -1
	low, rolled := 0, false
	for _, n := range notes {
		if n.Grace > 0 {
			continue
		}
		if n.At != at {
			if len(groups) == 4 {
				break
			}
			groups = append(groups, nil)
			at, low = n.At, n.Pitch.MIDI()
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], p.called(n, n.Pitch.MIDI()-low >= 12))
		rolled = rolled || n.Marks.Has(score.Rolled)
	}
	var out []string
	for _, g := range groups {
		out = append(out, p.words.List(g))
	}
	text := ""
	for i, s := range out {
		if i == 0 {
			text = s
			continue
		}
		text = p.say("why.then", "First", text, "Then", s)
	}
	if rolled {
		return p.say("why.rolled", "Notes", text)
	}
	return text
}

// called names a note with what it is: "B♭ (minor seventh)", "B (leads on)". A third
// that lies wide is a tenth.
func (p *page) called(n score.Note, wide bool) string {
	name := n.Pitch.Name
	if n.Marks.Has(score.Ghost) {
		return p.say("why.called-ghost", "Note", name)
	}
	c, ok := p.Score.ChordAt(n.At)
	if ok && !c.Chord.Silent() {
		if d, in := c.Chord.Degree(n.Pitch.Name); in {
			if wide && d.Number == 3 {
				d.Number = 10
			}
			return p.say("why.called", "Note", name, "Degree", d)
		}
		if c.Chord.Slash && c.Chord.Bass.Class() == n.Pitch.Class() {
			return p.say("why.called-bass", "Note", name)
		}
	}
	if n.Origin.Kind == score.Approach {
		return p.say("why.called-approach", "Note", name)
	}
	return p.words.Name(name)
}

// leftReasons are those of a left-hand figure; of one among several bars it says
// which has it.
func (p *page) leftReasons(f technique.Finding, notes []score.Note, among bool) []string {
	for _, n := range notes {
		if n.Marks.Has(score.Ghost) {
			return []string{p.say("why.ghost", "Note", n.Pitch.Name, "Beat", beatOf(p.Score, n.At)), p.tuneFit(n.At, f.End)}
		}
	}
	key := "why.left-plays"
	if among {
		key = "why.left-plays-in"
	}
	out := []string{p.say(key, "Notes", p.strikes(notes), "Bars", barsOf(p.Score.Bars[p.Score.BarAt(f.At)].Number))}
	for i, n := range notes {
		if n.Origin.Kind != score.Approach || i == 0 {
			continue
		}
		if goal, ok := p.leftAfter(n); ok {
			next := goal.Pitch
			if by := abs(next.MIDI() - n.Pitch.MIDI()); by == 1 || by == 2 {
				out = append(out, p.say(map[int]string{1: "why.leads-half", 2: "why.leads-whole"}[by], "Note", n.Pitch.Name, "Next", next.Name))
			}
			break
		}
	}
	fit := p.tuneFit(f.At, f.End)
	if both := p.say("why.one-chord", "Fit", fit); p.tuneBelongs(f.At, f.End) && wordCount(strings.Join(out, " ")+" "+both) <= mostWords {
		fit = both
	}
	return append(out, fit)
}

// leftAfter returns the left hand's next note.
func (p *page) leftAfter(n score.Note) (score.Note, bool) {
	for b := p.Score.BarAt(n.At); b < len(p.byBar) && p.Score.Bars[b].At <= n.End(); b++ {
		for _, m := range p.byBar[b] {
			if m.Hand == score.Left && m.At >= n.End() && m.Grace == 0 && !m.Marks.Has(score.Ghost) {
				return m, true
			}
		}
	}
	return score.Note{}, false
}

// underReasons are those of notes below the tune in its own hand.
func (w *writer) underReasons(p *page, f technique.Finding) []string {
	top, ok := p.tuneNear(f.At, f.End)
	if !ok {
		return nil
	}
	var under []string
	var nearest score.Note
	doubled := false
	for _, n := range p.byBar[p.Score.BarAt(f.At)] {
		if n.At != f.At || n.Hand != score.Right || n.Grace > 0 || n.Origin.Kind == score.Melody {
			continue
		}
		if n.Pitch.Class() == top.Pitch.Class() {
			doubled = true
			continue
		}
		under = append(under, p.called(n, false))
		if n.Pitch.MIDI() < top.Pitch.MIDI() && n.Pitch.MIDI() > nearest.Pitch.MIDI() || len(under) == 1 {
			nearest = n
		}
	}
	c, _ := p.Score.ChordAt(f.At)
	tone, in := toneOf(c.Chord, top.Pitch.Name)
	plays := func(key string) []string {
		if in {
			key += "-tone"
		}
		return []string{p.say("why."+key, "Note", top.Pitch.Name, "Tone", tone, "Notes", under)}
	}
	switch {
	case doubled && len(under) > 0:
		return plays("under-octave-and")
	case doubled:
		return plays("under-octave")
	}
	out := plays("under")
	for _, id := range f.Notes { // a voice of the chord that the other hand has
		if n, ok := p.note(id, f.At, f.End); ok && n.Hand == score.Left {
			return append(out, p.say("why.dropped", "Note", n.Pitch.Name))
		}
	}
	if below := top.Pitch.MIDI() - nearest.Pitch.MIDI(); len(under) > 0 && below > 1 {
		key := "why.nearest"
		if len(under) == 1 {
			key = "why.lies-below"
		}
		out = append(out, p.say(key, "Note", nearest.Pitch.Name, "Interval", words.HalfSteps(below)))
	}
	if !in {
		out = append(out, p.tuneFit(f.At, f.End))
	}
	return out
}

// pushReasons are those of a note that comes early.
func (w *writer) pushReasons(p *page, notes []score.Note) []string {
	for _, n := range notes {
		e, ok := n.Origin.Event()
		if !ok {
			continue
		}
		written := w.song.Melody[e].At
		out := []string{p.say("why.pushed", "Note", n.Pitch.Name, "Place", beatOf(p.Score, written), "Beat", beatOf(p.Score, n.At))}
		if c, ok := p.Score.ChordAt(written); ok {
			if tone, in := toneOf(c.Chord, n.Pitch.Name); in {
				out = append(out, p.say("why.of-that-beat", "Tone", tone))
			}
		}
		return out
	}
	return nil
}

// ornamentReasons are those of graces, signs, fills and runs.
func (w *writer) ornamentReasons(p *page, t *technique.Technique, f technique.Finding, notes []score.Note) []string {
	var names []string
	signed, graced, around := false, false, false
	var from, to theory.Dur = f.At, f.End
	for _, n := range notes {
		if n.Origin.Kind == score.Melody {
			signed = signed || n.Ornament != score.NoOrnament
			continue
		}
		if len(names) == 0 {
			from = n.At
		}
		names = append(names, w.words.Name(n.Pitch.Name))
		graced, around, to = n.Grace > 0, n.Origin.Kind == score.Ornamental, n.End()
	}
	// tell says a message of a note of the tune, with its tone where it has one.
	tell := func(key string, n score.Note, parts ...any) string {
		if c, ok := p.Score.ChordAt(n.At); ok {
			if tone, in := toneOf(c.Chord, n.Pitch.Name); in {
				key, parts = key+"-tone", append(parts, "Tone", tone)
			}
		}
		return w.say("why."+key, append(parts, "Note", n.Pitch.Name)...)
	}
	top, _ := p.tuneNear(f.At, max(f.End, f.At+1))
	switch {
	case signed:
		return []string{tell("signed", top, "Beats", w.beats(p.Score, top), "Technique", reason.Technique(t.ID))}
	case graced:
		return []string{tell("graced", top, "Notes", names)}
	}
	next, hasNext := p.tuneAfter(to)
	if around && hasNext {
		return []string{w.say("why.encloses", "Notes", names, "Note", next.Pitch.Name), tell("enclosed", next)}
	}
	out := []string{}
	if held, holds := p.tuneAt(from); holds {
		out = append(out, w.say("why.while-held", "Notes", names, "n", len(names), "Note", held.Pitch.Name))
	} else if last, ok := p.tuneBefore(from); ok {
		out = append(out, w.say("why.after", "Notes", names, "n", len(names), "Note", last.Pitch.Name))
	} else {
		out = append(out, w.say("why.in-rest", "Notes", names, "n", len(names)))
	}
	if hasNext {
		out = append(out, tell("goes-on", next))
	}
	return out
}

// beats says how long a note lasts: "2 beats", "1½ beats".
func (w *writer) beats(s score.Score, n score.Note) string {
	beat := s.Bars[s.BarAt(n.At)].Meter.BeatDur()
	if beat <= 0 {
		beat = theory.Quarter
	}
	whole, rest := int(n.Dur/beat), n.Dur%beat
	switch {
	case rest == 0:
		return w.say("beats.whole", "n", whole)
	case rest*2 == beat && whole == 0:
		return w.say("beats.half")
	case rest*2 == beat:
		return w.say("beats.and-half", "n", whole)
	}
	return w.say("beats.more", "n", whole)
}
