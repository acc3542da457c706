package proof

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// lastChord tells whether the tune comes home and its last chord does not.
func (r *reader) lastChord() (Suspicion, bool) {
	end := len(r.a.Spans) - 1
	if end < 1 || !r.a.Spans[end].Sounding() {
		return Suspicion{}, false
	}
	s := r.a.Spans[end]
	note := r.song.Melody[len(r.song.Melody)-1]
	home := theory.Chord{Root: s.Key.Tonic, Tones: triadIn(s.Key, s.Key.Tonic)}
	if s.Chord.Root.Class() == home.Root.Class() || note.End() <= s.At || s.Chord.Lowest().Class() == home.Root.Class() {
		return Suspicion{}, false
	}
	on := r.chordOf(r.a.SpanIndex(note.At)) // of a turnaround the tune knows nothing
	before := r.chordOf(end - 1)
	if r.strength(s.At) > 0 && (note.At < s.At && on.Root.Class() == home.Root.Class() ||
		r.song.BarAt(s.At) == r.song.BarAt(note.At) && before.Root.Class() == home.Root.Class()) {
		return Suspicion{}, false // it leads back to the beginning
	}
	first := theory.Chord{}
	for _, x := range r.a.Spans {
		if x.Sounding() {
			first = x.Chord
			break
		}
	}
	holds := s.Chord.HasClass(note.Pitch.Class())
	likely := 0
	switch on := note.Pitch.Class(); {
	case on == home.Root.Class() && !holds:
		likely = 90
	case on == home.Root.Class():
		likely = 75
		if sameTriad(first, home) {
			likely = 80
		}
	case home.HasClass(on) && !holds:
		likely = 70
	default:
		return Suspicion{}, false
	}
	at := r.homecoming(s, note, home)
	p := Suspicion{Kind: LastChord, Pos: r.pos(at), ID: r.id(LastChord, at), Likely: likely,
		Says: "chord-doubtful.last", Parts: []any{"Chord", s.Chord, "Note", note.Pitch.Name, "Read", home}}
	p.mend = r.comeHome(at, home)
	return p, true
}

// homecoming is where the last chord should begin: with the span that is suspected, or
// where that began in an earlier bar, with the bar of the last note, or with the note.
func (r *reader) homecoming(s harmony.Span, note leadsheet.Note, home theory.Chord) theory.Dur {
	bar := r.song.Bars[r.song.BarAt(note.At)].At
	if s.At >= bar {
		return s.At
	}
	as, _ := r.weigh(home, bar, s.End)
	is, _ := r.weigh(s.Chord, bar, s.End)
	if as <= is {
		return bar
	}
	return note.At
}

// comeHome is the mend that has a chord begin at a place, and wherever the page has that
// place again.
func (r *reader) comeHome(at theory.Dur, home theory.Chord) func(leadsheet.Song) leadsheet.Song {
	page, off := r.page(at)
	var places []theory.Dur
	for _, b := range r.song.Bars {
		for _, t := range []theory.Dur{b.At + off, b.At + b.Split + off} {
			if p, o := r.page(min(t, r.song.End()-1)); p == page && o == off && t < b.End() && !slices.Contains(places, t) {
				places = append(places, t)
			}
		}
	}
	return func(song leadsheet.Song) leadsheet.Song {
		song.Chords = slices.Clone(song.Chords)
		for _, t := range places {
			i, there := slices.BinarySearchFunc(song.Chords, t, func(m leadsheet.ChordMark, t theory.Dur) int {
				return int(min(1, max(-1, m.At-t)))
			})
			m := leadsheet.ChordMark{At: t, Chord: home, Text: home.String(), Pos: song.PosAt(t)}
			if there {
				m.Pos = song.Chords[i].Pos
				song.Chords[i] = m
			} else {
				song.Chords = slices.Insert(song.Chords, i, m)
			}
		}
		return song
	}
}

// spelling tells whether a chord's root is spelled against the key: its other name is of
// the key, or much nearer to it. Diminished chords are spelled after where they go.
func (r *reader) spelling(s spot) (Suspicion, bool) {
	span := r.a.Spans[s.spans[0]]
	key := span.Key
	other, ok := enharmonic(s.chord.Root)
	if !ok || key.Contains(s.chord.Root) {
		return Suspicion{}, false
	}
	far := func(n theory.Name) int {
		d := n.Fifths() - key.Tonic.Fifths()
		return max(d, -d)
	}
	likely := 0
	switch {
	case key.Contains(other):
		likely = 95
	case s.chord.Diminished():
	case white(other):
	case far(s.chord.Root) > 6 && far(other) < far(s.chord.Root)-2:
		likely = 80
		if r.leads(s) { // as the dominant of what is spelled so too
			likely = 0
		}
	}
	if likely == 0 {
		return Suspicion{}, false
	}
	read := s.chord
	read.Root = other
	if s.chord.Slash {
		read.Bass = nearer(key, s.chord.Bass)
	}
	p := Suspicion{Kind: Spelling, Pos: r.chordPos(span), ID: r.id(Spelling, span.At), Likely: likely,
		Says: "chord-doubtful.spelled", Parts: []any{"Chord", s.chord, "Read", read, "Key", key}}
	p.mend = setChord(r.marks(s), read)
	return p, true
}

// leads tells whether a chord is spelled for a neighbour that lies a fifth off.
func (r *reader) leads(s spot) bool {
	near := func(n theory.Chord) bool {
		if n.Silent() {
			return false
		}
		d := n.Root.Fifths() - s.chord.Root.Fifths()
		return d >= -1 && d <= 1
	}
	return near(s.next) || near(s.prev)
}

// enharmonic is the other name of a key that one sign spells.
func enharmonic(n theory.Name) (theory.Name, bool) {
	for l := theory.C; l <= theory.B; l++ {
		for a := int8(-1); a <= 1; a++ {
			if x := (theory.Name{Letter: l, Alter: a}); x != n && x.Class() == n.Class() {
				return x, true
			}
		}
	}
	return theory.Name{}, false
}

// nearer is the name of a sound that lies nearer to a key.
func nearer(key theory.Key, n theory.Name) theory.Name {
	other, ok := enharmonic(n)
	if !ok || key.Contains(n) {
		return n
	}
	a, b := n.Fifths()-key.Tonic.Fifths(), other.Fifths()-key.Tonic.Fifths()
	if key.Contains(other) || max(b, -b) < max(a, -a) {
		return other
	}
	return n
}
