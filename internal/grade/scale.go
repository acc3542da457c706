package grade

import "gradatim/internal/words"

// ScaleVersion is the version of the scale: numbers of two versions are not to be
// compared. It grows when marks, weights, norms or measures change.
const ScaleVersion = 1

// Number says how hard a score is, in tenths from 0 (nothing to play) to 1000, which
// nothing reaches. The typical page of level n of the built-in ladder stands at 100·n;
// the upper half is for what is harder than the ladder.
type Number int

const (
	levels = 5
	step   = 100 // from one level's typical page to that of the next, and from 0 to the first
	top    = 1000
)

// marks are the sums of the typical pages of levels 1 to 5: the medians over the
// pages of the sheets that the tests borrow. A test measures them again.
type marks [levels]int

var (
	fingeredMarks = marks{-1241, -1026, -664, -512, -388}
	bareMarks     = marks{-1350, -1102, -741, -555, -449} // without the fingering
)

// place reads a sum off the marks. In between it is a straight line. Beyond the first
// and the last the line goes on and bends, towards 0 and towards 1000 (above, where the
// scores of others lie, as steep as the ladder is in the mean), so that of two sums the
// higher is never placed below the lower, however far off the ladder they lie.
func (m marks) place(sum int) Number {
	const last = step * levels
	switch {
	case sum < m[0]:
		unit := m[1] - m[0]
		return Number(round(step*unit, unit+m[0]-sum))
	case sum > m[levels-1]:
		unit := (m[levels-1] - m[0]) / (levels - 1) * (top - last) / step
		return Number(top - round((top-last)*unit, unit+sum-m[levels-1]))
	}
	i := 0
	for i < levels-2 && sum > m[i+1] {
		i++
	}
	return Number(step*(i+1) + round(step*(sum-m[i]), m[i+1]-m[i]))
}

// Whole is the number as a reader is told it, from 0 to 100.
func (n Number) Whole() int { return round(int(n), top/100) }

// near is how far a page may lie from a typical one to be like it.
const near = step / 4

// Levels are the built-in levels that it is like, one, or that it lies between, two;
// none below and above the ladder.
func (n Number) Levels() []int {
	below := int(n) / step
	switch {
	case n < step-near || n > levels*step+near:
		return nil
	case n%step <= near:
		return []int{below}
	case n%step >= step-near:
		return []int{below + 1}
	}
	return []int{below, below + 1}
}

// Place says where on the ladder that is.
func (n Number) Place() words.Message {
	switch at := n.Levels(); {
	case len(at) == 2:
		return words.Tell("grade.place.between", "Low", at[0], "High", at[1])
	case len(at) == 1:
		return words.Tell("grade.place.like", "Level", at[0])
	case n < step:
		return words.Tell("grade.place.below", "Level", 1)
	}
	return words.Tell("grade.place.above", "Level", levels)
}

// round divides to the nearest whole, halves upwards; both are not negative.
func round(a, b int) int { return (2*a + b) / (2 * b) }
