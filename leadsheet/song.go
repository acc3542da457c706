package leadsheet

import (
	"fmt"
	"slices"
	"sort"

	"gradatim/theory"
)

// Feel says how written eighths are played.
type Feel uint8

// Feels. Unstated leaves the choice to what reads the song.
const (
	Unstated Feel = iota
	Straight
	Swing
)

var feels = [...]string{"unstated", "straight", "swing"}

// String returns "straight", "swing" or "unstated".
func (f Feel) String() string {
	if int(f) >= len(feels) {
		return "unknown"
	}
	return feels[f]
}

// ParseFeel reads what String writes.
func ParseFeel(s string) (Feel, error) {
	if i := slices.Index(feels[:], s); i >= 0 {
		return Feel(i), nil
	}
	return 0, fmt.Errorf("no feel is called %q: straight, swing and unstated are", s)
}

// Tempo is a metronome mark: PerMinute beats of the length Beat. The zero Tempo
// is none.
type Tempo struct {
	Beat      theory.Dur
	PerMinute int
	Words     string // "Andante", "Slowly"; may stand alone
}

// MinQuarters and MaxQuarters bound the quarter notes a minute of anything that is played;
// metronomes go from 40 to 208 (common practice, no source).
const (
	MinQuarters = 5
	MaxQuarters = 1200
)

// Set tells whether a metronome figure is known.
func (t Tempo) Set() bool { return t.Beat > 0 && t.PerMinute > 0 }

// QuartersPerMinute converts the mark, rounded to the nearest whole number; 0
// where no figure is known.
func (t Tempo) QuartersPerMinute() int {
	if !t.Set() {
		return 0
	}
	return int((theory.Dur(t.PerMinute)*t.Beat + theory.Quarter/2) / theory.Quarter)
}

// Song is a lead sheet in playing order.
type Song struct {
	File   string // where it was read from; for messages
	Number int    // the tune's number in a file of several; 0 when there is one

	Title  string
	Rhythm string // the dance or style the sheet names: "waltz", "swing", "jig"
	Rights Rights
	Notes  []string // remarks of the sheet, kept for the reader
	Words  []string // of verses that stand below the music, line by line; "" between verses

	Key           theory.Key // at the start
	KeyDeclared   bool       // false: the sheet states none and Key is a guess
	Meter         Meter      // at the start
	MeterDeclared bool
	Tempo         Tempo
	Feel          Feel

	Form   string // sections in playing order, "AABA"; empty when unknown
	Bars   []Bar
	Melody []Note
	Chords []ChordMark

	Problems Problems // what was dropped or guessed in reading
}

// Part is what a bar of a page belongs to.
type Part uint8

// Parts of a page. A sheet has its tune alone.
const (
	Tune Part = iota
	Introduction
	Tag
)

var partNames = [...]string{Tune: "tune", Introduction: "introduction", Tag: "tag"}

// String returns "tune", "introduction" or "tag".
func (p Part) String() string { return partNames[p] }

// apart is how far the bars of an introduction and a tag are numbered from the tune's.
const apart = 100_000

// Place is the number of a bar of a part as one that tells it from the bars of the others,
// in the order of the page. A bar of the tune keeps its printed number.
func (p Part) Place(number int) int {
	switch p {
	case Introduction:
		return number - apart
	case Tag:
		return number + apart
	}
	return number
}

// PartOf reads what Place gives.
func PartOf(place int) (p Part, number int) {
	switch {
	case place < 0:
		return Introduction, place + apart
	case place >= apart:
		return Tag, place - apart
	}
	return Tune, place
}

// ParsePart reads what String writes.
func ParsePart(s string) (_ Part, ok bool) {
	i := slices.Index(partNames[:], s)
	return Part(max(i, 0)), i >= 0
}

// Bar is one bar in playing order.
type Bar struct {
	At      theory.Dur
	Dur     theory.Dur // its real length: a pick-up or a split bar is short
	Meter   Meter
	Key     theory.Key
	Number  int    // as counted from the first full bar; a pick-up is 0
	Written int    // index of the written bar it repeats, from 0
	Sheet   int    // its number on the sheet, with repeats not written out; a pick-up is 0
	Pass    int    // which playing of that number it is, from 1
	Part    Part   // of a page; the bars of each are counted by themselves
	Section string // set on the first bar of a section: "A", "B"
	Pickup  bool
	Line    int // in the file; 0 unknown

	// The bars of the page that it is made of, and where in it the second begins; 0: there
	// is no second, or the page is unknown. The number less one is the written bar, from 0,
	// times PageParts, and which part it is of one that holds several.
	Page  [2]int
	Split theory.Dur

	Signs Signs // in a song that is in the order of its page; of one in playing order zero
}

