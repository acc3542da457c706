package edition_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/sharedtest"
	"gradatim/score"
	"gradatim/theory"
)

// TestCorpusPrint reads what is printed on the pages of the corpus as a teacher reads
// it. (Common practice, no source.)
//
//   - Under a slur of the tune no finger plays two keys in a row, and thumb and little
//     finger no step.
//   - What a hand strikes has each sign of touch once, above or below.
//   - No ornament stands on a note that is tied over a bar line.
//   - Nothing grows to a sign for a repeat, where it would fall back.
//   - The symbol over an upbeat is not printed again over the bar after it.
//   - A bar that a hand plays again shows no other finger than the first time; one in
//     thirty may, where the hand comes from elsewhere.
func TestCorpusPrint(t *testing.T) {
	paths := sharedtest.Sheets(t)
	again, other := 0, 0
	for i := 0; i < len(paths); i += sharedtest.Every(20, 4) {
		as, err := edition.Make(context.Background(), load(t, paths[i]), edition.Options{})
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(paths[i]), err)
			continue
		}
		for _, a := range as {
			if a.Failed {
				continue
			}
			page := hand.Print(a.Score, a.Level.Fingers)
			for _, bad := range slices.Concat(unjoined(a.Score), twiceMarked(page), tiedOrnaments(page), twiceOverUpbeat(page), grownAway(page)) {
				t.Errorf("%s.%d, %s", filepath.Base(paths[i]), a.Level.Number, bad)
			}
			n, o := playedAgain(a.Score, page)
			again, other = again+n, other+o
		}
	}
	t.Logf("%d of %d bars that are played again show another finger", other, again)
	if other*30 > again && !testing.Short() { // a share of a few sheets says little
		t.Error("above one in thirty")
	}
}

func place(s score.Score, at theory.Dur) string {
	p := s.PosAt(at)
	return fmt.Sprintf("bar %d beat %s", p.Bar, p.Beat)
}

// unjoined lists where a finger would have to join two keys of the tune under a slur, or
// the outermost fingers a step.
func unjoined(s score.Score) (out []string) {
	var tune []score.Note
	for _, n := range s.Notes {
		if n.Origin.Kind == score.Melody && n.Hand == score.Right && n.Grace == 0 {
			tune = append(tune, n)
		}
	}
	slices.SortStableFunc(tune, score.Compare)
	open := false
	for i, n := range tune {
		if open {
			b := tune[i-1]
			if b.Finger == n.Finger && b.FingerTo == 0 && b.Pitch.MIDI() != n.Pitch.MIDI() {
				out = append(out, fmt.Sprintf("%s: %d on %s and %s under a slur", place(s, n.At), n.Finger, b.Pitch, n.Pitch))
			}
			step, far := n.Pitch.Staff()-b.Pitch.Staff(), int(n.Finger)-int(b.Finger)
			if (step == 1 || step == -1) && (far == 4 || far == -4) && n.At-b.At <= b.Dur && !held(s, n) {
				out = append(out, fmt.Sprintf("%s: %d to %d on a step under a slur", place(s, n.At), b.Finger, n.Finger))
			}
		}
		if n.Marks.Has(score.SlurTo) {
			open = false
		}
		if n.Marks.Has(score.SlurFrom) {
			open = true
		}
	}
	return out
}

// held tells whether the right hand plays other notes with a note, or holds some.
func held(s score.Score, n score.Note) bool {
	return slices.ContainsFunc(s.Notes, func(m score.Note) bool {
		return m.Hand == score.Right && m.Grace == 0 && m.ID != n.ID && m.At <= n.At && m.End() >= n.At && m.Origin.Kind != score.Melody
	})
}

func twiceMarked(s score.Score) (out []string) {
	type strike struct {
		at   theory.Dur
		hand score.Hand
	}
	voice := map[strike]uint8{}
	for _, n := range s.Notes {
		if n.Marks.Has(score.Accent) && n.Grace == 0 {
			k := strike{n.At, n.Hand}
			if v, ok := voice[k]; ok && v != n.Voice {
				out = append(out, place(s, n.At)+": an accent above and below")
			}
			voice[k] = n.Voice
		}
	}
	return out
}

func tiedOrnaments(s score.Score) (out []string) {
	for _, n := range s.Notes {
		if n.Ornament != score.NoOrnament && n.End() > s.Bars[s.BarAt(n.At)].End() {
			out = append(out, place(s, n.At)+": an ornament on a tied note")
		}
	}
	return out
}

func twiceOverUpbeat(s score.Score) (out []string) {
	for i := 1; i < len(s.Chords); i++ {
		a, b := s.Chords[i-1], s.Chords[i]
		bar := s.BarAt(b.At)
		if a.Chord == b.Chord && bar > 0 && s.Bars[bar].At == b.At && s.BarAt(a.At) == bar-1 && s.Bars[bar-1].Dur < s.Bars[bar-1].Meter.Bar()/2 {
			out = append(out, place(s, b.At)+": "+b.Chord.Pretty()+" again after the upbeat")
		}
	}
	return out
}

// playedAgain counts the bars that a hand plays again, and those that show another
// finger there than the first time.
func playedAgain(s, page score.Score) (again, other int) {
	for _, h := range []score.Hand{score.Right, score.Left} {
		known := map[string][]uint8{}
		for _, b := range s.Bars {
			key, shown := "", []uint8(nil)
			for i, n := range s.Notes {
				if n.Hand == h && n.At >= b.At && n.At < b.End() {
					key += fmt.Sprint(n.At-b.At, n.Pitch.MIDI(), n.Dur, " ")
					shown = append(shown, page.Notes[i].Finger)
				}
			}
			first, ok := known[key]
			if !ok {
				known[key] = shown
				continue
			}
			again++
			for i, f := range shown {
				if f != 0 && first[i] != 0 && f != first[i] {
					other++
					break
				}
			}
		}
	}
	return again, other
}

func grownAway(s score.Score) (out []string) {
	for _, h := range s.Hairpins() {
		if b := s.BarAt(h.To - 1); !h.Fades && b >= 0 && s.Bars[b].Signs.Times > 0 && h.To == s.Bars[b].End() {
			out = append(out, place(s, h.From)+": a crescendo to the sign for a repeat")
		}
	}
	return out
}
