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
		var chords []theory.Chord
		for _, ch := range c.Chords {
			chords = append(chords, ch.Chord)
		}
		out := []string{p.claim("change.becomes", here{c.At, c.End}, "Was", c.Sheet, "Now", strings.Join(slices.Compact(syms), " – "), "chords", chords)}
		fit := true
		for _, r := range reason.Split(why) {
			if m, ok := r.(reason.MelodyIs); ok {
				fit = false
				out = append(out, p.claim("why.melody-is-its", here{at, f.End}, "Note", m.Note, "Degree", m.Degree))
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
	var moreDegrees, lessDegrees []theory.Degree
	for d := range ch.Chord.Tones.All() {
		if !c.Sheet.Tones.Has(d) || ch.Chord.Root != c.Sheet.Root {
			more, moreDegrees = append(more, w.say("why.tone", "Note", d.On(ch.Chord.Root), "Degree", d)), append(moreDegrees, d)
		}
	}
	for d := range c.Sheet.Tones.All() {
		if !ch.Chord.Tones.Has(d) && ch.Chord.Root == c.Sheet.Root {
			less, lessDegrees = append(less, w.say("why.tone", "Note", d.On(c.Sheet.Root), "Degree", d)), append(lessDegrees, d)
		}
	}
	key, n := "", 0
	switch {
	case len(more) > 0 && len(less) > 0:
		key = "why.exchanged"
	case len(more) > 0:
		key, n = "why.joined", len(more)
	case len(less) > 0:
		key, n = "why.left-out", len(less)
	}
	text := ""
	if key != "" {
		text = p.claim(key, here{f.At, f.End}, "Was", c.Sheet, "Now", ch.Chord, "More", more, "Less", less, "n", n, "more", moreDegrees, "less", lessDegrees)
	}
	fit := p.tuneFit(f.At, f.End)
	if top, ok := p.tuneNear(f.At, f.End); ok && fit != "" && len(more) > 0 && smooth(ch.Chord, c.Sheet, top.Pitch) {
		if both := p.claim("why.smooth", here{f.At, f.End}, "Fit", fit, "now", ch.Chord, "sheet", c.Sheet); both != "" {
			fit = both
		}
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
		return p.claim("why.melody-is", here{when, n.End()}, "Note", n.Pitch.Name, "Tone", tone)
	}
	next, ok := p.tuneAfter(n.End())
	if ok && next.At-n.End() <= theory.Quarter {
		if d := next.Pitch.MIDI() - n.Pitch.MIDI(); d != 0 && d >= -2 && d <= 2 {
			return p.claim("why.melody-steps", here{when, n.End()}, "Note", n.Pitch.Name, "Next", next.Pitch.Name, "note", n)
		}
	}
	return p.claim("why.melody-above", here{when, n.End()}, "Note", n.Pitch.Name, "Chord", c.Chord, "note", n)
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
		return p.claim("why.called-ghost", here{n.At, n.End()}, "Note", name, "note", n)
	}
	c, ok := p.Score.ChordAt(n.At)
	if ok && !c.Chord.Silent() {
		if d, in := c.Chord.Degree(n.Pitch.Name); in {
			if wide && d.Number == 3 {
				d.Number = 10
			}
			return p.claim("why.called", here{n.At, n.End()}, "Note", name, "Degree", d, "note", n)
		}
		if c.Chord.Slash && c.Chord.Bass.Class() == n.Pitch.Class() {
			return p.claim("why.called-bass", here{n.At, n.End()}, "Note", name, "note", n)
		}
	}
	if n.Origin.Kind == score.Approach {
		if s := p.claim("why.called-approach", here{n.At, n.End()}, "Note", name, "note", n); s != "" {
			return s
		}
	}
	return p.words.Name(name)
}

