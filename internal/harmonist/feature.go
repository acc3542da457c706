package harmonist

// note is called with each feature that is there: its weight's place, and how much of it.
type note func(at int, x float64)

// form is a place in the form of the tune.
type form uint8

const (
	lastBar form = iota
	barBeforeLast
	lastOfSection
	barBeforeLastOfSection
	opening   // the first beat of a section
	phraseEnd // the bar in which a phrase ends
	phraseStart
	lastBeat
	forms
)

// place tells each slot where in the form it lies.
func (h *heard) place() {
	for i := range h.slots {
		s := &h.slots[i]
		for f, yes := range [forms]bool{
			lastBar:                s.bar == len(h.bars)-1,
			barBeforeLast:          s.bar == len(h.bars)-2,
			lastOfSection:          s.closes,
			barBeforeLastOfSection: s.beforeEnd,
			opening:                s.opens,
			phraseEnd:              s.breathes,
			phraseStart:            s.starts,
			lastBeat:               i == len(h.slots)-1,
		} {
			if yes {
				s.forms |= 1 << f
			}
		}
	}
}

// features calls f with each feature of a chord in a slot, but for those of changing.
// number is the state's in its palette.
func features(h *heard, i, number int, g Group, f note) {
	ofBar(h, i, number, g, f)
	ofBeat(h, i, number, f)
}

// ofBeat are those that differ from beat to beat.
func ofBeat(h *heard, i, number int, f note) {
	sl := &h.slots[i]
	mode, over, deg := h.looks(i, number)
	for _, p := range sl.pieces {
		o := over(p.class)
		f(wTone+o, p.long)
		f(wHeard+o*int(sounds)+int(p.how), p.long)
		if p.how == onStrong || p.how == onWeak {
			f(wStruck+o*2+int(p.how), 1)
		}
		f(wDegree[mode]+deg(p.class), p.long)
	}
	if i+1 < len(h.slots) {
		for _, p := range h.slots[i+1].pieces {
			f(wNext+over(p.class), p.long)
		}
	}
	f(wPlace[mode]+number*int(places)+int(sl.place), 1)
	for k := range forms {
		if sl.forms&(1<<k) != 0 {
			f(wForm[mode]+number*int(forms)+int(k), 1)
		}
	}
	if sl.goal >= 0 {
		f(wGoal[mode]+deg(sl.goal), 1)
	}
}

// ofBar are those that all beats of a bar share.
func ofBar(h *heard, i, number int, g Group, f note) {
	sl := &h.slots[i]
	r := &h.regions[sl.region]
	mode, over, deg := h.looks(i, number)
	b := &h.bars[sl.bar]
	for c, x := range b.by {
		if x > 0 {
			f(wInBar+over(c), x)
		}
	}
	if sl.bar+1 < len(h.bars) {
		n := &h.bars[sl.bar+1]
		if n.first >= 0 {
			f(wFirst[mode]+deg(n.first), 1)
		}
		for c, x := range n.by {
			if x > 0 {
				f(wAfter[mode]+deg(c), x)
			}
		}
	}
	if sl.bar > 0 {
		for c, x := range h.bars[sl.bar-1].by {
			if x > 0 {
				f(wBefore[mode]+deg(c), x)
			}
		}
	}
	if b.longest >= 0 {
		f(wLong[mode]+deg(b.longest), 1)
	}
	if k := len(h.bars) - 1 - sl.bar; k < 8 {
		f(wEnd[mode]+number*8+k, 1)
	}
	f(wBar[mode]+number*16+b.sixteen, 1)
	f(wHyper[mode]+number*8+sl.hyper, 1)
	f(wChord[mode]+number, 1)
	f(wGroup[mode]+number*int(groups)+int(g), 1)
	f(wMode[mode]+number*3, r.low7)
	f(wMode[mode]+number*3+1, r.high7)
	f(wMode[mode]+number*3+2, r.low6)
}

// looks tells how a state of a slot sees a class: over its root, and as a degree.
func (h *heard) looks(i, number int) (mode int, over, deg func(class int) int) {
	key := h.regions[h.slots[i].region].key
	mode = paletteOf(key)
	st := palettes[mode][number]
	tonic := key.Tonic.Class()
	root, q := tonic+st.above, int(st.triad)*12
	return mode, func(class int) int { return q + (class-root+24)%12 }, func(class int) int { return number*12 + (class-tonic+12)%12 }
}

// changing calls f with each feature of a change of chord at a slot.
func changing(h *heard, i int, g Group, r int, f note) {
	sl := &h.slots[i]
	f(wChange+(int(sl.place)*metres+h.metre)*rhythms+r, 1)
	f(wChangeOf+int(sl.place)*int(groups)+int(g), 1)
	for k := range forms {
		if sl.forms&(1<<k) != 0 {
			f(wChangeAt+int(k), 1)
		}
	}
	if !sl.struck {
		f(wChangeAt+int(forms), 1)
	}
}

// pacing calls f with each feature of a harmonic rhythm.
func pacing(h *heard, g Group, r int, f note) {
	at := wRhythm + r*(int(groups)+metres+1)
	f(at+int(g), 1)
	f(at+int(groups)+h.metre, 1)
	f(at+int(groups)+metres, h.density)
}
