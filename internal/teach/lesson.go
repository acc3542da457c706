package teach

import (
	"context"
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// Input is a ladder as it was arranged: the tune in the key of the pages, what was
// understood of it, and the pages from the easiest up.
type Input struct {
	Song     leadsheet.Song
	Analysis harmony.Analysis
	Hand     hand.Profile // the zero Profile is the default one
	Language string       // of its sentences, as package words has them; "": the default
	Pages    []Page
}

// Page is one level's arrangement.
type Page struct {
	Level     ladder.Level
	Score     score.Score
	Decisions []Decision
	Used      []Use
	Hardest   []Hard // hardest first; none: nothing is known of it
	// Seconds tells when a position is played at the printed tempo; nil: evenly,
	// from 0.
	Seconds func(theory.Dur) float64
	// Before and After are the introduction and the tag, where the page has them.
	Before, After Around
}

// Around is what stands before the tune or after it, as a score of its own that begins at
// 0. Its bars are numbered as leadsheet.Part.Place has it.
type Around struct {
	Score     score.Score
	Decisions []Decision
	Offset    theory.Dur // of its beginning, from that of the tune
}

// Decision is what became of one chord of the sheet.
type Decision struct {
	At, End theory.Dur
	Sheet   theory.Chord
	Device  string // technique id; "": the sheet's chord was kept or coloured
	Chords  []Chosen
}

// Chosen is one chord of the page.
type Chosen struct {
	At, End theory.Dur
	Chord   theory.Chord
	Why     reason.Reason // nil for the sheet's own
}

// Use tells in which bars (printed numbers, ascending) a page uses a technique.
type Use struct {
	Technique string
	Bars      []int
}

// Hard is a stretch of bars (numbered as leadsheet.Part.Place has it, inclusive) that asks
// more than the rest of its page.
type Hard struct {
	From, To int
	Why      string // a clause: "the left hand leaps two octaves"; may be empty
}

// Lesson is all that is taught of a tune.
type Lesson struct {
	Title     string        `json:"title"`
	Composers []string      `json:"composers"`
	Key       string        `json:"key"`
	Meter     string        `json:"meter"`
	Bars      int           `json:"bars"` // without the pick-up
	Levels    []LevelLesson `json:"levels"`
	Glossary  []Term        `json:"glossary"` // of the words that this lesson uses
	Signs     []Sign        `json:"signs"`    // that need a word
	Cautions  []Caution     `json:"cautions"` // for every level

	claims map[string]Tally // by message: what was to be said of notes, and what they denied
}

// LevelLesson is the lesson of one page.
type LevelLesson struct {
	Number int    `json:"number"`
	Name   string `json:"name"`
	Title  string `json:"title"`
	Tempo  Tempo  `json:"tempo"`
	Feel   string `json:"feel"`

	Bring    []Item      `json:"bring"`    // what has to be known before
	Given    []Known     `json:"given"`    // what the levels below gave, and where it comes back
	New      []New       `json:"new"`      // each technique that this page uses for the first time, the main one first
	Also     []Also      `json:"also"`     // used here for the first time where no place shows it by itself
	Chords   []ChordCard `json:"chords"`   // every chord, in order of appearance
	Drills   []Drill     `json:"drills"`   //
	Plan     Plan        `json:"plan"`     //
	Mistakes []Point     `json:"mistakes"` //
	Listen   []Point     `json:"listen"`   //
	Cautions []Caution   `json:"cautions"` // that this page adds to the lesson's
	Below    string      `json:"below"`    // what the changes are counted from
	Changes  []Change    `json:"changes"`  //
	Talk     []Talk      `json:"talk"`     // a line a bar, for the teacher at the piano
}

// Tempo is a speed: so many beats of a note value a minute.
type Tempo struct {
	Beat      string     `json:"beat"` // "quarter", "dotted quarter"
	Value     theory.Dur `json:"-"`    // the same, not in words
	PerMinute int        `json:"per_minute"`
}

// Item is a thing to know or to have.
type Item struct {
	Name string `json:"name"`
	Text string `json:"text"`

	of string // what it is about, by the key of its words
}

// Known is a technique that comes back.
type Known struct {
	Technique string `json:"technique"` // id
	Name      string `json:"name"`
	From      int    `json:"from_level"`
	Bars      []int  `json:"bars"`
}

// New is a technique taught for the first time, with one example of this tune.
type New struct {
	Technique string   `json:"technique"` // id
	Name      string   `json:"name"`
	Stage     string   `json:"stage"` // "left hand", "harmony" …
	What      string   `json:"what"`
	How       string   `json:"how"`
	Practise  []string `json:"practise"`
	Bars      []int    `json:"bars"`  // all in which it is heard
	Elsewhere []int    `json:"-"`     // those that answer where else it is; none: that has no sure answer
	Chief     bool     `json:"chief"` // the level is there to teach it
	Main      bool     `json:"main"`  // the one new thing of the level; the others come beside it
	Example   Example  `json:"example"`
}

// After tells whether a new thing is made of another one and comes after it.
func (n New) After(o New) bool { return needs(n.Technique, o.Technique) }

// Also is a technique that the page uses without a place at which its recogniser
// finds it: it is named and explained, and taught with an example on the page that
// shows it.
type Also struct {
	Technique string `json:"technique"` // id
	Name      string `json:"name"`
	What      string `json:"what"`
	How       string `json:"how"`
	Bars      []int  `json:"bars"`
}

// Example is one place of the tune without the technique and with it.
type Example struct {
	Bars   []int  `json:"bars"`
	Before Music  `json:"before"`
	After  Music  `json:"after"`
	Why    string `json:"why"` // at most 40 words
	// Notes are the ids, in After, of the notes that the technique has brought:
	// of a device those of its chord that the sheet's has not. None where it
	// leaves notes out.
	Notes []string `json:"notes"`
}

// Music is a small score with a line that says what it is.
type Music struct {
	Caption string
	Score   score.Score
}

// Bare returns the score without what the words beside it say already, or what
// only a whole page needs: tempo, feel, sections.
func (m Music) Bare() score.Score {
	s := m.Score
	s.Tempo, s.Feel = leadsheet.Tempo{}, leadsheet.Unstated
	s.Bars = slices.Clone(s.Bars)
	for i := range s.Bars {
		s.Bars[i].Section = ""
	}
	return s
}

// MarshalJSON writes the caption and the music as text.
func (m Music) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Caption string `json:"caption"`
		Text    string `json:"music"`
	}{m.Caption, score.Text(m.Score)})
}

