package ladder

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/hand"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// least is a level file that says no more than it must.
const least = `
number = 9
name = "own"
tempo_percent = 80
[techniques]
left = ["held-root"]
[left_hand]
low = "E2"
high = "G4"
[melody]
room = "C4"
[caps]
notes_per_second = [3.0, 2.5]
notes_at_once = [2, 2]
span = [9, 9]
`

func TestDefaults(t *testing.T) {
	l, err := Parse("own.toml", []byte(least))
	if err != nil {
		t.Fatal(err)
	}
	want := technique.Manner{SuspensionBeats: 1, BlockVoices: 3}
	if l.Manner != want {
		t.Errorf("manner %+v, want %+v", l.Manner, want)
	}
	if l.Heard != HeardThird || l.KeepSevenths || l.VaryShape || l.Known != nil || l.StaffHeight != 70 || l.Fingers != hand.Positions ||
		!l.Pedal || l.Dynamics != PhraseDynamics || !l.Touch || !l.SlowEnding {
		t.Errorf("defaults: %+v", l)
	}
	// What a level with seventh chords has to let be heard goes without saying.
	l, err = Parse("own.toml", []byte(strings.Replace(least, "[techniques]", "[techniques]\nharmony = [\"seventh-chords\"]", 1)))
	if err != nil || l.Heard != HeardGuides || !l.KeepSevenths {
		t.Errorf("with seventh chords: heard %d, sevenths kept %t, %v", l.Heard, l.KeepSevenths, err)
	}
}

// TestWords sets each property to something else than its default, by the words
// that docs/formats.md lists.
func TestWords(t *testing.T) {
	for _, tt := range []struct {
		table, line string
		has         func(Level) bool
	}{
		{"chords", `heard = "root"`, func(l Level) bool { return l.Heard == HeardRoot }},
		{"chords", `heard = "guide-tones"`, func(l Level) bool { return l.Heard == HeardGuides && l.KeepSevenths }},
		{"chords", `keep_sevenths = true`, func(l Level) bool { return l.Heard == HeardThird && l.KeepSevenths }},
		{"chords", `colours = "more"`, func(l Level) bool { return l.Manner.Colours == technique.MoreColours }},
		{"chords", `colours = "two"`, func(l Level) bool { return l.Manner.Colours == technique.TwoColours }},
		{"chords", `suspension_beats = 2`, func(l Level) bool { return l.Manner.SuspensionBeats == 2 }},
		{"chords", `quick_chords = true`, func(l Level) bool { return l.Manner.QuickChords }},
		{"chords", `approach_chain = true`, func(l Level) bool { return l.Manner.ApproachChain }},
		{"chords", `plain_return = true`, func(l Level) bool { return l.Manner.PlainReturn }},
		{"chords", `yields = true`, func(l Level) bool { return l.Yields }},
		{"chords", `known = ["C", "F#m7"]`, func(l Level) bool { return len(l.Known) == 2 }},
		{"left_hand", `last_chord = "rolled"`, func(l Level) bool { return l.Manner.LastChord == technique.RolledLast }},
		{"left_hand", `inversions = true`, func(l Level) bool { return l.Manner.Inversions }},
		{"left_hand", `position = 9`, func(l Level) bool { return l.Position == 9 }},
		{"budget", `chords_per_bar = 2`, func(l Level) bool { return l.ChordsPerBar == 2 }},
		{"budget", `chords_on = "beats"`, func(l Level) bool { return l.ChordsOn == Beats }},
		{"melody", `top = "G5"`, func(l Level) bool { return l.Top.String() == "G5" }},
		{"left_hand", `vary_shape = true`, func(l Level) bool { return l.VaryShape }},
		{"left_hand", `grounded = true`, func(l Level) bool { return l.Grounded }},
		{"right_hand", `block_voices = 4`, func(l Level) bool { return l.Manner.BlockVoices == 4 }},
		{"right_hand", `octaves_first_time = true`, func(l Level) bool { return l.Manner.OctavesFirst }},
		{"page", `staff_height = 7.5`, func(l Level) bool { return l.StaffHeight == 75 }},
		{"page", `fingers = "all"`, func(l Level) bool { return l.Fingers == hand.All }},
		{"page", `fingers = "bars"`, func(l Level) bool { return l.Fingers == hand.Bars }},
		{"page", `fingers = "few"`, func(l Level) bool { return l.Fingers == hand.Few }},
		{"page", `fingers = "fewest"`, func(l Level) bool { return l.Fingers == hand.Fewest }},
		{"page", `fingers = "none"`, func(l Level) bool { return l.Fingers == hand.None }},
		{"page", `pedal = false`, func(l Level) bool { return !l.Pedal }},
		{"page", `dynamics = "one"`, func(l Level) bool { return l.Dynamics == OneDynamic }},
		{"page", `dynamics = "sections"`, func(l Level) bool { return l.Dynamics == SectionDynamics }},
		{"page", `dynamics = "climax"`, func(l Level) bool { return l.Dynamics == ClimaxDynamics }},
		{"page", `touch = false`, func(l Level) bool { return !l.Touch }},
		{"page", `folds = true`, func(l Level) bool { return l.Folds }},
		{"page", `slow_ending = false`, func(l Level) bool { return !l.SlowEnding }},
	} {
		l, err := Parse("own.toml", with(tt.table, tt.line))
		if err != nil || !tt.has(l) {
			t.Errorf("[%s] %s: %+v, %v", tt.table, tt.line, l, err)
		}
	}
}

