package teach_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/teach"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// eachDrill calls f with every drill of every tune.
func eachDrill(t *testing.T, f func(where string, page teach.Page, d teach.Drill)) {
	t.Helper()
	eachLevel(t, func(name string, _ teach.Input, page teach.Page, v teach.LevelLesson) {
		for _, d := range v.Drills {
			f(fmt.Sprintf("%s, level %d, %s", name, v.Number, d.Name), page, d)
		}
	})
}

// under lists the notes struck while a chord symbol is in force, in order.
func under(s score.Score, i int) []score.Note {
	end := s.End()
	if i+1 < len(s.Chords) {
		end = s.Chords[i+1].At
	}
	var out []score.Note
	for _, n := range s.Notes {
		if n.At >= s.Chords[i].At && n.At < end {
			out = append(out, n)
		}
	}
	return out
}

// named lists the degrees that a symbol names: third, sixth or seventh, and what is
// altered or added. Of a ninth, eleventh and thirteenth the highest is named, of a
// sixth and ninth both.
func named(c theory.Chord) []theory.Degree {
	var out []theory.Degree
	highest := int8(0)
	for d := range c.Tones.All() {
		if d.Number > 8 && d.Alter == 0 {
			highest = max(highest, d.Number)
		}
	}
	for d := range c.Tones.All() {
		switch d.Number {
		case 3, 6, 7, 2, 4:
			out = append(out, d)
		default:
			if d.Alter != 0 || d.Number == highest {
				out = append(out, d)
			}
		}
	}
	return out
}

// Drills that name their chords sound what the symbols name, the root (or the bass
// that is written) lowest.
func TestChordDrillsHoldWhatTheirSymbolsName(t *testing.T) {
	checked := 0
	eachDrill(t, func(where string, _ teach.Page, d teach.Drill) {
		chords := d.Hands == "both hands" && slices.ContainsFunc(d.For, func(id string) bool {
			tech, _ := technique.ByID(id)
			return tech.Stage == technique.Device || id == "full-chords" || id == "guide-tones" || id == "ending"
		})
		if !chords {
			return
		}
		s := d.Music.Score
		for i, sym := range s.Chords {
			notes := under(s, i)
			low := slices.MinFunc(notes, func(a, b score.Note) int { return a.Pitch.MIDI() - b.Pitch.MIDI() })
			if low.Pitch.Class() != sym.Chord.Lowest().Class() {
				t.Errorf("%s: %s has %s lowest", where, sym.Chord, low.Pitch)
			}
			for _, a := range notes {
				for _, b := range notes {
					if by := b.Pitch.MIDI() - a.Pitch.MIDI(); a.At == b.At && by > 0 && by < 5 && a.Pitch.MIDI() < 48 {
						t.Errorf("%s: %s has %s and %s, too close so low", where, sym.Chord, a.Pitch, b.Pitch)
					}
				}
			}
			degrees := named(sym.Chord)
			if strings.Contains(d.Words, "third and seventh in the right") || strings.Contains(d.Words, "third and seventh alone") {
				degrees = slices.DeleteFunc(degrees, func(x theory.Degree) bool { return x.Number > 7 || x.Number == 5 })
			}
			for _, deg := range degrees {
				if !slices.ContainsFunc(notes, func(n score.Note) bool { return n.Pitch.Class() == deg.On(sym.Chord.Root).Class() }) {
					t.Errorf("%s: %s lacks its %s", where, sym.Chord, deg)
				}
			}
			checked++
		}
	})
	if checked < 150 {
		t.Errorf("only %d chords", checked)
	}
}

