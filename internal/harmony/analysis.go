package harmony

import (
	"sort"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Analysis is what Analyse finds. It is immutable: levels share one.
type Analysis struct {
	// Key is the key that the song is read in at its start: the declared one,
	// or the estimate where none is declared or where the sheet is plainly wrong
	// (most often in the mode: E minor under one sharp). Where it is not
	// Song.Key, a Problem says so.
	Key      theory.Key
	Estimate theory.Key // of the first region, from melody and chords alone
	Regions  []Region   // one per stretch under one key signature, tiling the bars
	Spans    []Span     // tiling the song from its first bar to its end
	Phrases  []Phrase   // tiling the bars
	Roles    []Role     // one per melody note
	Gaps     []Gap      // in order, never overlapping
	Problems leadsheet.Problems
}

// Region is a stretch of bars under one key.
type Region struct {
	First, Last int // bar indexes, inclusive
	Declared    theory.Key
	Estimate    theory.Key
	Key         theory.Key // the one that the chords are read in
}

// Span is one chord in force: from its mark until the next different one. A
// span never crosses a change of key (both halves then have the same Mark), but
// it may cross bar lines.
type Span struct {
	At, End  theory.Dur
	Chord    theory.Chord // zero where Silent or Unknown
	Mark     int          // index into Song.Chords; −1 before the first chord
	Key      theory.Key   // the key that it is read in
	Roman    theory.Roman
	Function Function
	Target   theory.Name // the root that an Applied, Related, Substitute or Passing chord leads to
	Resolves bool        // …and whether the next chord is on it
	Unknown  bool        // the symbol could not be read
	Silent   bool        // no chord: N.C., or before the first mark
	Line     bool        // its bass is the sheet's own: a slash bass, or one of three and more that go by step
}

// Sounding tells whether the span has a chord to play.
func (s Span) Sounding() bool { return !s.Unknown && !s.Silent }

// Dur returns the length of the span.
func (s Span) Dur() theory.Dur { return s.End - s.At }

// Function says what a chord does where it stands.
type Function uint8

// Functions. None is for silence and for symbols that could not be read.
const (
	None        Function = iota
	Tonic                // home: I, and vi or iii in its place
	Subdominant          // away from home: IV, ii
	Dominant             // wants home: V, vii°
	Cadential            // the tonic over the fifth of the key, leaning on V (cadential six-four)
	Applied              // dominant of a chord other than the tonic: V7/x, vii°7/x
	Related              // the ii that prepares an applied or substitute dominant
	Substitute           // dominant a half step above its target: ♭II7/x
	Borrowed             // from the parallel mode
	Passing              // fills the way between two chords, or colours one that stays
	Chromatic            // outside the key and none of these
)

var functions = [...]string{"none", "tonic", "subdominant", "dominant", "cadential six-four",
	"applied dominant", "related ii", "substitute dominant", "borrowed", "passing", "chromatic"}

// String returns the function's name in lower case.
func (f Function) String() string {
	if int(f) >= len(functions) {
		return "unknown"
	}
	return functions[f]
}

// MarshalText writes the name.
func (f Function) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// Cadence says how a phrase ends.
type Cadence uint8

// Cadences.
const (
	NoCadence Cadence = iota // no harmonic close
	Authentic                // dominant to tonic, or to another degree that its own dominant has made one
	Half                     // stops on the dominant
	Plagal                   // subdominant to tonic
	Deceptive                // dominant to something in the tonic's place
)

var cadences = [...]string{"none", "authentic", "half", "plagal", "deceptive"}

// String returns the cadence's name in lower case.
func (c Cadence) String() string {
	if int(c) >= len(cadences) {
		return "unknown"
	}
	return cadences[c]
}

// MarshalText writes the name.
func (c Cadence) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// Phrase is a stretch of whole bars. Musically a phrase begins with its pick-up:
// the notes of a pick-up stand in the bar before First, and From and To count
// them where they belong.
type Phrase struct {
	First, Last int        // bar indexes, inclusive
	At, End     theory.Dur // of those bars
	From, To    int        // melody notes From ≤ i < To, its own pick-up included, the next one's not
	Cadence     Cadence
	Close       theory.Name // root that the cadence closes on; another than the tonic's for a close in another degree
	Goal        int         // melody index of the note that it closes on; −1 if it has none
	Rhythm      theory.Dur  // harmonic rhythm: how long one chord lasts, as a median
}

// Gap is room for an answer to the tune. A gap under a held note begins one
// beat after its onset, so that the tune is heard first, and ends where the note
// does; a gap in a rest is the rest. A held note and the rest after it are two
// gaps that touch. No gap covers a melody onset, a pick-up's included.
type Gap struct {
	At, End   theory.Dur
	After     int  // index of the melody note before it (or held over it); −1: before the first
	Held      bool // under a sounding note; otherwise in a rest
	PhraseEnd bool // the note before it closes a phrase
}

// Analyse reads a song. It never fails: what it cannot tell it leaves at None,
// and what the reader should know it says in Problems (which do not repeat
// Song.Problems).
func Analyse(song leadsheet.Song) Analysis {
	var a Analysis
	a.Spans = spans(song)
	a.Regions = regions(song, a.Spans, &a.Problems)
	a.Key, a.Estimate = song.Key, song.Key
	if len(a.Regions) > 0 {
		a.Key = a.Regions[0].Key
		a.Estimate = a.Regions[0].Estimate
		inKeys(a.Spans, song, a.Regions)
	}
	readSpans(a.Spans)
	markLines(a.Spans)
	a.Phrases = phrases(song, a.Spans)
	a.Roles = roles(song, a.Spans)
	a.Gaps = gaps(song, a.Phrases)
	a.Problems.Sort()
	return a
}

// inKeys gives each span the key that its region is read in.
func inKeys(ss []Span, song leadsheet.Song, rs []Region) {
	r := 0
	for i := range ss {
		for r+1 < len(rs) && song.Bars[rs[r+1].First].At <= ss[i].At {
			r++
		}
		ss[i].Key = rs[r].Key
	}
}

// SpanAt returns the span in force at a position; ok is false outside the song.
func (a Analysis) SpanAt(at theory.Dur) (Span, bool) {
	i := a.SpanIndex(at)
	if i < 0 {
		return Span{}, false
	}
	return a.Spans[i], true
}

// SpanIndex returns the index of the span in force at a position, −1 outside
// the song.
func (a Analysis) SpanIndex(at theory.Dur) int {
	return spanIndex(a.Spans, at)
}

// PhraseAt returns the index of the phrase whose bars hold a position, −1
// outside the song.
func (a Analysis) PhraseAt(at theory.Dur) int {
	i := sort.Search(len(a.Phrases), func(i int) bool { return a.Phrases[i].End > at })
	if i == len(a.Phrases) || at < a.Phrases[i].At {
		return -1
	}
	return i
}
