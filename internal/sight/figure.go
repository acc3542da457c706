package sight

import (
	"gradatim/score"
	"gradatim/theory"
)

// What one hand does over several strikes.

// Climbs finds three or more single left-hand notes under one chord, each joined
// to the next and of even length (but the last; in compound time any), that climb
// an octave or more. The run comes with the play after it, if it has one; those
// that is refuses are tried again from their second note.
func (p *Page) Climbs(is func(run []Play, after *Play) bool) [][]Play {
	ps := p.left
	var out [][]Play
	for i := 0; i+2 < len(ps); {
		j := i
		step := ps[i].Next - ps[i].At
		for j+1 < len(ps) && ps[j].Lone() && ps[j+1].Lone() && ps[j+1].At == ps[j].End && (ps[i].Compound || ps[j+1].At-ps[j].At == step) && ps[j+1].Low() > ps[j].Low() && ps[j+1].From == ps[i].From && ps[j+1].Bar == ps[i].Bar {
			j++
		}
		var after *Play
		if j+1 < len(ps) {
			after = &ps[j+1]
		}
		if j-i >= 2 && ps[j].Low()-ps[i].Low() >= 12 && is(ps[i:j+1], after) {
			out = append(out, ps[i:j+1])
			i = j + 1
			continue
		}
		i++
	}
	return out
}

// LowChord is a low strike with the chord after it.
type LowChord struct {
	Low, Chord Play
	Leap       bool // beyond what a hand that holds a ninth reaches from one place
}

// Ninth is how far apart a hand plays without moving, in half steps.
const Ninth = 14

// LowChords finds each low note (octave, fifth, tenth) that a higher chord
// follows within two beats, under the same symbol, in shapes that alternate.
func (p *Page) LowChords() []LowChord {
	ps := p.left
	var out []LowChord
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		low := a.Lone() || len(a.Notes) == 2 && (a.Span() == 7 || a.Span() == 12 || a.Span() == 15 || a.Span() == 16)
		if !low || len(b.Notes) < 2 || a.From != b.From || b.Low() <= a.Low() || b.At-a.At > 2*a.Pulse || b.Dur() > 2*b.Pulse || b.At != a.End {
			continue
		}
		out = append(out, LowChord{a, b, b.High()-a.Low() > Ninth && b.Dur() <= b.Pulse})
	}
	return out
}

// UnderTune is a right-hand chord with the tune's note above it, whether struck
// with it or held.
type UnderTune struct {
	At, End        theory.Dur
	IDs            []string // of the notes below the tune, lowest first
	Keys           []int    // ascending, the tune's last
	Third, Seventh bool     // the chord in force has its third (or fourth), its seventh (or sixth) among them
	Chord          *theory.Chord
}

// Under lists the right-hand chords of two and more notes below the top line.
func (p *Page) Under() []UnderTune {
	var out []UnderTune
	top, held := 0, theory.Dur(0)
	for _, x := range p.right {
		under := x.Notes
		if x.At < held && x.High() < top {
			if x.Dur() < x.Pulse/2 {
				continue
			}
		} else {
			top, held = x.High(), x.Top().End()
			under = x.Under()
		}
		if len(under) < 2 {
			continue
		}
		u := UnderTune{At: x.At, End: x.End, Chord: x.Chord}
		for _, n := range under {
			u.IDs = append(u.IDs, n.ID)
			u.Keys = append(u.Keys, n.Pitch.MIDI())
			d, in := x.Degree(n)
			u.Third = u.Third || in && (d.Number == 3 || d.Number == 4)
			u.Seventh = u.Seventh || in && (d.Number == 6 || d.Number == 7)
		}
		u.Keys = append(u.Keys, top)
		out = append(out, u)
	}
	return out
}

// Answers finds lines of right-hand notes aside from the tune, each joined to the
// next, of at least so many notes.
func (p *Page) Answers(least int) [][]Play {
	var out [][]Play
	var line []Play
	flush := func() {
		if len(line) >= least {
			out = append(out, line)
		}
		line = nil
	}
	for _, x := range p.right {
		if !x.Aside() {
			if len(line) > 0 && x.At >= line[len(line)-1].End {
				flush()
			}
			continue
		}
		if k := len(line); k > 0 && (x.At != line[k-1].End || x.Dur() > 2*line[k-1].Dur()) {
			flush()
		}
		if x.Dur() <= x.Pulse/2 {
			line = append(line, x)
		} else {
			flush()
		}
	}
	flush()
	return out
}

// Grace is a grace note with the note that it goes before.
type Grace struct{ Grace, Main score.Note }

// Graces finds the grace notes of the right hand that lie a half step below the
// note that they belong to.
func (p *Page) Graces() []Grace {
	var out []Grace
	notes := p.Score.Notes
	for i, n := range notes {
		if n.Grace == 0 || n.Hand != score.Right {
			continue
		}
		for _, m := range notes[i+1:] {
			if m.At != n.At {
				break
			}
			if m.Hand == n.Hand && m.Grace == 0 && m.Pitch.MIDI()-n.Pitch.MIDI() == 1 {
				out = append(out, Grace{n, m})
				break
			}
		}
	}
	return out
}
