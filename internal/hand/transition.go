package hand

// The costs from one strike to the next, and over three notes in a row: what the
// search adds up.

import (
	"slices"

	"gradatim/score"
)

// link is what two strikes in a row have in common whatever their fingers.
type link struct {
	near     bool // a note and the chord after it lie under the hand together
	line     bool // the outer line leads on,
	x, y     int  // from this place to that,
	d        int  // so far
	overHeld bool // and over keys that are held
	tune     bool // a single note leads there, or from there
	stays    int  // keys that are down in both, by place
	stay     [MaxKeys][2]uint8
}

func (f *fingerer) link(s, t *stage, l *link) {
	*l = link{}
	if s.n == 1 && t.n == 1 {
		return
	}
	l.near = s.n == 1 && f.near(s, t)
	for i := range s.n {
		for j := range t.n {
			if s.down[i] == t.down[j] {
				l.stay[l.stays] = [2]uint8{uint8(i), uint8(j)}
				l.stays++
			}
		}
	}
	if l.x, l.y, l.line = f.line(s, t); l.line {
		l.d = f.way(s.down[l.x], t.down[l.y])
	}
	l.overHeld = slices.Contains(t.struck[:t.n], false)
	l.tune = t.n == 1 || s.strikes() == 1
}

// between is the cost of going from one strike to the next; it tells whether the
// hand is lifted between two notes.
func (f *fingerer) between(s, t *stage, l *link, a, b int) (cost int, lifted bool) {
	oa, ob := &s.opts[a], &t.opts[b]
	w := &f.w
	c, anchor := 0, false
	// Keys that stay keep their finger.
	for _, at := range l.stay[:l.stays] {
		switch {
		case oa.fingers[at[0]] == ob.fingers[at[1]]:
			anchor = true
		case !t.struck[at[1]] && t.Wait > 0 && t.Wait < 4*Lift:
			c += 3 * w.exchange // there is no time for a silent change
		case !t.struck[at[1]]:
			c += w.exchange
		case t.Wait < 2*Lift || l.stays == t.n && s.n == t.n && t.n > 1:
			c += w.recolour
		case s.n > 2 && t.n > 2:
			c += w.reshape
		default:
			c += w.restrike
		}
	}
	if t.join == 0 {
		return c, false
	}
	if s.Grace {
		c += f.leads(s, t, oa, ob)
	}
	if l.near && f.conflicts(s, t, a, b) {
		c += w.conflict
	}
	half := 0
	if t.join == 1 {
		half = 1
	}
	if s.n == 1 && t.n == 1 {
		v, up := f.step(s, t, int(oa.fingers[0]), int(ob.fingers[0]), half)
		return c + v, up
	}
	// Between chords: how far the hand moves, and where it stays, the line of its
	// outer side. A hand that moves has let go.
	shift := oa.thumb - ob.thumb
	if shift < 0 {
		shift = -shift
	}
	if l.line {
		c += f.sung(s, t, l, oa.fingers[l.x], ob.fingers[l.y], shift) >> half
		if t.Legato && half == 0 && !l.overHeld {
			c += f.slurred(l.d, int(oa.fingers[l.x]), int(ob.fingers[l.y]))
		}
	}
	if anchor { // the hand opens or closes in its place
		shift /= 2
	}
	if shift >= WhiteKey/2 {
		c += w.moves
	}
	c += w.move * int(min(shift, 2*WhiteKey)) / int(WhiteKey)
	if shift > 2*WhiteKey {
		c += w.farther * int(min(shift, 3*Octave)-2*WhiteKey) / int(WhiteKey)
	}
	return c, false
}

// slides tells whether a finger slides from a grace note to its main note: from a
// black key to the white one beside it.
func slides(k, l int) bool { return Black(k) && !Black(l) && (l == k+1 || l == k-1) }

