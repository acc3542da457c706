package grade

import (
	"gradatim/internal/hand"
	"gradatim/score"
)

// Demand is what a page asks of one hand beyond ease, and how often.
type Demand struct {
	Kind  hand.Demand
	Hand  score.Hand
	Times int
	Bars  []int       // printed numbers, ascending
	Width hand.Length // of the widest place
}

// demands sums up hand.Demands by kind and hand, in the order of their first
// places.
func demands(s score.Score, p hand.Profile) []Demand {
	var out []Demand
	for _, d := range hand.Demands(s, p) {
		i := 0
		for i < len(out) && (out[i].Kind != d.Demand || out[i].Hand != d.Hand) {
			i++
		}
		if i == len(out) {
			out = append(out, Demand{Kind: d.Demand, Hand: d.Hand})
		}
		out[i].Times++
		out[i].Width = max(out[i].Width, d.Width)
		if b := s.BarAt(d.At); b >= 0 {
			if k := len(out[i].Bars); k == 0 || out[i].Bars[k-1] != s.Bars[b].Number {
				out[i].Bars = append(out[i].Bars, s.Bars[b].Number)
			}
		}
	}
	return out
}
