package teach

import (
	"slices"

	"gradatim/internal/words"
)

// mostFirst is how many places to begin with are named.
const mostFirst = 3

// hardPlace is a hard place with the portion of practice in which it is met first.
type hardPlace struct {
	hard Hard
	row  int   // the portion's
	spot []int // the hard bars, by their numbers
}

// hardPlaces finds for each hard place the portion that has most of its bars, and the first
// that has the same notes where that one repeats another; a portion is found once. rows
// tells to which portion a cut belongs, of with which cut a portion begins.
func hardPlaces(p *page, cuts []cut, rows []int, of []cut, like func(row int) int) []hardPlace {
	var out []hardPlace
	for _, h := range p.Hardest {
		best, most := -1, 0
		for i, x := range cuts {
			if n := len(x.within(h)); n > most {
				best, most = i, n
			}
		}
		if best < 0 {
			continue
		}
		c, row := cuts[best], like(rows[best])
		if slices.ContainsFunc(out, func(o hardPlace) bool { return o.row == row }) {
			continue
		}
		pl := hardPlace{hard: h, row: row}
		if to := of[row].whole(); c.first == to.first || c.whole().first == to.first {
			for _, x := range cuts {
				pl.spot = append(pl.spot, x.within(h)...)
			}
		} else { // the same bars of the portion that strikes the same notes; held otherwise, they are hard otherwise
			from := c.whole().first
			n := min(c.last-from, to.last-to.first)
			if len(c.within(h)) < h.To-h.From+1 || fingerprint(to.page, to.first, to.first+n) != fingerprint(c.page, from, from+n) {
				pl.hard.Why = ""
			}
			for _, n := range c.within(h) {
				for b := from; b <= c.last; b++ {
					if k := to.first + b - from; c.number(b) == n && k <= to.last {
						pl.spot = append(pl.spot, to.number(k))
					}
				}
			}
		}
		slices.Sort(pl.spot)
		if pl.spot = slices.Compact(pl.spot); len(pl.spot) > 0 {
			out = append(out, pl)
		}
	}
	return out
}

// first tells of the places to begin with, in the order in which the portions are practised.
// One that reaches into the next portion is practised with what it reaches.
func (w *writer) first(p *page, ps []hardPlace, of []cut, phrases []Phrase) []HardSpot {
	out := []HardSpot{}
	for _, pl := range ps[:min(len(ps), mostFirst)] {
		c := of[pl.row]
		s := HardSpot{From: phrases[pl.row].From, To: c.number(c.last), Spot: pl.spot, Why: sentence(pl.hard.Why)}
		low, high := pl.spot[0], pl.spot[len(pl.spot)-1]
		key := "plan.spot"
		if low < s.From || high > s.To {
			key = "plan.spot-over"
			s.From, s.To = min(s.From, low), max(s.To, high)
		}
		switch {
		case s.Why == "":
			s.Why = p.claim("plan.asks-more", p.whole())
		case low != s.From || high != s.To:
			s.Why = sentence(p.claim(key, p.whole(), "Bars", words.Bars(s.Spot), "Why", pl.hard.Why, "place", [2]int{s.From, s.To}))
		}
		out = append(out, s)
	}
	return out
}
