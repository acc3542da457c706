package arrange

import (
	"context"
	"slices"

	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Study is a short exercise of one thing over some chords. Its notes are chosen as
// those of a page are, by the same rules, the same costs and the same search; but the
// hands may play nothing than what each Part is about.
type Study struct {
	Level ladder.Level
	Hand  hand.Profile // zero: hand.Default
	Key   theory.Key
	Meter leadsheet.Meter
	Tempo leadsheet.Tempo
	Feel  leadsheet.Feel
	// Whole chords are struck as their symbols say, whatever the level asks of a page:
	// a chord that is looked at is looked at whole.
	Whole bool
	Parts []Part
	Bars  []leadsheet.Bar // nil: as many of Meter as the parts fill
	// Line is what the right hand plays above all else: as it stands.
	Line []score.Note

	held bool // what does not last as long as its chord is worse
}

// Part is a stretch of a study under one chord. It begins where the one before ends; a
// bar line inside divides it.
type Part struct {
	Dur         theory.Dur
	Chord       theory.Chord
	Left, Right Play
	// Voice is a voice that the study is about: the right hand has it among its notes,
	// each time in the octave that lies nearest. The zero Voice: there is none.
	Voice technique.Voice
}

// Play is what a hand may play in a cell.
type Play struct {
	By      string                                  // technique id; "": none
	Figures func(technique.Cell) []technique.Figure // nil: it rests
}

// cutShort is what it costs that a chord which should be held gives way to the tune.
const cutShort = 80

// studied bounds the figures of each hand in one cell of a study.
const (
	studiedLeft  = 16
	studiedRight = 96
)

// Dur is how long the study is.
func (s Study) Dur() theory.Dur {
	sum := theory.Dur(0)
	for _, p := range s.Parts {
		sum += p.Dur
	}
	return sum
}

// Score writes the study, filled to whole bars. ok is false where a hand has nothing to
// play in some part that keeps the rules.
func (s Study) Score() (_ score.Score, ok bool) {
	p := s.piece()
	for _, near := range voiced {
		if s.choose(p, s.voice(near)) {
			return s.written(p), true
		}
	}
	return score.Score{}, false
}

// Under puts a left hand under the right hand of a score: what it may play at each
// printed chord, and again at each bar line. It rests in a pick-up, and where nothing
// that it may play keeps the rules.
func (s Study) Under(right score.Score, left Play) score.Score {
	s.Line, s.Bars, s.Parts = right.Notes, nil, nil
	for _, b := range right.Bars {
		s.Bars = append(s.Bars, leadsheet.Bar{At: b.At, Dur: b.Dur, Meter: b.Meter, Key: b.Key, Number: b.Number, Pickup: b.Pickup})
	}
	s.held = true
	orRest := Play{left.By, func(c technique.Cell) []technique.Figure {
		return append(left.Figures(c), technique.Figure{Cost: silent / taste})
	}}
	if len(right.Chords) == 0 {
		return right
	}
	if first := right.Chords[0].At; first > 0 {
		s.Parts = append(s.Parts, Part{Dur: first})
	}
	for i, c := range right.Chords {
		end := right.End()
		if i+1 < len(right.Chords) {
			end = right.Chords[i+1].At
		}
		part := Part{Dur: end - c.At, Chord: c.Chord}
		if !c.Chord.Silent() {
			part.Left = orRest
		}
		s.Parts = append(s.Parts, part)
	}
	p := s.piece()
	if !s.choose(p, s.voice(0)) {
		return right
	}
	right.Notes = slices.Clone(right.Notes)
	for i := range p.cells {
		p.writeFigure(&right, &p.cells[i], score.Left, p.cells[i].chosenLeft, p.cells[i].leftBy)
	}
	return right.Finish()
}

// voiced is where a voice that is followed begins, about: in the middle of the right
// hand's chords, or where they have more room.
var voiced = [...]int{67, 72, 62}

// voice returns the key of the followed voice in each part, beginning near a key; 0:
// there is none.
func (s Study) voice(near int) []int {
	out := make([]int, len(s.Parts))
	for i, part := range s.Parts {
		if part.Voice.In {
			near = part.Voice.Name.Nearest(near).MIDI()
			out[i] = near
		}
	}
	return out
}

// choose has the search choose the notes of the cells; false where there are none.
func (s Study) choose(p *piece, voice []int) bool {
	for i := range p.cells {
		c := &p.cells[i]
		var part Part
		key := 0
		if c.slot >= 0 { // it is no pick-up
			part, key = s.Parts[c.slot], voice[c.slot]
		}
		c.deal = &deal{left: p.studied(c, part.Left, p.admitLeft, 0, studiedLeft), right: p.studied(c, part.Right, p.admitRight, key, studiedRight)}
		if len(c.deal.left) == 0 || len(c.deal.right) == 0 {
			return false
		}
		for i := range c.deal.left {
			o := &c.deal.left[i]
			if s.held && slices.ContainsFunc(o.Tones, func(t technique.Tone) bool { return t.End() < c.End }) {
				o.cost += cutShort
			}
		}
	}
	l, dead, err := p.search(context.Background(), nil) // a study is short
	if err != nil || dead >= 0 {
		return false
	}
	ls, rs := l.path()
	for i := range p.cells {
		c := &p.cells[i]
		left, right := c.deal.left[ls[i]], c.deal.right[rs[i]]
		c.chosenLeft, c.leftBy = left.figure(), left.by
		c.chosenRight, c.rightBy = right.figure(), right.by
	}
	return true
}

// piece is the study as the search sees it: cut, with its line.
func (s Study) piece() *piece {
	p := &piece{level: s.Level, hand: s.Hand, feel: s.Feel, tempo: s.Tempo, quarters: max(1, s.Tempo.QuartersPerMinute()),
		home: -1, an: harmony.Analysis{Key: s.Key}, spelling: map[spellKey]theory.Name{}}
	if p.hand == (hand.Profile{}) {
		p.hand = hand.Default()
	}
	if s.Whole {
		p.level.Caps = technique.Caps{AtOnce: [2]int{5, 4}, Span: [2]int{16, 16}}
	}
	at := theory.Dur(0)
	for _, part := range s.Parts {
		p.slots = append(p.slots, slot{at: at, end: at + part.Dur, chord: part.Chord, added: technique.AddedTo(part.Chord)})
		at += part.Dur
	}
	for i, n := range s.Line {
		p.line = append(p.line, technique.MelodyNote{At: n.At, End: n.End(), Pitch: n.Pitch, Event: i})
	}
	p.song.Key, p.song.Meter, p.song.Bars = s.Key, s.Meter, s.Bars
	for bar := theory.Dur(0); s.Bars == nil && bar < at; bar += s.Meter.Bar() {
		p.song.Bars = append(p.song.Bars, leadsheet.Bar{At: bar, Dur: s.Meter.Bar(), Meter: s.Meter, Key: s.Key, Number: len(p.song.Bars) + 1})
	}
	p.level.VaryShape = false // what is practised is repeated
	p.cut()
	for i := range p.cells { // a study is no piece with phrases and an end
		c := &p.cells[i]
		c.End = min(c.End, at)
		c.Opens, c.Closes, c.Last = false, false, false
		c.sings(p.line)
	}
	return p
}

// sings gives a cell what sounds of a line, which may have several notes at once.
func (c *cell) sings(line []technique.MelodyNote) {
	c.Melody, c.tune, c.tuneAll = nil, 0, 0
	for _, n := range line {
		if n.At >= c.End || n.End <= c.At {
			continue
		}
		c.Melody = append(c.Melody, n)
		c.tuneAll |= 1 << n.Pitch.Class()
		if n.At < c.half {
			c.tune |= 1 << n.Pitch.Class()
		}
	}
}

// studied lists what a hand may play in a cell, cheapest first: of what it may play what
// has a key, unless that is 0. A hand that has nothing to play rests.
func (p *piece) studied(c *cell, play Play, admit func(*cell, *option) breach, key, most int) []candidate {
	if play.Figures == nil {
		return []candidate{rested(0)}
	}
	var d desk
	fs := play.Figures(c.Cell)
	os := own(d.try(c, &technique.Technique{ID: play.By}, fs, admit))
	var out []candidate
	for i := range os {
		if key == 0 || slices.Contains(os[i].keys, key) {
			out = append(out, p.costed(&os[i]))
		}
	}
	for i := range fs {
		if len(fs[i].Tones) == 0 { // the line is all that it plays
			out = append(out, candidate{&option{Figure: &fs[i], Tones: fs[i].Tones}, taste * fs[i].Cost})
		}
	}
	return ranked(out, most, func(c *candidate) int { return c.cost })
}

// written is the score of the study.
func (s Study) written(p *piece) score.Score {
	out := score.Score{Tempo: s.Tempo, Feel: s.Feel, Swing: score.SwingRatio(p.quarters), Level: s.Level.Number, StaffHeight: s.Level.StaffHeight}
	for _, b := range p.song.Bars {
		out.Bars = append(out.Bars, score.Bar{At: b.At, Dur: b.Dur, Meter: b.Meter, Key: b.Key, Number: b.Number})
	}
	for i, sl := range p.slots {
		if !sl.chord.Silent() && (i == 0 || p.slots[i-1].chord != sl.chord) {
			out.Chords = append(out.Chords, score.Symbol{At: sl.at, Chord: sl.chord})
		}
	}
	out.Notes = append(out.Notes, s.Line...)
	for i := range p.cells {
		p.writeFigure(&out, &p.cells[i], score.Left, p.cells[i].chosenLeft, p.cells[i].leftBy)
		p.writeFigure(&out, &p.cells[i], score.Right, p.cells[i].chosenRight, p.cells[i].rightBy)
	}
	assignVoices(out.Notes)
	out.Notes = slices.Clip(out.Notes)
	return out.Finish()
}
