package grade

import "gradatim/score"

// Step is the way from one level of a ladder to the next.
type Step struct {
	From, To int // indexes into the ratings
	Rise     int // of the sum, in thousandths of a standard deviation
	Rises    bool
	// Falls are the measures that go down although the level goes up, as they are
	// in From and To; a hand's measures apart.
	Falls []Fall
}

// Fall is a measure that goes down from one level to the next.
type Fall struct {
	ID       string
	Hand     score.Hand
	From, To int // thousandths of the measure's unit
	Cost     int // what it takes from the sum
}

// Climbs compares each rating with the one before. A ladder climbs where every
// Step rises by its Number: a rise that the rating does not show is none.
func Climbs(rs []Rating) []Step {
	var out []Step
	for k := 1; k < len(rs); k++ {
		a, b := rs[k-1], rs[k]
		st := Step{From: k - 1, To: k, Rise: b.Sum - a.Sum, Rises: b.Number > a.Number}
		weights := 0
		for _, f := range a.Features {
			weights += share(f)
		}
		for _, f := range a.Features {
			for _, g := range b.Features {
				if f.ID != g.ID || f.Hand != g.Hand || g.Value >= f.Value {
					continue
				}
				st.Falls = append(st.Falls, Fall{f.ID, f.Hand, f.Value, g.Value, share(f) * (f.z - g.z) / max(1, weights)})
			}
		}
		out = append(out, st)
	}
	return out
}

// share is the weight of a feature in the sum.
func share(f Feature) int {
	if f.Hand == 0 {
		return 2 * f.weight
	}
	return f.weight
}
