// Package ladder holds the levels: which techniques each may use and what its
// hands may be asked to do. A level is data (TOML). Five are embedded; a teacher
// can add her own in the same form. The package knows no single notes.
package ladder

import (
	"embed"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Level is one step of the ladder.
type Level struct {
	Number int
	Name   string // "late elementary"
	Title  string // "Added notes and syncopation"

	// Ids of techniques, in order of preference within each stage.
	Devices, Line, Left, Right, Ornaments []string
	// Reserve lists left-hand techniques that take no turn and stand in where the
	// others do not fit; the last is the one of last resort.
	Reserve []string

	Feel         leadsheet.Feel // Unstated: the tune's
	Manner       string         // id of the kind of tune in whose manner the level is played, where a tune walks; "": its own
	TempoPercent int            // of the tune's tempo: what is printed
	Low, High    theory.Pitch   // the left hand's register
	Room         theory.Pitch   // lowest melody note that leaves the hands room
	Caps         technique.Caps

	Anticipations int  // most pushed notes in four bars
	PerBar        int  // most chromatic devices in one bar
	PerPhrase     int  // most chromatic devices in four bars
	Colour        int  // how much the level wants its devices; 0 to 100
	Ornamentation int  // most ornaments and fills in four bars
	Support       int  // how many notes the right hand may add under the tune
	VaryByPhrase  bool // another texture with each phrase, not only with each section
}

// Hyphenated is the level's name as the command line takes it.
func (l Level) Hyphenated() string { return strings.ReplaceAll(l.Name, " ", "-") }

// Label is how the level is named to a reader: "Level 2, late elementary".
func (l Level) Label() string { return fmt.Sprintf("Level %d, %s", l.Number, l.Name) }

// LeftAll lists the left-hand techniques, those that take turns first.
func (l Level) LeftAll() []string { return slices.Concat(l.Left, l.Reserve) }

// Resort is the left-hand technique of last resort: it fits anywhere.
func (l Level) Resort() string {
	all := l.LeftAll()
	return all[len(all)-1]
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
	slices.SortFunc(out, func(a, b Level) int { return a.Number - b.Number })
	return out
}

// file is the TOML form of a level, documented in docs/formats.md.
type file struct {
	Number       int      `toml:"number"`
	Name         string   `toml:"name"`
	Title        string   `toml:"title"`
	Feel         string   `toml:"feel"`
	Manner       string   `toml:"manner"`
	TempoPercent int      `toml:"tempo_percent"`
	Techniques   stages   `toml:"techniques"`
	LeftHand     register `toml:"left_hand"`
	Melody       struct {
		Room string `toml:"room"`
	} `toml:"melody"`
	Caps struct {
		NotesPerSecond [2]float64 `toml:"notes_per_second"`
		NotesAtOnce    [2]int     `toml:"notes_at_once"`
		Span           [2]int     `toml:"span"`
		JumpPerBeat    int        `toml:"jump_per_beat"`
		KeySignature   int        `toml:"key_signature"`
		Shortest       int        `toml:"shortest"`
	} `toml:"caps"`
	Budget struct {
		Anticipations int  `toml:"anticipations_per_four_bars"`
		PerBar        int  `toml:"chromatic_per_bar"`
		PerPhrase     int  `toml:"chromatic_per_four_bars"`
		Colour        int  `toml:"colour"`
		Ornamentation int  `toml:"ornaments_per_four_bars"`
		Support       int  `toml:"support"`
		VaryByPhrase  bool `toml:"vary_by_phrase"`
	} `toml:"budget"`
}

type stages struct {
	Harmony   []string `toml:"harmony"`
	Rhythm    []string `toml:"rhythm"`
	Left      []string `toml:"left"`
	Reserve   []string `toml:"left_reserve"`
	Right     []string `toml:"right"`
	Ornaments []string `toml:"ornaments"`
}

type register struct {
	Low  string `toml:"low"`
	High string `toml:"high"`
}

// Parse reads a level file. All that is wrong with it is reported, each thing
// with its line where the reader knows one.
func Parse(name string, data []byte) (Level, error) {
	var f file
	ps, ok := decode(name, data, &f, "level", "a level file")
	if !ok {
		return Level{}, ps
	}
	bad := func(code, text, fix string) {
		ps.Add(leadsheet.Error, leadsheet.Pos{File: name}, code, text, fix)
	}
	l := Level{
		Number: f.Number, Name: f.Name, Title: f.Title, Manner: f.Manner, TempoPercent: f.TempoPercent,
		Devices: f.Techniques.Harmony, Line: f.Techniques.Rhythm, Left: f.Techniques.Left, Reserve: f.Techniques.Reserve,
		Right: f.Techniques.Right, Ornaments: f.Techniques.Ornaments,
		Anticipations: f.Budget.Anticipations, PerBar: f.Budget.PerBar, PerPhrase: f.Budget.PerPhrase,
		Colour: f.Budget.Colour, Ornamentation: f.Budget.Ornamentation, Support: f.Budget.Support, VaryByPhrase: f.Budget.VaryByPhrase,
	}
	if l.Number < 1 || l.Number > 99 {
		bad("level-number", fmt.Sprintf("number %d is not between 1 and 99", l.Number), "give the level a number: its place on the ladder")
	}
	if l.Name == "" || strings.ContainsAny(l.Name, "/\\.,") {
		bad("level-name", fmt.Sprintf("name %q will not do", l.Name), "give the level a short name of plain words")
	}
	if l.TempoPercent < 20 || l.TempoPercent > 200 {
		bad("level-tempo", fmt.Sprintf("tempo_percent %d is not between 20 and 200", l.TempoPercent), "100 prints the tune's own tempo")
	}
	switch f.Feel {
	case "", "tune":
	case "straight":
		l.Feel = leadsheet.Straight
	case "swing":
		l.Feel = leadsheet.Swing
	default:
		bad("level-feel", fmt.Sprintf("feel %q is unknown", f.Feel), "say tune, straight or swing")
	}
	for _, p := range []struct {
		what, text string
		to         *theory.Pitch
	}{{"left_hand.low", f.LeftHand.Low, &l.Low}, {"left_hand.high", f.LeftHand.High, &l.High}, {"melody.room", f.Melody.Room, &l.Room}} {
		v, err := theory.ParsePitch(p.text)
		if err != nil {
			bad("level-pitch", fmt.Sprintf("%s: %q is not a pitch", p.what, p.text), "write pitches as C3 or Bb2")
		}
		*p.to = v
	}
	if l.High.MIDI()-l.Low.MIDI() < 12 {
		bad("level-register", "the left hand's register is narrower than an octave", "lower left_hand.low or raise left_hand.high")
	}
	l.Caps = technique.Caps{AtOnce: f.Caps.NotesAtOnce, Span: f.Caps.Span, JumpPerBeat: f.Caps.JumpPerBeat, KeySignature: f.Caps.KeySignature}
	for i, v := range f.Caps.NotesPerSecond {
		l.Caps.NotesPerSecond[i] = int(v*10 + 0.5)
		if v <= 0 || f.Caps.NotesAtOnce[i] < 1 || f.Caps.Span[i] < 1 {
			bad("level-caps", "caps must all be greater than 0, for the right hand and the left", "compare the embedded levels")
		}
	}
	if f.Caps.Shortest > 0 {
		l.Caps.Shortest, _ = theory.Fraction(1, int64(f.Caps.Shortest))
	}
	for _, st := range []struct {
		ids   []string
		stage technique.Stage
	}{{l.Devices, technique.Device}, {l.Line, technique.Line}, {l.Left, technique.LeftHand}, {l.Reserve, technique.LeftHand}, {l.Right, technique.RightHand}, {l.Ornaments, technique.Ornament}} {
		for _, id := range st.ids {
			t, ok := technique.ByID(id)
			switch {
			case !ok:
				bad("level-technique", fmt.Sprintf("unknown technique %q", id), "see docs/techniques.md")
			case t.Stage != st.stage:
				bad("level-technique", fmt.Sprintf("technique %q belongs to the stage %q", id, t.Stage), "move it there")
			}
		}
	}
	if len(l.Left) == 0 {
		bad("level-left", "the level has no left-hand technique", "name at least one under techniques.left")
	}
	if err := ps.Err(); err != nil {
		return Level{}, err
	}
	return l, nil
}

// Select picks levels by a list such as "1-3,late-elementary,5". An empty list
// means all. built lists what is there.
func Select(list string, built []Level) ([]Level, error) {
	if strings.TrimSpace(list) == "" {
		return built, nil
	}
	var ps leadsheet.Problems
	chosen := map[int]bool{}
	for _, part := range strings.Split(list, ",") {
		part = strings.TrimSpace(part)
		lo, hi, err := bounds(part, built)
		if err != nil {
			ps.Add(leadsheet.Error, leadsheet.Pos{}, "level-unknown", err.Error(), "the levels are "+names(built))
			continue
		}
		for n := lo; n <= hi; n++ {
			if !slices.ContainsFunc(built, func(l Level) bool { return l.Number == n }) {
				ps.Add(leadsheet.Error, leadsheet.Pos{}, "level-unknown", fmt.Sprintf("level %d is not there", n), "the levels are "+names(built))
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

func bounds(part string, built []Level) (lo, hi int, err error) {
	for _, l := range built {
		if part == l.Hyphenated() {
			return l.Number, l.Number, nil
		}
	}
	a, b, isRange := strings.Cut(part, "-")
	lo, err = strconv.Atoi(a)
	if err != nil {
		return 0, 0, fmt.Errorf("%q names no level", part)
	}
	hi = lo
	if isRange {
		if hi, err = strconv.Atoi(b); err != nil {
			return 0, 0, fmt.Errorf("%q names no level", part)
		}
	}
	if lo < 1 || hi > 99 || hi < lo {
		return 0, 0, fmt.Errorf("%q names no level", part)
	}
	return lo, hi, nil
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
	slices.SortFunc(out, func(a, b Level) int { return a.Number - b.Number })
	return out
}
