package proof

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// spot is a chord of the page, with the spans in which it is heard.
type spot struct {
	chord      theory.Chord
	prev, next theory.Chord // on its first hearing
	spans      []int
}

// gather finds the chords of the page.
func (r *reader) gather() []spot {
	type place struct {
		page  int
		off   theory.Dur
		chord theory.Chord
	}
	index := map[place]int{}
	var out []spot
	for i, s := range r.a.Spans {
		if s.Mark < 0 || !s.Sounding() {
			continue
		}
		page, off := r.page(s.At)
		p := place{page, off, s.Chord}
		k, ok := index[p]
		if !ok {
			k = len(out)
			index[p] = k
			out = append(out, spot{chord: s.Chord, prev: r.chordOf(i - 1), next: r.chordOf(i + 1)})
		}
		out[k].spans = append(out[k].spans, i)
	}
	return out
}

// page tells which bar of the page holds a moment of the music, and where in it.
func (r *reader) page(at theory.Dur) (bar int, off theory.Dur) {
	b := r.song.Bars[r.song.BarAt(at)]
	off = at - b.At
	switch {
	case b.Page[0] == 0:
		return b.Written, off
	case b.Page[1] > 0 && off >= b.Split:
		return b.Page[1], off - b.Split
	}
	return b.Page[0], off
}

// chordOf is the chord of a span, silent where there is none.
func (r *reader) chordOf(i int) theory.Chord {
	if i < 0 || i >= len(r.a.Spans) || !r.a.Spans[i].Sounding() {
		return theory.Chord{}
	}
	return r.a.Spans[i].Chord
}

// Costs, in thousandths of a beat that is plainly denied.
const (
	tellFrom   = 1100 // a reading has to be better by so much to be told
	sureFrom   = 2000 // …and to be sure
	denied     = 500  // …and the tune has to deny the chord by so much, or nothing explains it
	unexplains = 1400
	mostBeats  = 4 // no note counts for more
)

// denies is how much a note that is held for a beat denies a chord, by its half steps over
// the root; −1 where the chord has it. A note a half step above a chord's own note denies it
// most; a whole step above is a colour. Common practice, no source.
func denies(c theory.Chord, class int) int {
	if c.HasClass(class) {
		return 0
	}
	rel := (class - c.Root.Class() + 12) % 12
	minor, dominant := c.MinorThird(), c.Dominant()
	seventh := c.Tones.Has(theory.Degree{Number: 7})
	switch rel {
	case 0:
		return 300 // a rootless sign
	case 1:
		if dominant {
			return 700
		}
		return 1000
	case 2:
		if c.Diminished() {
			return 400
		}
		return 200
	case 3:
		if dominant {
			return 450 // a blue third
		}
		return 800
	case 4:
		if minor {
			return 1100
		}
		return 500
	case 5:
		if minor {
			return 300
		}
		return 550
	case 6:
		return 800
	case 7:
		return 700 // beside an altered fifth
	case 8:
		return 850
	case 9:
		switch {
		case c.Tones.Has(degree(5, 1)):
			return 700
		case minor:
			return 350
		}
		return 200
	case 10:
		if seventh {
			return 900
		}
		return 300
	case 11:
		if dominant || c.Tones.Has(theory.Degree{Number: 7, Alter: -1}) {
			return 1000
		}
		if minor {
			return 500
		}
		return 350
	}
	return 0
}

// weigh adds up how much the tune denies a chord over a stretch, and finds the note that
// does so most.
func (r *reader) weigh(c theory.Chord, from, to theory.Dur) (cost int, worst int) {
	worst = -1
	most := 0
	notes := r.song.Melody
	for i := r.noteFrom(from); i < len(notes) && notes[i].At < to; i++ {
		n := notes[i]
		long := min(n.End(), to) - max(n.At, from)
		if long <= 0 {
			continue
		}
		rate := denies(c, n.Pitch.Class())
		if rate == 0 {
			continue
		}
		beat := r.song.Bars[r.song.BarAt(max(n.At, from))].Meter.OrCommon().Pulse()
		x := rate * int(min(long, mostBeats*beat)) / int(beat) * r.stands(c, i, from, to, beat) / 100
		cost += x
		if x > most {
			most, worst = x, i
		}
	}
	return cost, worst
}

// noteFrom is the first note that sounds at or after a place.
func (r *reader) noteFrom(at theory.Dur) int {
	i, _ := slices.BinarySearchFunc(r.song.Melody, at, func(n leadsheet.Note, at theory.Dur) int {
		return int(min(1, max(-1, n.End()-at-1)))
	})
	return i
}

