package hand

import (
	"slices"

	"gradatim/score"
)

// alike asks for the same fingers where the music repeats itself.
func (f *fingerer) alike(stages []stage) {
	f.runs(stages)
	if f.h == score.Left {
		f.basses(stages)
	}
	f.figures(stages)
	f.broken(stages)
}

// asks has a stage of one key ask for a finger.
func (s *stage) asks(finger uint8, pull int) {
	s.want, s.pull = [MaxKeys]uint8{finger}, pull
}

// basses finds what an accompaniment sets its hand by: a bass note with the chord
// that follows it under the same hand, which is fingered as one chord; a low note
// from which the hand opens upwards, and one that stands by itself, which the
// little finger takes. In haste the line decides.
func (f *fingerer) basses(stages []stage) {
	var pool [10]option
	for i := range stages {
		s := &stages[i]
		if !s.single() || !s.struck[0] || s.pull > 0 || s.Grace {
			continue
		}
		if i+1 == len(stages) {
			if s.Wait >= 6*Lift && !f.lies(stages, i) && !(i > 0 && f.inner(&stages[i-1], s)) {
				s.asks(5, f.w.root)
			}
			continue
		}
		t := &stages[i+1]
		if t.n > 1 && t.n < 4 && t.join > 0 && t.pull == 0 && !slices.Contains(t.struck[:t.n], false) && t.down[0] > s.down[0] &&
			f.way(t.down[t.n-1], s.down[0]) > 2 && f.near(s, t) {
			down := append(slices.Clone(t.down[:t.n]), s.down[0])
			if best := f.easiest(down, pool[:0]); best != nil {
				s.asks(best.fingers[t.n], f.w.bass)
				t.pull = f.w.bass
				copy(t.want[:], best.fingers[:t.n])
			}
			continue
		}
		if i > 0 && f.inner(&stages[i-1], s) {
			down := []int{stages[i-1].down[0], s.down[0], stages[i-1].down[1]}
			if best := f.easiest(down, pool[:0]); best != nil {
				s.asks(best.fingers[1], f.w.bass)
			}
			continue
		}
		up := 0
		if t.single() && t.struck[0] {
			up = f.way(t.down[0], s.down[0])
		}
		fifth := up > 0 && t.down[0]-s.down[0] == 7 && t.Wait >= 3*Lift
		alone := !fifth && !f.lies(stages, i) && (t.Wait >= 6*Lift || t.Wait >= 3*Lift && t.single() && t.down[0] == s.down[0]) && (i == 0 || s.Wait >= 6*Lift)
		opens := !alone && t.Wait >= 3*Lift && up >= 5 && (fifth || i == 0 || f.way(stages[i-1].down[0], s.down[0]) >= 5)
		if opens || alone {
			s.asks(5, f.w.root)
		}
		if opens && up <= 12 && t.pull == 0 {
			t.asks(1, f.w.root/2)
		}
	}
}

// inner tells whether a note lies between the two keys that the hand has just struck: it is
// no bass, but the middle of their chord.
func (f *fingerer) inner(s, t *stage) bool {
	return s.n == 2 && t.join > 0 && f.way(s.down[0], t.down[0]) > 2 && f.way(t.down[0], s.down[1]) > 2
}

// easiest is the cheapest way to hold keys together, from the thumb's side; nil: no fingers can.
func (f *fingerer) easiest(down []int, pool []option) (best *option) {
	opts := f.options(down, &Strike{}, pool)
	for j := range opts {
		if o := &opts[j]; !o.forced && (best == nil || o.cost < best.cost) {
			best = o
		}
	}
	return best
}

// lies tells whether the hand that plays a low note has another beneath it, less than an
// octave away, next to it or one note further on, without leaving for what stands in
// between: it keeps room for that one.
func (f *fingerer) lies(stages []stage, i int) bool {
	for _, by := range [...]int{-1, 1} {
		for j := i + by; j >= 0 && j < len(stages) && (j-i)*by <= 2; j += by {
			d := f.way(stages[i].down[0], stages[j].down[0])
			if !stages[j].single() || !stages[j].struck[0] || d >= 12 || d <= -12 {
				break
			}
			if d > 0 {
				return true
			}
		}
	}
	return false
}

