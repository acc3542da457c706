package technique

import (
	"gradatim/internal/sight"
	"gradatim/score"
	"gradatim/theory"
)

// CapsKept compares what a page asks with what its level allows: what we added,
// and what the tune itself brings. Right hand first, then left.
type CapsKept struct {
	AtOnce        [2]int  `json:"notes_at_once"`
	AtOnceCap     [2]int  `json:"notes_at_once_cap"`
	Span          [2]int  `json:"span_semitones"`
	SpanCap       [2]int  `json:"span_semitones_cap"`
	BusiestSecond [2]int  `json:"most_strikes_in_a_second"`
	Melody        MelodyN `json:"melody"`
}

// MelodyN is what the tune alone asks.
type MelodyN struct {
	Lowest   string `json:"lowest"`
	Highest  string `json:"highest"`
	Shortest string `json:"shortest_of_a_whole"`
	Leap     int    `json:"largest_leap_semitones"`
}

// Measure reads a page against its caps.
func Measure(s score.Score, caps Caps) CapsKept {
	out := CapsKept{AtOnceCap: caps.AtOnce, SpanCap: caps.Span}
	quarters := max(1, s.Tempo.QuartersPerMinute())
	second := theory.Dur(quarters) * theory.Quarter / 60
	for i, h := range []score.Hand{score.Right, score.Left} {
		st := sight.Strikes(s, h)
		from := 0
		for k, x := range st {
			keys := x.Keys()
			out.AtOnce[i] = max(out.AtOnce[i], len(keys))
			out.Span[i] = max(out.Span[i], keys[len(keys)-1]-keys[0])
			for st[from].At <= x.At-second {
				from++
			}
			out.BusiestSecond[i] = max(out.BusiestSecond[i], k-from+1)
		}
	}
	var last *score.Note
	var low, high score.Note
	short := theory.Dur(0)
	for k := range s.Notes {
		n := s.Notes[k]
		if n.Origin.Kind != score.Melody {
			continue
		}
		if last == nil {
			low, high = n, n
			short = n.Dur
		} else {
			out.Melody.Leap = max(out.Melody.Leap, abs(n.Pitch.MIDI()-last.Pitch.MIDI()))
		}
		if n.Pitch.MIDI() < low.Pitch.MIDI() {
			low = n
		}
		if n.Pitch.MIDI() > high.Pitch.MIDI() {
			high = n
		}
		short = min(short, n.Dur)
		last = &s.Notes[k]
	}
	if last != nil {
		out.Melody.Lowest, out.Melody.Highest, out.Melody.Shortest = low.Pitch.String(), high.Pitch.String(), short.String()
	}
	return out
}
