package notate

import (
	"gradatim/theory"
)

// span is a stretch of one voice in one bar: a chord or silence. Positions
// count from the start of a full bar.
type span struct {
	a, b  theory.Dur
	chord *chord // nil: silence
}

// piece is a span cut to written values.
type piece struct {
	span
	value  Value
	window int // 1 + index of its tuplet; 0 none
}

// window is a tuplet: actual notes in the time of normal between a and b.
type window struct {
	a, b           theory.Dur
	actual, normal int
}

// unit is the written value of one normal note.
func (w window) unit() theory.Dur { return (w.b - w.a) / theory.Dur(w.normal) }

// inner converts a position into written time from the start of the tuplet,
// and tells whether a written value can end there.
func (w window) inner(p theory.Dur) (theory.Dur, bool) {
	x := (p - w.a) * theory.Dur(w.actual)
	n := theory.Dur(w.normal)
	return x / n, x%(n*theory.SixtyFourth) == 0
}

// grid is the distance between the finest places in the tuplet.
func (w window) grid() theory.Dur {
	return theory.SixtyFourth * theory.Dur(w.normal) / theory.Dur(w.actual)
}

func (w window) split(a, b theory.Dur, rest bool) []theory.Dur {
	x, _ := w.inner(a)
	y, _ := w.inner(b)
	u := w.unit()
	level := func(p theory.Dur) int {
		for l, v := 1, u; v >= theory.SixtyFourth; l, v = l+1, v/2 {
			if p%v == 0 {
				return l
			}
		}
		return levelOff
	}
	whole := func(x, y theory.Dur) bool {
		v, ok := valueOf(y - x)
		if !ok {
			return false
		}
		if rest {
			return v.Dots == 0 && y-x <= 2*u && x%min(y-x, u) == 0
		}
		for v := u; v > theory.SixtyFourth; v /= 2 {
			if k := inside(x, y, v); k > 0 {
				return syncopated(x, y, v, k)
			}
		}
		return true
	}
	ends := split(level, whole, x, y)
	for i := range ends { // back into real time; exact, since every end is on the grid
		ends[i] = w.a + ends[i]*theory.Dur(w.normal)/theory.Dur(w.actual)
	}
	return ends
}

// rhythm writes one voice of one bar.
//
// Problem: given spans that fill the bar, find note values, ties and tuplets
// that a player reads at sight. Objective: the fewest written signs (16 each)
// and the shortest brackets (4 for each quarter under one), where no sign hides
// a beat (metre.noteWhole). Dynamic programming over the beats; below the beat
// a tuplet may cover a beat, its half or third, and above it two or four beats
// (two anywhere in a bar of three). Ties go to the smaller window and the
// smaller number. Cost: beats × tuplets × spans. Rejected: taking each off-grid
// note by itself, which writes a quarter-note triplet as tied eighths.
type rhythm struct {
	metre      metre
	start, end theory.Dur
	spans      []span
	scratch    []piece
	quiet      bool // silences outside tuplets are spaces and cost nothing
}

const (
	costSign  = 16
	costBeat  = 4
	costNever = 1 << 30

	longStretch = 16 // beats
)

// write returns the pieces and tuplets; rounded tells where a boundary had to
// move.
func (r *rhythm) write() (pieces []piece, windows []window, rounded []theory.Dur) {
	windows, bad := r.plan()
	if len(bad) > 0 {
		rounded = r.round(bad)
		windows, _ = r.plan()
	}
	for _, s := range r.spans {
		pieces = r.cut(pieces, s, windows)
	}
	return pieces, windows, rounded
}

