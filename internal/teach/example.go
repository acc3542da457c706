package teach

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// most words of a worked example's reason.
const mostWords = 40

// Choosing the worked example.
//
// Problem: of all places where a page uses a technique, show the one that a
// student sees at a glance, and never one that the technique's own recogniser
// would not find. Source: common practice, no source. Objective, in this order:
// few bars, nothing held in from before, a melody note struck at the place, a
// stated reason, another bar than the other examples of the page; then the earliest. Method: each of the first places is cut out
// and handed to the recogniser; where it needs what follows (a dominant is one
// only by its target) the cut is made a bar longer, up to four. Cost: linear in the
// page for each technique and a constant for each place. Rejected: the first
// place, which is often a pick-up or half hidden by a tie.

// places is how many places of one technique are looked at.
const places = 24

// news teaches each technique that this page uses and no level below has taught.
// One that its recogniser finds nowhere on the page is left to a later level.
func (w *writer) news(p *page) []New {
	out := []New{}
	taken := map[int]int{} // how many examples begin in a bar
	for _, u := range p.Used {
		t, ok := technique.ByID(u.Technique)
		if !ok || w.known[t.ID] > 0 {
			continue
		}
		ex, ok := w.example(p, t, taken)
		if !ok {
			continue
		}
		taken[ex.Bars[0]]++
		out = append(out, New{Technique: t.ID, Name: t.Name, Stage: t.Stage.String(), What: t.What, How: t.Teach.How,
			Practise: t.Teach.Practise, Bars: u.Bars, Example: ex})
	}
	return out
}

// place is a candidate for a worked example.
type place struct {
	find        technique.Finding // in the page
	inside      technique.Finding // in the excerpt
	first, last int
	after       score.Score
	cost        int
}

func (w *writer) example(p *page, t *technique.Technique, taken map[int]int) (Example, bool) {
	best := place{cost: -1}
	looked := 0
	for _, f := range p.found[t.ID] {
		if !w.belongs(p, t, f) {
			continue
		}
		if looked++; looked > places {
			break
		}
		pl, ok := w.cut(p, t, f)
		pl.cost += 7 * taken[p.Score.Bars[pl.first].Number]
		if ok && (best.cost < 0 || pl.cost < best.cost) {
			best = pl
		}
	}
	if best.cost < 0 {
		return Example{}, false
	}
	e := Example{After: Music{Score: best.after}, Notes: []string{}}
	for _, b := range p.Score.Bars[best.first : best.last+1] {
		e.Bars = append(e.Bars, b.Number)
	}
	e.Notes = append(e.Notes, best.inside.Notes...)
	e.Before = Music{Score: w.before(p, t, best)}
	e.After.Caption = fmt.Sprintf("With it: %s of this page", barList(e.Bars))
	e.Before.Caption = beforeCaption(t)
	e.Why = w.why(p, t, best)
	return e, true
}

func beforeCaption(t *technique.Technique) string {
	switch t.Stage {
	case technique.Device:
		return "Without it: the tune over the sheet's chords"
	case technique.Line:
		return "Without it: the tune as written"
	case technique.LeftHand:
		return "Without it: the chords held"
	}
	return "Without it"
}

// belongs tells whether a finding is the technique's own work on the page: its
// notes or its chord, not a likeness.
func (w *writer) belongs(p *page, t *technique.Technique, f technique.Finding) bool {
	if !p.usedIn(t.ID, p.Score.Bars[p.Score.BarAt(f.At)].Number) && !p.usedIn(t.ID, p.Score.Bars[p.Score.BarAt(f.End-1)].Number) {
		return false
	}
	if t.Stage != technique.Device {
		for _, id := range f.Notes {
			if n, ok := p.note(id, f.At, f.End); ok && n.Origin.Technique == t.ID {
				return true
			}
		}
		return false
	}
	if t.Rewrite != nil {
		c, ok := p.choiceAt(f.At)
		if !ok || c.Device != t.ID {
			return false
		}
		// The chord that the device put there, not the one it left.
		for _, ch := range c.Chords {
			if ch.Why != "" && ch.At < f.End && ch.End > f.At {
				return true
			}
		}
		return false
	}
	c, ok := p.choiceAt(f.At)
	if !ok || !p.usedIn(t.ID, p.Score.Bars[p.Score.BarAt(f.At)].Number) {
		return false
	}
	ch, ok := p.chosenAt(f.At)
	// A symbol that the sheet has already teaches nothing, and another root is a
	// device's.
	return ok && ch.Chord != c.Sheet && (c.Device == "" || ch.Why == "")
}