// leads is the cost of the fingers of a grace note and its main note, the nearest
// key struck after it: one finger where it slides, else neighbours on a step, in
// the order of the keys.
func (f *fingerer) leads(s, t *stage, oa, ob *option) int {
	i, j, ok := f.graced(s, t)
	if !ok {
		return 0
	}
	k, l := s.down[i], t.down[j]
	g, m := int(oa.fingers[i]), int(ob.fingers[j])
	if f.way(k, l) < 0 {
		g, m = m, g
	}
	slide := slides(k, l)
	switch {
	case slide && g == m:
		return f.w.slide
	case m-g == 1 && slide:
		return f.w.noSlide
	case m-g == 1 || m-g == 2 && Distance(k, l) > 2*WhiteKey-BlackKey:
		return 0
	}
	return f.w.crush
}

// graced returns the places of a grace note and of its main note.
func (f *fingerer) graced(s, t *stage) (i, j int, ok bool) {
	i, j = s.outer(), -1
	if i < 0 {
		return 0, 0, false
	}
	for n := range t.n {
		if t.struck[n] && t.down[n] != s.down[i] && (j < 0 || Distance(s.down[i], t.down[n]) < Distance(s.down[i], t.down[j])) {
			j = n
		}
	}
	return i, j, j >= 0 && Distance(s.down[i], t.down[j]) <= 3*WhiteKey
}

// line returns the places of the outermost key let go and of the outermost one
// struck then, where one leads to the other.
func (f *fingerer) line(s, t *stage) (x, y int, ok bool) {
	x, y = s.n-1, t.outer()
	if y < 0 || s.Grace {
		return 0, 0, false
	}
	for x >= 0 && slices.Contains(t.down[:t.n], s.down[x]) {
		if t.struck[slices.Index(t.down[:t.n], s.down[x])] {
			return 0, 0, false // the line stays on its key
		}
		x--
	}
	return x, y, x >= 0
}

// sung is the cost of the fingers of the outer line from chord to chord, which the
// hand sings: joined where it lies over keys that are held, else as far as the
// hand stays.
func (f *fingerer) sung(s, t *stage, l *link, a, b uint8, shift Length) int {
	w, d := &f.w, l.d
	v := int(f.pairs[a][b][d+farStep])
	crossed := d > 0 && b < a || d < 0 && b > a
	if l.overHeld {
		if crossed {
			return min(v, w.overHeld+w.overHeld/2) + f.overtakes(t, d, int(a), int(b))
		}
		if a == b { // not joined
			return min(v, 2*w.overHeld) + f.slurs(t, d, int(a), int(b))
		}
		return min(v, w.overHeld)
	}
	if l.tune && f.h == score.Right && d <= 4 && d >= -4 {
		c := 0
		switch {
		case a == b:
			c = w.sameLine
		case crossed && s.n > 1 && t.n > 1 && shift >= 3*WhiteKey/2:
			c = w.sameLine / 2
		case crossed:
			c = w.sameLine + w.sameLine/4
		}
		if c > 0 && l.near {
			return 0 // conflicts counts it
		}
		if c > 0 && s.strikes() == 1 && shift >= 3*WhiteKey/2 { // the hand leaves the note for its chord
			c /= 2
		}
		if c > 0 {
			return c
		}
	}
	if shift >= 3*WhiteKey/2 {
		return 0
	}
	if s.n > 1 && t.n > 1 && a == b {
		return w.sameOuter
	}
	return min(v/2, w.sameFinger/2) // chords need not be joined
}

// near tells whether a note and the chord after it lie under the hand together,
// so that one position takes both.
func (f *fingerer) near(s, t *stage) bool {
	if t.n >= MaxKeys || t.join == 0 || slices.Contains(t.down[:t.n], s.down[0]) {
		return false
	}
	var both [MaxKeys]int
	copy(both[:], t.down[:t.n])
	both[t.n] = s.down[0]
	return f.p.Comfortable(f.h, both[:t.n+1])
}

