package teach

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/technique"
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
	c, ok := p.choiceAt(f.At)
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
		out := []string{fmt.Sprintf("%s becomes %s", c.Sheet.Pretty(), strings.Join(slices.Compact(syms), " – "))}
		fit := true
		for _, r := range reason.Split(why) {
			if m, ok := r.(reason.MelodyIs); ok {
				fit = false
				out = append(out, w.words.Say("example.melody-is", "Note", m.Note, "Degree", m.Degree))
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
			more = append(more, fmt.Sprintf("%s (%s)", d.On(ch.Chord.Root).Pretty(), degreeName(d)))
		}
	}
	for d := range c.Sheet.Tones.All() {
		if !ch.Chord.Tones.Has(d) && ch.Chord.Root == c.Sheet.Root {
			less = append(less, fmt.Sprintf("%s (%s)", d.On(c.Sheet.Root).Pretty(), degreeName(d)))
		}
	}
	text := fmt.Sprintf("%s becomes %s", c.Sheet.Pretty(), ch.Chord.Pretty())
	switch {
	case len(more) > 0 && len(less) > 0:
		text += fmt.Sprintf(": %s for %s", list(more), list(less))
	case len(more) > 0:
		text += ": " + list(more) + verb(len(more), " joins", " join")
	case len(less) > 0:
		text += ": " + list(less) + verb(len(less), " is", " are") + " left out"
	}
	fit := p.tuneFit(f.At, f.End)
	if top, ok := p.tuneNear(f.At, f.End); ok && len(more) > 0 && smooth(ch.Chord, c.Sheet, top.Pitch) {
		fit += ", and no new note lies a half step from it"
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

func verb(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
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
	if over, ok := overName(c.Chord, n.Pitch.Name); ok {
		return fmt.Sprintf("the melody's %s is %s", n.Pitch.Name.Pretty(), over)
	}
	next, ok := p.tuneAfter(n.End())
	if ok && next.At-n.End() <= theory.Quarter {
		if d := next.Pitch.MIDI() - n.Pitch.MIDI(); d != 0 && d >= -2 && d <= 2 {
			return fmt.Sprintf("the melody's %s steps on to %s", n.Pitch.Name.Pretty(), next.Pitch.Name.Pretty())
		}
	}
	return fmt.Sprintf("the melody's %s is not in %s and sounds above it", n.Pitch.Name.Pretty(), c.Chord.Pretty())
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
		text := p.called(n)
		if above := n.Pitch.MIDI() - low; above >= 12 && strings.HasSuffix(text, "third)") {
			text = strings.Replace(text, "third)", "tenth)", 1)
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], text)
		rolled = rolled || n.Marks.Has(score.Rolled)
	}
	var out []string
	for _, g := range groups {
		out = append(out, list(g))
	}
	if rolled {
		out[len(out)-1] += ", rolled"
	}
	return strings.Join(out, ", then ")
}

// called names a note with what it is: "B♭ (minor seventh)", "B (leads on)".
func (p *page) called(n score.Note) string {
	name := n.Pitch.Name.Pretty()
	if n.Marks.Has(score.Ghost) {
		return name + " (ghost note)"
	}
	c, ok := p.Score.ChordAt(n.At)
	if ok && !c.Chord.Silent() {
		if d, in := c.Chord.Degree(n.Pitch.Name); in {
			return fmt.Sprintf("%s (%s)", name, degreeName(d))
		}
		if c.Chord.Slash && c.Chord.Bass.Class() == n.Pitch.Class() {
			return name + " (bass)"
		}
	}
	if n.Origin.Kind == score.Approach {
		return name + " (approach)"
	}
	return name
}

