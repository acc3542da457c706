package arrange

import (
	"cmp"
	"context"
	"math/bits"
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/internal/plan"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// option is a figure that passed the hard rules of its own cell. All pages of a
// level share it, whatever their density; it is never changed.
type option struct {
	*technique.Figure                  // as its technique made it
	Tones             []technique.Tone // of the figure in its own cell's time, perhaps cut short
	by                string           // technique id; "" is silence
	base              int              // cost at density 0, in a phrase that is dressed with it
	effort            int              // what it is worth to a fuller page
	all               uint16           // pitch classes of the figure
	early             uint16           // pitch classes that sound in the first half of the chord's span
	shape             uint64           // the figure's own pattern, wherever it stands
	rhythm            uint64           // when it strikes
	lacks             int              // guide tones that the other hand would have to supply
	idle              bool             // it holds a note in its pattern's place
	keys              []int            // of its tones, as MIDI numbers
	low, high         int              // the outer ones
	first             strike           // what it strikes first
	last              strike           // and last
	of                *option          // the one of an earlier cell that it is, later; nil: its own
}

// strike is what a figure strikes at one moment.
type strike struct {
	at    theory.Dur
	outer hand.Outer
	n     int // of keys
}

// figure is the figure with the option's own tones.
func (o *option) figure() technique.Figure {
	f := *o.Figure
	f.Tones = o.Tones
	return f
}

func (o *option) firstKeys() []int { return o.keys[:o.first.n] }
func (o *option) lastKeys() []int  { return o.keys[len(o.keys)-o.last.n:] }

// candidate is an option with what it costs at its place on one page.
type candidate struct {
	*option
	cost int
}

// roughly is what a guide tone counts that the other hand would have to supply, before it is
// known whether it does.
const roughly = 320

// rank orders candidates before the search: by cost, those first that say which
// chord it is.
func (c *candidate) rank() int { return c.cost + c.lacks*roughly }

// offers are the figures of one technique that one cell admits, as far as any
// density has a use for them, and the few that are worth a search at this one.
type offers struct {
	by       *technique.Technique
	admitted []option
	later    theory.Dur // how much later the cell comes than the one that admitted them
	few      []candidate
}

// offer collects, once for all pages, what each hand could play in each cell. A
// cell that an earlier piece has as well keeps the figures found there.
func (p *piece) offer(ctx context.Context, earlier *piece, changed []choice.Choice) error {
	var d desk
	echoes := echoes{}
	left := p.level.LeftAll()
	k := 0 // index of the earlier cell at the same place
	for i := range p.cells {
		if err := context.Cause(ctx); err != nil {
			return err
		}
		c := &p.cells[i]
		c.twin = -1
		if earlier != nil {
			for k < len(earlier.cells) && earlier.cells[k].At < c.At {
				k++
			}
			if k < len(earlier.cells) && !touches(changed, c.At, c.End) && c.asks(&earlier.cells[k]) {
				c.twin = k
			}
		}
		if c.slot < 0 || c.Chord.Silent() {
			continue
		}
		switch {
		case c.twin >= 0:
			old := &earlier.cells[k]
			c.leftOffers, c.rightOffers = old.leftOffers, old.rightOffers
			if earlier.opt.Density != p.opt.Density {
				c.leftOffers, c.rightOffers = p.thinned(&d, c.leftOffers), p.thinned(&d, c.rightOffers)
			}
		default:
			if j := echoes.find(p, i); j >= 0 {
				p.repeat(&d, c, &p.cells[j])
				continue
			}
			ids := left
			if rest := technique.Resting().ID; c.Last && !slices.Contains(ids, rest) {
				ids = append(slices.Clip(ids), rest)
			}
			c.leftOffers = p.offersOf(&d, c, ids, technique.LeftHand)
			c.rightOffers = p.offersOf(&d, c, p.level.Right, technique.RightHand)
		}
	}
	return nil
}

// asks tells whether a cell asks for the same figures as another of the same song at
// the same level, tempo and hand.
func (c *cell) asks(d *cell) bool {
	return c.slot >= 0 == (d.slot >= 0) && c.wants == d.wants && alike(&c.Cell, &d.Cell)
}

// alike compares what differs between the cells of one page.
func alike(a, b *technique.Cell) bool {
	return a.At == b.At && a.End == b.End && a.BarAt == b.BarAt && a.Meter == b.Meter && a.Key == b.Key &&
		a.Chord == b.Chord && a.Prev == b.Prev && a.Next == b.Next && a.Added == b.Added &&
		a.NewChord == b.NewChord && a.Opens == b.Opens && a.Closes == b.Closes && a.Last == b.Last &&
		a.Held == b.Held && a.Again == b.Again && slices.Equal(a.Melody, b.Melody)
}

// desk is where the figures of one technique are tried. It is used again for the
// next, so that a plan holds no more than it needs.
type desk struct {
	options []option
	tones   []technique.Tone
	keys    []int
	all     []candidate
}

// try returns the options that a cell's figures give.
func (d *desk) try(c *cell, t *technique.Technique, fs []technique.Figure, admit func(*cell, *option) breach) []option {
	n := 0
	for i := range fs {
		n += len(fs[i].Tones)
	}
	d.options, d.tones, d.keys = d.options[:0], slices.Grow(d.tones[:0], n), slices.Grow(d.keys[:0], n)
	for i := range fs {
		from := len(d.keys)
		d.tones = append(d.tones, fs[i].Tones...) // they may be cut short
		for k := range fs[i].Tones {
			d.keys = append(d.keys, fs[i].Tones[k].Pitch.MIDI())
		}
		d.options = append(d.options, option{Figure: &fs[i], Tones: d.tones[from:], keys: d.keys[from:]})
		o := &d.options[len(d.options)-1]
		if len(o.Tones) == 0 || admit(c, o) != (breach{}) {
			d.options, d.tones, d.keys = d.options[:len(d.options)-1], d.tones[:from], d.keys[:from]
			continue
		}
		o.by = cmp.Or(fs[i].By, t.ID)
		o.idle = o.by == technique.Resting().ID && !t.Rests && !c.Last
		c.describe(o)
	}
	return d.options
}

// own copies options with all that they hold.
func own(os []option) []option {
	n := 0
	for i := range os {
		n += len(os[i].Tones)
	}
	out, figures := slices.Clone(os), make([]technique.Figure, len(os))
	tones, keys := make([]technique.Tone, 0, n), make([]int, 0, n)
	for i := range out {
		o, from := &out[i], len(keys)
		tones, keys = append(tones, o.Tones...), append(keys, o.keys...)
		figures[i] = *o.Figure
		o.Figure, o.keys = &figures[i], keys[from:len(keys):len(keys)]
		o.Tones = tones[from:len(tones):len(tones)]
	}
	return out
}

func (p *piece) offersOf(d *desk, c *cell, ids []string, st technique.Stage) []offers {
	out := make([]offers, 0, len(ids)+1)
	for _, id := range ids {
		t, _ := technique.ByID(id)
		if !p.forbids(id, c.At) {
			out = append(out, p.offered(d, c, t, st))
		}
	}
	if t := p.insisted(st, *c); t != nil && !slices.ContainsFunc(out, func(o offers) bool { return o.by == t }) {
		out = append(out, p.offered(d, c, t, st))
	}
	return out
}

// offered are the figures of one technique in a cell.
func (p *piece) offered(d *desk, c *cell, t *technique.Technique, st technique.Stage) offers {
	o := offers{by: t, admitted: own(useful(p.tried(d, c, t, st)))}
	o.few = d.few(&o, nil, p.opt.Density)
	return o
}

// thinned are the same offers at the piece's own density.
func (p *piece) thinned(d *desk, from []offers) []offers {
	out := slices.Clone(from)
	for k := range out {
		out[k].few = d.few(&out[k], from[k].few, p.opt.Density)
	}
	return out
}

// tried returns the options that one technique gives in a cell.
func (p *piece) tried(d *desk, c *cell, t *technique.Technique, st technique.Stage) []option {
	if st == technique.RightHand {
		return d.try(c, t, t.Right(c.Cell), p.admitRight)
	}
	fs := t.Left(c.Cell)
	if here := p.level.Position; here > 0 && p.kind.Steady && !c.Last && !p.insists(t.ID, c.At) {
		fs = slices.DeleteFunc(fs, func(f technique.Figure) bool { return len(f.Tones) > 0 && f.Top()-f.Bottom() > here+compassOver })
	}
	return d.try(c, t, fs, p.admitLeft)
}

// compassOver is by how many keys a figure may be wider than the place that a level keeps the
// left hand in: a ninth where it is an octave, and no tenth (common practice, no source). In the manner of pop the
// added note at the top of an open hand is what the level is about.
const compassOver = 2

// describe notes on an option what the search asks of it again and again.
func (c *cell) describe(o *option) {
	o.all, o.early, o.shape, o.rhythm = classes(o.Tones), c.early(o.Tones), shapeOf(o, c.At), rhythmOf(o, c.At)
	o.lacks = bits.OnesCount16(c.needed&^(o.early|c.tune)) + bits.OnesCount16(c.colour&^(o.all|c.tuneAll))/2
	o.low, o.high = slices.Min(o.keys), slices.Max(o.keys)
	first, last := o.Tones[0].At, o.Tones[len(o.Tones)-1].At
	i, j := 1, len(o.Tones)-1
	for i < len(o.Tones) && o.Tones[i].At == first {
		i++
	}
	for j > 0 && o.Tones[j-1].At == last {
		j--
	}
	o.first = strike{first, hand.OuterOf(o.keys[:i]), i}
	o.last = strike{last, hand.OuterOf(o.keys[j:]), len(o.keys) - j}
}

// early collects the pitch classes of tones that sound in the first half of the
// chord's span.
func (c *cell) early(ts []technique.Tone) uint16 {
	var set uint16
	for _, t := range ts {
		if t.At < c.half && t.Grace == 0 && t.Kind != score.GhostNote {
			set |= 1 << t.Pitch.Class()
		}
	}
	return set
}

// classes collects the pitch classes of a figure.
func classes(ts []technique.Tone) uint16 {
	var set uint16
	for _, t := range ts {
		if t.Grace == 0 {
			set |= 1 << t.Pitch.Class()
		}
	}
	return set
}

// fingerprint is the FNV-1a hash of some numbers.
type fingerprint uint64

const offset = 14695981039346656037

func (h *fingerprint) mix(v int64) { *h = (*h ^ fingerprint(v)) * 1099511628211 }

// shapeOf is a fingerprint of a figure's rhythm and keys.
func shapeOf(o *option, from theory.Dur) uint64 {
	h := fingerprint(offset)
	for i := range o.Tones {
		h.mix(int64(o.Tones[i].At - from))
		h.mix(int64(o.Tones[i].Dur))
		h.mix(int64(o.keys[i]))
	}
	return uint64(h)
}

// rhythmOf is a fingerprint of when a figure strikes.
func rhythmOf(o *option, from theory.Dur) uint64 {
	h := fingerprint(offset)
	for i := range o.Tones {
		if i == 0 || o.Tones[i].At != o.Tones[i-1].At {
			h.mix(int64(o.Tones[i].At - from))
		}
	}
	return uint64(h)
}

// perEnds bounds the figures of a technique that begin on one key and lead to one
// key, or end on it where they lead nowhere: the others could never be missed by
// more than their own taste.
const perEnds = 3

// ends names the keys on which a figure begins and ends.
func (o *option) ends() int {
	if o.Lead > 0 {
		return o.keys[0]<<8 | o.Lead
	}
	return o.keys[0]<<8 | o.keys[len(o.keys)-1] | 1<<16
}

// useful drops the options that no density would search: a density moves those of
// one effort alike.
func useful(os []option) []option {
	return few(os, perEnds, func(o *option) int { return o.base + o.lacks*roughly }, func(o *option) int { return o.effort<<20 | o.ends() })
}

// few are the options of an offer that are worth a search at a density, in its cell's time.
// Those that stand in the cell's time already, for another density, are given.
func (d *desk) few(o *offers, standing []candidate, density int) []candidate {
	out := d.thin(o.admitted, density)
	if o.later != 0 {
		postpone(out, standing, o.later)
	}
	return out
}

// thin keeps the options that are worth a search at a density.
func (d *desk) thin(os []option, density int) []candidate {
	d.all = d.all[:0]
	for i := range os {
		d.all = append(d.all, os[i].at(density))
	}
	return slices.Clone(few(d.all, perEnds, (*candidate).rank, func(c *candidate) int { return c.ends() }))
}

// at is an option with its cost at a density. A thinner page is not one that stops.
func (o *option) at(density int) candidate {
	cost := o.base - density*busy*o.effort
	if o.idle && density < 0 {
		cost += silent
	}
	return candidate{o, cost}
}

// rested is a hand that plays nothing beside the tune.
func rested(cost int) candidate { return candidate{nothing, cost} }

// nothing is the figure of a hand that rests.
var nothing = &option{Figure: &technique.Figure{}}

// leftOptions lists what the left hand can play in a cell: the phrase's texture,
// the level's other textures at a price, and silence at a high one. A bar that
// failed the audit loses its texture first, then all but the simplest.
func (p *piece) leftOptions(i int) []candidate {
	c := &p.cells[i]
	if c.slot < 0 || c.Chord.Silent() {
		return []candidate{rested(0)}
	}
	out := make([]candidate, 0, wanted(c.leftOffers)+1)
	for k := range c.leftOffers {
		out = p.priced(out, c, score.Left, k, c.leftOffers[k].few)
	}
	return keep(append(out, p.restOf(c, score.Left)))
}

// rightOptions lists what the right hand can add under the tune.
func (p *piece) rightOptions(i int) []candidate {
	c := &p.cells[i]
	out := append(make([]candidate, 0, wanted(c.rightOffers)+1), p.restOf(c, score.Right))
	if c.slot < 0 || c.Chord.Silent() {
		return out
	}
	for k := range c.rightOffers {
		out = p.priced(out, c, score.Right, k, c.rightOffers[k].few)
	}
	return keep(out)
}

// wanted counts what a cell's offers have for a search.
func wanted(os []offers) (n int) {
	for k := range os {
		n += len(os[k].few)
	}
	return n
}

// restOf is the silence of a hand in a cell at its price.
func (p *piece) restOf(c *cell, h score.Hand) candidate {
	switch {
	case h == score.Right:
		return rested(p.aloneCost(c))
	case c.slot < 0 || c.Chord.Silent():
		return rested(0)
	case p.opt.Density < 0: // thinner, but never by falling silent
		return rested(4 * silent)
	}
	return rested(silent)
}

// priced appends the figures of a cell's k-th offer at the price that they have in this
// phrase; none where a bar that failed the audit has lost them.
func (p *piece) priced(out []candidate, c *cell, h score.Hand, k int, figures []candidate) []candidate {
	priceOf := p.priceLeft
	if h == score.Right {
		priceOf = p.priceRight
	}
	price, ok := priceOf(c, k)
	if !ok {
		return out
	}
	for _, f := range figures {
		f.cost += price
		if h == score.Left {
			if p.opt.Density > 0 && (p.kind.Steady || p.level.Arc != ladder.NoArc) && c.left != nil && c.leftOffers[k].by != c.left { // fuller within the phrase's dress, not out of it
				f.cost += p.opt.Density * busy * f.effort
			}
			f.cost += p.astray(c, f.option, c.leftOffers[k].by)
			if c.place > 0 && c.leftOffers[k].by == c.left && f.keys[0] != int(c.place) {
				f.cost += p.weigh().Displaced
			}
			if p.level.Arc != ladder.NoArc && !c.Opens && !c.Last && !c.leftOffers[k].by.Closes && f.rolls() {
				f.cost += rolledAgain
			}
		}
		if c.grows && !c.Last {
			f.cost -= grown * f.effort
		}
		out = append(out, f)
	}
	return out
}

// rolls tells whether a figure has a rolled chord.
func (o *option) rolls() bool {
	return slices.ContainsFunc(o.Tones, func(t technique.Tone) bool { return t.Marks.Has(score.Rolled) })
}

func (p *piece) priceLeft(c *cell, k int) (price int, ok bool) {
	o, failed := &c.leftOffers[k], p.plain[c.bar].Left
	price = p.weigh().OffDress + p.weigh().Later*k
	plainest := o.by.ID == p.level.Resort()
	switch {
	case o.by.Tenor && o.by != c.left && !p.insists(o.by.ID, c.At):
		return 0, false
	case o.by.Joins && (failed > 0 || !c.joins && !p.insists(o.by.ID, c.At)):
		return 0, false
	case o.by.Joins:
		price = -joined
	case failed > 2 || failed > 1 && !plainest, failed == 1 && o.by == c.left && !plainest:
		return 0, false
	case o.by == c.left:
		price = 0
	case plainest:
		price = p.weigh().Resort
	}
	if p.level.Arc != ladder.NoArc && p.kind.Steady && c.Dur() <= c.Pulse() && !c.Meter.Compound() && o.by.Shell && price > 0 {
		price = shellHere + k // a chord that lasts a beat has no time for a pattern
	}
	if p.opt.Density < 0 && o.by != c.left { // thinner within the phrase's dress, not out of it
		price += silent
	}
	if c.Last && (o.by.Rests || o.by.Closes) {
		price = 0
		if o.by.Rests && p.closes() {
			price = plainLast
		}
	}
	if p.insists(o.by.ID, c.At) {
		price -= insistence
	}
	return price, true
}

func (p *piece) priceRight(c *cell, k int) (price int, ok bool) {
	o, failed := &c.rightOffers[k], p.plain[c.bar].Right
	if failed > 1 || failed > 0 && o.by == c.right {
		return 0, false
	}
	switch {
	case c.weave != plan.Unplanned && c.Last: // the last chord is whole, whatever the phrase has
		price = k
	case c.weave != plan.Unplanned && o.by != c.right:
		if price = offWeave + k; c.right != nil && weaveOf(o.by) == weaveOf(c.right) {
			price = nearWeave + k
		}
		if c.weave == plan.Alone && p.kind.Steady { // one chord in a phrase without is a slip
			price = slip + k
		}
	case c.right != nil && o.by != c.right:
		price = 12 + k
	}
	if p.insists(o.by.ID, c.At) {
		price -= insistence
	}
	return price, true
}

// keep returns the cheapest candidates in a total order.
func keep(os []candidate) []candidate {
	return ranked(os, maxFigures, (*candidate).rank)
}

// closes tells whether the level has an ending of its own for the last bar.
func (p *piece) closes() bool {
	return slices.ContainsFunc(p.level.LeftAll(), func(id string) bool {
		t, ok := technique.ByID(id)
		return ok && t.Closes
	})
}