// note finds a note by id among those struck in [from, to).
func (p *page) note(id string, from, to theory.Dur) (score.Note, bool) {
	for b := max(0, p.Score.BarAt(from)); b < len(p.byBar) && p.Score.Bars[b].At < to; b++ {
		for _, n := range p.byBar[b] {
			if n.ID == id {
				return n, true
			}
		}
	}
	return score.Note{}, false
}

// choiceAt returns the choice in force at a position.
func (p *page) choiceAt(at theory.Dur) (Choice, bool) {
	for _, c := range p.Choices {
		if c.At <= at && at < c.End {
			return c, true
		}
	}
	return Choice{}, false
}

// chosenAt returns the chord of the page in force at a position.
func (p *page) chosenAt(at theory.Dur) (Chosen, bool) {
	c, ok := p.choiceAt(at)
	if !ok {
		return Chosen{}, false
	}
	for _, ch := range c.Chords {
		if ch.At <= at && at < ch.End {
			return ch, true
		}
	}
	return Chosen{}, false
}

// cut makes the shortest excerpt in which the recogniser finds the same again: from
// the place's own bar, or from the bar before it where what is held into it counts.
func (w *writer) cut(p *page, t *technique.Technique, f technique.Finding) (place, bool) {
	first := p.Score.BarAt(f.At)
	best, found := place{}, false
	for _, from := range []int{first, first - 1} {
		if from < 0 {
			break
		}
		for last := first; last < len(p.Score.Bars) && last-from <= 3; last++ {
			if pl, ok := w.cutAt(p, t, f, from, last); ok {
				if !found || pl.cost < best.cost {
					best, found = pl, true
				}
				break
			}
		}
	}
	return best, found
}

// cutAt cuts given bars and weighs them.
func (w *writer) cutAt(p *page, t *technique.Technique, f technique.Finding, first, last int) (place, bool) {
	s := p.Score
	ex := excerpt(s, first, last)
	at := f.At - s.Bars[first].At
	for _, g := range t.Recognise(ex) {
		if g.At != at || !same(f, g) {
			continue
		}
		if t.Stage == technique.LeftHand && last == first && last+1 < len(s.Bars) && p.approaches(first) {
			return w.cutAt(p, t, f, first, last+1) // an approach is nothing without its goal
		}
		f.End = g.End + s.Bars[first].At
		f.Notes = g.Notes
		pl := place{find: f, inside: g, first: first, last: last, after: ex, cost: 10 * (last - first)}
		if heldInto(s, first) {
			pl.cost += 12
		}
		if !p.tuneStruck(f.At) {
			pl.cost += 4
		}
		if !p.tuneBelongs(f.At, f.End) {
			pl.cost += 5
		}
		if s.Bars[first].Pickup {
			pl.cost += 8
		}
		if last == len(s.Bars)-1 && t.ID != "ending" {
			pl.cost += 3
		}
		return pl, true
	}
	return place{}, false
}

// approaches tells whether the left hand ends a bar on a note that leads on.
func (p *page) approaches(b int) bool {
	for _, n := range slices.Backward(p.byBar[b]) {
		if n.Hand == score.Left {
			return n.Origin.Kind == score.Approach
		}
	}
	return false
}

// same tells whether two findings show the same notes; what reaches beyond the
// excerpt does not count.
func same(f, g technique.Finding) bool {
	if len(f.Notes) == 0 {
		return len(g.Notes) == 0
	}
	for _, id := range g.Notes {
		if !slices.Contains(f.Notes, id) {
			return false
		}
	}
	return len(g.Notes) > 0
}