// broken finds chords of three notes played slowly one after the other and back
// to the first, within the hand, and asks for the fingers of the chord.
func (f *fingerer) broken(stages []stage) {
	var pool [10]option
	for i := 0; i+3 < len(stages); i++ {
		s := stages[i : i+4]
		fits := s[0].down[0] == s[3].down[0]
		for j := range s {
			fits = fits && s[j].single() && s[j].pull == 0 && (j == 0 || s[j].join == 2 && s[j].Wait >= Lift)
		}
		if !fits || !f.inside(s[0].down[0], s[1].down[0], s[2].down[0]) {
			continue
		}
		down := []int{s[0].down[0], s[1].down[0], s[2].down[0]}
		if f.way(down[0], down[1]) < 0 {
			slices.Reverse(down)
		}
		if f.way(down[0], down[1]) < 3 || f.way(down[1], down[2]) < 3 || f.way(down[0], down[2]) > f.spans[1][5].MaxRel {
			continue
		}
		best := f.easiest(down, pool[:0])
		if best == nil {
			continue
		}
		for j := range s {
			s[j].asks(best.fingers[slices.Index(down, s[j].down[0])], f.w.alike)
		}
	}
}

// runs finds scales and broken chords that go on through the octaves and asks
// for the same finger on the same key in each octave, up and down.
//
// The finger for each key of the octave is found on its own first: the cheapest
// endless run, up and down again, is the cheapest cycle, found exactly by
// dynamic programming from each pair of first fingers. The search then pays for
// each note of the run that is fingered otherwise, so that the ends of a run
// keep their freedom.
func (f *fingerer) runs(stages []stage) {
	known := map[classSet][12]uint8{}
	for i := 0; i < len(stages); {
		end, period := runFrom(stages, i)
		if period == 0 {
			i++
			continue
		}
		keys := make([]int, 0, 8)
		for j := i; j < i+period; j++ {
			keys = append(keys, stages[j].down[0])
		}
		slices.Sort(keys)
		set := classSetOf(keys, stages[i].down[0], period)
		fingers, ok := known[set]
		if !ok {
			fingers = f.cycle(keys, stages[i].down[0])
			known[set] = fingers
		}
		for j := i; j < end; j++ {
			stages[j].asks(fingers[class(stages[j].down[0])], f.w.alike)
		}
		i = end - 1 // the note on which a run turns begins the way back
	}
}

// class is a key's place in the octave.
func class(key int) int { return ((key % 12) + 12) % 12 }

// classSet names the keys of an octave that a run uses and, for a broken chord,
// the one it begins with: its inversion. A scale keeps its fingers wherever it
// begins, so the first one of a piece speaks for all.
type classSet struct {
	classes uint16
	first   int8
}

func classSetOf(keys []int, first, period int) classSet {
	var s classSet
	for _, k := range keys {
		s.classes |= 1 << class(k)
	}
	s.first = -1
	if period <= 4 {
		s.first = int8(class(first))
	}
	return s
}

// runFrom returns where a run that begins at a stage ends, and how many keys it
// has in an octave; 0: no run begins here. A run goes one way in single joined
// notes, three to eight in an octave, for an octave and a note at least.
func runFrom(stages []stage, i int) (end, period int) {
	if i+1 >= len(stages) || !stages[i].single() || !stages[i+1].single() || stages[i+1].join != 2 {
		return i, 0
	}
	up := stages[i+1].down[0] > stages[i].down[0]
	j := i + 1
	for j < len(stages) && stages[j].single() && stages[j].join == 2 {
		if k, l := stages[j-1].down[0], stages[j].down[0]; k == l || l > k != up {
			break
		}
		if j-i >= 3 && period == 0 {
			if d := stages[j].down[0] - stages[i].down[0]; d == 12 || d == -12 {
				period = j - i
			} else if d > 12 || d < -12 || j-i > 8 {
				return i, 0
			}
		}
		if period > 0 {
			if d := stages[j].down[0] - stages[j-period].down[0]; d != 12 && d != -12 {
				break
			}
		}
		j++
	}
	if period < 3 || j-i < period+2 {
		return i, 0
	}
	return j, period
}

