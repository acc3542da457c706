package edition_test

import (
	"encoding/json"
	"fmt"
	"os"
	"sort"
	"strings"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// rungCaps are the caps of one level in the shared table of levels, by which the
// pages are measured (not by our own level files).
type rungCaps struct {
	JumpPerBeat int    `json:"jump_per_beat"`
	HandShift   int    `json:"hand_shift_per_2_bars"`
	Accidentals int    `json:"accidentals_in_key"`
	Shortest    string `json:"shortest_written"`
	Span        int    `json:"lh_span"`
}

func rungs(t testing.TB) []rungCaps {
	t.Helper()
	data, err := os.ReadFile(sharedtest.Path(t, "tables/rungs.json"))
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Rungs []struct {
			Caps rungCaps `json:"caps"`
		} `json:"rungs"`
	}
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	var out []rungCaps
	for _, r := range file.Rungs {
		out = append(out, r.Caps)
	}
	if len(out) != 5 {
		t.Fatalf("%d levels in rungs.json, want 5", len(out))
	}
	return out
}

// shortest is the shortest value that the words of the table allow.
func (c rungCaps) shortest() theory.Dur {
	switch {
	case strings.Contains(c.Shortest, "32nd"):
		return theory.ThirtySecond
	case strings.Contains(c.Shortest, "16th"):
		return theory.Sixteenth
	}
	return theory.Eighth
}

// capBroken names what the left hand of a page asks beyond its level; "" for
// nothing. The travel is that of the nearer edge of the hand, in semitones,
// between onsets that do not lie under one hand.
func capBroken(a edition.Page, limit rungCaps) string {
	const under = 14 // a ninth lies under the hand
	s := a.Score
	groups := map[theory.Dur][]int{}
	for _, n := range s.Notes {
		if n.Hand != score.Left || n.Grace > 0 {
			continue
		}
		groups[n.At] = append(groups[n.At], n.Pitch.MIDI())
		if n.Dur < limit.shortest() && !n.Marks.Has(score.Ghost) && chordSpan(s, n.At) >= limit.shortest() {
			return fmt.Sprintf("bar %d: a left-hand note of %v", s.Bars[s.BarAt(n.At)].Number, n.Dur)
		}
	}
	var at []theory.Dur
	for d, keys := range groups {
		sort.Ints(keys)
		at = append(at, d)
	}
	sort.Slice(at, func(i, j int) bool { return at[i] < at[j] })
	for i := 1; i < len(at); i++ {
		from, to := groups[at[i-1]], groups[at[i]]
		fl, fh, tl, th := from[0], from[len(from)-1], to[0], to[len(to)-1]
		if max(fh, th)-min(fl, tl) <= under {
			continue
		}
		beat := s.Bars[s.BarAt(at[i])].Meter.BeatDur()
		travel, wait := min(max(tl-fl, fl-tl), max(th-fh, fh-th)), max(at[i]-at[i-1], beat)
		if float64(travel-1) > float64(limit.JumpPerBeat)*float64(wait)/float64(beat) { // a semitone for keys that lie unevenly
			return fmt.Sprintf("bar %d: the left hand travels %d semitones in %v", s.Bars[s.BarAt(at[i])].Number, travel, at[i]-at[i-1])
		}
	}
	return ""
}

// position is how many semitones lie under the left hand where it stands, by level:
// a sixth, five fingers and one key more, for who begins, then an octave (common
// practice, no source).
var position = []int{9, 12}

// shiftsOver counts the pairs of neighbouring bars, and those in which the left hand
// leaves its position more often than the table has it: it does where what it strikes
// does not lie within the span together with all since it came there.
func shiftsOver(s score.Score, span, limit int) (over, pairs int) {
	moves := make([]int, len(s.Bars))
	low, high := 0, 0
	for i := 0; i < len(s.Notes); {
		at, l, h := s.Notes[i].At, 127, 0
		for ; i < len(s.Notes) && s.Notes[i].At == at; i++ {
			if n := &s.Notes[i]; n.Hand == score.Left && n.Grace == 0 {
				l, h = min(l, n.Pitch.MIDI()), max(h, n.Pitch.MIDI())
			}
		}
		switch {
		case h == 0: // the hand strikes nothing
		case high > 0 && max(high, h)-min(low, l) <= span:
			low, high = min(low, l), max(high, h)
		default:
			if high > 0 {
				moves[s.BarAt(at)]++
			}
			low, high = l, h
		}
	}
	for b := 0; b+1 < len(moves); b++ {
		pairs++
		if moves[b]+moves[b+1] > limit {
			over++
		}
	}
	return over, pairs
}

// chordSpan is how long the chord at a position lasts within its bar.
func chordSpan(s score.Score, at theory.Dur) theory.Dur {
	bar := s.Bars[s.BarAt(at)]
	from, to := bar.At, bar.End()
	for _, c := range s.Chords {
		if c.At > at {
			to = min(to, c.At)
			break
		}
		from = max(from, c.At)
	}
	return to - from
}

// TestKeyBeyondLevel: a key with more flats than a level reads is told at that
// level, with the way out, and not at the next that reads it.
func TestKeyBeyondLevel(t *testing.T) {
	limits := rungs(t)
	song := load(t, "examples/lantern.abc")
	for _, name := range []string{"C", "D", "Eb", "Ab", "Db"} {
		key, err := theory.ParseKey(name)
		if err != nil {
			t.Fatal(err)
		}
		as, err := edition.Make(t.Context(), song, edition.Options{Key: key})
		if err != nil {
			t.Fatal(err)
		}
		for i, a := range as {
			told := false
			for _, p := range a.Problems {
				if p.Code == "key-beyond-level" {
					told = true
					if p.Severity != leadsheet.Info || !strings.Contains(p.Fix, "--key") {
						t.Errorf("%s, level %d: %v", name, a.Level.Number, p)
					}
				}
			}
			if f := key.Fifths(); told != (max(f, -f) > limits[i].Accidentals) {
				t.Errorf("%s, level %d: told %v", name, a.Level.Number, told)
			}
		}
	}
}
