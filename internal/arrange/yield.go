package arrange

import (
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/harmony"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Giving way to the tune.
//
// Problem: a sheet has a major chord under the minor third, or C under a long B natural
// of the tune. Who reads it at the piano hears a wrong note, and at the first levels takes
// it for a mistake of the hand; at the upper ones a teacher sends the page back. So the plain chord that carries the tune is played there: the
// other third on the same root, else the triad of the key, or its dominant, that has most
// notes in common; bar by bar. A note denies a chord by a half step beside its root, its third or its
// fifth; fourths are left to be suspensions. What leans on the next note, and what only passes, denies
// nothing, nor does the third that bends in the blues. A bass that the sheet writes stays,
// and a teacher's chord. Objective: the candidate with the least of what Fits counts
// against it and of notes lost. Cost: a few candidates for each chord that is denied.
// Rejected: asking of proof what the sheet meant; it weighs slips of the pen, and where
// none explains the chord it says nothing. Common practice, no source.

// lostNote is what each note of the sheet's triad that is lost adds to what Fits counts.
const lostNote = 12

// deniedNote is what the sheet's chord costs more for what denies it: Fits takes a raised
// fourth for a colour.
const deniedNote = 160

// yield puts plain chords where the tune denies those of the sheet.
func (p *piece) yield() {
	if !p.level.Yields {
		return
	}
	told := map[leadsheet.Pos]bool{} // a bar that is printed once is told once
	out := make([]harmony.Span, 0, len(p.an.Spans))
	for _, s := range p.an.Spans {
		if !s.Sounding() || s.Mark < 0 || s.At == p.home || p.teachersAt(s) {
			out = append(out, s)
			continue
		}
		for _, bar := range p.barsOf(s) {
			note, ok := p.denied(bar)
			if ok {
				var ch theory.Chord
				if ch, ok = p.carries(bar, note); ok {
					if pos := p.song.PosAt(bar.At); !told[pos] {
						told[pos] = true
						p.remark(leadsheet.Info, bar.At, "chord-yields", "Note", note, "Sheet", s.Chord, "Chord", ch)
					}
					bar.Chord, bar.Function, bar.Target, bar.Resolves = ch, functionOf(bar.Key, ch), theory.Name{}, false
					if bar.Key.Valid() {
						bar.Roman = bar.Key.Roman(ch)
					}
				}
			}
			if n := len(out); n > 0 && bar.At > s.At && out[n-1].Chord == bar.Chord {
				out[n-1].End = bar.End
				continue
			}
			out = append(out, bar)
		}
	}
	p.an.Spans = out
}

// barsOf cuts a span at the bar lines.
func (p *piece) barsOf(s harmony.Span) (out []harmony.Span) {
	for at := s.At; at < s.End; {
		bar := s
		bar.At = at
		at = min(s.End, p.song.Bars[p.song.BarAt(at)].End())
		bar.End = at
		out = append(out, bar)
	}
	return out
}

// functionOf says what a plain chord does in a key by its degree, as harmony does.
func functionOf(k theory.Key, ch theory.Chord) harmony.Function {
	if !k.Valid() {
		return harmony.None
	}
	d, alter := k.Degree(ch.Root)
	for t := range ch.Tones.All() {
		if !k.Contains(t.On(ch.Root)) {
			alter = 1
		}
	}
	switch {
	case alter != 0:
		return harmony.Borrowed
	case d == 5 || d == 7:
		return harmony.Dominant
	case d == 2 || d == 4:
		return harmony.Subdominant
	}
	return harmony.Tonic
}

// teachersAt tells whether a teacher chose a chord within a span.
func (p *piece) teachersAt(s harmony.Span) bool {
	return slices.ContainsFunc(p.opt.Choices, func(c choice.Choice) bool {
		_, chord := c.Fix.(choice.Chord)
		return chord && c.Level == p.level.Number && c.At < s.End && c.Until > s.At
	})
}

// denied tells whether the tune denies a chord, and with which note: what does so sounds
// for a beat in all, and longer than what the chord has.
func (p *piece) denied(s harmony.Span) (theory.Name, bool) {
	var note theory.Name
	against, within := theory.Dur(0), theory.Dur(0)
	for _, n := range harmony.FitsSpan(p.song, s).Notes {
		m := p.song.Melody[n.Note]
		d := min(m.End(), s.End) - max(m.At, s.At)
		switch {
		case n.In:
			within += d
		case (!p.bends() && (denies(s.Chord, n.Name) || p.leads(s, n.Note)) || p.arrives(s, n.Note)) && !p.leans(n.Note, s, n.Exposed):
			against, note = against+d, n.Name
		}
	}
	beat := p.song.Bars[p.song.BarAt(s.At)].Meter.OrCommon().BeatDur()
	return note, against >= beat && against > within
}

// denies tells whether a note stands a half step beside the root, the third or the fifth
// of a chord.
func denies(ch theory.Chord, n theory.Name) bool {
	_, third := ch.Third()
	fifth, _ := ch.Fifth()
	if ch.HasClass(n.Class()) || !third || ch.Diminished() {
		return false
	}
	// As it is spelled: a raised second leads on to the third and is no other one.
	type interval struct{ steps, semitones int }
	switch (interval{(int(n.Letter) - int(ch.Root.Letter) + 7) % 7, (n.Class() - ch.Root.Class() + 12) % 12}) {
	case interval{1, 1}:
		return !ch.Dominant()
	case interval{2, 3}:
		return !ch.MinorThird()
	case interval{2, 4}:
		return ch.MinorThird()
	case interval{3, 6}, interval{5, 8}:
		return fifth.Alter == 0 && !ch.Dominant()
	}
	return false
}

// leads tells whether a note of the tune is the leading tone, held over the plain tonic that it
// leads to in the next bar: the dominant is meant. Where sevenths are the tonic's own colour it
// may stay.
func (p *piece) leads(s harmony.Span, i int) bool {
	if p.opt.Idiom.Idiom.Usage.Palette == technique.AllColours || !s.Key.Valid() || s.Chord.Root != s.Key.Tonic || s.Chord.Tones != s.Chord.Triad().Tones || i+1 >= len(p.song.Melody) {
		return false
	}
	m, next := p.song.Melody[i], p.song.Melody[i+1]
	return m.End() >= s.End && next.Pitch.Name == s.Key.Tonic && next.Pitch.MIDI() == m.Pitch.MIDI()+1
}

// arrives tells whether the tune has come to rest on the keynote in another bar than the sheet's
// dominant began in, which goes on until the tonic follows: the tonic comes with the tune.
func (p *piece) arrives(s harmony.Span, i int) bool {
	m := p.song.Melody[i]
	if !s.Key.Valid() || m.Pitch.Name != s.Key.Tonic || s.Chord.Root != s.Key.Scale()[4] || s.Chord.MinorThird() || s.Chord.Slash {
		return false
	}
	if whole, _ := p.an.SpanAt(s.At); whole.At == s.At {
		return false
	}
	next, ok := p.an.SpanAt(s.End)
	rests := i+1 == len(p.song.Melody) || p.song.Melody[i+1].At > m.End() || m.End() > s.End || p.song.Melody[i+1].Pitch == m.Pitch
	return ok && rests && next.At == s.End && next.Chord.Root == s.Key.Tonic && next.Key.Tonic == s.Key.Tonic
}

// leans tells whether a note of the tune goes on by step at once to one that the chord
// has, and lasts no longer than it: an appoggiatura, or a note in passing.
func (p *piece) leans(i int, s harmony.Span, exposed bool) bool {
	if i+1 >= len(p.song.Melody) {
		return false
	}
	m, next := p.song.Melody[i], p.song.Melody[i+1]
	d := next.Pitch.Staff() - m.Pitch.Staff()
	step := (d == 1 || d == -1) && next.At == m.End()
	if !exposed {
		return step
	}
	return step && next.At < s.End && s.Chord.HasClass(next.Pitch.Class()) && m.Dur <= next.Dur
}

// carries finds the plain chord that carries the tune over a span in the place of its own.
func (p *piece) carries(s harmony.Span, note theory.Name) (theory.Chord, bool) {
	cost := func(ch theory.Chord) (int, bool) {
		with := s
		with.Chord = ch
		if _, still := p.denied(with); still || !ch.HasClass(note.Class()) {
			return 0, false
		}
		f := harmony.FitsSpan(p.song, with)
		lost := 0
		for d := range s.Chord.Triad().Tones.All() {
			if !ch.HasClass(d.On(s.Chord.Root).Class()) {
				lost++
			}
		}
		return f.Cost + lost*lostNote, f.Verdict != harmony.Refused && lost < 3
	}
	if s.Key.Valid() && !s.Line && !s.Chord.Slash {
		switch {
		case s.Chord.Root == s.Key.Tonic && note.Class() == (s.Chord.Root.Class()+11)%12: // it leads
			dominant := theory.Chord{Root: s.Key.Scale()[4], Tones: theory.DegreesOf(theory.Degree{Number: 1}, theory.Degree{Number: 3}, theory.Degree{Number: 5})}
			_, ok := cost(dominant)
			return dominant, ok
		case s.Chord.Root == s.Key.Scale()[4] && note == s.Key.Tonic: // it has arrived
			home := tonicTriad(s.Key)
			_, ok := cost(home)
			return home, ok
		}
	}
	var best theory.Chord
	least := harmony.FitsSpan(p.song, s).Cost + deniedNote // what is no better than the sheet's is not played
	for _, ch := range plainChords(s) {
		if c, ok := cost(ch); ok && c < least {
			best, least = ch, c
		}
	}
	return best, !best.Silent()
}

// plainChords are the chords that may stand for that of a span, the likeliest first: with the
// other third, the triads of the key, and its dominant.
func plainChords(s harmony.Span) []theory.Chord {
	flat3, third, fifth := theory.Degree{Number: 3, Alter: -1}, theory.Degree{Number: 3}, theory.Degree{Number: 5}
	one := theory.Degree{Number: 1}
	if !s.Chord.MinorThird() {
		third = flat3
	}
	own := theory.Chord{Root: s.Chord.Root, Tones: theory.DegreesOf(one, third, fifth)}
	if s.Chord.Slash {
		if !own.HasClass(s.Chord.Bass.Class()) {
			return nil
		}
		own.Slash, own.Bass = true, s.Chord.Bass
	}
	out := []theory.Chord{own}
	if s.Line || s.Chord.Slash || !s.Key.Valid() { // the bass stays
		return out
	}
	sc := s.Key.Scale()
	for i, root := range sc {
		interval := func(j int) int { return (sc[(i+j)%7].Class() - root.Class() + 12) % 12 }
		third, fifth := theory.Degree{Number: 3}, theory.Degree{Number: 5}
		if interval(2) == 3 {
			third.Alter = -1
		}
		if interval(4) == 6 {
			fifth.Alter = -1
		}
		out = append(out, theory.Chord{Root: root, Tones: theory.DegreesOf(one, third, fifth)})
	}
	return append(out, theory.Chord{Root: sc[4], Tones: theory.DegreesOf(one, theory.Degree{Number: 3}, fifth, theory.Degree{Number: 7, Alter: -1})})
}
