package technique

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// Usage is what a kind of tune lets its chords do, beyond what the key does.
type Usage struct {
	FreeDominants bool // a dominant seventh may stand on any degree, prepared or not
	TonicSevenths bool // I, IV and V are dominant sevenths, as in the blues
	TonicSixth    bool // the major tonic rests on its sixth rather than on its major seventh
	MinorSixth    bool // so does the minor tonic
	PlainTonic    bool // a tonic that the sheet leaves a triad stays one, whatever else is coloured
	Palette       Palette
}

// Palette is what a kind of tune adds to chords of its own accord. What stands on the
// sheet is always played.
type Palette uint8

// Palettes. In dances, hymns and songs that are sung a seventh says that a chord leads
// on: a sixth or ninth on the chords of rest takes the tune into another room (common
// practice, no source).
const (
	AllColours Palette = iota // sevenths, sixths and tensions by the function of the chord
	Sevenths                  // a seventh on a dominant, and on the second degree before one
	Ninths                    // the same, and the ninth on a dominant
)

var palettes = [...]string{"all", "sevenths", "ninths"}

// String returns "all", "sevenths" or "ninths".
func (p Palette) String() string { return palettes[p] }

// PaletteNamed reads what String writes.
func PaletteNamed(s string) (Palette, bool) {
	i := slices.Index(palettes[:], s)
	return Palette(max(i, 0)), i >= 0
}

// leadsOn tells whether a chord is one that a restrained palette colours.
func (t Toned) leadsOn() bool {
	key := t.Passage.Span.Key
	deg, alter := key.Degree(t.Chord.Root)
	switch r := harmony.Read(key, t.Passage.Prev.Chord, t.Chord, t.Next); {
	case t.Passage.Final:
		return false
	case t.Chord.Diminished(), deg == 5 && alter == 0, r.Function == harmony.Applied && !t.Passage.Arrives:
		return true
	case deg == 2 && alter == 0 && !t.Next.Silent():
		to, sharp := key.Degree(t.Next.Root)
		return to == 5 && sharp == 0
	}
	return false
}

// stays tells whether a chord is a tonic triad of the sheet that has to stay one.
func (t Toned) stays() bool {
	return t.Device == "" && t.Passage.plainTonic(t.Chord)
}

// plainTonic tells whether a chord is the key's own tonic triad where the kind of tune
// leaves that alone.
func (p Passage) plainTonic(ch theory.Chord) bool {
	deg, alter := p.Span.Key.Degree(ch.Root)
	_, third := ch.Third()
	return p.Usage.PlainTonic && deg == 1 && alter == 0 && third && ch == p.Span.Chord && ch.Tones == ch.Triad().Tones &&
		ch.UpperTones.Empty() && ch.MinorThird() == p.Span.Key.Mode.Minorish()
}

// Passage is one chord span of the song with what a device has to know of its
// surroundings.
type Passage struct {
	Song     leadsheet.Song
	Analysis harmony.Analysis
	Span     harmony.Span
	Next     harmony.Span // following span; Mark −2 at the end of the piece
	Prev     harmony.Span // Mark −2 at the start
	Manner   Manner
	Usage    Usage
	Tempo    int // quarters a minute, printed
	First    bool
	Final    bool // the last sounding span of the piece
	Cadence  bool // the span's end closes a phrase
	Arrives  bool // the span is the goal of a cadence
	Room     bool // the next section starts on this span's tonic again (turnaround possible)
}

// Chord is one chord of a rewritten span, before it is painted.
type Chord struct {
	At, End theory.Dur
	Chord   theory.Chord
	Why     reason.Reason // nil for the sheet's own chord
	Leads   []Lead        // how its notes may go on; told where the page's notes do
}

// Lead is a note of a chord that goes on by step to one of the next chord.
type Lead struct {
	From, To theory.Name
	Say      reason.Reason
}

// Rewrite is one way to harmonise a span.
type Rewrite struct {
	Device    string // technique id; "" keeps the sheet's chord
	Chords    []Chord
	Cost      int  // the device's own preference
	Chromatic int  // how many chromatic devices it spends of the level's budget
	Chain     bool // goes on from the same device on the span before at no new spending
	// Then is the chord that the rewrite leads to, where that is not the sheet's
	// next chord but what another rewrite of the next span puts there; zero: the
	// sheet's.
	Then theory.Chord
}

// Toned is one chord at its place, to be painted: the sheet's or a device's.
type Toned struct {
	Passage Passage
	At, End theory.Dur
	Chord   theory.Chord
	Device  string       // what put it there; "" the sheet
	Next    theory.Chord // zero at the end
}

// Tint is one way to play a chord: the same function with more (or fewer)
// notes.
type Tint struct {
	Paint string // technique id; "" where nothing is painted
	Plain bool   // the chord without the technique: what is played where it adds nothing
	Chord theory.Chord
	Added theory.Degree // the note that joins a triad; zero none
	Cost  int
	Why   reason.Reason
}
