package musicxml

import (
	"cmp"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// lane is one part laid out in time: every note and sign of a bar has its place
// from the start of the bar.
type lane struct {
	*part
	bars   []laneBar
	staves int
}

type laneBar struct {
	content  theory.Dur // how far the notes reach
	notes    []placed
	chords   []placedHarmony
	signs    []placedDirection
	clefs    []placedClef
	barlines []*barline
	key      theory.Key // zero: not declared so far
	modal    bool       // the key's mode is declared
	oddKey   bool       // declared, but no key of ours
	meter    leadsheet.Meter
	metered  bool // declared so far
	free     bool // senza misura
	newLine  bool
	phrase   bool            // a phrase begins with the bar
	part     string          // and a part of the page
	iv       theory.Interval // what written pitches are moved by
}

// placed is a note with its place. The pitch sounds.
type placed struct {
	*note
	at, end theory.Dur
	pitch   theory.Pitch
}

type placedHarmony struct {
	*harmony
	at theory.Dur
}

type placedDirection struct {
	*direction
	at theory.Dur
}

type placedClef struct {
	clef
	at theory.Dur
}

// layer lays a part out.
type layer struct {
	r     *reader
	loud  bool // tell what is wrong
	out   *lane
	index int // of the bar

	divisions   frac
	divided     bool
	key         theory.Key
	modal, odd  bool
	meter       leadsheet.Meter
	metered     bool
	free        bool
	iv          theory.Interval
	pos, far    frac
	last        frac // start of the note before, for chords
	rounded     bool
	pendingKey  *attributes // changes inside a bar, for the next one
	pendingFrom theory.Dur
}

// lay lays out a part; loud tells whether its faults are worth a Problem. It
// stops at an Error.
func (r *reader) lay(p *part, loud bool) (*lane, bool) {
	l := &layer{r: r, loud: loud, out: &lane{part: p, bars: make([]laneBar, len(p.measures))}, divisions: frac{1, 1}}
	for i, m := range p.measures {
		l.index = i
		if !l.bar(m, &l.out.bars[i]) {
			return nil, false
		}
	}
	return l.out, true
}

func (l *layer) warn(line int, at theory.Dur, says leadsheet.Saying, parts ...any) {
	if l.loud {
		l.r.warnAt(place{line: line, bar: l.index, at: at, timed: true}, says, parts...)
	}
}

func (l *layer) bar(m *measure, b *laneBar) bool {
	l.pos, l.far, l.last, l.rounded = frac{0, 1}, frac{0, 1}, frac{0, 1}, false
	if l.pendingKey != nil {
		l.keysAndTimes(l.pendingKey)
		l.pendingKey = nil
	}
	for _, it := range m.items {
		switch it := it.(type) {
		case *attributes:
			l.attributes(it, b)
		case *note:
			l.note(it, b)
		case *shift:
			l.pos = l.pos.add(l.quarters(it.by))
			if l.pos.n < 0 {
				l.warn(it.line, 0, "backup-too-far")
				l.pos = frac{0, 1}
			}
			l.reach(l.pos)
		case *harmony:
			b.chords = append(b.chords, placedHarmony{it, l.offset(it.offset)})
		case *direction:
			b.signs = append(b.signs, placedDirection{it, l.offset(it.offset)})
		case *barline:
			b.barlines = append(b.barlines, it)
		case *layout:
			if l.pos.zero() {
				b.newLine = b.newLine || it.system
				b.phrase = b.phrase || it.phrase
				b.part = cmp.Or(it.part, b.part)
			}
		}
		if l.far.n > maxBarLength*l.far.d {
			return l.r.failAt(place{line: m.line, bar: l.index}, "bar-too-long.quarters", "Most", maxBarLength)
		}
	}
	b.content, _ = l.far.snap(l.divisions)
	b.key, b.modal, b.oddKey = l.key, l.modal, l.odd
	b.meter, b.metered, b.free = l.meter, l.metered, l.free
	b.iv = l.iv
	if l.pendingKey != nil && l.pendingFrom < b.content {
		l.warn(l.pendingKey.line, l.pendingFrom, "change-inside-bar")
	}
	return true
}

// quarters turns ticks into quarters.
func (l *layer) quarters(ticks frac) frac {
	if !l.divided {
		l.divided = true // once is enough
		l.warn(0, 0, "divisions-missing")
	}
	f := reduced(ticks.n*l.divisions.d, ticks.d*l.divisions.n)
	if f.d > maxDenominator {
		d, _ := f.dur()
		f = reduced(int64(d), int64(theory.Quarter))
	}
	return f
}

func (l *layer) reach(f frac) {
	if l.far.less(f) {
		l.far = f
	}
}

// offset returns where a sign stands; the part before the bar counts as its
// start.
func (l *layer) offset(by frac) theory.Dur {
	f := l.pos
	if !by.zero() {
		f = f.add(l.quarters(by))
	}
	if f.n < 0 {
		return 0
	}
	d, _ := f.snap(l.divisions)
	return d
}

func (l *layer) note(n *note, b *laneBar) {
	l.out.staves = max(l.out.staves, n.staff)
	start := l.pos
	if n.chord && !n.grace {
		start = l.last
	}
	length := frac{0, 1}
	switch {
	case n.grace:
	case n.rest && n.whole && l.metered && !l.free && (n.duration.d == 0 || l.barQuarters().less(l.quarters(n.duration))):
		length = l.barQuarters()
	case n.duration.d != 0:
		length = l.quarters(n.duration)
	case n.nominal.d != 0:
		length = n.nominal
		at, _ := start.snap(l.divisions)
		l.warn(n.line, at, "duration-missing.drawn")
	default:
		at, _ := start.snap(l.divisions)
		l.warn(n.line, at, "duration-missing.none")
	}
	end := start.add(length)
	from, ok1 := start.snap(l.divisions)
	to, ok2 := end.snap(l.divisions)
	if !(ok1 && ok2) && !l.rounded {
		l.rounded = true
		l.warn(n.line, from, "duration-rounded.place")
	}
	pl := placed{note: n, at: from, end: to, pitch: n.pitch}
	if n.pitched && l.iv != theory.Unison {
		pl.pitch = n.pitch.Up(l.iv)
	}
	b.notes = append(b.notes, pl)
	if !n.chord && !n.grace {
		l.last, l.pos = start, end
	}
	l.reach(end)
}

func (l *layer) barQuarters() frac {
	return reduced(int64(l.meter.Bar()), int64(theory.Quarter))
}

func (l *layer) attributes(a *attributes, b *laneBar) {
	if a.divisions.d != 0 {
		l.divisions, l.divided = a.divisions, true
	}
	l.out.staves = max(l.out.staves, min(a.staves, 100))
	at, _ := l.pos.snap(l.divisions)
	for _, c := range a.clefs {
		b.clefs = append(b.clefs, placedClef{c, at})
	}
	if a.transpose != nil {
		if iv := a.transpose.interval(); a.transpose.valid() && soundInterval(iv) {
			l.iv = iv
		} else {
			l.warn(a.line, at, "transpose-invalid")
		}
	}
	if a.repeats {
		l.warn(a.line, at, "bar-repeat-sign")
	}
	if a.slashes {
		l.warn(a.line, at, "slash-notation")
	}
	if len(a.keys) == 0 && len(a.times) == 0 {
		return
	}
	if l.pos.zero() {
		l.keysAndTimes(a)
		return
	}
	l.pendingKey, l.pendingFrom = a, at
}

// soundInterval tells whether steps and semitones go together.
func soundInterval(iv theory.Interval) bool {
	up := theory.Name{Letter: theory.C}.At(4).Up(iv)
	return up.Alter >= -2 && up.Alter <= 2
}

func (l *layer) keysAndTimes(a *attributes) {
	if len(a.keys) > 0 {
		k := a.keys[0]
		for _, other := range a.keys[1:] {
			if other.fifths != k.fifths || other.odd != k.odd {
				l.warn(a.line, 0, "key-differs")
				break
			}
		}
		key, modal, ok := k.keyOf()
		if !ok {
			l.warn(a.line, 0, "key-unusual")
		}
		l.key, l.modal, l.odd = key, modal, !ok
		if ok && l.iv != theory.Unison {
			l.key = transposeKey(key, l.iv)
		}
	}
	if len(a.times) > 0 {
		t := a.times[0]
		l.free = t.free
		if t.free {
			return
		}
		m, ok := t.meter()
		if !ok {
			l.warn(a.line, 0, "time-unusual", "Time", leadsheet.Quoted(clip(t.text)))
			l.free = true
			return
		}
		if t.text != m.String() && t.text != "" && m.Symbol == "" {
			l.warn(a.line, 0, "time-composite", "Time", clip(t.text), "Read", m)
		}
		l.meter, l.metered = m, true
	}
}

// transposeKey moves a key; where that gives more than seven signs, the
// enharmonic one is taken.
func transposeKey(k theory.Key, iv theory.Interval) theory.Key {
	t := k.Transpose(iv)
	switch f := t.Fifths(); {
	case f > 7:
		t = theory.KeyOf(f-12, t.Mode)
	case f < -7:
		t = theory.KeyOf(f+12, t.Mode)
	}
	return t
}
