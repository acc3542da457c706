package arrange

import (
	"slices"
	"strings"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Coming home.
//
// A lead sheet is written to be played again: after the last tonic it often has
// chords that lead back to the beginning. On the last time they lead nowhere. And
// a pattern that goes on under the last note of the tune stops on the wrong foot.
// So the piece ends with the tune's last note, or the last beat that it runs through:
// one chord, struck then and held.

// comeHome finds where the piece ends, and leaves out what the sheet has after its
// last tonic. It tells of each chord left out.
func (p *piece) comeHome() {
	p.home = -1
	if len(p.song.Melody) == 0 || len(p.song.Bars) == 0 {
		return
	}
	last := p.song.Melody[len(p.song.Melody)-1]
	k := p.an.SpanIndex(last.At)
	if k < 0 {
		return
	}
	final := p.finalSpan(k, last)
	if final < 0 {
		return
	}
	closes := p.tonicEnd(final, last)
	p.home, p.close = last.At, p.song.End()
	if b := p.song.BarAt(last.End() - 1); len(p.song.Bars)-b > longestClose {
		p.close = p.song.Bars[b].End()
	}
	ch := p.an.Spans[final].Chord
	if closes {
		ch = tonicTriad(p.an.Spans[final].Key)
	}
	if at := p.lastBeat(last); p.an.Spans[final].At <= at {
		p.home = at
	}
	kept := make([]harmony.Span, 0, len(p.an.Spans)+1)
	var dropped []string
	at := p.home
	for i, s := range p.an.Spans {
		switch {
		case s.At >= p.home || i > final:
			if s.Sounding() && s.Chord != ch && i != final {
				dropped = append(dropped, s.Chord.Pretty())
				at = min(at, s.At)
			}
			continue
		case i < final || closes:
			s.End = min(s.End, p.home)
		}
		kept = append(kept, s)
	}
	home := p.an.Spans[final]
	if closes {
		home.Chord, home.Function, home.Roman, home.Line = ch, harmony.Tonic, home.Key.Roman(ch), false
		p.remark(leadsheet.Info, p.home, "ending-tonic", "Sheet", p.an.Spans[final].Chord, "Last", ch, "Note", last.Pitch.Name)
	} else if !tonic(home) || !ch.HasClass(last.Pitch.Class()) {
		p.remark(leadsheet.Info, p.home, "ending-open", "Note", last.Pitch.Name, "Last", ch)
	}
	if n := len(kept); n > 0 && kept[n-1].Chord == ch && kept[n-1].Sounding() {
		kept[n-1].End = p.song.End()
	} else {
		home.At, home.End = p.home, p.song.End()
		kept = append(kept, home)
	}
	if len(dropped) > 0 {
		p.remark(leadsheet.Info, at, "ending-plain", "Chords", strings.Join(dropped, ", "), "Last", ch)
	}
	p.an.Spans = kept
}

// tonicEnd tells whether the piece closes on the tonic though the sheet has another chord
// there: the tune comes to rest on the keynote, and the sheet leads on, or its last chord
// was forgotten. A bass that the sheet writes is left alone.
func (p *piece) tonicEnd(final int, last leadsheet.Note) bool {
	s := p.an.Spans[final]
	b := p.song.Bars[p.song.BarAt(last.At)]
	return !tonic(s) && !s.Chord.Slash && s.Key.Valid() && last.Pitch.Name == s.Key.Tonic && 2*last.Dur >= b.Meter.BeatDur() && p.lastBeat(last) == last.At && p.borneFrom(last.At, tonicTriad(s.Key))
}

// tonicTriad is the triad on a key's first degree.
func tonicTriad(k theory.Key) theory.Chord {
	third := theory.Degree{Number: 3}
	if (k.Scale()[2].Class()-k.Tonic.Class()+12)%12 == 3 {
		third.Alter = -1
	}
	return theory.Chord{Root: k.Tonic, Tones: theory.DegreesOf(theory.Degree{Number: 1}, third, theory.Degree{Number: 5})}
}

// lastBeat is where the last note of the tune falls, or, where the tune runs through its
// last beat, where a note begins that beat: nobody strikes a chord on the last eighth
// of a dance.
func (p *piece) lastBeat(last leadsheet.Note) theory.Dur {
	b := p.song.Bars[p.song.BarAt(last.At)]
	beat := last.At - (last.At-b.At)%b.Meter.BeatDur()
	if last.Dur < b.Meter.BeatDur() && slices.ContainsFunc(p.song.Melody, func(n leadsheet.Note) bool { return n.At == beat }) {
		return beat
	}
	return last.At
}

// longestClose is for how many bars at most the last chord is held on.
const longestClose = 3

// finalSpan says which chord of the sheet the piece ends on: the last tonic, where
// it lies under the tune's last note, or before it with nothing in the tune that it
// does not bear; else the last chord that holds the note; −1: none sounds there.
func (p *piece) finalSpan(k int, last leadsheet.Note) int {
	spans := p.an.Spans
	holds := func(i int) bool { return spans[i].Sounding() && spans[i].Chord.HasClass(last.Pitch.Class()) }
	found := -1
	for i := len(spans) - 1; i >= k; i-- {
		if found < 0 && holds(i) {
			found = i
		}
		if holds(i) && tonic(spans[i]) {
			return i
		}
	}
	for i := k - 1; i >= 0 && spans[i].End > p.song.Bars[max(0, len(p.song.Bars)-5)].At; i-- {
		if tonic(spans[i]) {
			if holds(i) && p.borneFrom(spans[i].End, spans[i].Chord) {
				return i
			}
			break
		}
	}
	if found < 0 && spans[k].Sounding() {
		found = k
	}
	return found
}

func tonic(s harmony.Span) bool {
	if !s.Sounding() {
		return false
	}
	d, alter := s.Key.Degree(s.Chord.Root)
	return d == 1 && alter == 0
}

// borneFrom tells whether a chord bears all of the tune that begins from a place on.
func (p *piece) borneFrom(from theory.Dur, ch theory.Chord) bool {
	return !slices.ContainsFunc(p.song.Melody, func(n leadsheet.Note) bool {
		return n.At >= from && !harmony.Bears(ch, theory.Chord{}, n.Pitch.Name)
	})
}
