package arrange

import (
	"slices"

	"gradatim/internal/technique"
	"gradatim/leadsheet"
)

// dress gives each phrase one left-hand texture and one right-hand treatment, so
// that the page has a shape: a section keeps its dress when it returns, and another
// section changes it.
func (p *piece) dress() {
	for first := 0; first < len(p.cells); {
		last := first
		for last+1 < len(p.cells) && p.cells[last+1].phrase == p.cells[first].phrase {
			last++
		}
		turn := p.turn(first)
		left := p.pick(p.level.Left, first, last, turn, leftOffersOf)
		if left == nil {
			left = p.pick(p.level.Reserve, first, last, 0, leftOffersOf)
		}
		right := p.pick(p.level.Right, first, last, turn, rightOffersOf)
		if p.form.At(p.cells[first].bar).Grows {
			grand := slices.DeleteFunc(slices.Clone(p.level.Right), func(id string) bool { t, _ := technique.ByID(id); return !t.Grand })
			if t := p.pick(grand, first, last, 0, rightOffersOf); t != nil {
				right = t
			}
		}
		for i := first; i <= last; i++ {
			p.cells[i].left, p.cells[i].right = left, right
			p.cells[i].grows = p.level.Support > 1 && p.form.At(p.cells[i].bar).Grows
			if t := p.insisted(technique.LeftHand, p.cells[i]); t != nil {
				p.cells[i].left = t
			}
			if t := p.insisted(technique.RightHand, p.cells[i]); t != nil {
				p.cells[i].right = t
			}
		}
		first = last + 1
	}
	p.sayMissing()
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
// offer in most cells of the phrase.
func (p *piece) pick(ids []string, first, last, turn int, of func(*cell) []offers) *technique.Technique {
	var fit []*technique.Technique
	for _, id := range ids {
		t, _ := technique.ByID(id)
		cells, served := 0, 0
		for i := first; i <= last; i++ {
			if p.cells[i].slot < 0 || p.cells[i].Chord.Silent() {
				continue
			}
			cells++
			if slices.ContainsFunc(of(&p.cells[i]), func(o offers) bool { return o.by == t && len(o.admitted) > 0 }) {
				served++
			}
		}
		if cells > 0 && served*4 >= cells*3 {
			fit = append(fit, t)
		}
	}
	if len(fit) == 0 {
		return nil
	}
	return fit[turn%len(fit)]
}

// turn numbers the dress of the phrase that starts at a cell: by section, as the plan
// says, and phrase by phrase where the level asks for that. In a song without sections
// two phrases go together.
func (p *piece) turn(first int) int {
	bar := p.cells[first].bar
	sec := p.form.At(bar)
	if sec.Name == "" {
		if p.kind.Steady { // one section, one pattern
			return 0
		}
		turn := p.cells[first].phrase / 2
		if p.level.VaryByPhrase {
			turn += bar / 4
		}
		return turn
	}
	turn := sec.Turn
	if p.level.VaryByPhrase {
		if p.song.Bars[sec.First].Pickup {
			sec.First++
		}
		turn += (bar - sec.First) / 4
	}
	return turn
}
