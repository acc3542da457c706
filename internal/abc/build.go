package abc

import (
	"fmt"
	"strings"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// builder turns tokens into written bars. It holds what is in force at the point
// reached: metre, unit, key, the accidentals of the bar, the part, the ending.
type builder struct {
	*report
	bars []bar
	cur  bar // the bar being read; it begins with its first note

	// What the fields say.
	meter        leadsheet.Meter
	free         bool // no metre is in force
	unmetred     bool // and the page says so
	meterGuessed bool
	unit         frac
	sig          signature
	spread       propagation
	nicknames    map[byte]string // U: fields: what a letter stands for
	plusSharp    bool            // "F+7" is F♯7: the collection writes sharps so
	feel         leadsheet.Feel  // as words over the music state it
	muted        bool            // another voice than the first is being read

	// The order of playing: what is in force, and what waits for the next bar.
	next      roadmap.Signs
	part      string // label in force
	partOpens bool   // the label waits for its first bar
	double    bool   // a double bar waits for the bar behind it
	ending    []int  // passes of the ending in force
	open      bool   // a repeat sign has opened and none has closed
	openTimes int    // passes that the opening sign asks for
	section   int    // bar to which a closing sign without an opening one goes back
	lastSplit int    // last bar with a double bar before it
	codas     []int  // bars with a coda sign
	toCoda    bool   // a jump to the coda is written in words

	// The accidentals of the bar.
	signs    [7]sign      // the last one of each letter
	octSigns map[int]int8 // the last one of each letter and octave

	// What the next note or rest takes.
	tuplet struct {
		left     int // notes
		num, den int64
	}
	broken  frac // factor of a broken rhythm; n 0: none
	pending []symbol
	graces  []theory.Pitch

	last    *item   // the note or rest before
	line    []*item // notes of the line of music, for its words
	inGrace bool
	graceAt place
	chord   *struck // the notes struck together that are open
	apart   bool    // a space parts the next note from the one before: no beam joins them
	overlay bool
	tokens  int
}

// propagation says how far an accidental reaches (%%propagate-accidentals).
type propagation uint8

const (
	byPitch  propagation = iota // all octaves to the end of the bar; the default of ABC 2.1
	byOctave                    // its own octave to the end of the bar
	byNone                      // its own note
)

type sign struct {
	set    bool
	alter  int8
	octave int
}

// struck is a group of notes struck together while it is being read.
type struck struct {
	at    place
	notes []*item
	tied  bool
}

func newBuilder(r *report) *builder {
	return &builder{report: r, unit: frac{1, 8}, free: true, sig: noSignature(), lastSplit: -1,
		nicknames: map[byte]string{}, octSigns: map[int]int8{}}
}

// here is a token's place in the file and in the music read so far.
func (b *builder) here(p place) where { return where{p, len(b.bars), len(b.cur.items)} }

// music reads a line of music code and tells whether reading goes on.
func (b *builder) music(line string, number int, field func(token)) bool {
	scan(line, number, func(t token) bool {
		b.tokens++
		if b.tokens > MaxTokens {
			b.fail(b.here(t.pos), "too-long.signs", "Most", MaxTokens)
			return false
		}
		if t.kind == tokField {
			field(t)
		} else {
			b.token(t)
		}
		return !b.stopped
	})
	return !b.stopped
}

func (b *builder) token(t token) {
	if b.muted || b.overlay && t.kind != tokBar {
		return
	}
	switch t.kind {
	case tokSpace:
		b.apart = true
	case tokSlur:
		b.once(leadsheet.Warning, b.here(t.pos), "slur-dropped", "")
	case tokNote:
		b.note(t)
	case tokRest:
		if b.chord != nil || b.inGrace {
			b.junk(t, "z")
		} else {
			b.put(&item{pos: t.pos, rest: true, len: b.length(t)})
		}
	case tokBarRest:
		b.barRest(t)
	case tokChordOpen:
		if b.chord != nil || b.inGrace {
			b.junk(t, "[")
			return
		}
		b.chord = &struck{at: t.pos}
	case tokChordClose:
		if b.chord == nil {
			b.junk(t, "]")
			return
		}
		b.closeChord(t.num, t.den)
	case tokGraceOpen:
		if b.inGrace {
			b.junk(t, "{")
		}
		b.inGrace, b.graceAt = true, t.pos
	case tokGraceClose:
		if !b.inGrace {
			b.junk(t, "}")
		}
		b.inGrace = false
	case tokBar:
		b.barLine(t)
	case tokEnding:
		b.startEnding(t)
	case tokQuote:
		b.quote(t)
	case tokDecoration:
		b.decoration(t)
	case tokTuplet:
		b.startTuplet(t)
	case tokBroken:
		b.breakRhythm(t)
	case tokTie:
		b.tie(t)
	case tokOverlay:
		b.closeGroups()
		b.overlay = true
		b.once(leadsheet.Warning, b.here(t.pos), "overlay-dropped", "")
	case tokJunk:
		b.junk(t, t.text)
	default:
		panic(fmt.Sprintf("abc: token kind %d", t.kind))
	}
}

func (b *builder) junk(t token, text string) {
	if len(text) > 20 {
		text = strings.ToValidUTF8(text[:20], "") + "…"
	}
	b.once(leadsheet.Warning, b.here(t.pos), "sign-unknown", text, "Sign", leadsheet.Quoted(text))
}

// length multiplies a token's length into the unit and what is in force for one
// note: tuplet and broken rhythm.
func (b *builder) length(t token) frac {
	l := b.unit.times(int64(t.num), int64(t.den))
	if b.tuplet.left > 0 {
		l = l.times(b.tuplet.num, b.tuplet.den)
		b.tuplet.left--
	}
	if b.broken.n > 0 {
		l = l.mul(b.broken)
		b.broken = frac{}
	}
	if (frac{MaxNoteWholes, 1}).less(l) {
		b.fail(b.here(t.pos), "note-too-long", "Most", MaxNoteWholes)
		return frac{1, 8}
	}
	return l
}

// alteration finds the alteration of a note by its own sign, the signs before
// it in the bar, or the key.
func (b *builder) alteration(t token) int8 {
	slot := int(t.letter) + 7*t.octave
	if t.signed {
		b.signs[t.letter] = sign{true, t.alter, t.octave}
		b.octSigns[slot] = t.alter
		return t.alter
	}
	switch b.spread {
	case byPitch:
		if s := b.signs[t.letter]; s.set {
			if _, own := b.octSigns[slot]; !own && s.alter != b.sig.alter[t.letter] {
				b.once(leadsheet.Warning, b.here(t.pos), "accidental-octave", "")
			}
			return s.alter
		}
	case byOctave:
		if a, ok := b.octSigns[slot]; ok {
			return a
		}
	}
	return b.sig.alter[t.letter]
}

// pitch makes the pitch of a note, or tells that it is out of reach.
func (b *builder) pitch(t token) theory.Pitch {
	alter := b.alteration(t)
	octave := t.octave + b.sig.shift.property + b.sig.shift.clef
	p := theory.Pitch{Octave: -1}
	if octave >= -1 && octave <= 9 {
		p = theory.Name{Letter: t.letter, Alter: alter}.At(octave)
	}
	if octave != int(p.Octave) || p.MIDI() < 0 || p.MIDI() > 127 {
		b.fail(b.here(t.pos), "pitch-range")
		return theory.Pitch{}
	}
	return p
}

func (b *builder) note(t token) {
	p := b.pitch(t)
	switch {
	case b.inGrace:
		if len(b.graces) == MaxGraces {
			b.once(leadsheet.Warning, b.here(t.pos), "graces-dropped.many", "", "Most", MaxGraces)
			return
		}
		b.graces = append(b.graces, p)
	case b.chord != nil:
		if len(b.chord.notes) == MaxBarNotes {
			b.fail(b.here(t.pos), "too-long.together", "Most", MaxBarNotes)
			return
		}
		// The length within the brackets; tuplets and the like count for the group.
		l := b.unit.times(int64(t.num), int64(t.den))
		b.chord.notes = append(b.chord.notes, &item{pos: t.pos, pitch: p, bare: !t.signed, len: l})
	default:
		b.put(&item{pos: t.pos, pitch: p, bare: !t.signed, len: b.length(t)})
	}
}

// closeChord keeps the top note of a struck group, with the length of its first
// note (ABC 2.1, section 4.17).
func (b *builder) closeChord(num, den int) {
	c := b.chord
	b.chord = nil
	if len(c.notes) == 0 {
		return
	}
	top := c.notes[0]
	for _, n := range c.notes[1:] {
		if theory.ComparePitch(n.pitch, top.pitch) > 0 {
			top = n
		}
	}
	if len(c.notes) > 1 {
		b.once(leadsheet.Warning, b.here(c.at), "chord-notes-dropped", "")
	}
	first := c.notes[0].len
	l := b.length(token{pos: c.at, num: num, den: den})
	// length() multiplied the unit in; the first note has it already.
	l = reduce(l.n*b.unit.d, l.d*b.unit.n).bound().mul(first)
	if (frac{MaxNoteWholes, 1}).less(l) {
		b.fail(b.here(c.at), "note-too-long", "Most", MaxNoteWholes)
		return
	}
	b.put(&item{pos: c.at, pitch: top.pitch, bare: top.bare, len: l, tied: c.tied})
}

// closeGroups ends what a bar line must not stand in.
func (b *builder) closeGroups() {
	if b.chord != nil {
		b.warn(b.here(b.chord.at), "bracket-open.chord")
		b.closeChord(1, 1)
	}
	if b.inGrace {
		b.warn(b.here(b.graceAt), "bracket-open.graces", "Sign", "}")
		b.inGrace = false
	}
}

// dropGraces tells of grace notes that no note follows.
func (b *builder) dropGraces(p place) {
	if len(b.graces) > 0 {
		b.once(leadsheet.Warning, b.here(p), "graces-dropped.end", "end")
		b.graces = nil
	}
}

// put puts a note or rest into the bar, with what was waiting for it.
func (b *builder) put(it *item) {
	if len(b.cur.items) == MaxBarNotes {
		b.fail(b.here(it.pos), "bar-too-long.notes", "Most", MaxBarNotes)
		return
	}
	if len(b.cur.items) == 0 {
		b.begin(it.pos)
	}
	it.chords = b.takeChords()
	if !it.rest {
		it.graces, b.graces = b.graces, nil
		b.line = append(b.line, it)
	}
	it.bar, it.apart, b.apart = len(b.bars), b.apart, false
	b.cur.items = append(b.cur.items, it)
	b.last = it
}

// begin opens a bar with its first note: what was waiting for a bar is its own.
func (b *builder) begin(p place) {
	signs := b.next
	signs.Ending = leadsheet.PassesOf(b.ending...)
	b.next = roadmap.Signs{}
	b.cur = bar{line: p.line, meter: b.meter, free: b.free, unmetred: b.unmetred, key: b.sig.key, declared: b.sig.declared, signs: signs,
		part: b.part, opens: b.partOpens, double: b.double}
	if b.double {
		b.lastSplit = len(b.bars)
	}
	b.partOpens, b.double = false, false
}

// takeChords returns the chord symbols that wait for a note. One that a bar line
// parts from another is left behind.
func (b *builder) takeChords() []symbol {
	p := b.pending
	b.pending = nil
	for len(p) > 1 && p[0].bars < p[len(p)-1].bars {
		b.chordLost(p[0])
		p = p[1:]
	}
	return p
}

func (b *builder) chordLost(s symbol) {
	if s.text != "" {
		b.warn(s.at, "chord-dropped", "Symbol", leadsheet.Quoted(s.text))
	}
}

// barRest reads Z: whole bars of rest.
func (b *builder) barRest(t token) {
	if b.chord != nil || b.inGrace {
		b.junk(t, "Z")
		return
	}
	if t.n == 0 || b.free {
		b.junk(t, "Z")
		return
	}
	if len(b.bars)+t.n > MaxWrittenBars {
		b.tooManyBars(t.pos)
		return
	}
	if len(b.cur.items) > 0 {
		b.finish()
	}
	for i := range t.n {
		if i > 0 {
			b.finish()
		}
		b.put(&item{pos: t.pos, rest: true, len: reduce(int64(b.meter.Beats), int64(b.meter.Unit))})
	}
}

func (b *builder) tooManyBars(p place) {
	b.fail(b.here(p), "too-long.written", "Most", MaxWrittenBars)
}

// finish closes the current bar, which holds music.
func (b *builder) finish() {
	if len(b.bars) == MaxWrittenBars {
		b.tooManyBars(b.cur.items[0].pos)
		return
	}
	b.cur.measure(b.report, len(b.bars))
	if b.cur.dur() > MaxBarWholes*theory.Whole {
		b.fail(b.here(b.cur.items[0].pos), "bar-too-long", "Most", MaxBarWholes)
		return
	}
	// Jumps that were met inside the bar take effect at its end.
	b.cur.signs = leave(b.cur.signs, &b.next)
	b.bars = append(b.bars, b.cur)
	b.cur = bar{}
	b.signs = [7]sign{}
	clear(b.octSigns)
}

func (b *builder) startTuplet(t token) {
	p, q, r := t.nums[0], 0, 0
	if len(t.nums) > 1 {
		q = t.nums[1]
	}
	if len(t.nums) > 2 {
		r = t.nums[2]
	}
	if q == 0 {
		// ABC 2.1, section 4.13: the default depends on the number, and for
		// 5, 7 and 9 on whether the metre is compound.
		switch p {
		case 3, 6:
			q = 2
		case 2, 4, 8:
			q = 3
		default:
			q = 2
			if b.meter.Beats%3 == 0 && b.meter.Unit == 8 && b.meter.Beats > 3 {
				q = 3
			}
		}
	}
	if r == 0 {
		r = p
	}
	if p < 2 || p > 64 || q > 64 || r > 64 {
		b.warn(b.here(t.pos), "tuplet-unknown", "P", p, "Q", q)
		return
	}
	if b.tuplet.left > 0 {
		b.warn(b.here(t.pos), "tuplet-open.early")
	}
	b.tuplet.left, b.tuplet.num, b.tuplet.den = r, int64(q), int64(p)
}

// breakRhythm lengthens the note before the sign and shortens the one behind it,
// or the other way round: by half for one sign, three quarters for two.
func (b *builder) breakRhythm(t token) {
	n := max(t.n, -t.n)
	if b.last == nil || len(b.cur.items) == 0 || b.chord != nil || b.inGrace || n > 4 || b.broken.n > 0 {
		b.warn(b.here(t.pos), "broken-rhythm")
		return
	}
	d := int64(1) << n
	long, short := frac{2*d - 1, d}, frac{1, d}
	if t.n < 0 {
		long, short = short, long
	}
	b.last.len = b.last.len.mul(long)
	b.broken = short
}

func (b *builder) tie(t token) {
	switch {
	case b.inGrace:
	case b.chord != nil:
		b.chord.tied = true
	case b.last == nil || b.last.rest:
		b.warn(b.here(t.pos), "tie-loose.start")
	default:
		b.last.tied = true
	}
}

// end closes the tune.
func (b *builder) end(p place) {
	b.closeGroups()
	b.dropGraces(p)
	if len(b.cur.items) > 0 && !b.stopped {
		b.finish()
	}
	if n := len(b.bars); n > 0 {
		b.bars[n-1].signs = leave(b.bars[n-1].signs, &b.next)
	}
	for _, s := range b.pending {
		b.chordLost(s)
	}
	if b.open && len(b.bars) > b.section {
		b.repeatOpen(outside(p))
	}
	if b.tuplet.left > 0 {
		b.warn(outside(p), "tuplet-open.last")
	}
	// The first of two coda signs is where to jump from, the second where to.
	for i, n := range b.codas {
		if n = min(n, len(b.bars)-1); n < 0 {
			continue
		}
		if i == 0 && !b.toCoda && len(b.codas) > 1 {
			b.bars[n].signs.ToCoda = true
		} else {
			b.bars[n].signs.Coda = true
		}
	}
}