// A borrowed chord has its borrowed note, and the voice comes from the natural note
// a half step above; a suspended fourth falls to the third in its own voice, and
// does not stay.
func TestVoicesOfDevices(t *testing.T) {
	seen := map[string]int{}
	step := func(from, to []score.Note, a, b theory.Name) bool {
		for _, m := range from {
			for _, n := range to {
				if m.Pitch.Class() == a.Class() && n.Pitch.Class() == b.Class() && m.Hand == n.Hand && m.Pitch.MIDI() > n.Pitch.MIDI() && m.Pitch.MIDI()-n.Pitch.MIDI() < 3 {
					return true
				}
			}
		}
		return false
	}
	eachDrill(t, func(where string, _ teach.Page, d teach.Drill) {
		s := d.Music.Score
		tonic := s.Bars[0].Key.Tonic
		for i, sym := range s.Chords {
			if i+1 == len(s.Chords) {
				break
			}
			now, next := under(s, i), under(s, i+1)
			switch {
			case slices.Contains(d.For, "modal-interchange"):
				six, flat := tonic.Up(theory.Interval{Steps: 5, Semitones: 9}), tonic.Up(theory.Interval{Steps: 5, Semitones: 8})
				five := tonic.Up(theory.Interval{Steps: 4, Semitones: 7})
				if after := s.Chords[i+1].Chord; after.HasClass(flat.Class()) && !sym.Chord.HasClass(flat.Class()) && after.Root == sym.Chord.Root {
					seen["six"]++
					if !step(now, next, six, flat) {
						t.Errorf("%s: nothing sinks from %s to %s", where, six, flat)
					}
				}
				if after := s.Chords[i+1].Chord; sym.Chord.HasClass(flat.Class()) && after.HasClass(five.Class()) && !after.HasClass(flat.Class()) {
					seen["five"]++
					if !step(now, next, flat, five) {
						t.Errorf("%s: nothing sinks from %s to %s", where, flat, five)
					}
				}
			case slices.Contains(d.For, "suspended-delay"):
				third, _ := sym.Chord.Third()
				if to, _ := s.Chords[i+1].Chord.Third(); third.Number == 4 && to.Number == 3 && s.Chords[i+1].Chord.Root == sym.Chord.Root {
					seen["four"]++
					four := third.On(sym.Chord.Root)
					if !step(now, next, four, to.On(sym.Chord.Root)) {
						t.Errorf("%s: the fourth does not fall to the third", where)
					}
					if slices.ContainsFunc(next, func(n score.Note) bool { return n.Pitch.Class() == four.Class() }) {
						t.Errorf("%s: the fourth stays", where)
					}
				}
			}
		}
	})
	for _, k := range []string{"six", "five", "four"} {
		if seen[k] == 0 {
			t.Errorf("%s: not met in four tunes", k)
		}
	}
}

// What goes up and back is the same from either end.
func TestUpAndBackIsAPalindrome(t *testing.T) {
	seen := 0
	eachDrill(t, func(where string, _ teach.Page, d teach.Drill) {
		if !strings.Contains(d.Words, "up and back") {
			return
		}
		seen++
		var line []int
		var at theory.Dur = -1
		for _, n := range d.Music.Score.Notes {
			if n.Grace > 0 || n.Origin.Kind == score.Ornamental || n.Origin.Kind == score.Fill {
				continue
			}
			if n.At == at {
				line[len(line)-1] = max(line[len(line)-1], n.Pitch.MIDI())
				continue
			}
			at = n.At
			line = append(line, n.Pitch.MIDI())
		}
		back := slices.Clone(line)
		slices.Reverse(back)
		if !slices.Equal(line, back) || len(line) < 7 {
			t.Errorf("%s: %v", where, line)
		}
	})
	if seen < 15 {
		t.Errorf("only %d", seen)
	}
}