// with is the least file with one more line in a table.
func with(table, line string) []byte {
	head := fmt.Sprintf("[%s]\n", table)
	if strings.Contains(least, head) {
		return []byte(strings.Replace(least, head, head+line+"\n", 1))
	}
	return []byte(least + head + line + "\n")
}

func TestFileProblems(t *testing.T) {
	for _, tt := range []struct{ table, line, code string }{
		{"chords", `heard = "everything"`, "level-word"},
		{"chords", `colours = "many"`, "level-word"},
		{"chords", `suspension_beats = 0`, "level-range"},
		{"chords", `known = ["Czz"]`, "level-chord"},
		{"chords", `known = ["N.C."]`, "level-chord"},
		{"left_hand", `last_chord = "loud"`, "level-word"},
		{"left_hand", `position = 60`, "level-range"},
		{"melody", `top = "high"`, "level-pitch"},
		{"budget", `chords_per_bar = -1`, "level-range"},
		{"budget", `chords_on = "bars"`, "level-word"},
		{"right_hand", `block_voices = 5`, "level-range"},
		{"page", `staff_height = 2`, "level-range"},
		{"page", `staff_height = nan`, "level-range"},
		{"page", `fingers = "some"`, "level-word"},
		{"page", `margins = 3`, "level-key"},
	} {
		_, err := Parse("own.toml", with(tt.table, tt.line))
		var ps leadsheet.Problems
		if !errors.As(err, &ps) || len(ps) != 1 || ps[0].Code != tt.code || words.Must(words.Default).Problem(ps[0]).Fix == "" {
			t.Errorf("[%s] %s: %v, want %s", tt.table, tt.line, err, tt.code)
		}
	}
}

// TestEmbedded: the levels that are built in stand on the ladder from 1 to 5, and
// each knows the chords that the one below knows.
func TestEmbedded(t *testing.T) {
	ls := Levels()
	for i, l := range ls {
		if l.Number != i+1 {
			t.Errorf("%s stands at place %d", l.Label(), i+1)
		}
		if l.Like() != l.Number {
			t.Errorf("%s is like level %d", l.Label(), l.Like())
		}
		for _, kind := range ls[max(0, i-1)].Known {
			if !slices.Contains(l.Known, kind) {
				t.Errorf("%s has forgotten a kind of chord", l.Label())
			}
		}
	}
}

// TestRuns: how quick a tune may run at a level stands beside its tempo.
func TestRuns(t *testing.T) {
	if l, err := Parse("own.toml", []byte("runs_per_second = 2.5\n"+least)); err != nil || l.RunsPerSecond != 25 {
		t.Errorf("%d tenths, %v", l.RunsPerSecond, err)
	}
	var ps leadsheet.Problems
	if _, err := Parse("own.toml", []byte("runs_per_second = 30\n"+least)); !errors.As(err, &ps) || len(ps) != 1 || ps[0].Code != "level-range" {
		t.Errorf("30 a second: %v", err)
	}
}

// TestBetween: a level of a teacher's own can stand between two of those built in.
func TestBetween(t *testing.T) {
	parse := func(text string) Level {
		t.Helper()
		l, err := Parse("own.toml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	own := parse("after = 2\n" + least)
	ls := With(Levels(), own)
	if i := slices.IndexFunc(ls, func(l Level) bool { return l.Number == own.Number }); i != 2 || len(ls) != 6 {
		t.Errorf("it stands at place %d of %d", i+1, len(ls))
	}
	if !own.Above(ls[1]) || own.Above(ls[3]) || !ls[3].Above(own) {
		t.Error("it is not above level 2 and below level 3")
	}
	if own.Brings("added-notes") || !own.Brings("seventh-chords") {
		t.Error("it does not know what level 2 brings, or knows what level 3 does")
	}
	for _, line := range []string{"after = 100\n", "after = -1\n", fmt.Sprintf("after = %d\n", own.Number)} {
		var ps leadsheet.Problems
		if _, err := Parse("own.toml", []byte(line+least)); !errors.As(err, &ps) || len(ps) != 1 || ps[0].Code != "level-after" {
			t.Errorf("%s: %v", line, err)
		}
	}
}

// TestTeachingOrder: the table of techniques is in the order in which the levels
// introduce them, and none comes before what it needs.
func TestTeachingOrder(t *testing.T) {
	last := 0
	for _, x := range technique.All() {
		n := Introduces(x.ID)
		if n < last || n == 0 {
			t.Errorf("%s of level %d stands after level %d", x.ID, n, last)
		}
		last = n
		for _, need := range x.Needs {
			if Introduces(need) > n {
				t.Errorf("%s of level %d needs %s of level %d", x.ID, n, need, Introduces(need))
			}
		}
	}
	if ls := Levels(); !ls[2].Brings("seventh-chords") || ls[2].Brings("added-notes") || !ls[1].Brings("seventh-chords") || !ls[1].Above(ls[0]) || ls[1].Above(ls[1]) {
		t.Error("the levels do not stand in order")
	}
}
