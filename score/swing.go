package score

// SwingRatio returns the long and the short part of a swung pair at a tempo of
// so many quarter notes a minute: 2:1 where the short note then lasts at least
// 100 ms, else the ratio that gives it 100 ms, and even eighths from 300 up.
//
// Source: Friberg and Sundström, "Swing ratios and ensemble timing in jazz
// performance", Music Perception 19(3), 2002: drummers' short note stays near
// 100 ms at medium and fast tempi and the ratio falls towards 1:1. The upper
// bound of 2:1 for a solo pianist is ours. The ratio is rounded to the nearest
// with parts small enough to print (the short part at most 5).
func SwingRatio(perMinute int) Ratio {
	if perMinute <= 200 {
		return Ratio{2, 1}
	}
	if perMinute >= 300 {
		return Ratio{1, 1}
	}
	// The beat lasts 60000/perMinute ms; exact ratio = (60000/perMinute − 100)/100
	// = (600 − perMinute)/perMinute.
	num, den := 600-perMinute, perMinute
	best := Ratio{1, 1}
	for short := 1; short <= 5; short++ {
		long := (2*num*short + den) / (2 * den) // nearest whole
		if nearer(num, den, Ratio{long, short}, best) {
			best = Ratio{long, short}
		}
	}
	return best
}

// nearer tells whether a lies strictly nearer to num/den than b does, so that of
// equals the one with smaller parts stays.
func nearer(num, den int, a, b Ratio) bool {
	off := func(r Ratio) int { return max(r.First*den-num*r.Second, num*r.Second-r.First*den) }
	return off(a)*b.Second < off(b)*a.Second
}

// Less tells whether r swings less than q.
func (r Ratio) Less(q Ratio) bool { return r.First*q.Second < q.First*r.Second }

// Upbeat returns where in the beat the second note of the pair comes, from 0 to
// 1: 2/3 for 2:1. Without a ratio the eighths are even: 1/2.
func (r Ratio) Upbeat() float64 {
	if r.First <= 0 || r.Second <= 0 {
		return 0.5
	}
	return float64(r.First) / float64(r.First+r.Second)
}
