package perform

import (
	"cmp"
	"math"
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// strike is one key going down.
type strike struct {
	of         *heard
	key        int
	velocity   float64
	start, end float64
	pass       int
	chord      int // strikes meant together share a number
}

func (k strike) note(transpose int) Note {
	velocity := whole(k.velocity)
	if k.of.note.Stroke.Velocity > 0 { // softer than a page asks for, if it was
		velocity = int(math.Round(min(max(k.velocity, 1), 127)))
	}
	return Note{
		ID: score.Printed(k.of.note.ID), Hand: k.of.note.Hand, Melody: k.of.tune, At: k.of.note.At, Pass: k.pass,
		Key: k.key + transpose, Velocity: velocity, Start: k.start, End: k.end,
	}
}

// The times of touch, in seconds.
const (
	shortest   = 0.03  // no key is down for less
	overlap    = 0.02  // legato: a key comes up when the next is down
	repetition = 0.05  // a key struck again needs that long between
	breath     = 0.12  // before a new phrase
	crush      = 0.045 // a slashed grace note
	grace      = 0.07
	turnNote   = 0.11 // the notes of a turn, at most
	shakeNote  = 0.07 // of a mordent and a trill: 14 a second
	tremolo    = 1.0 / 8
	rollLeast  = 0.025
	rollMost   = 0.040
	rollTotal  = 0.120
)

// touch turns the score's notes into keys going down and coming up, in one pass.
func (r *reading) touch(pass int) []strike {
	if r.live {
		return r.again(pass)
	}
	var out []strike
	rolls := r.rolls(pass)
	for i := range r.notes {
		n := &r.notes[i]
		if !r.sounding(n.note) || n.note.Grace > 0 {
			continue
		}
		// A note that began before the first bar played is struck with it.
		start := r.timing.Seconds(max(n.note.At, r.from), pass)
		written := r.timing.Seconds(min(n.note.End(), r.to), pass)
		k := strike{of: n, key: n.note.Pitch.MIDI(), velocity: n.velocity, start: start, pass: pass, chord: int(n.note.At)*2 + int(n.note.Hand)}
		k.end = r.held(n, start, written)
		if n.note.At >= r.from {
			k.start += rolls[i]
			k.end = max(k.end, k.start+shortest)
		}
		out = append(out, r.ornament(k, written)...)
	}
	r.repeat(out)
	return append(out, r.graces(out, pass)...)
}

// held is when a key that goes down at start comes up.
func (r *reading) held(n *heard, start, written float64) float64 {
	length := written - start
	switch {
	case n.note.Marks.Has(score.Staccato | score.Tenuto): // portato
		length *= 0.75
	case n.note.Marks.Has(score.Staccato):
		length = max(0.45*length, 0.06)
	case n.role == score.GhostNote || n.note.Marks.Has(score.Ghost):
		length *= 0.6
	case n.note.Marks.Has(score.Tenuto):
	case n.last && n.tune:
		// The tune breathes before the next phrase.
		length -= min(breath, length/4)
	case n.joined, n.tune && !r.slurs: // a page without slurs leaves it to the player
		length += overlap
	case n.tune:
		length *= 0.94
	case n.walking:
		length *= 0.92
	case n.role == score.Bass:
		length *= 0.97
	default:
		length *= 0.93
	}
	return start + max(length, shortest)
}

// repeat lets keys come up in time to be struck again by the same hand.
func (r *reading) repeat(strikes []strike) {
	slices.SortStableFunc(strikes, func(a, b strike) int { return cmp.Or(cmp.Compare(a.start, b.start), cmp.Compare(a.key, b.key)) })
	last := map[int]*strike{}
	for i := range strikes {
		k := &strikes[i]
		if o := last[k.key]; o != nil && o.start < k.start {
			gap := min(repetition, (k.start-o.start)*0.4)
			o.end = min(o.end, k.start-gap)
		}
		last[k.key] = k
	}
}

// rolls returns by how many seconds each note of a rolled chord leaves its
// written time. A chord is rolled upwards, a sixteenth of a beat but 25 to 40
// ms a note and 120 ms in all. Under a note of the tune its top lands on the
// beat; elsewhere its bottom does (trade practice). What opens the music
// starts with it.
func (r *reading) rolls(pass int) map[int]float64 {
	off := map[int]float64{}
	type place struct {
		at   theory.Dur
		hand score.Hand
	}
	groups := map[place][]int{}
	tune := map[theory.Dur]bool{}
	var order []place
	for i := range r.notes {
		n := &r.notes[i]
		if n.tune && n.note.Grace == 0 {
			tune[n.note.At] = true
		}
		if n.note.Marks.Has(score.Rolled) && n.note.Grace == 0 && r.sounding(n.note) {
			p := place{n.note.At, n.note.Hand}
			if groups[p] == nil {
				order = append(order, p)
			}
			groups[p] = append(groups[p], i)
		}
	}
	for _, p := range order {
		g := groups[p]
		if p.hand == score.Left && groups[place{p.at, score.Right}] != nil {
			continue // rolled through both hands, with the right
		}
		g = append(g, groups[place{p.at, 3 - p.hand}]...)
		slices.SortStableFunc(g, func(a, b int) int {
			return cmp.Compare(r.notes[a].note.Pitch.MIDI(), r.notes[b].note.Pitch.MIDI())
		})
		if len(g) < 2 {
			continue
		}
		beat := r.timing.Seconds(p.at+theory.Quarter, pass) - r.timing.Seconds(p.at, pass)
		each := min(min(max(beat/16, rollLeast), rollMost), rollTotal/float64(len(g)-1))
		first := 0.0
		if tune[p.at] && p.at > r.from {
			first = -each * float64(len(g)-1)
		}
		for k, i := range g {
			off[i] = first + each*float64(k)
		}
	}
	return off
}

// graces returns the grace notes, before the beat of the note they lean on and
// let go as it sounds. Ones that would open the music take its first moment.
func (r *reading) graces(strikes []strike, pass int) []strike {
	type place struct {
		at    theory.Dur
		hand  score.Hand
		voice uint8
	}
	groups := map[place][]*heard{}
	var order []place
	for i := range r.notes {
		n := &r.notes[i]
		if n.note.Grace > 0 && r.sounding(n.note) {
			p := place{n.note.At, n.note.Hand, n.note.Voice}
			if groups[p] == nil {
				order = append(order, p)
			}
			groups[p] = append(groups[p], n)
		}
	}
	var out []strike
	for _, p := range order {
		g := groups[p]
		slices.SortStableFunc(g, func(a, b *heard) int { return cmp.Compare(a.note.Grace, b.note.Grace) })
		places := 0 // notes of equal place are struck together
		for i, n := range g {
			if i == 0 || n.note.Grace != g[i-1].note.Grace {
				places++
			}
		}
		main := r.timing.Seconds(p.at, pass)
		room := math.Inf(1)
		for _, k := range strikes {
			if k.of.note.Hand != p.hand {
				continue
			}
			if k.of.note.At == p.at && k.of.note.Voice == p.voice {
				main = min(main, k.start)
			} else if k.start < main {
				room = min(room, main-k.start)
			}
		}
		each := grace
		if g[0].note.Marks.Has(score.Slashed) {
			each = crush
		}
		each = min(each, room/2/float64(places))
		begin := main - each*float64(places)
		if p.at <= r.from {
			// There is nothing before: begin with the music and let the note
			// they lean on wait.
			begin = max(begin, r.timing.Seconds(r.from, pass))
			for i := range strikes {
				if k := &strikes[i]; k.of.note.At == p.at && k.of.note.Hand == p.hand && k.of.note.Voice == p.voice && k.start < begin+each*float64(places) {
					k.start = begin + each*float64(places)
					k.end = max(k.end, k.start+shortest)
				}
			}
		}
		place := -1
		for i, n := range g {
			if i == 0 || n.note.Grace != g[i-1].note.Grace {
				place++
			}
			at := begin + each*float64(place)
			out = append(out, strike{
				of: n, key: n.note.Pitch.MIDI(), velocity: n.velocity, start: at, end: at + each + 0.01, pass: pass,
				chord: -(len(out) + 1),
			})
		}
	}
	return out
}

// ornament writes an ornament out. It starts on the beat. The lower neighbour
// is a half step away, the upper one the next note of the key; a trill starts
// with its main note: common practice, no source.
func (r *reading) ornament(k strike, written float64) []strike {
	length := written - k.start
	if k.of.note.Ornament == score.NoOrnament || length < 4*shortest {
		return []strike{k}
	}
	plain, upper, lower := k, k.key+r.upper(k.of.note), k.key-1
	var keys []int
	each := min(shakeNote, length/4)
	switch k.of.note.Ornament {
	case score.Mordent:
		keys = []int{k.key, lower, k.key}
	case score.UpperMordent:
		keys = []int{k.key, upper, k.key}
	case score.Turn:
		each = min(turnNote, length/5)
		keys = []int{upper, k.key, lower, k.key}
	case score.Trill:
		for n := int(length/each) | 1; n > 0; n-- {
			keys = append(keys, k.key)
			k.key, upper = upper, k.key
		}
		each = length / float64(len(keys))
	case score.Tremolo:
		return r.tremble(k, written)
	}
	by := r.opt.Transpose
	if len(keys) == 0 || slices.Min(keys)+by < lowestKey || slices.Max(keys)+by > highestKey { // no piano has the neighbour
		return []strike{plain}
	}
	var out []strike
	for i, key := range keys {
		s := k
		s.key = key
		s.start = k.start + each*float64(i)
		s.end = s.start + each
		if i > 0 {
			s.velocity -= 6
			s.chord = -1
		}
		if i == len(keys)-1 { // it stays to the end
			s.end = max(k.end, s.start+shortest)
		}
		out = append(out, s)
	}
	return out
}

// tremble repeats a note eight times a second. Where two or more notes of a
// hand tremble together, the top and the others take turns.
func (r *reading) tremble(k strike, written float64) []strike {
	low := false
	partners := 0
	for _, h := range r.between(k.of.note.At, k.of.note.At+1) {
		m := h.note
		if m.Hand == k.of.note.Hand && m.Ornament == score.Tremolo && m.Grace == 0 {
			partners++
			low = low || m.Pitch.MIDI() > k.of.note.Pitch.MIDI()
		}
	}
	count := max(int((written-k.start)/tremolo+0.5), 1)
	each := (written - k.start) / float64(count)
	var out []strike
	for i := range count {
		s := k
		s.start = k.start + each*float64(i)
		s.end = s.start + each*0.8
		if partners > 1 {
			s.end = s.start + each*0.5
			if low {
				s.start += each / 2
				s.end += each / 2
			}
		}
		if i > 0 {
			// Struck with a light wrist, and a little more towards the end.
			s.velocity *= 0.68 + 0.1*float64(i)/float64(count)
			s.chord = -1
		}
		out = append(out, s)
	}
	return out
}

// upper is the distance in semitones to the next higher note of the key.
func (r *reading) upper(n score.Note) int {
	i := r.score.BarAt(n.At)
	if i < 0 || !r.score.Bars[i].Key.Valid() {
		return 2
	}
	p := n.Pitch
	next := theory.Pitch{Name: theory.Name{Letter: (p.Letter + 1) % 7}, Octave: p.Octave}
	if next.Letter == theory.C {
		next.Octave++
	}
	next.Alter = r.score.Bars[i].Key.Signature(next.Letter)
	if d := next.MIDI() - p.MIDI(); d == 1 || d == 2 {
		return d
	}
	return 2
}