// leftReasons are those of a left-hand figure; of one among several bars it says
// which has it.
func (p *page) leftReasons(f technique.Finding, notes []score.Note, among bool) []string {
	for _, n := range notes {
		if n.Marks.Has(score.Ghost) {
			return []string{p.claim("why.ghost", here{n.At, n.End()}, "Note", n.Pitch.Name, "Beat", beatOf(p.Score, n.At), "note", n), p.tuneFit(n.At, f.End)}
		}
	}
	key := "why.left-plays"
	if among {
		key = "why.left-plays-in"
	}
	out := []string{p.claim(key, here{f.At, max(f.End, f.At+1)}, "Notes", p.strikes(notes), "Bars", barsOf(p.Score.Bars[p.Score.BarAt(f.At)].Number), "notes", notes)}
	for i, n := range notes {
		if n.Origin.Kind != score.Approach || i == 0 {
			continue
		}
		if goal, ok := p.leftAfter(n); ok {
			next := goal.Pitch
			if by := abs(next.MIDI() - n.Pitch.MIDI()); by == 1 || by == 2 {
				out = append(out, p.claim(map[int]string{1: "why.leads-half", 2: "why.leads-whole"}[by], here{n.At, n.End()}, "Note", n.Pitch.Name, "Next", next.Name, "note", n))
			}
			break
		}
	}
	return append(out, p.tuneFit(f.At, f.End))
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
	var playing []score.Note
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
		under, playing = append(under, p.called(n, false)), append(playing, n)
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
		return []string{p.claim("why."+key, here{f.At, max(f.End, f.At+1)}, "Note", top.Pitch.Name, "Tone", tone, "Notes", under, "notes", playing)}
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
			return append(out, p.claim("why.dropped", here{f.At, max(f.End, f.At+1)}, "Note", n.Pitch.Name, "note", n))
		}
	}
	if below := top.Pitch.MIDI() - nearest.Pitch.MIDI(); len(under) > 0 && below > 1 {
		key := "why.nearest"
		if len(under) == 1 {
			key = "why.lies-below"
		}
		out = append(out, p.claim(key, here{f.At, max(f.End, f.At+1)}, "Note", nearest.Pitch.Name, "Interval", words.HalfSteps(below), "note", nearest))
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
		out := []string{p.claim("why.pushed", here{n.At, n.End()}, "Note", n.Pitch.Name, "Place", beatOf(p.Score, written), "Beat", beatOf(p.Score, n.At), "note", n)}
		if c, ok := p.Score.ChordAt(written); ok {
			if tone, in := toneOf(c.Chord, n.Pitch.Name); in {
				out = append(out, p.claim("why.of-that-beat", here{n.At, n.End()}, "Tone", tone, "note", n))
			}
		}
		return out
	}
	return nil
}

// ornamentReasons are those of graces, signs, fills and runs.
func (w *writer) ornamentReasons(p *page, t *technique.Technique, f technique.Finding, notes []score.Note) []string {
	var names []string
	var beside []score.Note
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
		names, beside = append(names, w.words.Name(n.Pitch.Name)), append(beside, n)
		graced, around, to = n.Grace > 0, n.Origin.Kind == score.Ornamental, n.End()
	}
	// tell says a message of a note of the tune, with its tone where it has one.
	tell := func(key string, n score.Note, parts ...any) string {
		if c, ok := p.Score.ChordAt(n.At); ok {
			if tone, in := toneOf(c.Chord, n.Pitch.Name); in {
				key, parts = key+"-tone", append(parts, "Tone", tone)
			}
		}
		return p.claim("why."+key, here{n.At, n.End()}, append(parts, "Note", n.Pitch.Name, "notes", beside)...)
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
		return []string{p.claim("why.encloses", here{from, to}, "Notes", names, "Note", next.Pitch.Name, "notes", beside, "next", next), tell("enclosed", next, "next", next)}
	}
	out := []string{}
	if held, holds := p.tuneAt(from); holds {
		out = append(out, p.claim("why.while-held", here{from, to}, "Notes", names, "n", len(names), "Note", held.Pitch.Name, "notes", beside))
	} else if last, ok := p.tuneBefore(from); ok {
		out = append(out, p.claim("why.after", here{from, to}, "Notes", names, "n", len(names), "Note", last.Pitch.Name, "notes", beside))
	} else {
		out = append(out, p.claim("why.in-rest", here{from, to}, "Notes", names, "n", len(names), "notes", beside))
	}
	if hasNext {
		key, tone := "why.goes-on", words.Tone{}
		if c, ok := p.Score.ChordAt(next.At); ok {
			if t, in := toneOf(c.Chord, next.Pitch.Name); in {
				key, tone = "why.goes-on-tone", t
			}
		}
		out = append(out, p.claim(key, here{from, to}, "Note", next.Pitch.Name, "Tone", tone))
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
