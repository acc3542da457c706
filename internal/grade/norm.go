package grade

// norm is what a z-score is counted from and in: mean and standard deviation.
type norm struct{ mean, spread int }

// What z-scores of the measures are counted from and in, right hand and left hand, in
// thousandths of a measure's unit: new patterns in 16 bars, bits, half steps, points of
// 1, strikes a second.
//
// Source: mean and standard deviation over 660 graded piano pieces, computed from the
// feature file of Ramoneda et al. 2024 (ISMIR); the tests compute them again. The file
// counts patterns of whole pieces whose lengths it does not have, so that their norm
// rests on lengths that are derived: see the tests.
var (
	patternNorm = [2]norm{{54705, 25029}, {44318, 20138}}
	varietyNorm = [2]norm{{4262, 616}, {4245, 538}}
	compassNorm = [2]norm{{36637, 14496}, {39560, 13240}}
	movesNorm   = [2]norm{{521, 282}, {712, 315}}
	speedNorm   = [2]norm{{3454, 1746}, {2640, 1472}}
)

// The norms of what that file does not have. From memory of the repertoire, checked for
// order of size on real accompaniments (see the tests).
var (
	polyphonyNorm  = [2]norm{{1867, 797}, {1907, 773}}
	rhythmNorm     = norm{142, 265}  // points a beat; see pulses.points
	accidentalNorm = norm{102, 107}  // of all notes
	fingeringNorm  = norm{1141, 715} // thousandths of a point a note; see ByHand
)

// A z-score is bounded above: what lies four deviations over the mean is no more
// than that, or one odd measure would rule the page. Below, the measures end by
// themselves (a hand that plays one key has an entropy of 0); the bound only
// guards the arithmetic.
const (
	lowest  = -10_000
	highest = 4000
)

// z is how many thousandths of a standard deviation a value lies above the mean
// of all pieces.
func (n norm) z(value int) int {
	return min(highest, max(lowest, (value-n.mean)*1000/n.spread))
}