// stands tells in percent how much a note outside its chord stands there for itself, and
// does not lead on.
func (r *reader) stands(c theory.Chord, i int, from, to, beat theory.Dur) int {
	notes := r.song.Melody
	n := notes[i]
	in, out, lands := 0, 0, false
	if i > 0 && n.At-notes[i-1].End() < beat {
		in = stepTo(notes[i-1].Pitch, n.Pitch)
	}
	if i+1 < len(notes) && notes[i+1].At-n.End() < beat {
		next := notes[i+1]
		out = stepTo(n.Pitch, next.Pitch)
		lands = out != 0 && next.At < to && c.HasClass(next.Pitch.Class())
		if n.At >= from && n.End() > to-beat && next.Pitch.Class() == n.Pitch.Class() && next.At >= to {
			return 30 // it belongs to what follows
		}
	}
	if n.End() > to && to-n.At <= beat && n.At > from {
		return 30
	}
	switch long := n.Dur; {
	case long < beat:
		switch {
		case in != 0 && out != 0:
			return 15
		case lands:
			return 25
		case in != 0 || out != 0:
			return 40
		}
		return 60
	case long < 2*beat:
		switch {
		case lands:
			return 50
		case in != 0 && out != 0:
			return 60
		}
		return 100
	}
	if lands && out < 0 {
		return 60
	}
	return 100
}

// stepTo is the signed width of a step, 0 where it is none.
func stepTo(a, b theory.Pitch) int {
	d := b.MIDI() - a.MIDI()
	if d < -2 || d > 2 {
		return 0
	}
	return d
}

// place is what it costs that a chord stands in a key between others.
func context(key theory.Key, prev, c, next theory.Chord) int {
	r := harmony.Read(key, prev, c, next)
	switch r.Function {
	case harmony.Applied:
		if r.Resolves {
			return 300
		}
		return 800
	case harmony.Related, harmony.Passing:
		return 400
	case harmony.Substitute:
		if r.Resolves {
			return 500
		}
		return 1200
	case harmony.Borrowed:
		return 700
	case harmony.Chromatic:
		return 1500
	}
	return 0
}

// elsewhere counts the other places of the sheet that have the same tune as a place, and
// have a chord there; and how many have another.
func (r *reader) elsewhere(s spot, c theory.Chord) int {
	at := r.a.Spans[s.spans[0]].At
	i := r.song.BarAt(at)
	off := at - r.song.Bars[i].At
	n := 0
	for _, j := range r.with[r.tunes[i]] {
		if r.song.Bars[j].Written == r.song.Bars[i].Written {
			continue
		}
		k := r.a.SpanIndex(r.song.Bars[j].At + off)
		if k >= 0 && r.a.Spans[k].Sounding() && sameTriad(r.a.Spans[k].Chord, c) {
			n++
		}
	}
	return n
}

func sameTriad(a, b theory.Chord) bool {
	return a.Root.Class() == b.Root.Class() && a.Triad().Tones == b.Triad().Tones
}

// total is what a chord costs at a spot.
func (r *reader) total(s spot, c theory.Chord) int {
	sum := 0
	for _, i := range s.spans {
		x, _ := r.weigh(c, r.a.Spans[i].At, r.a.Spans[i].End)
		sum += x
	}
	sum /= len(s.spans)
	key := r.a.Spans[s.spans[0]].Key
	sum += context(key, s.prev, c, s.next)
	if !s.prev.Silent() {
		sum += context(key, theory.Chord{}, s.prev, c) / 2
	}
	switch n := r.elsewhere(s, c); {
	case n > 1:
		sum -= 900
	case n == 1:
		sum -= 600
	}
	return sum
}

// reading is a chord that may have been meant.
type reading struct {
	chord theory.Chord
	slip  int // what the slip costs that leads from it to what is printed
}

var degree = func(n, a int8) theory.Degree { return theory.Degree{Number: n, Alter: a} }