// before is the excerpt without the technique.
func (w *writer) before(p *page, t *technique.Technique, pl place) score.Score {
	s := pl.after
	notes := s.Notes
	from := p.Score.Bars[pl.first].At
	s.Notes = nil
	switch t.Stage {
	case technique.Device:
		for _, n := range notes {
			if n.Origin.Kind == score.Melody {
				n.Ornament = score.NoOrnament
				s.Notes = append(s.Notes, n)
			}
		}
		s.Directions = nil
		s.Chords = sheetSymbols(p, from, from+s.End())
		return w.plain(s)
	case technique.LeftHand:
		for _, n := range notes {
			if n.Hand == score.Right {
				s.Notes = append(s.Notes, n)
			}
		}
		s.Directions = nil
		return w.plain(s)
	case technique.Line:
		for _, n := range notes {
			if e, ok := n.Origin.Event(); ok && n.Origin.Technique == t.ID {
				at := w.song.Melody[e].At - from
				if at > n.At && at < s.End() {
					for k := range s.Notes { // the note before lasts to its written end
						if m := &s.Notes[k]; m.Origin.Kind == score.Melody && m.End() == n.At {
							m.Dur = at - m.At
						}
					}
					n.Dur = max(n.End()-at, 1)
					n.At = at
				}
				n.Origin.Technique = ""
			}
			s.Notes = append(s.Notes, n)
		}
		return s.Finish()
	}
	longer := map[[2]theory.Dur]theory.Dur{} // (onset, cut end) → end again
	for _, n := range notes {
		e, ok := n.Origin.Event()
		if !ok || t.Stage != technique.Ornament {
			continue
		}
		if written := w.song.Melody[e].End() - from; written > n.End() && removed(notes, t.ID, n.End()) {
			end := min(written, s.End())
			for _, m := range notes { // up to the tune's next note
				if m.Origin.Kind == score.Melody && m.At > n.At && m.At < end {
					end = m.At
					break
				}
			}
			longer[[2]theory.Dur{n.At, n.End()}] = end
		}
	}
	for _, n := range notes {
		if n.Origin.Technique == t.ID {
			if n.Origin.Kind != score.Melody {
				continue
			}
			n.Ornament = score.NoOrnament
			n.Origin.Technique = ""
		}
		if end, ok := longer[[2]theory.Dur{n.At, n.End()}]; ok && n.Hand == score.Right && n.Grace == 0 {
			n.Dur = end - n.At // what was struck with the tune's note lasts with it
		}
		s.Notes = append(s.Notes, n)
	}
	return s.Finish()
}

// removed tells whether the technique has a note at a position.
func removed(notes []score.Note, id string, at theory.Dur) bool {
	return slices.ContainsFunc(notes, func(n score.Note) bool {
		return n.At == at && n.Origin.Technique == id && n.Origin.Kind != score.Melody && n.Grace == 0
	})
}

// sheetSymbols lists the sheet's chords in [from, to), from 0.
func sheetSymbols(p *page, from, to theory.Dur) []score.Symbol {
	var out []score.Symbol
	for _, c := range p.Choices {
		if c.End <= from || c.At >= to {
			continue
		}
		out = append(out, score.Symbol{At: max(c.At, from) - from, Chord: c.Sheet})
	}
	return out
}

// tuneAt returns the note of the tune that sounds at a position.
func (p *page) tuneAt(at theory.Dur) (score.Note, bool) {
	b := p.Score.BarAt(at)
	for i := b; i >= 0 && i >= b-2; i-- {
		for _, n := range slices.Backward(p.byBar[i]) {
			if n.Origin.Kind == score.Melody && n.At <= at && n.End() > at {
				return n, true
			}
		}
	}
	return score.Note{}, false
}

// tuneBefore returns the last note of the tune that ends by a position, not more
// than two bars before.
func (p *page) tuneBefore(at theory.Dur) (score.Note, bool) {
	b := p.Score.BarAt(at)
	for i := b; i >= 0 && i >= b-2; i-- {
		for _, n := range slices.Backward(p.byBar[i]) {
			if n.Origin.Kind == score.Melody && n.End() <= at {
				return n, true
			}
		}
	}
	return score.Note{}, false
}

// tuneStruck tells whether a note of the tune begins at a position.
func (p *page) tuneStruck(at theory.Dur) bool {
	n, ok := p.tuneAt(at)
	return ok && n.At == at
}

