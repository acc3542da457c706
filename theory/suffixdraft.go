package theory

// draft is what a suffix has said so far.
type draft struct {
	minor, dim, halfdim, aug, plainMajor bool
	majorSeventh                         bool // "maj" was said: sevenths are major
	ext                                  int  // 0, 6, 7, 9, 11 or 13
	sixNine                              bool
	power, alt                           bool
	sus2, sus4                           bool
	altered                              []Degree // of the fifth, ninth, eleventh, thirteenth
	added                                []Degree
	omitted                              []int
}

// contradicts tells of parts that cannot stand together.
func (d *draft) contradicts() bool {
	return d.alt && (d.minor || d.dim || d.halfdim || d.majorSeventh)
}

// tones turns the draft into degrees.
func (d *draft) tones() Degrees {
	if d.alt {
		return d.finish(DegreesOf(Degree{1, 0}, Degree{3, 0}, Degree{7, -1}, Degree{9, -1},
			Degree{9, 1}, Degree{11, 1}, Degree{13, -1}))
	}
	minor := d.minor || d.dim || d.halfdim
	t := DegreesOf(Degree{1, 0})
	switch {
	case d.sus2 || d.sus4:
		if d.sus2 {
			t = t.With(Degree{2, 0})
		}
		if d.sus4 {
			t = t.With(Degree{4, 0})
		}
	case d.power:
	case minor:
		t = t.With(Degree{3, -1})
	default:
		t = t.With(Degree{3, 0})
	}
	switch {
	case d.dim || d.halfdim:
		t = t.With(Degree{5, -1})
	case d.aug:
		t = t.With(Degree{5, 1})
	case !d.alters(5):
		t = t.With(Degree{5, 0})
	}
	if d.ext == 6 {
		t = t.With(Degree{6, 0})
		if d.sixNine && !d.alters(9) {
			t = t.With(Degree{9, 0})
		}
	}
	if d.ext >= 7 {
		t = t.With(Degree{7, d.seventh()})
	}
	if d.ext >= 9 && !d.alters(9) {
		t = t.With(Degree{9, 0})
	}
	// The eleventh is left out of 13 chords that have a major third.
	if (d.ext == 11 || d.ext == 13 && minor) && !d.sus4 && !d.alters(11) {
		t = t.With(Degree{11, 0})
	}
	if d.ext == 13 && !d.alters(13) {
		t = t.With(Degree{13, 0})
	}
	for _, a := range d.altered {
		t = t.With(a)
	}
	return d.finish(t)
}

func (d *draft) seventh() int8 {
	switch {
	case d.majorSeventh:
		return 0
	case d.dim:
		return -2
	}
	return -1
}

func (d *draft) alters(n int8) bool {
	for _, a := range d.altered {
		if a.Number == n {
			return true
		}
	}
	return false
}

// finish takes out what is omitted and puts in what is added.
func (d *draft) finish(t Degrees) Degrees {
	for _, n := range d.omitted {
		for _, x := range t.Number(n) {
			t = t.Without(x)
		}
	}
	third := len(t.Number(3)) > 0
	for _, a := range d.added {
		third = third && a != Degree{3, 0}
	}
	for _, a := range d.added {
		// m7add4 has an 11th; in 7(add3,4) and in a chord without a third the 4 is
		// the suspension.
		if third && d.ext >= 7 && a == (Degree{4, 0}) {
			a = Degree{11, 0}
		}
		t = t.With(a)
	}
	return t
}