// readings are the chords that one slip makes the printed one from.
func (r *reader) readings(s spot) []reading {
	c := s.chord
	key := r.a.Spans[s.spans[0]].Key
	var out []reading
	add := func(x theory.Chord, slip int) {
		if x != c && !x.Silent() && !slices.ContainsFunc(out, func(o reading) bool { return o.chord == x }) {
			out = append(out, reading{x, slip})
		}
	}
	plain := !c.Slash && c.UpperTones.Empty()
	for _, d := range []int8{-1, 1} { // an accidental that was lost, or is one too many
		x := c
		x.Root.Alter += d
		if x.Root.Alter < -1 || x.Root.Alter > 1 || white(x.Root) && !key.Contains(x.Root) {
			continue
		}
		if c.Slash && c.Bass.Letter == c.Root.Letter {
			x.Bass.Alter += d
		}
		slip := 0
		if nearer(key, x.Root) != x.Root { // nobody means to write that
			slip = 600
		}
		add(x, slip)
		if plain && triadIn(key, x.Root) != c.Triad().Tones {
			y := x
			y.Tones = triadIn(key, x.Root)
			add(y, 700)
		}
	}
	third := func(x theory.Chord, from, to theory.Degree) theory.Chord {
		x.Tones = x.Tones.Without(from).With(to)
		return x
	}
	switch {
	case c.Diminished():
		add(third(c, degree(5, -1), degree(5, 0)), 300)
	case c.MinorThird():
		add(third(c, degree(3, -1), degree(3, 0)), 200)
	case c.Tones.Has(degree(3, 0)) && !c.Tones.Has(degree(5, 1)):
		add(third(c, degree(3, 0), degree(3, -1)), 200)
	case c.Tones.Has(degree(5, 1)):
		add(third(c, degree(5, 1), degree(5, 0)), 200)
	}
	if c.Tones.Has(degree(7, -1)) && c.Tones.Has(degree(3, 0)) {
		add(third(c, degree(7, -1), degree(7, 0)), 300)
	}
	if c.Tones.Has(degree(7, 0)) {
		add(third(c, degree(7, 0), degree(7, -1)), 300)
	}
	if plain {
		for _, n := range []theory.Chord{s.prev, s.next} {
			if !n.Silent() {
				add(n, 700)
			}
		}
		for _, root := range key.Scale() { // another letter of the key
			x := theory.Chord{Root: root, Tones: triadIn(key, root)}
			slip := 1100
			if d := (int(root.Letter) - int(c.Root.Letter) + 7) % 7; d == 1 || d == 6 {
				slip = 900
			}
			add(x, slip)
		}
	}
	return out
}

// white tells whether a name with a sign is a white key.
func white(n theory.Name) bool { return n.Alter != 0 && n.Simple().Alter == 0 }

// triadIn is the triad that a key has on a root; a dominant is major.
func triadIn(key theory.Key, root theory.Name) theory.Degrees {
	third, fifth := degree(3, 0), degree(5, 0)
	scale := key.Scale()
	has := func(d theory.Degree) bool {
		n := d.On(root)
		return slices.ContainsFunc(scale[:], func(s theory.Name) bool { return s.Class() == n.Class() })
	}
	rel := (root.Class() - key.Tonic.Class() + 12) % 12
	if !has(third) && !(rel == 7 && key.Mode == theory.Minor) {
		third = degree(3, -1)
	}
	if !has(fifth) && third.Alter < 0 {
		fifth = degree(5, -1)
	}
	return theory.DegreesOf(degree(1, 0), third, fifth)
}

// chords reads the chords against the tune.
func (r *reader) chords() []Suspicion {
	var out []Suspicion
	last := r.song.End()
	if s, ok := r.lastChord(); ok {
		out = append(out, s)
		last = r.a.Spans[len(r.a.Spans)-1].At
	}
	for _, s := range r.spots {
		if len(out) == mostTold {
			break
		}
		if r.a.Spans[s.spans[len(s.spans)-1]].At >= last {
			continue
		}
		if p, ok := r.doubtful(s); ok {
			out = append(out, p)
		} else if p, ok := r.spelling(s); ok {
			out = append(out, p)
		}
	}
	return out
}

// mostTold bounds the chords that are told: a sheet with more of them is another kind of
// music, or none.
const mostTold = 32