// A run has one fingering in all its forms, and its landing is played in each that
// goes note by note.
func TestRunDrillsHaveOneFingering(t *testing.T) {
	seen := 0
	eachDrill(t, func(where string, page teach.Page, d teach.Drill) {
		if !strings.Contains(d.Words, "its notes together, one by one") {
			return
		}
		seen++
		_, rest, _ := strings.Cut(d.Words, "landing on ")
		goal, _, _ := strings.Cut(rest, ",")
		s := d.Music.Score
		finger := map[int]uint8{}
		var asWritten theory.Dur // where the bar of the page begins
		for _, n := range s.Notes {
			if n.Origin.Technique != "" {
				asWritten = s.Bars[s.BarAt(n.At)].At
				break
			}
		}
		lands := 0
		for _, n := range s.Notes {
			written := n.At >= asWritten
			if written && (n.Origin.Technique != d.For[0] || n.Origin.Kind == score.Melody) {
				continue
			}
			if n.Pitch.Name.Pretty() == goal { // it may stand in the figure, too, under another finger
				if !written && n.At == s.Bars[s.BarAt(n.At)].At {
					lands++
				}
				continue
			}
			if f, ok := finger[n.Pitch.MIDI()]; ok && f != n.Finger {
				t.Errorf("%s: %s has finger %d, before it had %d", where, n.Pitch, n.Finger, f)
			}
			finger[n.Pitch.MIDI()] = n.Finger
		}
		if goal == "" || lands == 0 {
			t.Errorf("%s: the landing on %q is not played", where, goal)
		}
		last := s.Bars[len(s.Bars)-1]
		if !slices.ContainsFunc(s.Notes, func(n score.Note) bool { return n.At >= last.At && n.Pitch.Name.Pretty() == goal }) {
			t.Errorf("%s: as written it does not land on %q", where, goal)
		}
	})
	if seen < 5 {
		t.Errorf("only %d", seen)
	}
}

// The left hand of the drills of shells, stride and ending is that of the page.
func TestLeftHandDrillsAreThePages(t *testing.T) {
	seen := map[string]int{}
	shape := func(s score.Score, from, to theory.Dur) string {
		out := ""
		for _, n := range s.Notes {
			if n.Hand == score.Left && n.At >= from && n.At < to {
				out += fmt.Sprintf("%s %s ", n.At-from, n.Pitch)
			}
		}
		return out
	}
	eachDrill(t, func(where string, page teach.Page, d teach.Drill) {
		s := d.Music.Score
		for _, id := range []string{"shells", "stride"} {
			if !slices.Contains(d.For, id) {
				continue
			}
			seen[id]++
			for _, b := range s.Bars {
				want := shape(s, b.At, b.End())
				if !slices.ContainsFunc(page.Score.Bars, func(x score.Bar) bool { return shape(page.Score, x.At, x.End()) == want }) {
					t.Errorf("%s: bar %d is not on the page: %s", where, b.Number, want)
				}
			}
		}
		if !slices.Contains(d.For, "ending") {
			return
		}
		seen["ending"]++
		held := func(s score.Score, end theory.Dur) []string {
			var out []string
			for _, n := range s.Notes {
				if n.Hand == score.Left && n.End() == end && n.Grace == 0 {
					out = append(out, n.Pitch.String())
				}
			}
			slices.Sort(out)
			return out
		}
		for _, b := range s.Bars {
			if got, want := held(s, b.End()), held(page.Score, page.Score.End()); !slices.Equal(got, want) {
				t.Errorf("%s: bar %d has %v, the page ends on %v", where, b.Number, got, want)
			}
		}
	})
	for _, id := range []string{"shells", "stride", "ending"} {
		if seen[id] < 1 {
			t.Errorf("%s: %d drills", id, seen[id])
		}
	}
}

// No left-hand figure puts a note of the chord below the root that it began with.
func TestFiguresStandOnTheirRoot(t *testing.T) {
	eachDrill(t, func(where string, _ teach.Page, d teach.Drill) {
		if !strings.HasPrefix(d.Words, "The figure on") {
			return
		}
		s := d.Music.Score
		for _, b := range s.Bars {
			low := 0
			for _, n := range s.Notes {
				if n.At < b.At || n.At >= b.End() || n.Hand != score.Left {
					continue
				}
				if n.Origin.Kind == score.Bass && low == 0 {
					low = n.Pitch.MIDI()
				}
				if n.Origin.Kind == score.Chord && n.Pitch.MIDI() < low {
					t.Errorf("%s: bar %d has %s below its root", where, b.Number, n.Pitch)
				}
			}
		}
	})
}
