package arrange

import (
	"slices"

	"gradatim/internal/technique"
	"gradatim/theory"
)

// Tunes return: what the hands can play in a cell is the same where the cell comes
// again, but later. There the few figures that are worth a search are copied, which costs a
// twentieth of finding them; the others stay where they were found, for other densities.

// echoes are the cells of a piece whose figures have been found, by what cells that are
// alike have in common.
type echoes map[echoKey][]int

type echoKey struct {
	chord, next theory.Chord
	dur         theory.Dur
	tune        uint16 // pitch classes
}

// find returns an earlier cell that asks for the same figures as the i-th; −1: there is
// none, and later ones may find this.
func (e echoes) find(p *piece, i int) int {
	c := &p.cells[i]
	if c.Last || len(p.fixed.uses) > 0 || len(p.fixed.avoids) > 0 {
		return -1
	}
	k := echoKey{c.Chord, c.Next, c.Dur(), c.tuneAll}
	for _, j := range e[k] {
		if d := &p.cells[j]; p.opensSection(c) == p.opensSection(d) && c.echoes(d) {
			return j
		}
	}
	e[k] = append(e[k], i)
	return -1
}

// opensSection tells whether a section begins with a cell.
func (p *piece) opensSection(c *cell) bool {
	return c.At == c.BarAt && p.song.Bars[c.bar].Section != ""
}

// echoes tells whether a cell is another one of the same piece, but later.
func (c *cell) echoes(d *cell) bool {
	later := c.At - d.At
	w := d.wants
	w.half += later
	e := technique.Cell{At: d.At + later, End: d.End + later, BarAt: d.BarAt + later, Meter: d.Meter, Key: d.Key,
		Chord: d.Chord, Prev: d.Prev, Next: d.Next, Added: d.Added, NewChord: d.NewChord, Opens: d.Opens, Closes: d.Closes, Last: d.Last,
		Held: d.Held, Again: c.Again, Melody: c.Melody}
	return c.wants == w && alike(&c.Cell, &e) && slices.EqualFunc(c.Melody, d.Melody, func(m, n technique.MelodyNote) bool {
		n.At, n.End, n.Event = n.At+later, n.End+later, m.Event
		return m == n
	})
}

// repeat gives a cell the figures of one that it echoes.
func (p *piece) repeat(d *desk, c, of *cell) {
	c.leftOffers = p.moved(d, c, of, of.leftOffers, technique.LeftHand)
	c.rightOffers = p.moved(d, c, of, of.rightOffers, technique.RightHand)
}

// moved copies the offers of a cell to another one.
func (p *piece) moved(d *desk, c, of *cell, from []offers, st technique.Stage) []offers {
	later := c.At - of.At
	out := slices.Clone(from)
	for k := range out {
		t := out[k].by
		if t.Varies {
			out[k] = p.offered(d, c, t, st)
			continue
		}
		out[k].later = later
		out[k].few = d.few(&out[k], nil, p.opt.Density)
	}
	return out
}

// postpone moves candidates to a later time: to what stands there of them already, else to
// copies, which share figure and keys.
func postpone(out, standing []candidate, later theory.Dur) {
	n, tones := 0, 0
	for i := range out {
		k := slices.IndexFunc(standing, func(c candidate) bool { return c.of == out[i].option })
		if k >= 0 {
			out[i].option = standing[k].option
			continue
		}
		n, tones = n+1, tones+len(out[i].Tones)
	}
	options, all := make([]option, n), make([]technique.Tone, 0, tones)
	for i := range out {
		if out[i].of != nil {
			continue
		}
		o, at := &options[0], len(all)
		options = options[1:]
		*o = *out[i].option
		all = append(all, o.Tones...)
		o.Tones = all[at:len(all):len(all)]
		for k := range o.Tones {
			o.Tones[k].At += later
		}
		o.of, out[i].option = out[i].option, o
		o.first.at, o.last.at = o.first.at+later, o.last.at+later
	}
}