// conflicts tells whether the fingers of a note and of the chord after it do not
// stand in the order of their keys, or stretch beyond what they span: they
// belong to two positions of the hand.
func (f *fingerer) conflicts(s, t *stage, a, b int) bool {
	g := s.opts[a].fingers[0]
	main := -1
	if s.Grace {
		if _, j, ok := f.graced(s, t); ok {
			main = j // leads judges it
		}
	}
	for i, k := range t.down[:t.n] {
		if i == main {
			continue
		}
		h := t.opts[b].fingers[i]
		lo, hi := g, h
		if f.way(s.down[0], k) < 0 {
			lo, hi = h, g
		}
		if lo >= hi || Distance(s.down[0], k) > f.reach[lo][hi] {
			return true
		}
	}
	return false
}

// step is the cost of two single notes in a row, joined or with the hand lifted
// in between, whichever is less; it tells whether the hand is lifted.
func (f *fingerer) step(s, t *stage, a, b, half int) (cost int, lifted bool) {
	k, l := s.down[0], t.down[0]
	d := t.from
	c := f.joined(s, t, d, a, b, half)
	if k == l {
		return c, false
	}
	if t.Legato && half == 0 {
		c += f.slurred(d, a, b)
		if f.ways[a][b][d+farStep] >= int16(2*f.w.aloft) {
			c += f.w.amid
		}
	} else if t.Wait >= 2*Lift && (d > 2 && b == 1 && a > 1 || d < -2 && a == 1 && b > 1) {
		c += f.w.turn
	}
	if (t.Wait < Lift || t.Legato) && !f.far(d) {
		return c, false
	}
	if v := (f.hop(a, b, d, t.Wait) + f.overtakes(t, d, a, b)) >> half; v < c {
		return v, true
	}
	return c, false
}

// overtakes is what it costs in haste that a finger other than the thumb gets past another.
func (f *fingerer) overtakes(t *stage, d, a, b int) int {
	if t.Wait <= 0 || t.Wait >= haste || a == 1 || b == 1 || d == 0 || (d > 0) == (b >= a) || f.far(d) || a == 5 && d > 5 {
		return 0 // from the little finger the whole hand goes on
	}
	return f.w.overtake
}

// hurried tells whether fingers may be late from one strike to the next.
func (f *fingerer) hurried(s, t *stage) bool {
	return t.Wait > 0 && t.Wait <= Lift && !s.Grace && !t.Grace
}

// late tells whether a finger is late from one strike to the next, as Profile.Late does.
func (f *fingerer) late(s, t *stage, a, b int) bool {
	turn := Turn{Time: t.Wait, Chord: s.strikes() > 1 && t.strikes() > 1}
	for i, k := range t.down[:t.n] {
		turn.Held = turn.Held || !t.struck[i] && slices.Contains(s.down[:s.n], k)
	}
	for i, k := range s.down[:s.n] {
		if !s.struck[i] {
			continue
		}
		from := Touch{k, s.opts[a].fingers[i]}
		for j, l := range t.down[:t.n] {
			if !t.struck[j] {
				continue
			}
			to := Touch{l, t.opts[b].fingers[j]}
			turn.Next = !t.Rolled
			if f.p.Late(f.h, from, to, turn) != InTime {
				return true
			}
		}
	}
	return false
}

// slurs is slurred where a slur joins the strike.
func (f *fingerer) slurs(t *stage, d, a, b int) int {
	if !t.Legato {
		return 0
	}
	return f.slurred(d, a, b)
}

// slurred is what two fingers cost on two keys under a slur, d twelfths apart, beyond
// what they cost anyway: one finger cannot join two keys, and a step wants the finger
// beside the one before, or the thumb to pass. What no two fingers span is not joined.
// Common practice, no source.
func (f *fingerer) slurred(d, a, b int) int {
	if d == 0 || f.far(d) {
		return 0
	}
	if a == b {
		return f.w.slurred
	}
	if d > 2 || d < -2 {
		return 0
	}
	by := b - a
	if d < 0 {
		by = -by
	}
	switch {
	case by < 0 && min(a, b) > 1: // against the keys
		return f.w.skips[2]
	case by < 0 && by > -4: // the thumb passes
		return 0
	case by < 0:
		by = -by
	}
	return f.w.skips[by]
}

