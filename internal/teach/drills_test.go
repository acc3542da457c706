package teach_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/audit"
	"gradatim/internal/hand"
	"gradatim/internal/notate"
	"gradatim/internal/teach"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// Every drill is 4 to 8 full bars that the audit passes, fingered throughout, and
// every technique that is taught has one.
func TestDrills(t *testing.T) {
	for _, name := range tunes {
		in, l := lessonOf(t, name)
		for i, v := range l.Levels {
			drilled := map[string]bool{}
			for _, d := range v.Drills {
				for _, id := range d.For {
					drilled[id] = true
				}
				checkDrill(t, in.Hand, d)
				if got := d.Steps[len(d.Steps)-1].Tempo.PerMinute; got != in.Pages[i].Score.Tempo.PerMinute {
					t.Errorf("%s %d: %s ends at %d a minute, the page is printed at %d", name, v.Number, d.Name, got, in.Pages[i].Score.Tempo.PerMinute)
				}
			}
			for _, n := range v.New {
				if !drilled[n.Technique] {
					t.Errorf("%s, level %d: no drill for %s", name, v.Number, n.Technique)
				}
			}
		}
	}
}

func checkDrill(t *testing.T, h hand.Profile, d teach.Drill) {
	t.Helper()
	s := d.Music.Score
	if len(s.Bars) < 4 || len(s.Bars) > 8 {
		t.Errorf("%s has %d bars", d.Name, len(s.Bars))
	}
	for _, v := range audit.Check(s, audit.Options{Hand: h}) {
		t.Errorf("%s: %s", d.Name, v.Problem)
	}
	for _, n := range s.Notes {
		if n.Finger == 0 {
			t.Errorf("%s: %s has no finger", d.Name, n.Pitch)
			break
		}
	}
	for _, b := range s.Bars {
		if !slices.ContainsFunc(s.Notes, func(n score.Note) bool { return n.At < b.End() && n.End() > b.At }) {
			t.Errorf("%s: bar %d is empty", d.Name, b.Number)
		}
	}
	if len(d.Steps) != 4 || d.Words == "" || d.Count == "" {
		t.Errorf("%s lacks words, count or steps: %+v", d.Name, d)
	}
}

// A drill of a technique that shows in notes is found by that technique's
// recogniser. Devices are read from the chord symbols.
func TestDrillsShowTheirTechnique(t *testing.T) {
	for _, name := range tunes {
		_, l := lessonOf(t, name)
		for _, v := range l.Levels {
			for _, d := range v.Drills {
				for _, id := range d.For {
					tech, ok := technique.ByID(id)
					if !ok {
						t.Fatalf("%s: unknown technique %s", d.Name, id)
					}
					if len(tech.Find(d.Music.Score)) == 0 {
						t.Errorf("%s, level %d: %s does not show %s", name, v.Number, d.Name, id)
					}
				}
			}
		}
	}
}

// A triad in a drill of inversions has its root, third and fifth at the bottom in
// turn.
func TestInversions(t *testing.T) {
	_, l := lessonOf(t, "lantern")
	for _, d := range l.Levels[0].Drills {
		if !slices.Contains(d.For, "plain-triads") {
			continue
		}
		s := d.Music.Score
		for _, c := range s.Chords {
			var lows []theory.Degree
			var at theory.Dur = -1
			for _, n := range s.Notes {
				if n.At < c.At || n.At >= c.At+s.Bars[0].Dur || n.At == at {
					continue
				}
				at = n.At
				deg, ok := c.Chord.Degree(n.Pitch.Name)
				if !ok {
					t.Fatalf("%s is not in %s", n.Pitch, c.Chord)
				}
				lows = append(lows, deg)
			}
			// Common practice, no source: the left hand takes root position and first
			// inversion with 5-3-1, the second with 5-2-1.
			fingers := map[theory.Dur]string{}
			for _, n := range s.Notes {
				if n.At >= c.At && n.At < c.At+s.Bars[0].Dur {
					fingers[n.At] += strconv.Itoa(int(n.Finger))
				}
			}
			for i, want := range []string{"531", "531", "521", "531"} {
				if got := fingers[c.At+theory.Dur(i)*s.Bars[0].Dur/4]; got != want {
					t.Errorf("%s, beat %d: fingers %s, want %s", c.Chord, i+1, got, want)
				}
			}
			var got []string
			for _, deg := range lows {
				got = append(got, strings.TrimPrefix(deg.String(), "b"))
			}
			if strings.Join(got, " ") != "1 3 5 3" {
				t.Errorf("%s: lowest degrees %v", c.Chord, got)
			}
		}
		return
	}
	t.Fatal("no drill of inversions")
}

// TestEveryDrillIsMade: each kind of drill that a technique may ask for has its
// makers.
func TestEveryDrillIsMade(t *testing.T) {
	for _, d := range technique.Drills() {
		if !teach.Makes(d) {
			t.Errorf("drill %d is made by nobody", d)
		}
	}
}

// TestDrillStaves: a drill is printed on the staves that have notes, but where a hand plays
// on the other's.
func TestDrillStaves(t *testing.T) {
	one := 0
	for _, tune := range tunes {
		_, l := lessonOf(t, tune)
		for _, level := range l.Levels {
			for _, d := range level.Drills {
				page, told := notate.Of(d.Music.Score)
				if err := told.Err(); err != nil {
					t.Fatal(err)
				}
				used := map[score.Hand]bool{}
				for _, n := range d.Music.Score.Notes {
					used[n.Hand] = true
					if n.Staff != 0 {
						used[n.Staff] = true
					}
				}
				if page.Staves != len(used) {
					t.Errorf("%s, level %d, %s: %d staves, %d with notes", tune, level.Number, d.Name, page.Staves, len(used))
				}
				if page.Staves == 1 {
					one++
				}
			}
		}
	}
	if one < 10 {
		t.Errorf("only %d drills are on one staff", one)
	}
}