// cut splits a span at the edges of tuplets and by the rules of the metre, and
// adds the pieces to out.
func (r *rhythm) cut(out []piece, s span, windows []window) []piece {
	at := s.a
	emit := func(to theory.Dur, wi int) {
		var ends []theory.Dur
		switch {
		case at >= to:
			return
		case wi > 0:
			ends = windows[wi-1].split(at, to, s.chord == nil)
		case s.chord == nil && r.quiet:
			ends = []theory.Dur{to}
		case s.chord == nil:
			ends = split(r.metre.level, r.metre.restWhole, at, to)
		default:
			ends = split(r.metre.level, r.metre.noteWhole, at, to)
		}
		for _, e := range ends {
			d := e - at
			if wi > 0 {
				w := windows[wi-1]
				d = d * theory.Dur(w.actual) / theory.Dur(w.normal)
			}
			v, _ := valueOf(d)
			out = append(out, piece{span{at, e, s.chord}, v, wi})
			at = e
		}
	}
	for i, w := range windows {
		if w.b <= at || w.a >= s.b {
			continue
		}
		emit(min(w.a, s.b), 0)
		emit(min(w.b, s.b), i+1)
	}
	emit(s.b, 0)
	return out
}

// off tells whether a boundary strictly between a and b is no multiple of a 64th.
func (r *rhythm) off(a, b theory.Dur) bool {
	for _, s := range r.spans {
		if a < s.b && s.b < b && s.b%theory.SixtyFourth != 0 {
			return true
		}
	}
	return false
}

// signs counts what is written between a and b under the given tuplets.
func (r *rhythm) signs(a, b theory.Dur, windows []window) int {
	n := 0
	for _, s := range r.spans {
		s.a, s.b = max(s.a, a), min(s.b, b)
		if s.a < s.b && (s.chord != nil || !r.quiet || len(windows) > 0) {
			r.scratch = r.cut(r.scratch[:0], s, windows)
			n += len(r.scratch)
		}
	}
	return n
}

// tuplet finds the best tuplet that covers exactly a to b.
func (r *rhythm) tuplet(a, b theory.Dur, triple bool) (window, int) {
	best, cost := window{}, costNever
	for _, n := range []int{3, 5, 7, 9} {
		normal := 2
		for normal*2 < n {
			normal *= 2
		}
		if triple {
			normal = 3
			if n == 3 || n == 9 {
				continue
			}
			if n > 6 {
				normal = 6
			}
		}
		w := window{a, b, n, normal}
		if w.unit() < theory.SixtyFourth || w.unit()%theory.SixtyFourth != 0 || !r.fits(w) {
			continue
		}
		if c := costSign*r.signs(a, b, []window{w}) + int(costBeat*(b-a)/theory.Quarter); c < cost {
			best, cost = w, c
		}
	}
	return best, cost
}

func (r *rhythm) fits(w window) bool {
	if _, ok := valueOf(w.unit()); !ok {
		return false
	}
	for _, s := range r.spans {
		if w.a < s.b && s.b < w.b {
			if _, ok := w.inner(s.b); !ok {
				return false
			}
		}
	}
	return true
}

// plain tells whether a tuplet over several beats is one that players know:
// notes of its unit, or over two beats also halves of them, but then none longer
// than the unit: a half note and two eighths under one 3 are not read at sight.
func (r *rhythm) plain(w window, beats int) bool {
	halves, long := false, false
	for _, s := range r.spans {
		x, _ := w.inner(max(s.a, w.a))
		y, _ := w.inner(min(s.b, w.b))
		long = long || y-x > w.unit()
		if w.a < s.b && s.b < w.b {
			if y%(w.unit()/2) != 0 {
				return false
			}
			halves = halves || y%w.unit() != 0
		}
	}
	return !halves || beats == 2 && !long
}

// below covers one node of the metre (a beat or a part of one).
func (r *rhythm) below(a, d theory.Dur, triple bool) ([]window, int) {
	lo, hi := max(a, r.start), min(a+d, r.end)
	if lo >= hi {
		return nil, 0
	}
	if !r.off(lo, hi) {
		return nil, costSign * r.signs(lo, hi, nil)
	}
	var best []window
	cost := costNever
	parts := theory.Dur(2)
	if triple {
		parts = 3
	}
	if part := d / parts; part*parts == d && part >= theory.SixtyFourth {
		best, cost = nil, 0
		for i := range parts {
			ws, c := r.below(a+i*part, part, false)
			best, cost = append(best, ws...), min(cost+c, costNever)
		}
	}
	if lo == a && hi == a+d {
		if w, c := r.tuplet(a, a+d, triple); c < cost {
			best, cost = []window{w}, c
		}
	}
	return best, cost
}