// ChordCard explains one chord symbol.
type ChordCard struct {
	Symbol string       `json:"symbol"`
	Chord  theory.Chord `json:"-"`
	Tones  []Tone       `json:"tones"`     // root first, as in the symbol
	Bass   string       `json:"bass"`      // the note below, where it is not the root
	Keys   []Key        `json:"keys"`      // for a picture of the keyboard: root position near middle C
	Uses   []ChordUse   `json:"uses"`      // one for each function that it has
	Hands  []Key        `json:"as_played"` // the keys of its first appearance on the page
	First  int          `json:"first_bar"` // the number of the bar where that is

	struck []Key // the most of Hands that a hand strikes at once
}

// Shapes are the keys of the chord as the page first plays it, a hand at a time, each from
// below; a key that is struck again stands once.
func (c ChordCard) Shapes() [][]Key {
	var out [][]Key
	for _, hand := range []score.Hand{score.Left, score.Right} {
		var keys []Key
		for _, k := range c.Hands {
			if k.Hand == hand.String() && !slices.ContainsFunc(keys, func(o Key) bool { return o.MIDI == k.MIDI }) {
				keys = append(keys, k)
			}
		}
		if len(keys) > 0 {
			out = append(out, keys)
		}
	}
	return out
}

// Chief is what a hand strikes of the chord at once, or else the one of the shapes that has
// most of its keys, the left hand's of equal ones; nil where it is a key alone or wider than
// two octaves, which is no shape.
func (c ChordCard) Chief() []Key {
	if len(c.struck) > 2 {
		return c.struck
	}
	var out []Key
	for _, keys := range c.Shapes() {
		if len(keys) > max(1, len(out)) && keys[len(keys)-1].MIDI-keys[0].MIDI <= 24 {
			out = keys
		}
	}
	return out
}

// Spelled returns the notes of a shape and the fingers that are printed for it, and whether
// each of its keys has one.
func Spelled(shape []Key) (notes, fingers string, all bool) {
	var ns, fs []string
	for _, k := range shape {
		ns = append(ns, k.Note)
		if k.Finger > 0 {
			fs = append(fs, strconv.Itoa(k.Finger))
		}
	}
	return strings.Join(ns, " "), strings.Join(fs, " "), len(fs) == len(shape)
}

// Tone is one note of a chord.
type Tone struct {
	Degree string `json:"degree"` // "1", "♭7", "♯9"
	Name   string `json:"name"`   // "root", "minor third", "raised ninth"
	Note   string `json:"note"`
}

// Key is one key of a picture.
type Key struct {
	MIDI   int    `json:"midi"`
	Note   string `json:"note"`
	Degree string `json:"degree"`
	Hand   string `json:"hand,omitempty"`   // "right" or "left"; empty in a plain picture
	Finger int    `json:"finger,omitempty"` // 1 to 5; 0: the page prints none, or it is a plain picture
}

// ChordUse is a chord in one function.
type ChordUse struct {
	Roman    string `json:"roman"`    // "" on a plain level
	Function string `json:"function"` // "" on a plain level
	Why      string `json:"why"`
	Bars     []int  `json:"bars"`
}

