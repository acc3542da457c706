package arrange

import (
	"slices"

	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// Keeping promises: when the notes stand, symbols and words are made to say no
// more than they show.

// keepPromises withdraws a suspension that does not resolve, takes from the symbols
// the colours that nobody plays, and adds to the reasons the steps that the next
// chord's notes take. A seventh stays from level 3 on: it tells which chord is
// meant, and the search pays for what it leaves out. Chords of the
// teacher's are left alone.
func (p *piece) keepPromises() {
	p.slots = slices.Clone(p.slots)
	heard := p.heard()
	for i := range p.slots {
		p.resolve(i, heard)
	}
	for i := range p.slots {
		p.plainer(&p.slots[i], heard[i])
	}
	for i := range p.slots {
		p.leadOn(i, heard)
	}
	for i := range p.cells { // what the notes are called follows
		if c := &p.cells[i]; c.slot >= 0 {
			c.Chord, c.Added = p.slots[c.slot].chord, p.slots[c.slot].added
		}
	}
	p.amend()
}

// sound is a note under a chord.
type sound struct {
	at, end theory.Dur
	key     int
	tune    bool
}

// heard lists for each slot what sounds in it: the tune, both hands and the fills,
// but neither ghosts and graces nor notes that only lead on.
func (p *piece) heard() [][]sound {
	out := make([][]sound, len(p.slots))
	for i := range out {
		out[i] = make([]sound, 0, 16)
	}
	add := func(s sound) {
		for i := p.firstSlot(s.at); i < len(p.slots) && p.slots[i].at < s.end; i++ {
			out[i] = append(out[i], s)
		}
	}
	figure := func(f technique.Figure) {
		for _, t := range f.Tones {
			if t.Grace == 0 && t.Kind != score.GhostNote && t.Kind != score.Approach {
				add(sound{t.At, t.End(), t.Pitch.MIDI(), false})
			}
		}
	}
	for _, n := range p.line {
		add(sound{n.At, n.End, n.Pitch.MIDI(), true})
	}
	for i := range p.cells {
		figure(p.cells[i].chosenLeft)
		figure(p.cells[i].chosenRight)
	}
	for _, a := range p.adornments {
		figure(a.Figure)
	}
	return out
}

// firstSlot is the index of the first slot that ends after a position.
func (p *piece) firstSlot(at theory.Dur) int {
	i, _ := slices.BinarySearchFunc(p.slots, at, func(s slot, at theory.Dur) int {
		if s.end <= at {
			return -1
		}
		return 1
	})
	return i
}

func hasClass(ss []sound, class int) bool {
	return slices.ContainsFunc(ss, func(s sound) bool { return s.key%12 == class })
}

// steps tells whether a note that still sounds as a chord ends moves on, when the
// next begins, to one a half or a whole step away, or is gone by then.
func steps(before, after []sound, at theory.Dur, from, to theory.Name) bool {
	for _, a := range before {
		if a.key%12 != from.Class() || a.at >= at || a.end < at-theory.Eighth {
			continue
		}
		for _, b := range after {
			if d := abs(b.key - a.key); b.key%12 == to.Class() && (d == 1 || d == 2) && b.at > a.at && b.at <= at && b.end > at {
				return true
			}
		}
	}
	return false
}

var fourth, ninth = theory.Degree{Number: 4}, theory.Degree{Number: 9}

// resolve takes back a suspension whose fourth nobody plays, or whose fourth stays
// or does not fall to the third.
func (p *piece) resolve(i int, heard [][]sound) {
	sus := &p.slots[i]
	if t, ok := technique.ByID(sus.device); !ok || !t.Delays || i+1 == len(p.slots) || !sus.chord.Tones.Has(fourth) {
		return
	}
	next := &p.slots[i+1]
	if next.decision != sus.decision || p.chordFixed(sus.at) || p.chordFixed(next.at) {
		return
	}
	class := fourth.On(sus.chord.Root).Class()
	falls, stays := false, false
	for _, b := range heard[i+1] {
		stays = stays || !b.tune && b.key%12 == class
		falls = falls || slices.ContainsFunc(heard[i], func(a sound) bool { return a.key%12 == class && b.key == a.key-1 })
	}
	if falls && !stays {
		return
	}
	if !hasClass(heard[i], class) {
		sus.chord, sus.paint, sus.tint = next.chord, next.paint, next.tint
	}
	sus.device, sus.why, next.device, next.why = "", nil, "", nil
}

// plainer takes from a symbol what nobody plays of its colours: an added note, a
// sixth or tension, the altered fifth of a dominant and, where the level does not
// keep it, the seventh.
func (p *piece) plainer(s *slot, heard []sound) {
	if s.unknown || s.chord.Silent() || p.chordFixed(s.at) || p.level.Heard == ladder.HeardRoot || !s.chord.UpperTones.Empty() {
		return
	}
	less := false
	early := slices.DeleteFunc(slices.Clone(heard), func(n sound) bool { return n.at >= s.at+(s.end-s.at)/2 })
	for _, d := range slices.Backward(slices.Collect(s.chord.Tones.All())) { // what a symbol implies comes last
		colour := d == s.added || d.Number > 7 || d.Number == 6 || d.Number == 7 && !p.level.KeepSevenths ||
			d.Number == 5 && d.Alter != 0 && s.chord.Dominant()
		sounding := heard
		if d.Number == 6 { // it stands for the seventh and comes with the chord
			sounding = early
		}
		if !colour || hasClass(sounding, d.On(s.chord.Root).Class()) || d == ninth && goesBeyond(s.chord) {
			continue
		}
		s.chord.Tones, less = s.chord.Tones.Without(d), true
		if d == s.added {
			s.added, s.paint, s.tint = theory.Degree{}, "", nil
		}
	}
	if third := (theory.Degree{Number: 3}); s.added == fourth && s.chord.Tones.Has(third) && !hasClass(heard, third.On(s.chord.Root).Class()) {
		s.chord.Tones = s.chord.Tones.Without(third) // what is heard is a suspended fourth
	}
	if thirteenth := (theory.Degree{Number: 13}); less && s.chord.Dominant() && s.chord.Tones.Has(thirteenth) && len(s.chord.Tones.Number(9)) == 0 {
		s.chord.Tones = s.chord.Tones.With(ninth) // C13, as a 13th without its 9th is written
	}
	if t, ok := technique.ByID(s.paint); less && ok && t.Retell != nil {
		s.tint = p.restated(*s, t)
	}
}

// goesBeyond tells whether a symbol names the 11th or 13th and so only implies the 9th.
func goesBeyond(ch theory.Chord) bool {
	return ch.Tones.Has(theory.Degree{Number: 11}) || ch.Tones.Has(theory.Degree{Number: 13})
}

// restated says of a chord that lost some of its colours what is left.
func (p *piece) restated(s slot, by *technique.Technique) reason.Reason {
	sheet := p.sheetAt(s.at)
	var left []theory.Degree
	for d := range s.chord.Tones.All() {
		if (d.Number > 7 || d.Number == 5 && d.Alter != 0) && !(sheet.Root == s.chord.Root && sheet.Tones.Has(d)) {
			left = append(left, d)
		}
	}
	var next theory.Chord
	if i := p.firstSlot(s.end); i < len(p.slots) {
		next = p.slots[i].chord
	}
	return by.Retell(s.chord, left, next)
}

// leadOn adds to a chord's reason the steps that are taken.
func (p *piece) leadOn(i int, heard [][]sound) {
	s := &p.slots[i]
	if len(s.leads) == 0 || s.why == nil || i+1 == len(p.slots) || p.slots[i+1].at != s.end {
		return
	}
	var taken reason.Reason
	for _, l := range s.leads {
		if steps(heard[i], heard[i+1], s.end, l.From, l.To) {
			taken = reason.Together(taken, l.Say)
		}
	}
	device, tune := reason.CutMelody(s.why)
	s.why = reason.Clauses(device, taken, tune)
}

// amend lets the decisions say what became of their chords.
func (p *piece) amend() {
	p.decisions = slices.Clone(p.decisions)
	for k := range p.decisions {
		p.decisions[k].Chords = slices.Clone(p.decisions[k].Chords)
	}
	for i := range p.slots {
		s := &p.slots[i]
		if s.decision < 0 {
			continue
		}
		d := &p.decisions[s.decision]
		c := &d.Chords[s.part]
		c.Chord, c.Why = s.chord, s.why
		if s.part == 0 {
			d.Device = s.device
		}
	}
	for k := range p.decisions { // a chord that was withdrawn leaves one
		d := &p.decisions[k]
		if d.Device != "" || len(d.Chords) < 2 {
			continue
		}
		out := d.Chords[:1]
		for _, c := range d.Chords[1:] {
			if last := &out[len(out)-1]; c.Chord == last.Chord && c.Why == nil {
				last.End = c.End
				continue
			}
			out = append(out, c)
		}
		d.Chords = out
	}
}
