package engrave

import (
	"cmp"
	"slices"
	"strings"
)

// fingering takes fingerings out, or puts those of the lower staff below it,
// where the score does not say.
func fingering(note *element, hide bool) {
	for _, n := range note.kids {
		if n.name != "notations" {
			continue
		}
		for _, t := range n.kids {
			if t.name != "technical" {
				continue
			}
			if hide {
				t.drop(isFingering)
				continue
			}
			for _, f := range t.kids {
				if isFingering(f) && f.get("placement") == "" && note.value("staff") == "2" {
					f.set("placement", "below")
				}
			}
			joinSubstitution(t)
		}
		n.drop(func(t *element) bool { return t.name == "technical" && len(t.kids) == 0 })
	}
	note.drop(func(n *element) bool { return n.name == "notations" && len(n.kids) == 0 })
}

// joinSubstitution writes a silent change of finger on one line, 4–5. The library
// stacks the two fingers, which reads as those of two notes.
func joinSubstitution(technical *element) {
	var before *element
	technical.drop(func(f *element) bool {
		if !isFingering(f) {
			return false
		}
		if before == nil || f.get("substitution") != "yes" {
			before = f
			return false
		}
		before.text += "–" + f.text
		return true
	})
}

func isFingering(e *element) bool { return e.name == "fingering" }

// columnFingers puts the fingerings of one staff that stand on one side at one
// moment above each other, the highest note's on top, all on the note that
// stands in the chord's main column. The library sets each over its own head:
// beside a second two stand abreast, with the stem between them, and two voices
// have theirs in each other's way.
func columnFingers(m *element) {
	type column struct {
		staff, side string
		at          float64
		notes       []*element
	}
	var columns []*column
	at, onset := 0.0, 0.0
	chords := map[*element][]*element{} // of each note, the chord it belongs to
	var chord []*element
	close := func() {
		for _, n := range chord {
			chords[n] = chord
		}
		chord = nil
	}
	for _, e := range m.kids {
		switch e.name {
		case "backup":
			at -= e.number("duration")
		case "forward":
			at += e.number("duration")
		case "note":
			if e.kid("chord") == nil {
				close()
				onset = at
				at += e.number("duration")
			}
			if e.kid("grace") != nil || e.kid("pitch") == nil {
				continue
			}
			chord = append(chord, e)
			side := ""
			e.walk(func(k *element) {
				if isFingering(k) && side == "" {
					side = cmp.Or(k.get("placement"), "above")
				}
			})
			if side == "" {
				continue
			}
			i := slices.IndexFunc(columns, func(c *column) bool {
				return c.staff == e.value("staff") && c.side == side && c.at == onset
			})
			if i < 0 {
				i = len(columns)
				columns = append(columns, &column{staff: e.value("staff"), side: side, at: onset})
			}
			columns[i].notes = append(columns[i].notes, e)
		}
	}
	close()
	for _, c := range columns {
		slices.SortStableFunc(c.notes, func(a, b *element) int { return cmp.Compare(height(a), height(b)) })
		if c.side == "below" {
			slices.Reverse(c.notes)
		}
		// The outer note's chord carries the column.
		outer := c.notes[len(c.notes)-1]
		if c.side == "below" {
			outer = c.notes[0]
		}
		var same []*element
		for _, n := range chords[outer] {
			if n.value("staff") == c.staff {
				same = append(same, n)
			}
		}
		if len(c.notes) == 1 && len(same) == 1 {
			continue
		}
		up := chords[outer][0].value("stem") != "down" // heads of the main column are left of the stem
		anchor := same[0]
		for _, n := range same {
			if up && height(n) < height(anchor) || !up && height(n) > height(anchor) {
				anchor = n
			}
		}
		var figures []*element
		for _, n := range c.notes {
			n.walk(func(k *element) {
				if isFingering(k) {
					k.set("placement", c.side)
					figures = append(figures, k)
				}
			})
		}
		for _, n := range c.notes {
			fingering(n, true)
		}
		notations := anchor.kid("notations")
		if notations == nil {
			notations = elem("notations", "")
			anchor.kids = append(anchor.kids, notations)
		}
		technical := notations.kid("technical")
		if technical == nil {
			technical = elem("technical", "")
			notations.kids = append(notations.kids, technical)
		}
		technical.kids = append(technical.kids, figures...)
	}
}

// height is the diatonic place of a note, finer by its alteration.
func height(note *element) float64 {
	p := note.kid("pitch")
	return p.number("octave")*7 + float64(strings.Index("CDEFGAB", p.value("step"))) + p.number("alter")/8
}
