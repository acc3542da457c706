package edition_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// What a page claims, of its chords and of its techniques, its notes must show.

// forOriginals runs a check on every page of the four original tunes.
func forOriginals(t *testing.T, check func(*testing.T, edition.Page)) {
	t.Helper()
	for _, name := range originals {
		song := load(t, filepath.Join("examples", name+".abc"))
		as, err := edition.Make(context.Background(), song, edition.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range as {
			t.Run(fmt.Sprintf("%s %d", name, a.Level.Number), func(t *testing.T) { check(t, a) })
		}
	}
}

// heardClasses is what the hands and the tune sound in [from, to) as pitch
// classes, without ghosts and graces.
func heardClasses(s score.Score, from, to theory.Dur, keep func(score.Note) bool) (set [12]bool) {
	for _, n := range s.Notes {
		if n.Grace == 0 && !n.Marks.Has(score.Ghost) && n.At < to && n.End() > from && keep(n) {
			set[n.Pitch.Class()] = true
		}
	}
	return set
}

func anyNote(score.Note) bool { return true }

// symbolEnd is where the chord of a printed symbol ends: at the next other one.
func symbolEnd(s score.Score, i int) theory.Dur {
	for _, c := range s.Chords[i+1:] {
		if c.Chord != s.Chords[i].Chord {
			return c.At
		}
	}
	return s.End()
}

// unplayed lists the colours that symbols of a page print and nobody plays. A 9th
// that an 11th or 13th only implies is not printed.
func unplayed(a edition.Page) []string {
	var out []string
	s := a.Score
	for i, c := range s.Chords {
		if a.Level.Number < 2 || c.Chord.Silent() || i > 0 && s.Chords[i-1].Chord == c.Chord {
			continue
		}
		heard := heardClasses(s, c.At, symbolEnd(s, i), anyNote)
		has := func(number int8) bool { return c.Chord.Tones.Has(theory.Degree{Number: number}) }
		for d := range c.Chord.Tones.All() {
			colour := d.Number > 7 || d.Number == 6 || d.Number == 4 && has(3) || d.Number == 5 && d.Alter != 0 && c.Chord.Dominant()
			if implied := d.Number == 9 && d.Alter == 0 && (has(11) || has(13)); colour && !implied && !heard[d.On(c.Chord.Root).Class()] {
				out = append(out, fmt.Sprintf("bar %d: %s of %s", s.Bars[s.BarAt(c.At)].Number, d, c.Chord))
			}
		}
	}
	return out
}

// TestSymbolsArePlayed holds that a colour in a symbol is struck, or sung by the
// tune, while the chord lasts.
func TestSymbolsArePlayed(t *testing.T) {
	forOriginals(t, func(t *testing.T, a edition.Page) {
		if bad := unplayed(a); len(bad) > 0 {
			t.Errorf("nobody plays %s", strings.Join(bad, ", "))
		}
	})
}

// unresolved lists the suspensions that a page claims and its notes do not make:
// the fourth is heard, falls to the third in the same octave, and is gone then.
func unresolved(a edition.Page) []string {
	var out []string
	s := a.Score
	for _, d := range a.Decisions {
		if d.Device != "suspended-delay" {
			continue
		}
		bar := s.Bars[s.BarAt(d.At)].Number
		if len(d.Chords) != 2 {
			out = append(out, fmt.Sprintf("bar %d: %d chords", bar, len(d.Chords)))
			continue
		}
		sus, res := d.Chords[0], d.Chords[1]
		fourth := theory.Degree{Number: 4}.On(sus.Chord.Root).Class()
		third, ok := res.Chord.Third()
		if !ok || res.Chord.Tones.Has(theory.Degree{Number: 4}) || third.On(res.Chord.Root).Class() != (fourth+11)%12 {
			out = append(out, fmt.Sprintf("bar %d: %s does not resolve %s", bar, res.Chord, sus.Chord))
			continue
		}
		falls := false
		for _, n := range s.Notes {
			if n.At >= sus.End || n.End() <= sus.At || n.Pitch.Class() != fourth || n.Grace > 0 {
				continue
			}
			falls = falls || slices.ContainsFunc(s.Notes, func(m score.Note) bool {
				return m.At < res.End && m.End() > res.At && m.Pitch.MIDI() == n.Pitch.MIDI()-1
			})
		}
		stays := heardClasses(s, res.At, res.End, func(n score.Note) bool {
			return n.Origin.Kind != score.Melody && n.Origin.Kind != score.Approach
		})[fourth]
		if !falls || stays {
			out = append(out, fmt.Sprintf("bar %d: the fourth of %s falls: %v, stays: %v", bar, sus.Chord, falls, stays))
		}
	}
	return out
}

// TestSuspensionsResolve holds that what is called a suspension is one, and that
// the elementary page of the demo tune has some.
func TestSuspensionsResolve(t *testing.T) {
	found := 0
	forOriginals(t, func(t *testing.T, a edition.Page) {
		for _, bad := range unresolved(a) {
			t.Error(bad)
		}
		found += len(barsUsing(a, "suspended-delay"))
	})
	if found < 5 {
		t.Errorf("%d bars with a suspension", found)
	}
}

func barsUsing(a edition.Page, id string) []int {
	for _, u := range a.Used {
		if u.Technique == id {
			return u.Bars
		}
	}
	return nil
}

// TestHarmonyIsListedWhereItIs holds that the bars of a technique of harmony are
// those that print such a chord.
func TestHarmonyIsListedWhereItIs(t *testing.T) {
	forOriginals(t, func(t *testing.T, a edition.Page) {
		s := a.Score
		shows := map[string]func(theory.Chord) bool{
			"added-notes": func(c theory.Chord) bool {
				return c.Tones.Has(theory.Degree{Number: 4}) || c.Tones.Has(theory.Degree{Number: 9})
			},
			"extensions": func(c theory.Chord) bool {
				for d := range c.Tones.All() {
					if d.Number > 7 && d.Alter == 0 {
						return true
					}
				}
				return false
			},
			"secondary-dominant": theory.Chord.Dominant,
			"inserted-dominant":  theory.Chord.Dominant,
		}
		for id, is := range shows {
			listed := barsUsing(a, id)
			for i, b := range s.Bars {
				if b.Pickup || b.Part != score.Tune { // bars are listed by the tune's numbers
					continue
				}
				some := false
				for k, c := range s.Chords {
					end := s.End()
					if k+1 < len(s.Chords) {
						end = s.Chords[k+1].At
					}
					some = some || c.At < b.End() && end > b.At && is(c.Chord)
				}
				claimed := slices.Contains(listed, b.Number)
				if claimed && !some {
					t.Errorf("bar %d is listed for %s and has no such chord", b.Number, id)
				}
				if !claimed && some && len(listed) > 0 && (id == "extensions" || id == "added-notes" && !slices.Contains(barsUsing(a, "suspended-delay"), b.Number)) {
					t.Errorf("bar %d (of %d) has a chord of %s and is not listed", b.Number, i, id)
				}
			}
		}
	})
}

// TestNoChordOfOursGrates holds that no chord that a device put in has a note of
// the tune, a beat long on a strong beat or longer, a half step below its root, or
// below the third of a diminished one, unless the note is its own.
func TestNoChordOfOursGrates(t *testing.T) {
	forOriginals(t, func(t *testing.T, a edition.Page) {
		for _, bad := range grating(a) {
			t.Error(bad)
		}
	})
}

func grating(a edition.Page) []string {
	var out []string
	for _, d := range a.Decisions {
		for _, c := range d.Chords {
			if d.Device == "" || c.Why == nil || c.Chord.Root == d.Sheet.Root {
				continue
			}
			below := []int{(c.Chord.Root.Class() + 11) % 12}
			if third, ok := c.Chord.Third(); ok && c.Chord.Diminished() {
				below = append(below, (third.On(c.Chord.Root).Class()+11)%12)
			}
			for _, n := range a.Song.Melody {
				bar := a.Song.Bars[a.Song.BarAt(n.At)]
				length := min(n.End(), c.End) - max(n.At, c.At)
				struck := n.At == c.At && length >= bar.Meter.BeatDur() || length >= 2*bar.Meter.BeatDur()
				if struck && slices.Contains(below, n.Pitch.Class()) && !c.Chord.HasClass(n.Pitch.Class()) {
					out = append(out, fmt.Sprintf("bar %d: %s under the tune's %s", bar.Number, c.Chord, n.Pitch))
				}
			}
		}
	}
	return out
}

// struck is what one hand strikes at one moment for one technique.
type struck struct {
	at    theory.Dur
	off   theory.Dur // from the start of its bar
	bar   score.Bar
	notes []score.Note // ascending
	chord theory.Chord
}

// strikesOf groups the notes of ours that name a technique by moment.
func strikesOf(s score.Score, id string) []struck {
	var out []struck
	for _, n := range s.Notes {
		if n.Origin.Technique != id || n.Origin.Kind == score.Melody || n.Grace > 0 || n.Marks.Has(score.Ghost) {
			continue
		}
		if k := len(out) - 1; k >= 0 && out[k].at == n.At {
			out[k].notes = append(out[k].notes, n)
			continue
		}
		bar := s.Bars[s.BarAt(n.At)]
		sym, _ := s.ChordAt(n.At)
		out = append(out, struck{n.At, n.At - bar.At, bar, []score.Note{n}, sym.Chord})
	}
	for i := range out {
		slices.SortFunc(out[i].notes, func(a, b score.Note) int { return a.Pitch.MIDI() - b.Pitch.MIDI() })
	}
	return out
}

func (x struck) number(i int) int8 {
	d, in := x.chord.Degree(x.notes[i].Pitch.Name)
	if !in {
		return 0
	}
	return d.Number
}

func (x struck) low() int { return x.notes[0].Pitch.MIDI() }

// figures say of a strike that names a technique what is wrong with it; "" nothing.
var figures = map[string]func(score.Score, struck) string{
	"three-three-two": func(s score.Score, x struck) string {
		if x.off%theory.Eighth != 0 || !slices.Contains([]theory.Dur{0, 3, 4, 6, 7}, x.off/theory.Eighth) || len(x.notes) != 1 {
			return fmt.Sprintf("a strike %s after the bar line", x.off)
		}
		return ""
	},
	"comping": func(s score.Score, x struck) string {
		if len(x.notes) == 1 && x.notes[0].Pitch.Class() == x.chord.Lowest().Class() {
			return "" // the bass that comes first
		}
		for i, n := range x.notes {
			if n.Pitch.Class() == x.chord.Root.Class() {
				return fmt.Sprintf("the root, %s, in %s", x.notes[i].Pitch, x.chord)
			}
		}
		return ""
	},
	"root-and-fifth": func(s score.Score, x struck) string {
		if len(x.notes) != 1 || x.notes[0].Pitch.Class() != x.chord.Lowest().Class() && x.number(0) != 5 && !x.chord.Slash {
			return fmt.Sprintf("%d notes from %s over %s", len(x.notes), x.notes[0].Pitch, x.chord)
		}
		return ""
	},
	"root-seventh": func(s score.Score, x struck) string {
		at, _ := s.ChordAt(x.at)
		end := s.End()
		for _, c := range s.Chords {
			if c.At > x.at {
				end = c.At
				break
			}
		}
		if x.bar.Part != score.Tune { // a pick-up goes on over its last chord
			end = min(end, x.bar.End())
		}
		if end-at.At > x.bar.Meter.BeatDur() || len(x.notes) != 2 || x.notes[0].Pitch.Class() != x.chord.Root.Class() {
			return fmt.Sprintf("%s lasts %s", x.chord, end-at.At)
		}
		return ""
	},
	"shells": func(s score.Score, x struck) string {
		if len(x.notes) != 2 || x.notes[0].Pitch.Class() != x.chord.Root.Class() {
			return fmt.Sprintf("%d notes from %s over %s", len(x.notes), x.notes[0].Pitch, x.chord)
		}
		if _, seventh := x.chord.Seventh(); seventh && x.number(1) == 3 && x.low() < 48 {
			return fmt.Sprintf("a third above %s", x.notes[0].Pitch)
		}
		return ""
	},
	"stride":        strides,
	"stride-tenths": strides,
	"drop-two": func(s score.Score, x struck) string {
		for _, n := range s.Notes {
			if up := n.Pitch.MIDI() + 12; n.Hand == score.Left && n.At < x.notes[0].End() && n.At >= x.at && up > x.notes[len(x.notes)-1].Pitch.MIDI() {
				return ""
			}
		}
		return "the left hand does not strike the dropped voice"
	},
}

// strides holds the low notes of stride to the first and third of four beats and
// the places where a chord begins; a phrase may end the other way round.
func strides(s score.Score, x struck) string {
	if x.bar.Meter.Beats != 4 || x.bar.Meter.Unit != 4 {
		return ""
	}
	low := x.notes[0].Origin.Kind == score.Bass
	sym, _ := s.ChordAt(x.at)
	strong := x.off%(2*theory.Quarter) == 0
	if turnedRound(x.notes[0].Origin.Why) {
		return ""
	}
	if low != (strong || sym.At == x.at) {
		return fmt.Sprintf("low: %v, %s after the bar line", low, x.off)
	}
	return ""
}

// turnedRound tells whether a note is of a stride that plays the chord first.
func turnedRound(r reason.Reason) bool {
	for _, c := range reason.Split(r) {
		if then, ok := c.(reason.Then); ok && then.Figure == "stride.back" {
			return true
		}
	}
	return false
}

// TestFiguresAreWhatTheyAreCalled holds that notes name a technique of the left
// hand, or a dropped voice, only where they are that figure.
func TestFiguresAreWhatTheyAreCalled(t *testing.T) {
	seen := map[string]int{}
	forOriginals(t, func(t *testing.T, a edition.Page) {
		for id, wrong := range figures {
			for _, x := range strikesOf(a.Score, id) {
				seen[id]++
				if what := wrong(a.Score, x); what != "" {
					t.Errorf("%s, bar %d: %s", id, x.bar.Number, what)
				}
			}
		}
	})
	for id := range figures {
		if seen[id] == 0 {
			t.Errorf("no page has %s", id)
		}
	}
}

// stepsIn lists the steps that a reason tells.
func stepsIn(r reason.Reason) []technique.Lead {
	switch r := r.(type) {
	case reason.And:
		return append(stepsIn(r.First), stepsIn(r.Then)...)
	case reason.With:
		return append(stepsIn(r.First), stepsIn(r.Then)...)
	case reason.LeadsTo:
		return []technique.Lead{{From: r.From, To: r.To, Say: r}}
	case reason.FallsTo:
		return []technique.Lead{{From: r.From, To: r.To, Say: r}}
	case reason.BassSteps:
		return []technique.Lead{{From: r.From, To: r.To, Say: r}}
	}
	return nil
}

// TestToldStepsAreTaken holds that a step that the reason for a chord tells is in
// the notes: one that still sounds as the chord ends moves a half or a whole step
// to one that sounds as the next begins.
func TestToldStepsAreTaken(t *testing.T) {
	steps := 0
	forOriginals(t, func(t *testing.T, a edition.Page) {
		for _, d := range a.Decisions {
			for _, c := range d.Chords {
				for _, step := range stepsIn(c.Why) {
					steps++
					if !stepTaken(a.Score, c.End, step.From.Class(), step.To.Class()) {
						t.Errorf("%s at %s: nobody plays %s", c.Chord, c.At, words.Must("en").Reason(step.Say))
					}
				}
			}
		}
	})
	if steps < 20 {
		t.Errorf("%d steps told", steps)
	}
}

func stepTaken(s score.Score, at theory.Dur, from, to int) bool {
	for _, n := range s.Notes {
		if n.Pitch.Class() != from || n.At >= at || n.End() < at-theory.Eighth || n.Grace > 0 {
			continue
		}
		for _, m := range s.Notes {
			by := m.Pitch.MIDI() - n.Pitch.MIDI()
			if m.Pitch.Class() == to && m.At > n.At && m.At <= at && m.End() > at && by*by >= 1 && by*by <= 4 {
				return true
			}
		}
	}
	return false
}

// TestReasonsSpeakOfTheKey holds that the key's own dominant is called that, and
// that a degree is written in the case that the printed numerals have.
func TestReasonsSpeakOfTheKey(t *testing.T) {
	forOriginals(t, func(t *testing.T, a edition.Page) {
		key := a.Song.Key
		for _, d := range a.Decisions {
			for _, c := range d.Chords {
				sym, _ := a.Score.ChordAt(c.At)
				_, of, applied := strings.Cut(sym.Roman, "/")
				for _, r := range reason.Split(c.Why) {
					if deg, alter := key.Degree(c.Chord.Root); deg == 5 && alter == 0 && r == (reason.StyleDominant{Root: c.Chord.Root}) {
						t.Errorf("%s at %s: %v", c.Chord, c.At, r)
					}
					if v, ok := r.(reason.DominantOf); ok && applied && v.Goal.Pretty() != of {
						t.Errorf("%s at %s: V of %s, printed %s", c.Chord, c.At, v.Goal.Pretty(), sym.Roman)
					}
				}
			}
		}
	})
}
