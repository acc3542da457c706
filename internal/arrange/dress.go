package arrange

import (
	"fmt"
	"slices"

	"gradatim/internal/technique"
	"gradatim/leadsheet"
)

// dress gives each phrase one left-hand texture and one right-hand treatment, so
// that the page has a shape: a section keeps its dress when it returns, another
// section changes it, and the last return is dressed more fully.
func (p *piece) dress() {
	turns := p.turns()
	for first := 0; first < len(p.cells); {
		last := first
		for last+1 < len(p.cells) && p.cells[last+1].phrase == p.cells[first].phrase {
			last++
		}
		turn := p.turn(turns, first)
		left := p.pick(p.level.Left, first, last, turn, leftOffersOf)
		if left == nil {
			left = p.pick(p.level.Reserve, first, last, 0, leftOffersOf)
		}
		right := p.pick(p.level.Right, first, last, turn, rightOffersOf)
		for i := first; i <= last; i++ {
			p.cells[i].left, p.cells[i].right = left, right
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
			p.note(leadsheet.Info, 0, "technique-no-form", fmt.Sprintf("%s: no form in %s, %s, at this tempo and with these chords; the nearest that has one is used", t.ID, p.song.Meter, p.feel), "")
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

// turns numbers the dress of the phrase that would start in each bar: by section, one
// further on a last return, and phrase by phrase where the level asks for that. −1:
// before the first section, if there is any.
func (p *piece) turns() []int {
	total := map[string]int{}
	for _, b := range p.song.Bars {
		if b.Section != "" {
			total[b.Section]++
		}
	}
	seen, count := map[string]int{}, map[string]int{}
	now, since := "", 0
	out := make([]int, len(p.song.Bars))
	for i, b := range p.song.Bars {
		if s := b.Section; s != "" {
			if _, ok := seen[s]; !ok {
				seen[s] = len(seen)
			}
			now, since = s, i
			count[s]++
		}
		if now == "" {
			out[i] = -1
			continue
		}
		out[i] = seen[now]
		if total[now] > 1 && count[now] == total[now] {
			out[i] += len(total)
		}
		if p.level.VaryByPhrase {
			out[i] += (i - since) / 4
		}
	}
	return out
}

// turn is that of the phrase which starts at a cell.
func (p *piece) turn(turns []int, first int) int {
	bar := p.cells[first].bar
	if turns[bar] >= 0 {
		return turns[bar]
	}
	turn := p.cells[first].phrase / 2
	if p.level.VaryByPhrase {
		turn += bar / 4
	}
	return turn
}