// joined is the cost of two single notes in a row, d twelfths apart, played
// without a gap.
func (f *fingerer) joined(s, t *stage, d, a, b, half int) int {
	w := &f.w
	k, l := s.down[0], t.down[0]
	if k == l {
		switch {
		case a == b && t.Quick:
			return w.tremor
		case a != b && t.Quick:
			if b < a || a == 1 { // 3 2 1 3 2 1
				return 0
			}
			return w.restrike / 2
		case a != b:
			return w.restrike
		}
		return 0
	}
	if a == b && s.Grace && slides(k, l) {
		return 0 // leads counts it
	}
	c := int(f.pairs[a][b][d+farStep]) >> half
	c += f.overtakes(t, d, a, b)
	if t.Wait >= 2*Lift && a > 1 && b > 1 && (a-b == 1 || b-a == 1) && (d >= 5 || d <= -5) {
		c += w.splay >> half
	}
	bk, bl := Black(k), Black(l)
	open := t.Wait >= Lift // time to reach in between the black keys
	if a == 3 && b == 4 {
		c += w.threeFour
	}
	if a == 1 && bk && !bl {
		c += w.thumbWhite
	}
	if b == 1 && bl && !bk {
		c += w.thumbWhite
	}
	if a == 5 && bk && !bl && !(open && d <= -3) {
		c += w.fiveWhite
	}
	if b == 5 && bl && !bk && !(open && d >= 3) {
		c += w.fiveWhite
	}
	// Thumb passing: away from the thumb's side onto the thumb, or back over it.
	if a > 1 && b == 1 && d > 0 || a == 1 && b > 1 && d < 0 {
		thumbBlack, otherBlack := bl, bk
		if a == 1 {
			thumbBlack, otherBlack = bk, bl
		}
		switch {
		case thumbBlack == otherBlack:
			c += w.pass
		case thumbBlack:
			c += w.passBlack
		}
	}
	return c
}

// comesBack tells whether the outer line of a hand comes back under a slur to the key that
// it left for one strike, and gives its places.
func comesBack(r, s, t *stage) (x, y int, ok bool) {
	x, y = r.outer(), t.outer()
	return x, y, t.Legato && s.Legato && x >= 0 && y >= 0 && r.down[x] == t.down[y] && !slices.Contains(s.down[:s.n], t.down[y])
}

// change is the cost of three fingers in a row (rules 4 and 5): the hand changes
// its position where the first and third note lie further apart, or nearer, than
// their fingers do in comfort; altogether where the thumb passes in between.
func (f *fingerer) change(a, b, c, d int, mid, slow bool) int32 {
	if a == c {
		// The same finger twice: the hand has moved by the whole distance.
		if d == 0 {
			return 0
		}
		n := f.w.change
		far := 12
		if b == 1 && mid && slow {
			far = f.w.pivot
		}
		return int32(n + f.w.changeSize*min(max(d, -d), far))
	}
	lo, hi := a, c
	if lo > hi {
		lo, hi, d = hi, lo, -d
	}
	s := &f.spans[lo][hi]
	off := 0
	if d == 0 {
		return int32(f.w.there)
	}
	switch {
	case d > s.MaxComf:
		off = d - s.MaxComf
	case d < s.MinComf:
		off = s.MinComf - d
	default:
		return 0
	}
	n := f.w.change
	if b == 1 && mid && (d > s.MaxPrac || d < s.MinPrac) {
		n *= 2
	}
	return int32(n + f.w.changeSize*min(off, 12))
}

// inside tells whether the middle key lies between the outer ones.
func (f *fingerer) inside(a, b, c int) bool { return a < b && b < c || a > b && b > c }