// PageParts is more than the bars that one written bar can hold.
const PageParts = 4096

// End returns the position after the bar.
func (b Bar) End() theory.Dur { return b.At + b.Dur }

// Offset tells how far into its full bar a position of the bar is: a pick-up is the
// end of one.
func (b Bar) Offset(at theory.Dur) theory.Dur {
	at -= b.At
	if full := b.Meter.Bar(); b.Pickup && b.Dur < full {
		at += full - b.Dur
	}
	return at
}

// Note is one melody note, ties joined. Its index in Song.Melody is its identity
// everywhere else.
type Note struct {
	At     theory.Dur
	Dur    theory.Dur
	Pitch  theory.Pitch
	Graces []theory.Pitch // before the note, in order
	Sung   []Syllable     // what the verses have here, by number; who may print it is for Rights
	Pos    Pos            // where it was written
}

// End returns the position after the note.
func (n Note) End() theory.Dur { return n.At + n.Dur }

// ChordMark is a chord symbol at its place. It holds until the next one.
type ChordMark struct {
	At       theory.Dur
	Chord    theory.Chord // zero where Silent or Unknown
	Text     string       // as written on the sheet
	Unknown  bool         // the symbol could not be read; see Problems
	Optional bool         // written in brackets: may be left out
	Pos      Pos
}

// BarChord is a chord symbol by the written bar of its file.
type BarChord struct {
	Measure int        // written bar, from 0
	Offset  theory.Dur // from its beginning
	Chord   theory.Chord
	Text    string
}

// End returns the position after the last bar.
func (s Song) End() theory.Dur {
	if len(s.Bars) == 0 {
		return 0
	}
	return s.Bars[len(s.Bars)-1].End()
}

// BarAt returns the index of the bar that holds a position; positions before
// the start belong to the first bar, positions after the end to the last. It is
// −1 only in a song without bars.
func (s Song) BarAt(at theory.Dur) int {
	i := sort.Search(len(s.Bars), func(i int) bool { return s.Bars[i].At > at })
	if i == 0 && len(s.Bars) > 0 {
		return 0
	}
	return i - 1
}

// Harmonised tells whether the song has a chord that sounds, or one that could not be read.
func (s Song) Harmonised() bool {
	return slices.ContainsFunc(s.Chords, func(c ChordMark) bool { return c.Unknown || !c.Chord.Silent() })
}

// Joint tells whether a bar, by index, may be played after another one than stands
// before it: a repeat, an ending or a coda begins with it, or it follows a jump.
func (s Song) Joint(i int) bool {
	if i <= 0 || i >= len(s.Bars) {
		return i == 0
	}
	here, before := s.Bars[i].Signs, s.Bars[i-1].Signs
	return here.Start || here.EndingOpens || here.Segno || here.Coda || before.Times > 0 || before.DaCapo || before.DalSegno
}

// PosAt places a moment of the music by bar and beat.
func (s Song) PosAt(at theory.Dur) Pos {
	i := s.BarAt(at)
	if i < 0 {
		return Pos{File: s.File}
	}
	b := s.Bars[i]
	return Pos{File: s.File, Bar: b.Number, Beat: b.Meter.BeatAt(b.Offset(at)), Part: b.Part}
}

// Transpose moves the whole song by a spelled interval.
func (s Song) Transpose(iv theory.Interval) Song {
	s.Key = s.Key.Transpose(iv)
	bars := make([]Bar, len(s.Bars))
	for i, b := range s.Bars {
		if b.Key.Valid() {
			b.Key = b.Key.Transpose(iv)
		}
		bars[i] = b
	}
	notes := make([]Note, len(s.Melody))
	for i, n := range s.Melody {
		n.Pitch = n.Pitch.Up(iv)
		if len(n.Graces) > 0 {
			g := make([]theory.Pitch, len(n.Graces))
			for j, p := range n.Graces {
				g[j] = p.Up(iv)
			}
			n.Graces = g
		}
		notes[i] = n
	}
	chords := make([]ChordMark, len(s.Chords))
	for i, c := range s.Chords {
		c.Chord = c.Chord.Transpose(iv)
		chords[i] = c
	}
	s.Bars, s.Melody, s.Chords = bars, notes, chords
	return s
}
