package musicxml

import (
	"slices"
	"strings"

	"gradatim/leadsheet"
)

// staffCheck is what a part's staves are like.
type staffCheck struct {
	staves    int
	pitched   bool
	unpitched bool
	tab, drum map[int]bool
	first     string // sign of the first clef
}

func (p *part) check() staffCheck {
	c := staffCheck{staves: 1, tab: map[int]bool{}, drum: map[int]bool{}}
	for _, m := range p.measures {
		for _, it := range m.items {
			switch it := it.(type) {
			case *note:
				c.staves = max(c.staves, it.staff)
				c.pitched = c.pitched || it.pitched
				c.unpitched = c.unpitched || it.unpitched
			case *attributes:
				c.staves = max(c.staves, it.staves)
				for _, cl := range it.clefs {
					if c.first == "" {
						c.first = cl.sign
					}
					switch cl.sign {
					case "TAB":
						c.tab[max(cl.staff, 1)] = true
					case "percussion":
						c.drum[max(cl.staff, 1)] = true
					}
				}
			}
		}
	}
	return c
}

// pianoParts chooses what is read: the first part with two staves (a keyboard
// before others), or two parts
// of one staff each that belong to a keyboard or stand in treble and bass. What
// is no piano score is refused, with the reason.
func (r *reader) pianoParts(doc *document) ([]*part, bool) {
	var checks []staffCheck
	bars, pitched, unpitched := 0, 0, false
	for _, p := range doc.parts {
		c := p.check()
		checks = append(checks, c)
		bars += len(p.measures)
		if c.pitched {
			pitched++
		}
		unpitched = unpitched || c.unpitched
	}
	leftOut := func(chosen ...*part) {
		var others []any
		for i, p := range doc.parts {
			if !slices.Contains(chosen, p) && (checks[i].pitched || checks[i].unpitched) {
				others = append(others, p.label())
			}
		}
		if n := len(others); n > 0 {
			if n > 6 {
				others = append(others[:6:6], "…")
			}
			r.info(leadsheet.Pos{Line: chosen[0].line}, "parts-left-out.piano", "Part", chosen[0].label(), "Others", others)
		}
	}
	var piano *part
	for i, p := range doc.parts {
		c := checks[i]
		if c.pitched && c.staves == 2 && len(c.tab) == 0 && len(c.drum) == 0 &&
			(piano == nil || p.keyboard() && !piano.keyboard()) { // rather than a harp
			piano = p
		}
	}
	if piano != nil {
		leftOut(piano)
		return []*part{piano}, true
	}
	for i := 0; i+1 < len(doc.parts); i++ {
		a, b := checks[i], checks[i+1]
		if !a.pitched || !b.pitched || a.staves != 1 || b.staves != 1 || len(a.tab)+len(b.tab)+len(a.drum)+len(b.drum) > 0 {
			continue
		}
		clefs := a.first == "G" && b.first == "F"
		if doc.parts[i].keyboard() && doc.parts[i+1].keyboard() || clefs && pitched == 2 {
			leftOut(doc.parts[i], doc.parts[i+1])
			r.info(leadsheet.Pos{Line: doc.parts[i].line}, "two-parts", "Right", doc.parts[i].label(), "Left", doc.parts[i+1].label())
			return []*part{doc.parts[i], doc.parts[i+1]}, true
		}
	}
	where := leadsheet.Pos{Line: 1}
	if len(doc.parts) > 0 {
		where.Line = max(doc.parts[0].line, 1)
	}
	for i, c := range checks {
		switch {
		case len(c.tab) > 0 && c.pitched:
			where.Line = doc.parts[i].line
			return nil, r.fail(where, "score-tablature", "Part", doc.parts[i].label())
		case c.staves > 2 && c.pitched:
			where.Line = doc.parts[i].line
			return nil, r.fail(where, "score-staves", "Part", doc.parts[i].label(), "n", c.staves)
		}
	}
	switch {
	case bars == 0:
		return nil, r.fail(where, "no-bars")
	case pitched == 0 && unpitched:
		return nil, r.fail(where, "no-pitch.piano")
	case pitched == 0:
		return nil, r.fail(where, "no-notes.score")
	case pitched == 1:
		return nil, r.fail(where, "score-one-staff")
	}
	return nil, r.fail(where, "score-no-piano", "n", pitched)
}

// keyboard tells whether the part calls itself a keyboard or one of its hands.
func (p *part) keyboard() bool {
	for _, s := range append([]string{p.name}, p.sounds...) {
		s = strings.ToLower(s)
		for _, w := range []string{"piano", "klavier", "clavier", "keyboard", "harpsichord", "cembalo", "right hand", "left hand", "rechte hand", "linke hand"} {
			if strings.Contains(s, w) {
				return true
			}
		}
		if s == "rh" || s == "lh" || s == "r.h." || s == "l.h." {
			return true
		}
	}
	return false
}

// layPiano lays out every part; mains are the chosen ones. Where two parts make
// the score, the second one's notes go to staff 2.
func (r *reader) layPiano(doc *document, parts []*part) (lanes, mains []*lane, ok bool) {
	mains = make([]*lane, len(parts))
	for _, p := range doc.parts {
		k := slices.Index(parts, p)
		l, ok := r.lay(p, k >= 0)
		if !ok {
			return nil, nil, false
		}
		lanes = append(lanes, l)
		if k < 0 {
			continue
		}
		mains[k] = l
		if len(parts) == 2 {
			l.ownStaff(k + 1)
		}
	}
	return lanes, mains, true
}

// extend gives a part that ends early silent bars up to n.
func (l *lane) extend(n int) {
	last := laneBar{}
	if k := len(l.bars); k > 0 {
		b := l.bars[k-1]
		last = laneBar{key: b.key, modal: b.modal, oddKey: b.oddKey, meter: b.meter, metered: b.metered, free: b.free, iv: b.iv}
	}
	measures := slices.Clone(l.measures)
	for len(l.bars) < n {
		l.bars = append(l.bars, last)
		measures = append(measures, &measure{line: l.line})
	}
	p := *l.part
	p.measures = measures
	l.part = &p
}

// ownStaff puts everything in the lane on one staff of the score.
func (l *lane) ownStaff(staff int) {
	for i := range l.bars {
		b := &l.bars[i]
		for k := range b.notes {
			b.notes[k].note.staff = staff
		}
		for k := range b.signs {
			b.signs[k].direction.staff = staff
		}
		for k := range b.clefs {
			b.clefs[k].staff = staff
		}
	}
}
