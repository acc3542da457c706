package teach_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/score"
	"gradatim/theory"
)

// struck writes what is struck in some bars (printed numbers), a line for each bar;
// pick-ups are left out.
func struck(s score.Score, from, to int) []string {
	var out []string
	for _, b := range s.Bars {
		if b.Number < from || b.Number > to || b.Pickup {
			continue
		}
		line := ""
		for _, n := range s.Notes {
			if n.At >= b.At && n.At < b.End() {
				line += fmt.Sprintf("%s %s %s %d %d;", n.Hand, n.At-b.At, n.Pitch, n.Grace, n.Ornament)
			}
		}
		out = append(out, line)
	}
	return out
}

// A phrase that repeats an earlier one says so, whichever it is, and what differs
// in the last bar only says that; nothing else is said to repeat.
func TestRepeatedPhrasesSaySo(t *testing.T) {
	same, nearly := 0, 0
	eachLevel(t, func(name string, _ teach.Input, page teach.Page, v teach.LevelLesson) {
		music := map[string][]string{}
		for _, ph := range v.Plan.Phrases {
			where := fmt.Sprintf("%s, level %d, %s", name, v.Number, ph.Name)
			now := struck(page.Score, ph.From, ph.To)
			if !strings.HasPrefix(ph.Name, "Phrase ") {
				continue
			}
			as, but := strings.CutSuffix(ph.As, ", but for the last bar")
			as = strings.TrimSuffix(words.Upper(as), " without its pick-up")
			if as != "" {
				then, ok := music[as]
				switch {
				case !ok:
					t.Errorf("%s: as %q, which is no phrase before it", where, as)
				case but:
					nearly++
					if len(now) != len(then) || !slices.Equal(now[:len(now)-1], then[:len(then)-1]) {
						t.Errorf("%s is not %s but for the last bar", where, as)
					}
				default:
					same++
					if !slices.Equal(now, then) {
						t.Errorf("%s is not %s", where, as)
					}
				}
			}
			for other, then := range music {
				if ph.As == "" && slices.Equal(now, then) {
					t.Errorf("%s is %s and does not say so", where, other)
				}
			}
			music[ph.Name] = now
		}
	})
	if same < 5 || nearly < 3 {
		t.Errorf("%d repeats, %d but for the last bar", same, nearly)
	}
}

var moving = regexp.MustCompile(`(?i)the (right|left) hand moves (a fifth|an octave) or more ([a-z ]+)`)

// What is said of a hard place is true of the hand as a whole, and is said in a
// teacher's words; no music is named twice.
func TestHardPlaces(t *testing.T) {
	moves := 0
	eachLevel(t, func(name string, _ teach.Input, page teach.Page, v teach.LevelLesson) {
		for i, h := range v.Plan.First {
			where := fmt.Sprintf("%s, level %d, bars %d–%d", name, v.Number, h.From, h.To)
			phrase := func(begins func(teach.Phrase) int, n int) bool {
				return slices.ContainsFunc(v.Plan.Phrases, func(ph teach.Phrase) bool { return begins(ph) == n })
			}
			if len(h.Spot) == 0 || h.Spot[0] < h.From || h.Spot[len(h.Spot)-1] > h.To {
				t.Errorf("%s: hardest in %v", where, h.Spot)
				continue
			}
			if k := slices.IndexFunc(v.Plan.Phrases, func(ph teach.Phrase) bool { return ph.Rank == i+1 }); k < 0 || v.Plan.Phrases[k].From < h.From || v.Plan.Phrases[k].From > h.To {
				t.Errorf("%s is the %dth place to begin with, and not the %dth phrase to practise", where, i+1, i+1)
			}
			if h.To-h.From < 8 && !phrase(func(ph teach.Phrase) int { return ph.From }, h.From) && !phrase(func(ph teach.Phrase) int { return ph.To }, h.To) {
				t.Errorf("%s: neither begins nor ends with a phrase", where)
			}
			if h.Spot[0] < 0 || h.Spot[len(h.Spot)-1] > 1000 {
				continue // around the tune, whose notes are not in page.Score
			}
			from, to := h.Spot[0], h.Spot[len(h.Spot)-1]
			for _, bad := range []string{"at once", "a second", "never", "  "} {
				if strings.Contains(h.Why, bad) {
					t.Errorf("%s: %s", where, h.Why)
				}
			}
			for _, o := range v.Plan.First[:i] {
				if slices.Equal(struck(page.Score, h.From, h.To), struck(page.Score, o.From, o.To)) {
					t.Errorf("%s is bars %d–%d again", where, o.From, o.To)
				}
			}
			for _, m := range moving.FindAllStringSubmatch(h.Why, -1) {
				moves++
				far := map[string]int{"a fifth": 7, "an octave": 12}[m[2]]
				n, beats := shifts(page.Score, strings.ToLower(m[1]), from, to, far)
				least := map[string]int{"every beat": beats - 1, "almost every beat": beats * 2 / 3, "every two beats": beats / 3, "twice a bar": 2 * (to - from + 1), "once a bar": to - from + 1, "every other bar": (to - from + 1) / 2, "now and then": 1}
				want, ok := least[m[3]]
				if !ok || n < want {
					t.Errorf("%s: %q, but it moves %d times in %d beats", where, m[0], n, beats)
				}
			}
		}
	})
	if moves < 10 {
		t.Errorf("only %d moves are told", moves)
	}
}

// shifts counts how often both the lowest and the highest key that a hand has down
// lie so far from those before, and the beats.
func shifts(s score.Score, hand string, from, to, far int) (n, beats int) {
	var onsets []theory.Dur
	for _, m := range s.Notes {
		if m.Hand.String() == hand && m.Grace == 0 && !slices.Contains(onsets, m.At) {
			onsets = append(onsets, m.At)
		}
	}
	slices.Sort(onsets)
	span := func(at theory.Dur) (low, high int) {
		low = 128
		for _, m := range s.Notes {
			if m.Hand.String() == hand && m.Grace == 0 && m.At <= at && m.End() > at {
				low, high = min(low, m.Pitch.MIDI()), max(high, m.Pitch.MIDI())
			}
		}
		return low, high
	}
	for _, b := range s.Bars {
		if b.Number < from || b.Number > to || b.Pickup {
			continue
		}
		beats += b.Meter.BeatCount()
		for i, at := range onsets {
			if i == 0 || at < b.At || at >= b.End() {
				continue
			}
			l, h := span(onsets[i-1])
			l2, h2 := span(at)
			if max(l-l2, l2-l) >= far && max(h-h2, h2-h) >= far {
				n++
			}
		}
	}
	return n, beats
}
