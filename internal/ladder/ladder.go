// Package ladder holds the levels: which techniques each may use and what its
// hands may be asked to do. A level is data (TOML). Five are embedded; a teacher
// can add her own in the same form. The package knows no single notes.
package ladder

import (
	"cmp"
	"embed"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"gradatim/internal/hand"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Level is one step of the ladder.
type Level struct {
	Number int    // labels, and places where After does not
	After  int    // number of the level that it stands right above; 0: its own number is its place
	Name   string // "late elementary"
	Title  string // what is new, where its file says so: it goes before what the page tells

	// Ids of techniques, in order of preference within each stage.
	Devices, Line, Left, Right, Ornaments []string
	// Reserve lists left-hand techniques that take no turn and stand in where the
	// others do not fit; the last is the one of last resort.
	Reserve []string

	Feel          leadsheet.Feel // Unstated: the tune's
	WalksAs       string         // id of the kind of tune in whose manner the level is played, where a tune walks; "": its own
	TempoPercent  int            // of the tune's tempo: what is printed
	RunsPerSecond int            // notes of the tune in a second where it runs, at most, in tenths: the tempo is lowered to it; 0: no cap
	Low, High     theory.Pitch   // the left hand's register
	Room          theory.Pitch   // lowest melody note that leaves the hands room
	Top           theory.Pitch   // highest that its reader is used to; zero: any
	Finest        theory.Dur     // step of the grid that the tune's rhythm moves onto, each note by half of it at most; 0: it stays
	Caps          technique.Caps
	Manner        technique.Manner // how its techniques are done

	Heard        Heard // of a chord
	KeepSevenths bool  // a symbol keeps its seventh although no hand plays it
	Position     int   // semitones that lie under the left hand where it stands, which it leaves as seldom as it can; 0: never mind
	VaryShape    bool  // the left hand likes another shape where it strikes a chord again
	Grounded     bool  // each bar and each chord begins with its bass
	// Known are the kinds of chord that a player knows by name who begins here.
	Known  []theory.Degrees
	Yields bool // a chord of the sheet that the tune denies gives way to the plain one that carries it

	StaffHeight int          // of the page, in tenths of a millimetre
	Fingers     hand.Printed // that the page shows
	Pedal       bool         // the player uses it by ear; false: only where it holds a wide roll
	Dynamics    Dynamics     // signs that the page has
	Touch       bool         // staccato, tenuto and accents, as the kind of tune has them
	SlowEnding  bool         // the last bars slow down
	Words       bool         // what is sung stands under the tune
	Folds       bool         // what the sheet repeats is printed once, with repeat signs

	Anticipations int      // most pushed notes in four bars
	PushPlaces    int      // most different places of the tune that are pushed, each whenever it returns; 0: no cap
	ChordsPerBar  int      // most changes of chord in a bar; 0: no cap
	ChordsOn      ChordsOn // where a chord may begin
	PerBar        int      // most chromatic devices in one bar
	PerPhrase     int      // most chromatic devices in four bars
	Colour        int      // how much the level wants its devices; 0 to 100
	Ornamentation int      // most ornaments and fills in four bars
	Support       int      // how many notes the right hand may add under the tune
	VaryByPhrase  bool     // another texture with each phrase, not only with each section
	Arc           Arc      // how far the page is led from its statement to its climax
}

// Arc is how far a page is led from its statement to its climax.
type Arc uint8

// Arcs. On a page with one each section keeps its texture, what is written out again is
// varied, and each phrase says what goes along with the tune.
const (
	NoArc    Arc = iota
	ToReturn     // it grows to its last return
	ToClimax     // and to its highest phrase
)

// ChordsOn is where in a bar a chord may begin.
type ChordsOn uint8

// Places of chords.
const (
	Anywhere ChordsOn = iota // as the sheet has them
	HalfBeats
	Beats
)

// Heard is what of a chord the hands have to sound.
type Heard uint8

// What is heard of a chord. A symbol over the page loses what nobody plays of it,
// but where only the root is asked for it stays as it is on the sheet.
const (
	HeardRoot   Heard = iota + 1
	HeardThird        // the third, and what the symbol adds to the triad
	HeardGuides       // third and seventh, then the colours
)

// Dynamics is how much a page says of loudness; each has what those before it have.
type Dynamics uint8

// What a page says of loudness.
const (
	OneDynamic      Dynamics = iota + 1 // one sign to listen for
	SectionDynamics                     // sections have signs of their own
	ClimaxDynamics                      // the music grows to the tune's highest note
	PhraseDynamics                      // phrases swell
)

// Hyphenated is the level's name as the command line takes it.
func (l Level) Hyphenated() string { return strings.ReplaceAll(l.Name, " ", "-") }

// Label is how the level is named to a reader: "Level 2, late elementary".
func (l Level) Label() string { return fmt.Sprintf("Level %d, %s", l.Number, l.Name) }

// LeftAll lists the left-hand techniques, those that take turns first.
func (l Level) LeftAll() []string { return slices.Concat(l.Left, l.Reserve) }

// Resort is the left-hand technique of last resort: it fits anywhere.
func (l Level) Resort() string {
	if n := len(l.Reserve); n > 0 {
		return l.Reserve[n-1]
	}
	return l.Left[len(l.Left)-1]
}

// Uses tells whether the level may use a technique.
func (l Level) Uses(id string) bool {
	for _, list := range [][]string{l.Devices, l.Line, l.Left, l.Reserve, l.Right, l.Ornaments} {
		if slices.Contains(list, id) {
			return true
		}
	}
	return false
}

//go:embed levels/*.toml
var embedded embed.FS

// Levels returns the embedded levels in ascending order.
func Levels() []Level {
	entries, err := embedded.ReadDir("levels")
	if err != nil {
		panic(err)
	}
	var out []Level
	for _, e := range entries {
		data, err := embedded.ReadFile("levels/" + e.Name())
		if err != nil {
			panic(err)
		}
		l, err := Parse(e.Name(), data)
		if err != nil {
			panic(err)
		}
		out = append(out, l)
	}
	slices.SortFunc(out, byPlace)
	return out
}

// byPlace orders levels from the easiest up: by number, and right above another those
// that say so.
func byPlace(a, b Level) int {
	return cmp.Or(cmp.Compare(a.place(), b.place()), cmp.Compare(a.After, b.After), cmp.Compare(a.Number, b.Number))
}

// place is the number of the level that it stands on or right above.
func (l Level) place() int { return cmp.Or(l.After, l.Number) }

// Introduces returns the number of the built-in level that introduces a technique:
// the first that lists it. One that no level lists, as it is part of another or for
// a teacher to ask for, comes with what stands before it in teaching order.
func Introduces(id string) int { return introductions()[id] }

var introductions = sync.OnceValue(func() map[string]int {
	first, now := map[string]int{}, 0
	levels := Levels()
	for _, t := range technique.All() {
		if i := slices.IndexFunc(levels, func(l Level) bool { return l.Uses(t.ID) }); i >= 0 {
			now = levels[i].Number
		}
		first[t.ID] = now
	}
	return first
})

// Brings tells whether a technique is introduced at the level or above it, by the
// built-in levels.
func (l Level) Brings(id string) bool {
	if l.After > 0 {
		return Introduces(id) > l.After
	}
	return Introduces(id) >= l.Number
}

// Like returns the number of the built-in level that a level is most like: the one
// that introduces the hardest of its techniques. Kinds of tune ask it for theirs.
func (l Level) Like() int {
	most := 1
	for _, list := range [][]string{l.Devices, l.Line, l.Left, l.Reserve, l.Right, l.Ornaments} {
		for _, id := range list {
			most = max(most, Introduces(id))
		}
	}
	return most
}

// Guest tells whether the level is a teacher's own beside the built-in ones, and not in
// the place of one.
func (l Level) Guest() bool {
	return !slices.ContainsFunc(builtIn(), func(b Level) bool { return b.Number == l.Number })
}

var builtIn = sync.OnceValue(Levels)

// Above tells whether the level stands higher on the ladder than another.
func (l Level) Above(other Level) bool { return byPlace(l, other) > 0 }

// Select picks levels by a list such as "1-3,late-elementary,5", where a range goes by
// the numbers. An empty list
// means all. built lists what is there.
func Select(list string, built []Level) ([]Level, error) {
	if strings.TrimSpace(list) == "" {
		return built, nil
	}
	var ps leadsheet.Problems
	chosen := map[int]bool{}
	for _, part := range strings.Split(list, ",") {
		part = strings.TrimSpace(part)
		lo, hi, ok := bounds(part, built)
		if !ok {
			ps.Tell(leadsheet.Error, leadsheet.Pos{}, "level-unknown", "Level", leadsheet.Quoted(part), "Levels", names(built))
			continue
		}
		for n := lo; n <= hi; n++ {
			if !slices.ContainsFunc(built, func(l Level) bool { return l.Number == n }) {
				ps.Tell(leadsheet.Error, leadsheet.Pos{}, "level-unknown.absent", "Level", n, "Levels", names(built))
				continue
			}
			chosen[n] = true
		}
	}
	if err := ps.Err(); err != nil {
		return nil, err
	}
	var out []Level
	for _, l := range built {
		if chosen[l.Number] {
			out = append(out, l)
		}
	}
	return out, nil
}

func bounds(part string, built []Level) (lo, hi int, ok bool) {
	for _, l := range built {
		if part == l.Hyphenated() {
			return l.Number, l.Number, true
		}
	}
	a, b, isRange := strings.Cut(part, "-")
	if !isRange {
		b = a
	}
	lo, err := strconv.Atoi(a)
	if err != nil {
		return 0, 0, false
	}
	if hi, err = strconv.Atoi(b); err != nil {
		return 0, 0, false
	}
	return lo, hi, lo >= 1 && hi <= 99 && lo <= hi
}

func names(ls []Level) string {
	var b strings.Builder
	for i, l := range ls {
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%d %s", l.Number, l.Hyphenated())
	}
	return b.String()
}

// With returns the levels with one more, in the place of the one that has its
// number.
func With(levels []Level, own Level) []Level {
	out := slices.DeleteFunc(slices.Clone(levels), func(l Level) bool { return l.Number == own.Number })
	out = append(out, own)
	slices.SortFunc(out, byPlace)
	return out
}