// cycle returns the finger of each pitch class in an endless run over the keys
// (one octave, ascending) that begins on a key.
func (f *fingerer) cycle(keys []int, first int) (out [12]uint8) {
	n := len(keys)
	// From the first key away from the thumb's side: the left hand counts down.
	from := 0
	for i, k := range keys {
		if class(k) == class(first) {
			from = i
		}
	}
	ks := make([]stage, n+2)
	var at Strike
	for i := range ks {
		j := from + i
		if f.h == score.Left {
			j = from - i + 2*n
		}
		ks[i].Strike, ks[i].n, ks[i].down[0], ks[i].join = &at, 1, keys[j%n]+12*(j/n), 2
	}
	r := newRing(n)
	for i := range n {
		next := f.way(ks[i].down[0], ks[i+1].down[0])
		for a := 1; a <= 5; a++ {
			one := 0
			if a == 4 { // the longer group last: 1 2 3, 1 2 3 4
				one += f.w.weak
				if n > 4 {
					one += f.w.late * (n - 1 - i)
				}
			}
			if a == 1 && Black(ks[i].down[0]) {
				one += f.w.thumbBlack
			}
			if i == 0 && !Black(ks[i].down[0]) && a != 1 {
				one += f.w.start
			}
			for b := 1; b <= 5; b++ { // there and back
				r.pair[i][a][b] += int32(one + f.joined(&ks[i], &ks[i+1], next, a, b, 0) + f.joined(&ks[i+1], &ks[i], -next, b, a, 0))
			}
		}
		d := f.way(ks[i].down[0], ks[i+2].down[0])
		r.add(f, i, d, true)
		r.add(f, i, -d, true)
	}
	for i, g := range r.solve() {
		out[class(ks[i].down[0])] = g
	}
	return out
}

// ring holds the costs of a figure that repeats for ever: pair[i] from its note
// i to the next, three[i] of note i and the two after it.
type ring struct {
	n     int
	pair  [][6][6]int32
	three [][6][6][6]int32
}

func newRing(n int) *ring {
	return &ring{n: n, pair: make([][6][6]int32, n), three: make([][6][6][6]int32, n)}
}

// add adds the rules for three notes, the first of them note i, the last d
// twelfths from it.
func (r *ring) add(f *fingerer, i, d int, mid bool) {
	for a := 1; a <= 5; a++ {
		for b := 1; b <= 5; b++ {
			for c := 1; c <= 5; c++ {
				r.three[i][a][b][c] += f.change(a, b, c, d, mid, false)
			}
		}
	}
}

// solve returns the fingers of the cheapest endless repetition, by dynamic
// programming round the ring from each pair of first fingers.
func (r *ring) solve() []uint8 {
	const far = int32(1) << 30
	n := r.n
	best := far
	found := make([]uint8, n+2)
	back := make([][6][6]uint8, n+2)
	for a0 := 1; a0 <= 5; a0++ {
		for b0 := 1; b0 <= 5; b0++ {
			var cost [6][6]int32
			for a := range cost {
				for b := range cost[a] {
					cost[a][b] = far
				}
			}
			cost[a0][b0] = r.pair[0][a0][b0]
			for i := 1; i <= n; i++ {
				var next [6][6]int32
				for b := 1; b <= 5; b++ {
					for c := 1; c <= 5; c++ {
						next[b][c] = far
						for a := 1; a <= 5; a++ {
							if cost[a][b] == far {
								continue
							}
							v := cost[a][b] + r.three[i-1][a][b][c]
							if i < n {
								v += r.pair[i][b][c]
							}
							if v < next[b][c] {
								next[b][c] = v
								back[i+1][b][c] = uint8(a)
							}
						}
					}
				}
				cost = next
			}
			// After n steps the figure stands on its first two fingers again.
			if v := cost[a0][b0]; v < best {
				best = v
				found[n], found[n+1] = uint8(a0), uint8(b0)
				for i := n + 1; i >= 2; i-- {
					found[i-2] = back[i][found[i-1]][found[i]]
				}
			}
		}
	}
	return found[:n]
}

