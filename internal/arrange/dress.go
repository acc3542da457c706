package arrange

import (
	"slices"

	"gradatim/internal/ladder"
	"gradatim/internal/plan"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// dress gives the hands of each phrase what they keep to, so that the page has a shape: a
// section keeps its texture and finds it again when it returns, another section changes
// it, and the tune has the same beside it for a phrase. Where the level has an arc
// or the kind keeps its pattern the left hand's texture is the whole section's.
func (p *piece) dress() {
	for first := 0; first < len(p.cells); {
		last := first
		for last+1 < len(p.cells) && p.cells[last+1].phrase == p.cells[first].phrase {
			last++
		}
		from, until := first, last
		if p.level.Arc != ladder.NoArc || p.kind.Steady {
			from, until = p.stretch(first)
			last = min(last, until)
		}
		turn := p.turn(from)
		var left *technique.Technique
		if p.kind.Steady && p.level.Arc == ladder.NoArc {
			if left = p.pickFor(90, p.level.Left, from, until, turn, leftOffersOf); left == nil {
				left = p.pickFor(90, p.level.Reserve[:max(0, len(p.level.Reserve)-1)], from, until, 0, leftOffersOf)
			}
		}
		if left == nil {
			left = p.pick(p.level.Left, from, until, turn, leftOffersOf)
		}
		switch {
		case p.peaks(from):
			left = p.fullest(p.level.LeftAll(), from, until, leftOffersOf)
		case p.level.Arc != ladder.NoArc && p.kind.Steady && p.form.At(p.cells[from].bar).Loud:
			left = p.pick(p.noThinner(from, until), from, until, turn, leftOffersOf)
		}
		if p.level.Arc != ladder.NoArc && p.kind.Steady && p.opt.Density >= otherDress && !p.form.At(p.cells[from].bar).Soft {
			if t := p.fullest(p.level.Left, from, until, leftOffersOf); t != nil {
				left = t
			}
		}
		if p.level.Arc != ladder.NoArc && p.kind.InTime && p.form.At(p.cells[from].bar).Soft {
			left = p.lightest(p.level.Left, from, until, leftOffersOf)
		}
		if left == nil {
			left = p.pick(p.level.Left, first, last, turn, leftOffersOf)
		}
		if left == nil {
			left = p.pick(p.level.Reserve, first, last, 0, leftOffersOf)
		}
		right, weave := p.woven(first, last, turn, left)
		for i := first; i <= last; i++ {
			c := &p.cells[i]
			c.left, c.right, c.weave = p.unrolled(c, left), right, weave
			c.grows = p.level.Support > 1 && p.form.At(c.bar).Grows
			c.joins = c.Closes && p.form.PhraseAt(c.bar).LeadsOn
			if t := p.insisted(technique.LeftHand, *c); t != nil {
				c.left = t
			}
			if t := p.insisted(technique.RightHand, *c); t != nil {
				c.right, c.weave = t, plan.Unplanned
			}
		}
		first = last + 1
	}
	p.sayMissing()
}

// otherDress is from which density a page that has to be fuller takes fuller textures.
const otherDress = 3

// unrolled is a phrase's texture in one of its cells: where that would roll every chord, only
// the phrase's first, and the texture that it grew from goes on.
func (p *piece) unrolled(c *cell, left *technique.Technique) *technique.Technique {
	if left == nil || p.level.Arc == ladder.NoArc || c.Opens || c.Last || !rollsAlways(c, left) || len(left.Needs) == 0 {
		return left
	}
	plain, ok := technique.ByID(left.Needs[0])
	if ok && slices.ContainsFunc(c.leftOffers, func(o offers) bool { return o.by == plain && len(o.few) > 0 }) {
		return plain
	}
	return left
}

// rollsAlways tells whether all that a texture has for a cell is rolled.
func rollsAlways(c *cell, left *technique.Technique) bool {
	for _, o := range c.leftOffers {
		if o.by == left {
			return len(o.few) > 0 && !slices.ContainsFunc(o.few, func(f candidate) bool { return !f.rolls() })
		}
	}
	return false
}

// peaks tells whether a cell belongs to the last time of a section that was there before,
// which is to be the fullest.
func (p *piece) peaks(i int) bool {
	return p.level.Arc != ladder.NoArc && p.form.At(p.cells[i].bar).Grows
}

// fullest is the technique of a hand with the most notes among those that fit.
func (p *piece) fullest(ids []string, first, last int, of func(*cell) []offers) *technique.Technique {
	var best *technique.Technique
	most := 0
	for _, id := range ids {
		if t, effort := p.effort(id, first, last, of); effort > most && !t.Closes && !t.Joins && !t.Shell && !t.Tenor {
			best, most = t, effort
		}
	}
	return best
}

// lightest is the technique of a hand with the fewest notes among those that fit.
func (p *piece) lightest(ids []string, first, last int, of func(*cell) []offers) *technique.Technique {
	var best *technique.Technique
	least := 0
	for _, id := range ids {
		if t, effort := p.effort(id, first, last, of); t != nil && (best == nil || effort < least) {
			best, least = t, effort
		}
	}
	return best
}

// noThinner lists the textures that have no fewer notes than that of the statement.
func (p *piece) noThinner(first, last int) []string {
	stated := p.pick(p.level.Left, first, last, 0, leftOffersOf)
	if stated == nil {
		return p.level.Left
	}
	_, least := p.effort(stated.ID, first, last, leftOffersOf)
	return slices.DeleteFunc(slices.Clone(p.level.Left), func(id string) bool {
		t, effort := p.effort(id, first, last, leftOffersOf)
		return effort < least || t != nil && t.Tenor && t != stated // a line is soft however many notes it has
	})
}

// effort adds up what a texture plays in some cells at its cheapest; 0 where it does not
// fit.
func (p *piece) effort(id string, first, last int, of func(*cell) []offers) (t *technique.Technique, sum int) {
	t = p.pick([]string{id}, first, last, 0, of)
	if t == nil {
		return nil, 0
	}
	for i := first; i <= last; i++ {
		for _, o := range of(&p.cells[i]) {
			if o.by == t && len(o.few) > 0 {
				sum += o.few[0].effort
			}
		}
	}
	return t, sum
}

// stretch returns the cells that have one texture of the left hand with a cell: those of
// its section, or of two phrases where the form has no names.
func (p *piece) stretch(i int) (first, last int) {
	sec := p.form.At(p.cells[i].bar)
	alike := func(c *cell) bool {
		if s := p.form.At(c.bar); s.First != sec.First {
			return false
		}
		return sec.Name != "" && p.lap(c) == p.lap(&p.cells[i]) || sec.Name == "" && c.phrase/2 == p.cells[i].phrase/2
	}
	first, last = i, i
	for first > 0 && alike(&p.cells[first-1]) {
		first--
	}
	for last+1 < len(p.cells) && alike(&p.cells[last+1]) {
		last++
	}
	return first, last
}

// lap counts how often a section has gone on for longer than one texture carries, by the
// time of a cell's phrase.
func (p *piece) lap(c *cell) int {
	sec := p.form.At(c.bar)
	if sec.Last-sec.First < 3*plan.MostTexture/2 {
		return 0
	}
	return (max(p.form.PhraseAt(c.bar).First, sec.First) - sec.First) / plan.MostTexture
}

// woven chooses what the right hand of a phrase has beside the tune: what the plan asks
// for, else what comes next to it; nil is the tune alone. Above a left hand that sings a line of
// its own the tune has its second voice: two single lines are less than the level below.
func (p *piece) woven(first, last, turn int, left *technique.Technique) (*technique.Technique, plan.Weave) {
	weave := p.form.PhraseAt(p.cells[first].bar).Weave
	if left != nil && left.Tenor && weave != plan.Unplanned {
		weave = max(weave, plan.Second)
	}
	if weave == plan.Unplanned {
		right := p.pick(p.level.Right, first, last, turn, rightOffersOf)
		if p.form.At(p.cells[first].bar).Grows {
			if t := p.pick(p.ofWeave(plan.Grand), first, last, 0, rightOffersOf); t != nil {
				right = t
			}
		}
		return right, weave
	}
	if weave >= plan.Second && p.peaks(first) {
		ids := slices.Concat(p.ofWeave(plan.Grand), p.ofWeave(plan.Chords), p.ofWeave(plan.Second))
		if t := p.fullest(ids, first, last, rightOffersOf); t != nil {
			return t, weaveOf(t)
		}
	}
	ways := make([]plan.Weave, 0, 5)
	for w := weave; w > plan.Alone; w-- {
		ways = append(ways, w)
		if w == weave && w == plan.Second { // a tune that has no room for a voice has it for chords
			ways = append(ways, plan.Chords)
		}
	}
	for _, w := range ways {
		if t := p.pick(p.ofWeave(w), first, last, turn, rightOffersOf); t != nil {
			return t, w
		}
	}
	if !p.kind.Steady { // something has to say what the chord is
		return p.pick(p.level.Right, first, last, turn, rightOffersOf), plan.Unplanned
	}
	return nil, plan.Alone
}

// ofWeave lists the level's techniques of a weave.
func (p *piece) ofWeave(w plan.Weave) []string {
	return slices.DeleteFunc(slices.Clone(p.level.Right), func(id string) bool {
		t, _ := technique.ByID(id)
		return weaveOf(t) != w
	})
}

// weaveOf is what a technique of the right hand weaves.
func weaveOf(t *technique.Technique) plan.Weave {
	switch {
	case t.Grand:
		return plan.Grand
	case t.Under == technique.UnderLong:
		return plan.Inner
	case t.Under == technique.UnderAll:
		return plan.Second
	}
	return plan.Chords
}

// sayMissing tells which of the level's left-hand techniques have no form in this
// metre, feel or tempo.
func (p *piece) sayMissing() {
	for _, id := range p.level.Left {
		t, _ := technique.ByID(id)
		if !t.Defines {
			continue
		}
		served, sounding := false, false
		for i := range p.cells {
			c := &p.cells[i]
			sounding = sounding || c.slot >= 0 && !c.Chord.Silent()
			served = served || slices.ContainsFunc(c.leftOffers, func(o offers) bool { return o.by == t && len(o.admitted) > 0 })
		}
		if sounding && !served {
			p.remark(leadsheet.Info, 0, "technique-no-form", "Technique", t.ID, "Metre", p.song.Meter, "Feel", p.feel)
		}
	}
}

func leftOffersOf(c *cell) []offers  { return c.leftOffers }
func rightOffersOf(c *cell) []offers { return c.rightOffers }

// pick chooses the technique whose turn it is among those that have something to
// offer for most of the phrase's time.
func (p *piece) pick(ids []string, first, last, turn int, of func(*cell) []offers) *technique.Technique {
	return p.pickFor(75, ids, first, last, turn, of)
}

// pickFor is pick with how much of the stretch has to be served, in percent.
func (p *piece) pickFor(percent theory.Dur, ids []string, first, last, turn int, of func(*cell) []offers) *technique.Technique {
	var fit []*technique.Technique
	for _, id := range ids {
		t, _ := technique.ByID(id)
		var cells, served theory.Dur // their lengths; the last chord has its own figures
		for i := first; i <= last; i++ {
			c := &p.cells[i]
			if c.slot < 0 || c.Chord.Silent() || c.Last && p.level.Arc == ladder.NoArc {
				continue
			}
			cells += c.Dur()
			if slices.ContainsFunc(of(c), func(o offers) bool { return o.by == t && len(o.admitted) > 0 }) {
				served += c.Dur()
			}
		}
		if t.Under == technique.UnderLong && served > 0 || cells > 0 && served*100 >= cells*percent {
			fit = append(fit, t)
		}
	}
	if len(fit) == 0 {
		return nil
	}
	return fit[turn%len(fit)]
}

// longSection is how many bars a section has at least that has a pattern of its own, where
// the kind keeps its pattern.
const longSection = 8

// turn numbers the dress of the phrase that starts at a cell: by section, as the plan
// says, and phrase by phrase where the level asks for that. In a song without sections
// two phrases go together.
func (p *piece) turn(first int) int {
	bar := p.cells[first].bar
	sec := p.form.At(bar)
	if sec.Name == "" {
		if p.kind.Steady && p.level.Arc == ladder.NoArc { // one section, one pattern
			return 0
		}
		turn := p.cells[first].phrase / 2
		if p.level.VaryByPhrase && p.level.Arc == ladder.NoArc {
			turn += bar / 4
		}
		return turn
	}
	turn := sec.Turn
	if p.level.Arc != ladder.NoArc {
		return turn + p.lap(&p.cells[first])
	}
	if p.kind.Steady {
		if sec.Last-sec.First+1 < longSection { // too short for a pattern of its own
			return 0
		}
		return turn
	}
	if p.level.VaryByPhrase {
		if p.song.Bars[sec.First].Pickup {
			sec.First++
		}
		turn += (bar - sec.First) / 4
	}
	return turn
}
