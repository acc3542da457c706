package sight

import (
	"slices"
	"sort"

	"gradatim/score"
	"gradatim/theory"
)

// Page is a score as it is read. It is made once, by Read, and only looked at
// afterwards.
type Page struct {
	Score       score.Score
	left, right []Play
	spans       []Span
	pedals      []score.Direction
}

// Read reads a score whose notes and chords are in order of time. Cost: linear in
// both.
func Read(s score.Score) *Page {
	p := &Page{Score: s, spans: spansOf(s)}
	p.left, p.right = p.plays(score.Left), p.plays(score.Right)
	for _, d := range s.Directions {
		if d.Kind == score.PedalDown || d.Kind == score.PedalUp {
			p.pedals = append(p.pedals, d)
		}
	}
	return p
}

// Left returns what the left hand plays, in order.
func (p *Page) Left() []Play { return p.left }

// Right returns what the right hand plays, in order.
func (p *Page) Right() []Play { return p.right }

// Spans gives each printed chord its stretch.
func (p *Page) Spans() []Span { return p.spans }

// Play is a strike at its place in the page.
type Play struct {
	Strike
	Bar      int           // index; −1 in a score without bars
	Off      theory.Dur    // from the start of its bar, as if a pick-up were whole
	Pulse    theory.Dur    // the unit that patterns count in there
	Compound bool          // the beat divides in three
	Chord    *theory.Chord // in force; the zero Chord where none is printed
	From, To theory.Dur    // the stretch of that chord
	Next     theory.Dur    // when the hand strikes again; the end of the score
}

// plays places the strikes of a hand.
func (p *Page) plays(h score.Hand) []Play {
	s := p.Score
	sts := Strikes(s, h)
	none := new(theory.Chord)
	out := make([]Play, len(sts))
	bar, chord := 0, -1
	for i, st := range sts {
		for bar+1 < len(s.Bars) && s.Bars[bar+1].At <= st.At {
			bar++
		}
		for chord+1 < len(s.Chords) && s.Chords[chord+1].At <= st.At {
			chord++
		}
		x := Play{Strike: st, Bar: -1, Pulse: theory.Quarter, Chord: none, Next: s.End()}
		if len(s.Bars) > 0 {
			b := s.Bars[bar]
			x.Bar, x.Off = bar, st.At-b.At
			if b.Meter.Valid() {
				x.Pulse, x.Compound = b.Meter.Pulse(), b.Meter.Compound()
				if b.Pickup {
					x.Off += b.Meter.Bar() - b.Dur
				}
			}
		}
		if chord >= 0 {
			x.Chord, x.From, x.To = &s.Chords[chord].Chord, s.Chords[chord].At, s.End()
			if chord+1 < len(s.Chords) {
				x.To = s.Chords[chord+1].At
			}
		}
		if i+1 < len(sts) {
			x.Next = sts[i+1].At
		}
		out[i] = x
	}
	return out
}

// Known tells whether a chord that sounds is in force.
func (p Play) Known() bool { return !p.Chord.Silent() }

// Degree returns what a note is in the chord in force.
func (p Play) Degree(n *score.Note) (theory.Degree, bool) {
	if !p.Known() {
		return theory.Degree{}, false
	}
	return p.Chord.Degree(n.Pitch.Name)
}

// Guides lists those of the notes that are neither root nor fifth of the chord in
// force, but belong to it.
func (p Play) Guides(notes []*score.Note) (ids []string) {
	for _, n := range notes {
		if d, in := p.Degree(n); in && d.Number != 1 && d.Number != 5 {
			ids = append(ids, n.ID)
		}
	}
	return ids
}

// Rich tells whether a chord of the hand has more than its triad: a seventh, a
// sixth or a tension of the chord in force.
func (p Play) Rich() bool {
	for _, n := range p.Notes {
		if d, ok := p.Degree(n); ok && (d.Number == 6 || d.Number == 7 || d.Number > 8) {
			return true
		}
	}
	return false
}

// Seventh tells whether the chord in force has a seventh or sixth.
func (p Play) Seventh() bool {
	if !p.Known() {
		return false
	}
	_, ok := p.Chord.Seventh()
	return ok
}

// Aside tells whether a lone note does not belong to the tune: it stands in the
// second voice, or is to be played softer.
func (p Play) Aside() bool { return p.Lone() && (p.Notes[0].Voice > 1 || p.Notes[0].Velocity < 0) }

// Struck returns the notes of both hands that are struck in [from, to).
func (p *Page) Struck(from, to theory.Dur) []score.Note {
	notes := p.Score.Notes
	lo, _ := slices.BinarySearchFunc(notes, from, func(n score.Note, at theory.Dur) int { return int(min(1, max(-1, n.At-at))) })
	hi := lo
	for hi < len(notes) && notes[hi].At < to {
		hi++
	}
	return notes[lo:hi]
}

// StruckClass returns the ids of the notes of a pitch class that are struck in
// [from, to), grace notes left out.
func (p *Page) StruckClass(from, to theory.Dur, class int) []string {
	var out []string
	for _, n := range p.Struck(from, to) {
		if n.Pitch.Class() == class && n.Grace == 0 {
			out = append(out, n.ID)
		}
	}
	return out
}

// Top returns the highest key that the right hand strikes at a moment.
func (p *Page) Top(at theory.Dur) (key int, ok bool) {
	for _, n := range p.Struck(at, at+1) {
		if n.Hand == score.Right && n.Grace == 0 {
			key, ok = max(key, n.Pitch.MIDI()), true
		}
	}
	return key, ok
}

// Pedalled tells whether the damper pedal is held from one moment to another.
func (p *Page) Pedalled(from, to theory.Dur) bool {
	i := sort.Search(len(p.pedals), func(i int) bool { return p.pedals[i].At > from })
	return i > 0 && p.pedals[i-1].Kind == score.PedalDown && (i == len(p.pedals) || p.pedals[i].At > to)
}
