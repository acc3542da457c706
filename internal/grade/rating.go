package grade

import (
	"cmp"
	"slices"

	"gradatim/internal/hand"
	"gradatim/score"
	"gradatim/theory"
)

// Options say how to rate. The zero value is ready.
type Options struct {
	// Fingering gives what the fingering of each strike costs, right hand and left,
	// in order of time: see ByHand. nil leaves the term out and rescales the weights
	// of the others.
	Fingering func(score.Score) [2][]Effort
	Hand      hand.Profile // whose Demands are told; zero: hand.Default
	// WithoutTechniques leaves Techniques and Demands empty, for callers that rate often.
	WithoutTechniques bool
}

// Effort is what the fingering of one strike costs, in points of the published
// rules.
type Effort struct {
	At   theory.Dur
	Cost int
}

// Rating says how hard a score is.
type Rating struct {
	Title    string
	Number   Number
	Sum      int // thousandths of a standard deviation from the mean of the graded pieces
	Quarters int // quarter notes a minute that it holds for
	Assumed  bool
	Features []Feature
	Hardest  []Passage
	Demands  []Demand
	// Techniques are those found, in teaching order. Heard is set where the score
	// has no chord symbols and those of harmony were found by ear (see Hear).
	Techniques []Found
	Heard      bool
}

// Rate measures a score.
//
// Problem: say how hard a page is, and why in terms of the page. Source: the
// measures that follow a printed grade best in Ramoneda et al. 2024 (ISMIR), weighted
// by hand: .25 new patterns per 16 bars, .15 each variety, moves and speed, .10 each
// polyphony and fingering, .05 each rhythm and accidentals. Objective: each measure is
// a z-score against the graded pieces, the hands' mean counts, and the weighted mean is
// read off against that of the typical page of each of our levels, so that the levels
// stand in equal steps. Compass is told, not counted: its part is in variety and moves
// already. Cost: linear in the notes. Rejected: a trained classifier, which is no
// better on its own data (41.4 % of the grades hit) and cannot say why; a place among
// somebody's graded collections, of which a reader here may have none.
func Rate(s score.Score, opt Options) Rating {
	p := measure(s, opt)
	r := Rating{Title: s.Title, Quarters: p.quarters, Assumed: p.assumed}
	if len(p.strikes[0])+len(p.strikes[1]) == 0 {
		return r
	}
	r.Features = p.features()
	r.Sum = weigh(r.Features, func(f Feature) int { return f.z })
	r.Number = p.marks().place(r.Sum)
	r.Hardest = p.hardest(r.Features)
	if !opt.WithoutTechniques {
		r.Demands = demands(s, opt.Hand)
		r.Techniques, r.Heard = Find(s), len(s.Chords) == 0
	}
	return r
}

// Sum measures a score as Rate does and returns Rating.Sum alone; 0
// for a score without notes.
func Sum(s score.Score, opt Options) int {
	p := measure(s, opt)
	if len(p.strikes[0])+len(p.strikes[1]) == 0 {
		return 0
	}
	return weigh(p.features(), func(f Feature) int { return f.z })
}

// weigh is the weighted mean of the features' scores; both hands of a measure
// share its weight.
func weigh(fs []Feature, of func(Feature) int) int {
	sum, weights := 0, 0
	for _, f := range fs {
		w := share(f)
		sum += w * of(f)
		weights += w
	}
	if weights == 0 {
		return 0
	}
	return sum / weights
}

// marks are those that a page is placed by.
func (p *page) marks() marks {
	if p.effort[0] || p.effort[1] {
		return fingeredMarks
	}
	return bareMarks
}

// Passage is a stretch of bars that is harder than the rest.
type Passage struct {
	First, Last int // printed bar numbers
	Above       int // thousandths of a standard deviation above the whole
	causes      []any
}

// passages is how many hard places are named.
const passages = 3

// hardest names the windows of four bars (of two in a piece of eight or fewer)
// that lie highest above the whole in what can be counted bar by bar: speed,
// moves, polyphony, fingering, rhythm and accidentals, weighted as in the
// rating. Windows do not overlap; of equals the earliest, and music that comes again,
// half of it or more, is named once.
func (p *page) hardest(fs []Feature) []Passage {
	n := len(p.bars)
	w := window
	if n <= 2*window {
		w = window / 2
	}
	w = min(w, n)
	ls := p.locals(fs)
	weights := 0
	for _, l := range ls {
		weights += l.weight
	}
	type cand struct{ at, above int }
	var cs []cand
	for at := 0; at+w <= n; at++ {
		sum := 0
		for _, l := range ls {
			sum += l.weight * l.above(at, at+w)
		}
		if sum > 0 {
			cs = append(cs, cand{at, sum / max(1, weights)})
		}
	}
	slices.SortStableFunc(cs, func(a, b cand) int { return cmp.Compare(b.above, a.above) })
	var out []Passage
	var taken []int
	for _, c := range cs {
		if len(out) == passages || c.above <= 0 {
			break
		}
		if slices.ContainsFunc(taken, func(t int) bool { return c.at < t+w && t < c.at+w || 2*p.shared(t, c.at, w) >= w }) {
			continue
		}
		taken = append(taken, c.at)
		out = append(out, Passage{First: p.barOf(c.at), Last: p.barOf(c.at + w - 1), Above: c.above, causes: causes(ls, c.at, c.at+w)})
	}
	return out
}

// shared counts the bars of one stretch that come in another.
func (p *page) shared(a, b, bars int) int {
	n := 0
	for y := b; y < b+bars; y++ {
		for x := a; x < a+bars; x++ {
			if p.again(x, y) {
				n++
				break
			}
		}
	}
	return n
}

// again tells whether both hands strike the same keys at the same times in two
// bars.
func (p *page) again(a, b int) bool {
	for i := range hands {
		if !slices.EqualFunc(p.within(i, a, a+1), p.within(i, b, b+1), func(s, t strike) bool {
			return s.at-p.bars[a].At == t.at-p.bars[b].At && s.keys == t.keys
		}) {
			return false
		}
	}
	return true
}

// within returns a hand's strikes in bars [from, to).
func (p *page) within(hand, from, to int) []strike {
	sts := p.strikes[hand]
	first, _ := slices.BinarySearchFunc(sts, from, func(s strike, bar int) int { return s.bar - bar })
	last, _ := slices.BinarySearchFunc(sts, to, func(s strike, bar int) int { return s.bar - bar })
	return sts[first:last]
}
