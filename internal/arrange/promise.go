package arrange

import "gradatim/theory"

// keepPromises takes from the symbols of level 2 what nobody plays: an added note
// or a seventh that found no place is not printed. From level 3 on a symbol may
// say more than the hands do; there the search pays for what it leaves out.
func (p *piece) keepPromises() {
	if p.level.Number != 2 {
		return
	}
	sounding := make([]uint16, len(p.slots))
	for i := range p.cells {
		if c := &p.cells[i]; c.slot >= 0 {
			sounding[c.slot] |= classes(c.chosenLeft.Tones) | classes(c.chosenRight.Tones) | c.tuneAll
		}
	}
	p.slots = append([]slot(nil), p.slots...)
	for i := range p.slots {
		s := &p.slots[i]
		if s.unknown || s.chord.Silent() || p.fixed(s.at) {
			continue
		}
		for d := range s.chord.Tones.All() {
			extra := d == s.added || d.Number == 7
			if !extra || sounding[i]>>d.On(s.chord.Root).Class()&1 == 1 {
				continue
			}
			s.chord.Tones = s.chord.Tones.Without(d)
			if d == s.added {
				s.added, s.paint, s.why = theory.Degree{}, "", ""
			}
		}
	}
	for i := range p.cells { // what the notes are called follows
		if c := &p.cells[i]; c.slot >= 0 {
			c.Chord, c.Added = p.slots[c.slot].chord, p.slots[c.slot].added
		}
	}
}