// doubtful tells whether another reading of a chord is better than it is.
func (r *reader) doubtful(s spot) (Suspicion, bool) {
	first := r.a.Spans[s.spans[0]]
	bad, worst, held := 0, -1, false
	for _, i := range s.spans {
		x, w := r.weigh(s.chord, r.a.Spans[i].At, r.a.Spans[i].End)
		bad += x
		if worst < 0 && w >= 0 {
			worst, held = w, r.song.Melody[w].At < r.a.Spans[i].At
		}
	}
	if worst < 0 {
		return Suspicion{}, false
	}
	if n := r.song.Melody[worst]; 2*n.Dur < r.song.Bars[r.song.BarAt(n.At)].Meter.OrCommon().Pulse() {
		return Suspicion{}, false // what runs by denies nothing
	}
	bad /= len(s.spans)
	strange := context(first.Key, s.prev, s.chord, s.next)
	if bad < denied && (strange < unexplains || bad == 0) {
		return Suspicion{}, false
	}
	now := r.total(s, s.chord)
	var best reading
	gain := 0
	for _, x := range r.readings(s) {
		if g := now - r.total(s, x.chord) - x.slip; g > gain {
			best, gain = x, g
		}
	}
	later := theory.Dur(0)
	if held {
		if at, g := r.comesLater(s, worst, now); g > gain {
			later, gain = at, g
		}
	}
	if gain < tellFrom {
		return Suspicion{}, false
	}
	n := r.song.Melody[worst].Pitch.Name
	p := Suspicion{Pos: r.chordPos(first), Likely: min(95, 50+30*(gain-tellFrom)/(sureFrom-tellFrom))}
	p.Kind = Chord
	if held {
		p.Kind = Held
	}
	p.ID = r.id(p.Kind, first.At)
	switch {
	case later > 0:
		p.Says, p.Parts = "chord-doubtful.later", []any{"Chord", s.chord, "Note", n, "Beat", r.song.PosAt(later).Beat.String()}
		p.mend = moveChord(r.marks(s), later-first.At)
	case held:
		p.Says, p.Parts = "chord-doubtful.held", []any{"Chord", s.chord, "Note", n, "Read", best.chord}
		p.mend = setChord(r.marks(s), best.chord)
	default:
		p.Says, p.Parts = "chord-doubtful.off", []any{"Chord", s.chord, "Note", n, "Read", best.chord}
		p.mend = setChord(r.marks(s), best.chord)
	}
	return p, true
}

// comesLater weighs that a chord was meant to begin when the note that is held into it
// ends.
func (r *reader) comesLater(s spot, note, now int) (at theory.Dur, gain int) {
	n := r.song.Melody[note]
	if s.prev.Silent() || !s.prev.HasClass(n.Pitch.Class()) || n.At >= n.End() {
		return 0, 0
	}
	// On the first hearing, as its marks are moved together.
	first := r.a.Spans[s.spans[0]]
	for _, i := range s.spans {
		if r.a.Spans[i].At > n.At && r.a.Spans[i].At < n.End() {
			first = r.a.Spans[i]
			break
		}
	}
	if n.End() >= first.End {
		return 0, 0
	}
	before, _ := r.weigh(s.prev, first.At, n.End())
	after, _ := r.weigh(s.chord, n.End(), first.End)
	whole, _ := r.weigh(s.chord, first.At, first.End)
	at = r.a.Spans[s.spans[0]].At + n.End() - first.At
	slip := -200
	if r.strength(n.End()) < r.strength(first.At) { // chords change on the stronger beat
		slip = 800
	}
	return at, whole - before - after + slip
}

// strength is that of a place in its bar: 0 the strongest.
func (r *reader) strength(at theory.Dur) int {
	b := r.song.Bars[r.song.BarAt(at)]
	return b.Meter.OrCommon().Strength(b.Offset(at))
}

// marks are the chord signs of the song that a spot is read from.
func (r *reader) marks(s spot) []int {
	var out []int
	for _, i := range s.spans {
		span := r.a.Spans[i]
		k, _ := slices.BinarySearchFunc(r.song.Chords, span.At, func(m leadsheet.ChordMark, at theory.Dur) int {
			return int(min(1, max(-1, m.At-at)))
		})
		for ; k < len(r.song.Chords) && r.song.Chords[k].At < span.End; k++ {
			if r.song.Chords[k].Chord == s.chord {
				out = append(out, k)
			}
		}
	}
	return out
}

// setChord is the mend that reads signs as another chord.
func setChord(marks []int, c theory.Chord) func(leadsheet.Song) leadsheet.Song {
	return func(song leadsheet.Song) leadsheet.Song {
		song.Chords = slices.Clone(song.Chords)
		for _, k := range marks {
			if k < len(song.Chords) {
				song.Chords[k].Chord, song.Chords[k].Text = c, c.String()
			}
		}
		return song
	}
}

// moveChord is the mend that lets chords begin later.
func moveChord(marks []int, by theory.Dur) func(leadsheet.Song) leadsheet.Song {
	return func(song leadsheet.Song) leadsheet.Song {
		song.Chords = slices.Clone(song.Chords)
		for _, k := range marks {
			if k < len(song.Chords) {
				m := &song.Chords[k]
				m.At += by
				p := song.PosAt(m.At)
				m.Pos.Bar, m.Pos.Beat = p.Bar, p.Beat
			}
		}
		return song
	}
}
