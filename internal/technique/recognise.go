package technique

import (
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// Recognisers read what any score shows: notes, marks, voices, bars and printed
// chord symbols. They never look at an Origin. A recogniser is linear in the
// notes and reports what the hands do, whoever wrote it: the same notes may show
// several techniques at once.

// strike is what one hand plays at one moment.
type strike struct {
	at, end theory.Dur
	notes   []*score.Note // ascending
}

func (s strike) keys() []int {
	out := make([]int, len(s.notes))
	for i, n := range s.notes {
		out[i] = n.Pitch.MIDI()
	}
	return out
}

func (s strike) ids() []string {
	out := make([]string, len(s.notes))
	for i, n := range s.notes {
		out[i] = n.ID
	}
	return out
}

func (s strike) low() int   { return s.notes[0].Pitch.MIDI() }
func (s strike) high() int  { return s.notes[len(s.notes)-1].Pitch.MIDI() }
func (s strike) span() int  { return s.high() - s.low() }
func (s strike) lone() bool { return len(s.notes) == 1 }
func (s strike) dur() theory.Dur {
	return s.end - s.at
}

// strikes collects the struck notes of a hand, moment by moment; grace notes are
// left out.
func strikes(s score.Score, h score.Hand) []strike {
	notes := make([]*score.Note, 0, len(s.Notes))
	for i := range s.Notes {
		if n := &s.Notes[i]; n.Hand == h && n.Grace == 0 {
			notes = append(notes, n)
		}
	}
	out := make([]strike, 0, len(notes))
	for i := 0; i < len(notes); {
		j := i
		st := strike{at: notes[i].At}
		for ; j < len(notes) && notes[j].At == st.at; j++ {
			st.end = max(st.end, notes[j].End())
		}
		st.notes = notes[i:j:j]
		for a := i + 1; a < j; a++ { // few, and mostly in order
			for b := a; b > i && theory.ComparePitch(notes[b].Pitch, notes[b-1].Pitch) < 0; b-- {
				notes[b], notes[b-1] = notes[b-1], notes[b]
			}
		}
		out = append(out, st)
		i = j
	}
	return out
}

// play is a strike at its place in the page.
type play struct {
	strike
	bar      int           // index; −1 in a score without bars
	off      theory.Dur    // from the start of its bar, as if a pick-up were whole
	pulse    theory.Dur    // the unit that patterns count in there
	compound bool          // the beat divides in three
	chord    *theory.Chord // in force; the zero Chord where none is printed
	from, to theory.Dur    // the stretch of that chord
	next     theory.Dur    // when the hand strikes again; the end of the score
}

// known tells whether a chord that sounds is in force.
func (p play) known() bool { return !p.chord.Silent() }

// degree returns what a note is in the chord in force.
func (p play) degree(n *score.Note) (theory.Degree, bool) {
	if !p.known() {
		return theory.Degree{}, false
	}
	return p.chord.Degree(n.Pitch.Name)
}

// plays places the strikes of a hand.
func plays(s score.Score, h score.Hand) []play {
	sts := strikes(s, h)
	none := new(theory.Chord)
	out := make([]play, len(sts))
	bar, chord := 0, -1
	for i, st := range sts {
		for bar+1 < len(s.Bars) && s.Bars[bar+1].At <= st.at {
			bar++
		}
		for chord+1 < len(s.Chords) && s.Chords[chord+1].At <= st.at {
			chord++
		}
		p := play{strike: st, bar: -1, pulse: theory.Quarter, chord: none, next: s.End()}
		if len(s.Bars) > 0 {
			b := s.Bars[bar]
			p.bar, p.off = bar, st.at-b.At
			if b.Meter.Valid() {
				p.pulse, p.compound = Cell{Meter: b.Meter}.Pulse(), b.Meter.Compound()
				if b.Pickup {
					p.off += b.Meter.Bar() - b.Dur
				}
			}
		}
		if chord >= 0 {
			p.chord, p.from, p.to = &s.Chords[chord].Chord, s.Chords[chord].At, s.End()
			if chord+1 < len(s.Chords) {
				p.to = s.Chords[chord+1].At
			}
		}
		if i+1 < len(sts) {
			p.next = sts[i+1].at
		}
		out[i] = p
	}
	return out
}

// finding gathers plays into one Finding.
func finding(detail string, ps ...play) Finding {
	f := Finding{At: ps[0].at, Detail: detail}
	for _, p := range ps {
		f.End = max(f.End, p.end)
		f.Notes = append(f.Notes, p.ids()...)
	}
	return f
}

type symbolSpan struct {
	at, end theory.Dur
	symbol  *score.Symbol
}

func (sp symbolSpan) chord() *theory.Chord { return &sp.symbol.Chord }

// symbolSpans gives each printed chord its stretch. A symbol printed again for
// the same chord goes on.
func symbolSpans(s score.Score) []symbolSpan {
	out := make([]symbolSpan, 0, len(s.Chords))
	for i := range s.Chords {
		c := &s.Chords[i]
		if k := len(out) - 1; k >= 0 {
			if out[k].symbol.Chord == c.Chord {
				continue
			}
			out[k].end = c.At
		}
		out = append(out, symbolSpan{c.At, s.End(), c})
	}
	return out
}

// soundingClass returns the ids of the notes of a pitch class struck in [from,
// to).
func soundingClass(s score.Score, from, to theory.Dur, class int) []string {
	var out []string
	for _, n := range notesIn(s, from, to) {
		if n.Pitch.Class() == class && n.Grace == 0 {
			out = append(out, n.ID)
		}
	}
	return out
}

// notesIn returns the notes struck in [from, to).
func notesIn(s score.Score, from, to theory.Dur) []score.Note {
	lo, _ := slices.BinarySearchFunc(s.Notes, from, func(n score.Note, at theory.Dur) int { return int(min(1, max(-1, n.At-at))) })
	hi := lo
	for hi < len(s.Notes) && s.Notes[hi].At < to {
		hi++
	}
	return s.Notes[lo:hi]
}

// keyIn is the key in force at a position.
func keyIn(s score.Score, at theory.Dur) (theory.Key, bool) {
	b := s.BarAt(at)
	if b < 0 || !s.Bars[b].Key.Valid() {
		return theory.Key{}, false
	}
	return s.Bars[b].Key, true
}