// plan chooses the tuplets of the bar. bad lists the beats that no tuplet fits.
func (r *rhythm) plan() (windows []window, bad []theory.Dur) {
	if !r.off(r.start, r.end) {
		return nil, nil
	}
	beat := r.metre.beat
	first := floorDiv(r.start, beat) * beat
	n := int(floorDiv(r.end-first+beat-1, beat))
	type state struct {
		cost    int
		windows []window
	}
	best := make([]state, n+1)
	for i := 1; i <= n; i++ {
		best[i].cost = costNever
	}
	try := func(from, to int, ws []window, c int) {
		if c >= costNever || best[from].cost >= costNever {
			return
		}
		// Of equals the later one: it reaches here by the smaller window.
		if c += best[from].cost; c <= best[to].cost {
			best[to] = state{c, append(best[from].windows[:len(best[from].windows):len(best[from].windows)], ws...)}
		}
	}
	perBar := int(r.metre.bar / beat)
	for i := range n {
		at := first + theory.Dur(i)*beat
		ws, c := r.below(at, beat, r.metre.compound)
		if c >= costNever {
			bad = append(bad, at)
			c = costNever / 64 // go on, so that a wider tuplet may still be found
		}
		try(i, i+1, ws, c)
		// A stretch without tuplets is counted as a whole, so that a long note
		// in it counts once.
		for k := 2; k <= longStretch && i+k <= n; k++ {
			lo, hi := max(at, r.start), min(at+theory.Dur(k)*beat, r.end)
			if r.off(lo, hi) {
				break
			}
			try(i, i+k, nil, costSign*r.signs(lo, hi, nil))
		}
		inBar := int(floorMod(at, r.metre.bar) / beat)
		for _, k := range []int{2, 3, 4} {
			wide := at + theory.Dur(k)*beat
			switch {
			case r.metre.compound || i+k > n || inBar+k > perBar || at < r.start || wide > r.end,
				perBar != 3 && (k == 3 || inBar%k != 0), perBar == 3 && k == 4, !r.off(at, wide):
				continue
			}
			if w, c := r.tuplet(at, wide, k == 3); c < costNever && r.plain(w, k) {
				try(i, i+k, []window{w}, c)
			}
		}
	}
	windows = best[n].windows
	// A bad beat inside a wider tuplet is no longer bad.
	kept := bad[:0]
	for _, at := range bad {
		covered := false
		for _, w := range windows {
			covered = covered || w.a <= at && at+beat <= w.b
		}
		if !covered {
			kept = append(kept, at)
		}
	}
	return windows, kept
}

// round moves the boundaries inside the given beats to the nearest places that
// can be written, by the grid that moves them least.
func (r *rhythm) round(beats []theory.Dur) (moved []theory.Dur) {
	for _, at := range beats {
		grids := []theory.Dur{theory.SixtyFourth}
		if at >= r.start && at+r.metre.beat <= r.end {
			if r.metre.compound {
				grids = append(grids, window{0, 1, 5, 3}.grid(), window{0, 1, 7, 6}.grid())
			} else {
				grids = append(grids, window{0, 1, 3, 2}.grid(), window{0, 1, 5, 4}.grid(), window{0, 1, 7, 4}.grid())
			}
		}
		near := func(p, g theory.Dur) theory.Dur { return at + floorDiv(p-at+g/2, g)*g }
		var grid theory.Dur
		least := theory.Dur(-1)
		for _, g := range grids {
			sum := theory.Dur(0)
			for _, s := range r.spans {
				if at < s.b && s.b < at+r.metre.beat {
					sum += max(near(s.b, g)-s.b, s.b-near(s.b, g))
				}
			}
			if least < 0 || sum < least {
				grid, least = g, sum
			}
		}
		for i := range r.spans {
			p := &r.spans[i].b
			if at < *p && *p < at+r.metre.beat {
				if q := near(*p, grid); q != *p {
					moved = append(moved, *p)
					*p = q
					if i+1 < len(r.spans) {
						r.spans[i+1].a = q
					}
				}
			}
		}
	}
	kept := r.spans[:0]
	for _, s := range r.spans {
		if s.a < s.b {
			kept = append(kept, s)
		}
	}
	r.spans = kept
	return moved
}