// tuneBelongs tells whether the tune's note at a place is a note of the printed
// chord, which makes the plainest example.
func (p *page) tuneBelongs(at, until theory.Dur) bool {
	n, ok := p.tuneNear(at, until)
	if !ok {
		return false
	}
	c, ok := p.Score.ChordAt(max(at, n.At))
	return ok && c.Chord.HasClass(n.Pitch.Class())
}

// tuneNear returns the tune's note at a position, else the first that is struck
// before a limit.
func (p *page) tuneNear(at, until theory.Dur) (score.Note, bool) {
	if n, ok := p.tuneAt(at); ok {
		return n, true
	}
	for b := p.Score.BarAt(at); b >= 0 && b < len(p.byBar) && p.Score.Bars[b].At < until; b++ {
		for _, n := range p.byBar[b] {
			if n.Origin.Kind == score.Melody && n.At >= at && n.At < until {
				return n, true
			}
		}
	}
	return score.Note{}, false
}

// tuneAfter returns the first note of the tune struck at or after a position.
func (p *page) tuneAfter(at theory.Dur) (score.Note, bool) {
	b := max(0, p.Score.BarAt(at))
	return p.tuneNear(max(at, 0), p.Score.Bars[min(b+4, len(p.Score.Bars)-1)].End())
}

// why says, in at most 40 words, what was done and why it fits the tune's note.
func (w *writer) why(p *page, t *technique.Technique, pl place) string {
	parts := w.reasons(p, t, pl)
	text := ""
	for _, s := range parts {
		if s = sentence(s); s == "" || strings.Contains(text, s) {
			continue
		}
		if words(text)+words(s) > mostWords {
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
		return p.leftReasons(f, notes)
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
		var syms, whys []string
		at := f.At
		for _, ch := range c.Chords {
			syms = append(syms, ch.Chord.Pretty())
			if ch.Why != "" && ch.At < f.End && ch.End > f.At && len(whys) == 0 {
				whys = append(whys, ch.Why)
				at = ch.At
			}
		}
		out := []string{fmt.Sprintf("%s becomes %s", c.Sheet.Pretty(), strings.Join(slices.Compact(syms), " – "))}
		fit := true
		for _, y := range whys {
			for _, part := range strings.Split(y, "; ") {
				if strings.HasPrefix(part, "the melody's") {
					fit = false
				}
				out = append(out, spelledOut(part))
			}
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
	return []string{text, p.tuneFit(f.At, f.End)}
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

// leftReasons are those of a left-hand figure.
func (p *page) leftReasons(f technique.Finding, notes []score.Note) []string {
	for _, n := range notes {
		if n.Marks.Has(score.Ghost) {
			return []string{fmt.Sprintf("the bass note just left, %s, sounds once more on %s, hardly heard", n.Pitch.Name.Pretty(), beatName(p.Score, n.At)), p.tuneFit(n.At, f.End)}
		}
	}
	out := []string{"the left hand plays " + p.strikes(notes)}
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

// spelledOut writes the degree at the end of a clause as a word: "the melody's A
// is its third".
func spelledOut(clause string) string {
	head, tail, ok := strings.Cut(clause, " is its ")
	if !ok {
		return clause
	}
	switch tail {
	case "root":
	case "3rd":
		tail = "third"
	case "5th":
		tail = "fifth"
	case "7th":
		tail = "seventh"
	default:
		if d, err := theory.ParseDegree(strings.NewReplacer("♭", "b", "♯", "#").Replace(tail)); err == nil {
			tail = degreeName(d)
		}
	}
	return head + " is its " + tail
}

// underReasons are those of notes below the tune in its own hand.
func (w *writer) underReasons(p *page, f technique.Finding) []string {
	top, ok := p.tuneNear(f.At, f.End)
	if !ok {
		return nil
	}
	var under []string
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
	signed := false
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
		to = n.End()
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
		return []string{fmt.Sprintf("the melody's %s%s lasts %s: room for the %s", name, comma(is), beats(p.Score, top), strings.ToLower(t.Name))}
	case t.ID == "slide" || t.ID == "crush":
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
	if t.ID == "enclosure" && hasNext {
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