// leftReasons are those of a left-hand figure; of one among several bars it says
// which has it.
func (p *page) leftReasons(f technique.Finding, notes []score.Note, among bool) []string {
	for _, n := range notes {
		if n.Marks.Has(score.Ghost) {
			return []string{fmt.Sprintf("the bass note %s sounds once more on %s, hardly heard", n.Pitch.Name.Pretty(), beatName(p.Score, n.At)), p.tuneFit(n.At, f.End)}
		}
	}
	out := []string{"the left hand plays " + p.strikes(notes)}
	if among {
		out[0] = fmt.Sprintf("in %s %s", barList([]int{p.Score.Bars[p.Score.BarAt(f.At)].Number}), out[0])
	}
	for i, n := range notes {
		if n.Origin.Kind != score.Approach || i == 0 {
			continue
		}
		if goal, ok := p.leftAfter(n); ok {
			next := goal.Pitch
			by := map[int]string{1: "a half step", 2: "a whole step"}[abs(next.MIDI()-n.Pitch.MIDI())]
			if by != "" {
				out = append(out, fmt.Sprintf("%s leads by %s to %s", n.Pitch.Name.Pretty(), by, next.Name.Pretty()))
			}
			break
		}
	}
	fit := p.tuneFit(f.At, f.End)
	if p.tuneBelongs(f.At, f.End) {
		fit += ", so both hands sound one chord"
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
		under = append(under, p.called(n))
		if n.Pitch.MIDI() < top.Pitch.MIDI() && n.Pitch.MIDI() > nearest.Pitch.MIDI() || len(under) == 1 {
			nearest = n
		}
	}
	name := top.Pitch.Name.Pretty()
	what := "under the melody's " + name
	if c, ok := p.Score.ChordAt(f.At); ok {
		if over, in := overName(c.Chord, top.Pitch.Name); in {
			what += ", " + over + ","
		}
	}
	switch {
	case doubled && len(under) > 0:
		return []string{fmt.Sprintf("%s the hand plays its octave and %s", what, list(under))}
	case doubled:
		return []string{what + " the hand plays its octave"}
	}
	out := []string{fmt.Sprintf("%s the hand plays %s", what, list(under))}
	for _, id := range f.Notes { // a voice of the chord that the other hand has
		if n, ok := p.note(id, f.At, f.End); ok && n.Hand == score.Left {
			return append(out, fmt.Sprintf("the left hand has the dropped voice, %s, an octave lower", n.Pitch.Name.Pretty()))
		}
	}
	if below := top.Pitch.MIDI() - nearest.Pitch.MIDI(); len(under) > 0 && below > 1 {
		out = append(out, fmt.Sprintf("the nearest, %s, lies %s below it", nearest.Pitch.Name.Pretty(), withArticle(intervalName(below))))
		if len(under) == 1 {
			out[1] = fmt.Sprintf("it lies %s below", withArticle(intervalName(below)))
		}
	}
	if !strings.HasSuffix(what, ",") {
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
		out := []string{fmt.Sprintf("the melody's %s belongs on beat %s and comes on %s, held over", n.Pitch.Name.Pretty(), beatName(p.Score, written), beatName(p.Score, n.At))}
		if c, ok := p.Score.ChordAt(written); ok {
			if over, in := overName(c.Chord, n.Pitch.Name); in {
				out = append(out, "it is "+over+", the chord of that beat")
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
		names = append(names, n.Pitch.Name.Pretty())
		graced, around, to = n.Grace > 0, n.Origin.Kind == score.Ornamental, n.End()
	}
	top, _ := p.tuneNear(f.At, max(f.End, f.At+1))
	name := top.Pitch.Name.Pretty()
	is := ""
	if c, ok := p.Score.ChordAt(top.At); ok {
		if over, in := overName(c.Chord, top.Pitch.Name); in {
			is = over
		}
	}
	comma := func(s string) string {
		if s == "" {
			return ""
		}
		return ", " + s + ","
	}
	switch {
	case signed:
		return []string{fmt.Sprintf("the melody's %s%s lasts %s: room for the %s", name, comma(is), beats(p.Score, top), w.words.Technique(t.ID).Name)}
	case graced:
		return []string{strings.TrimSuffix(fmt.Sprintf("%s, a half step below, goes before the melody's %s%s", list(names), name, comma(is)), ",")}
	}
	next, hasNext := p.tuneAfter(to)
	goal := ""
	if hasNext {
		if c, ok := p.Score.ChordAt(next.At); ok {
			if over, in := overName(c.Chord, next.Pitch.Name); in {
				goal = over
			}
		}
	}
	if around && hasNext {
		return []string{fmt.Sprintf("%s lie above and below the melody's next note, %s", list(names), next.Pitch.Name.Pretty()), clause("that note is", goal)}
	}
	held, holds := p.tuneAt(from)
	text := list(names) + verb(len(names), " sounds", " sound")
	if holds {
		text += fmt.Sprintf(" while the melody holds %s", held.Pitch.Name.Pretty())
	} else if last, ok := p.tuneBefore(from); ok {
		text += fmt.Sprintf(" after the melody's %s", last.Pitch.Name.Pretty())
	} else {
		text += " while the melody rests"
	}
	out := []string{text}
	if hasNext {
		out = append(out, clause("the melody goes on with "+next.Pitch.Name.Pretty()+",", goal))
	}
	return out
}

func clause(head, tail string) string {
	if tail == "" {
		return strings.TrimSuffix(head, ",")
	}
	return head + " " + tail
}

// beats says how long a note lasts: "2 beats", "1½ beats".
func beats(s score.Score, n score.Note) string {
	beat := s.Bars[s.BarAt(n.At)].Meter.BeatDur()
	if beat <= 0 {
		beat = theory.Quarter
	}
	whole, rest := int(n.Dur/beat), n.Dur%beat
	switch {
	case rest == 0:
		return count(whole, "beat")
	case rest*2 == beat && whole == 0:
		return "half a beat"
	case rest*2 == beat:
		return fmt.Sprintf("%d½ beats", whole)
	}
	return fmt.Sprintf("more than %s", count(whole, "beat"))
}