// Figures that are repeated on other keys, or the same, are fingered alike where
// they turn back within the figure and are heard three times at least.
const (
	shortestFigure = 2
	longestFigure  = 8
	fewestFigures  = 3
)

// figures finds figures that are repeated higher or lower (sequences) or on the
// spot and asks for the same fingers each time. The fingers are those of the
// cheapest repetition, its costs summed over all the keys it is played on.
func (f *fingerer) figures(stages []stage) {
	var known [longestFigure + 1]lastly
	for i := 0; i < len(stages); {
		end, period := f.figureFrom(stages, i, &known)
		if period == 0 {
			i++
			continue
		}
		r := newRing(period)
		for j := i; j < end; j++ {
			s := &stages[j]
			slot := (j - i) % period
			for a := 1; a <= 5; a++ {
				one := 0
				if a == 4 {
					one += f.w.weak
				}
				if a == 1 && Black(s.down[0]) {
					one += f.w.thumbBlack
				}
				for b := 1; b <= 5; b++ {
					r.pair[slot][a][b] += int32(one)
					if j+1 < end {
						c, _ := f.step(s, &stages[j+1], a, b, 0)
						r.pair[slot][a][b] += int32(c)
					}
				}
			}
			if j+2 < end {
				r.add(f, slot, f.way(s.down[0], stages[j+2].down[0]), f.inside(s.down[0], stages[j+1].down[0], stages[j+2].down[0]))
			}
		}
		fingers := r.solve()
		for j := i; j < end; j++ {
			stages[j].asks(fingers[(j-i)%period], f.w.figure)
		}
		i = end
	}
}

// lastly is what is known of the repetitions of figures of one length, from the stage
// looked at before on: a figure that begins later does not end sooner.
type lastly struct {
	end   int
	still bool // up to there the hand keeps its position
}

// figureFrom returns where the repetitions of a figure that begins at a stage
// end, and its number of notes; 0: none begins here. Of several, the shortest
// figure. It is asked of one stage after the other.
func (f *fingerer) figureFrom(stages []stage, i int, known *[longestFigure + 1]lastly) (end, period int) {
	for p := shortestFigure; p <= longestFigure; p++ {
		was := &known[p]
		if was.end <= i+p {
			*was = lastly{end: repeats(stages, i, p)}
		}
		j := was.end
		if was.still || j-i < fewestFigures*p || !turns(stages[i:i+p+1]) {
			continue
		}
		if f.leaves(stages[i:j]) {
			return j, p
		}
		was.still = true
	}
	return i, 0
}

// repeats finds where the line that begins at a stage ends, or no longer repeats itself
// after p notes.
func repeats(stages []stage, i, p int) int {
	for j := i + 1; j < len(stages); j++ {
		s, before := &stages[j], &stages[j-1]
		if !s.single() || !before.single() || s.join != 2 || s.pull != 0 || s.down[0] == before.down[0] {
			return j
		}
		if j-i > p {
			t := &stages[j-p]
			if d := s.from - t.from; (s.down[0] > before.down[0]) != (t.down[0] > stages[j-p-1].down[0]) || d > 1 || d < -1 {
				return j
			}
		}
	}
	return len(stages)
}

// turns tells whether a line of single notes changes its direction.
func turns(stages []stage) bool {
	for j := 2; j < len(stages); j++ {
		if (stages[j-1].down[0] < stages[j].down[0]) != (stages[j-2].down[0] < stages[j-1].down[0]) {
			return true
		}
	}
	return false
}

// leaves tells whether the notes do not lie under one position of the hand; where
// they do, the position decides and not the figure.
func (f *fingerer) leaves(stages []stage) bool {
	lo, hi := stages[0].down[0], stages[0].down[0]
	for i := range stages {
		lo, hi = min(lo, stages[i].down[0]), max(hi, stages[i].down[0])
	}
	return Twelfths(lo, hi) > f.spans[1][5].MaxRel
}
