package harmony

import (
	"gradatim/leadsheet"
	"gradatim/theory"
)

// RoleKind says what a melody note is to the chord under its onset.
type RoleKind uint8

// Kinds of role. Unharmonised notes have no chord under them.
const (
	Unharmonised RoleKind = iota
	ChordTone
	TensionTone  // an available tension that is dwelt on
	PassingTone  // by step from one note on to another
	Neighbour    // by step away from a note and back, or on its way there by leap (incomplete)
	Suspension   // kept from the chord before, then down by step
	Anticipation // belongs to the next chord
	Appoggiatura // strong, reached by leap, left by step
	Escape       // reached by step, left by leap
	Free         // none of these
)

var roleKinds = [...]string{"unharmonised", "chord tone", "tension", "passing tone", "neighbour",
	"suspension", "anticipation", "appoggiatura", "escape tone", "free"}

// String returns the kind's name in lower case.
func (k RoleKind) String() string {
	if int(k) >= len(roleKinds) {
		return "unknown"
	}
	return roleKinds[k]
}

// MarshalText writes the name.
func (k RoleKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// Role is what one melody note is.
type Role struct {
	Kind      RoleKind
	Degree    theory.Degree // over the root of the chord at its onset; zero when unharmonised
	Span      int           // index of the span at its onset; −1 when there is none
	Suspended int           // index of the later span that it is held into as a suspension; −1 when none
	Weight    int           // structural weight from metre and length, 0 (ornamental) to 16 (a long downbeat)
}

// roles reads each melody note against the chord at its onset and its two
// neighbours in the tune. Source: the usual list of non-chord tones in any
// harmony course, from memory. A rest of a beat or more cuts a note off from its
// neighbour. Where two names fit, the order of the tests decides: suspension,
// anticipation, a tension dwelt on, passing, neighbour, appoggiatura, escape.
// One pass.
func roles(song leadsheet.Song, ss []Span) []Role {
	out := make([]Role, len(song.Melody))
	span, bar := 0, 0
	for i, n := range song.Melody {
		for span+1 < len(ss) && ss[span+1].At <= n.At {
			span++
		}
		for bar+1 < len(song.Bars) && song.Bars[bar+1].At <= n.At {
			bar++
		}
		r := Role{Span: -1, Suspended: -1}
		if len(song.Bars) > 0 {
			r.Weight = weight(song, bar, n.At, n.End())
		}
		if len(ss) == 0 || n.At < ss[0].At || n.At >= ss[len(ss)-1].End {
			out[i] = r
			continue
		}
		r.Span = span
		if s := ss[span]; s.Sounding() {
			var in bool
			r.Degree, in = DegreeOver(s.Chord, n.Pitch.Name)
			if in || s.Chord.HasClass(n.Pitch.Class()) {
				r.Kind = ChordTone
			} else {
				r.Kind = foreign{&song, ss, i, span, bar}.kind(r)
			}
			r.Suspended = suspendedInto(song, ss, i, span, bar)
		}
		out[i] = r
	}
	return out
}

// foreign is one note outside its chord.
type foreign struct {
	song            *leadsheet.Song
	ss              []Span
	note, span, bar int
}

func (f foreign) kind(r Role) RoleKind {
	n := f.song.Melody[f.note]
	prev, hasPrev := f.prev()
	next, hasNext := f.next()
	beat := f.song.Bars[f.bar].Meter.OrCommon().BeatDur()
	// A note that is struck several times is reached and left like one.
	before, hasBefore := f.other(-1)
	after, hasAfter := f.other(+1)
	in, out := step(before, n), step(n, after) // signed semitones, 0 where it is no step
	strong := hasAfter && metricWeight(*f.song, f.bar, n.At, n.End()) > metricWeight(*f.song, f.song.BarAt(after.At), after.At, after.End())

	if hasPrev && prev.Pitch.MIDI() == n.Pitch.MIDI() && hasAfter && out < 0 && f.belongedBefore() {
		return Suspension
	}
	if f.anticipates(next, hasNext, beat) {
		return Anticipation
	}
	stepwise := hasBefore && hasAfter && in != 0 && out != 0
	s := f.ss[f.span]
	use := useOf(s, r.Degree)
	if n.Dur >= 2*beat && use != Avoid || n.Dur >= beat && !stepwise && use == Available {
		return TensionTone
	}
	switch {
	case stepwise && in*out > 0:
		return PassingTone
	case stepwise && before.Pitch.MIDI() == after.Pitch.MIDI():
		return Neighbour
	case hasAfter && out != 0 && (in == 0 || in*out < 0) && strong:
		return Appoggiatura
	case hasPrev && in != 0 && f.changing(prev, next, hasNext):
		return Neighbour
	case hasBefore && hasAfter && in != 0 && out == 0:
		return Escape
	case hasAfter && out != 0:
		return Neighbour // incomplete
	case use == Available:
		return TensionTone
	}
	return Free
}

// other is the nearest note of another pitch in a direction, as long as no rest
// of a beat lies between and the note is not struck more than eight times.
func (f foreign) other(step int) (leadsheet.Note, bool) {
	notes := f.song.Melody
	beat := f.song.Bars[f.bar].Meter.OrCommon().BeatDur()
	for i := f.note; abs(i-f.note) < 8; i += step {
		j := i + step
		if j < 0 || j >= len(notes) {
			break
		}
		if a, b := notes[min(i, j)], notes[max(i, j)]; b.At-a.End() >= beat {
			break
		}
		if notes[j].Pitch.MIDI() != notes[f.note].Pitch.MIDI() {
			return notes[j], true
		}
	}
	return leadsheet.Note{}, false
}

// prev is the note before, unless a rest of a beat lies between.
func (f foreign) prev() (leadsheet.Note, bool) {
	if f.note == 0 {
		return leadsheet.Note{}, false
	}
	p, n := f.song.Melody[f.note-1], f.song.Melody[f.note]
	return p, n.At-p.End() < f.song.Bars[f.bar].Meter.OrCommon().BeatDur()
}

// next is the note after, unless a rest of a beat lies between.
func (f foreign) next() (leadsheet.Note, bool) {
	if f.note+1 >= len(f.song.Melody) {
		return leadsheet.Note{}, false
	}
	n, q := f.song.Melody[f.note], f.song.Melody[f.note+1]
	return q, q.At-n.End() < f.song.Bars[f.bar].Meter.OrCommon().BeatDur()
}

// belongedBefore tells whether the pitch was a chord tone of the span before.
func (f foreign) belongedBefore() bool {
	if f.span == 0 {
		return false
	}
	n := f.song.Melody[f.note]
	prev := f.song.Melody[f.note-1]
	return prev.At < f.ss[f.span].At && f.ss[f.span-1].Chord.HasClass(n.Pitch.Class())
}

// anticipates tells whether the note belongs to the next chord and comes before
// it: short, then struck again or left as soon as the chord is there, or tied
// over into it.
func (f foreign) anticipates(next leadsheet.Note, hasNext bool, beat theory.Dur) bool {
	if f.span+1 >= len(f.ss) {
		return false
	}
	n, s := f.song.Melody[f.note], f.ss[f.span+1]
	if !s.Chord.HasClass(n.Pitch.Class()) || s.At-n.At > beat {
		return false
	}
	if n.End() > s.At {
		return true
	}
	return hasNext && next.At == s.At && next.Pitch.Class() == n.Pitch.Class()
}

// changing tells whether the note is the first of two that circle the note
// before them: up a step, down across it, and home.
func (f foreign) changing(prev, next leadsheet.Note, hasNext bool) bool {
	if !hasNext || f.note+2 >= len(f.song.Melody) {
		return false
	}
	n, home := f.song.Melody[f.note], f.song.Melody[f.note+2]
	a, b := n.Pitch.MIDI()-prev.Pitch.MIDI(), next.Pitch.MIDI()-prev.Pitch.MIDI()
	return home.Pitch.MIDI() == prev.Pitch.MIDI() && a*b < 0 && abs(b) <= 2
}

// suspendedInto finds the span into which a note is held although it does not
// belong there, to resolve down by step.
func suspendedInto(song leadsheet.Song, ss []Span, note, span, bar int) int {
	n := song.Melody[note]
	if note+1 >= len(song.Melody) || span+1 >= len(ss) || ss[span+1].At >= n.End() {
		return -1
	}
	next := song.Melody[note+1]
	if next.At-n.End() >= song.Bars[bar].Meter.OrCommon().BeatDur() || step(n, next) >= 0 {
		return -1
	}
	last := span + 1
	for last+1 < len(ss) && ss[last+1].At < n.End() {
		last++
	}
	s := ss[last]
	if !s.Sounding() || s.Chord.HasClass(n.Pitch.Class()) || !ss[span].Chord.HasClass(n.Pitch.Class()) {
		return -1
	}
	return last
}

// step returns the signed semitones between two notes a step apart (neighbouring
// letters, or a half step of any spelling), else 0.
func step(a, b leadsheet.Note) int {
	d := b.Pitch.MIDI() - a.Pitch.MIDI()
	switch l := b.Pitch.Staff() - a.Pitch.Staff(); {
	case abs(d) == 1:
		return d
	case (l == 1 || l == -1) && abs(d) <= 3 && d*l > 0:
		return d
	case abs(d) == 2:
		return d
	}
	return 0
}

// weight is the structural weight of a note: its metrical weight, and up to 8 for
// its length in half beats.
func weight(song leadsheet.Song, bar int, at, end theory.Dur) int {
	beat := song.Bars[bar].Meter.OrCommon().BeatDur()
	return metricWeight(song, bar, at, end) + int(min(max((end-at)*2/beat, 0), 8))
}

// metricWeight is up to 8 for the strongest place that a note sounds on before
// half a beat is over: a note pushed ahead of a beat and held counts as a little
// less than that beat.
func metricWeight(song leadsheet.Song, bar int, at, end theory.Dur) int {
	b := song.Bars[bar]
	m := b.Meter.OrCommon()
	beat := m.BeatDur()
	places := [...]int{8, 6, 4, 2, 1}
	off := b.Offset(at)
	if off < 0 {
		return 1
	}
	w := places[m.Strength(off)]
	line := (off/beat + 1) * beat // the first beat after the onset
	if off%beat != 0 && off+end-at > line && line-off <= beat/2 {
		w = max(w, places[m.Strength(line%m.Bar())]-1)
	}
	return w
}