// Drill is an exercise in the tune's key.
type Drill struct {
	Name  string   `json:"name"`
	For   []string `json:"for"`   // techniques (ids) that it prepares; none: the level as a whole
	Hands string   `json:"hands"` // "right hand", "left hand", "both hands"
	Words string   `json:"words"` // the instruction above it
	Count string   `json:"count"` // said aloud in each bar
	Steps []Step   `json:"steps"`
	Music Music    `json:"music"`

	bare score.Score // without fingers, to compare
}

// Step is one tempo of a drill or plan.
type Step struct {
	Percent int   `json:"percent"` // of the page's tempo
	Tempo   Tempo `json:"tempo"`
}

// Plan is the order of practice.
type Plan struct {
	First   []HardSpot `json:"hardest_first"`
	Order   []Stage    `json:"order"` // what is done with each phrase, a hard place taken like one
	Phrases []Phrase   `json:"phrases"`
	Rules   []string   `json:"rules"` // when to step up, down, or stop
}

// HardSpot is a place to begin with: the phrase in which the hardest bars are, for what
// is practised begins and ends with the music.
type HardSpot struct {
	From int    `json:"from_bar"`
	To   int    `json:"to_bar"`
	Spot []int  `json:"hardest_bars"` // those of which Why speaks
	Why  string `json:"why"`
}

// Stage is one way through a phrase.
type Stage struct {
	Name string `json:"name"`
	Step Step   `json:"step"`
	Text string `json:"text"`
}

// Phrase is one portion of practice, or several in a row that repeat the same one.
type Phrase struct {
	Name    string `json:"name"` // "Phrase 1", "Phrases 2–4"
	From    int    `json:"from_bar"`
	To      int    `json:"to_bar"`
	As      string `json:"as"`   // "phrase 1" where it has the same notes as that one, perhaps "but for the last bar"
	Rank    int    `json:"rank"` // 1 is practised first
	Cadence string `json:"cadence"`
	Left    string `json:"left_hand"`  // what the hands do in it
	Right   string `json:"right_hand"` //
	// Join is the overlap with the phrase that follows: from the last bar of this
	// one over the first beat of that one. nil after the last.
	Join []int `json:"join,omitempty"`

	number int // of the first, where there are several
	like   likeness
}

// Repeats tells whether all of the phrase has been played with another.
func (p Phrase) Repeats() bool { return p.like.phrase > 0 && !p.like.butEnd }

// Repeating tells whether all of the phrase has been played with another one.
func (p Phrase) Repeating(other Phrase) bool {
	return p.Repeats() && p.like.phrase == other.number
}

// likeness is the phrase that another repeats; the zero likeness: none.
type likeness struct {
	phrase int  // its number
	bare   bool // without its pick-up
	butEnd bool // but for the last bar
}

// Point is a remark that belongs to a technique.
type Point struct {
	Text  string   `json:"text"`
	About string   `json:"about"` // the techniques by name
	For   []string `json:"for"`   // and by id
}

// Caution is about body, ear or health, in general words.
type Caution struct {
	About string `json:"about"`
	Text  string `json:"text"`
}

// Change is what became of some bars since the level below.
type Change struct {
	Bars   []int  `json:"bars"`
	Chords string `json:"chords"`
	Left   string `json:"left_hand"`
	Right  string `json:"right_hand"`
	Rhythm string `json:"rhythm"`
}

// Talk is what the teacher shows and says at one bar, or at some that repeat
// others.
type Talk struct {
	From  int    `json:"from_bar"`
	To    int    `json:"to_bar"`
	Start int    `json:"start_ms"` // in the performance at the page's tempo
	End   int    `json:"end_ms"`
	Show  string `json:"show"`
	Say   string `json:"say,omitempty"`
	// Numerals are the chords of the bar as degrees of the key, where they change.
	Numerals string `json:"numerals,omitempty"`

	as     int  // the bar that From repeats; 0: none
	steady bool // what is said holds of each bar in which the hands go on so
}

// Prepare writes the lesson. It is a pure function; a page without notes is
// passed over. The error is the context's.
func Prepare(ctx context.Context, in Input) (Lesson, error) {
	if err := context.Cause(ctx); err != nil {
		return Lesson{}, err
	}
	w := newWriter(in)
	out := Lesson{Title: in.Song.Title, Key: w.words.Key(w.key), Meter: in.Song.Meter.String(), Composers: []string{}}
	if out.Title == "" {
		out.Title = w.say("untitled")
	}
	for _, c := range in.Song.Rights.Composers {
		out.Composers = append(out.Composers, c.Name)
	}
	for _, b := range in.Song.Bars {
		if !b.Pickup {
			out.Bars++
		}
	}
	for i := range w.pages {
		l, err := w.level(ctx, i)
		if err != nil {
			return Lesson{}, err
		}
		out.Levels = append(out.Levels, l)
	}
	out.Signs = w.signs(out.Levels)
	out.Cautions = w.generalCautions()
	out.Glossary = glossaryFor(w.words, out)
	out.claims = w.tally
	return out, nil
}
