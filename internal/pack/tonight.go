package pack

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/teach"
	"gradatim/internal/words"
)

// tonightStep is one step of a sitting of practice, which the player sets up: bars by
// their places in its list, tempo and hands.
type tonightStep struct {
	From, To int
	Percent  int
	Hands    string // as takes name them
	Minutes  int
	Text     string
	Why      string
	Span     string // the bars, and the hands, in words
	Who      string
}

// tonight is a sitting of about twenty minutes out of the plan: the hardest place hand by
// hand and together, the phrase that comes first, then all of it (common practice of
// teachers, no source).
func (s *site) tonight(l teach.LevelLesson, bars []barData) []tonightStep {
	var out []tonightStep
	put := func(a, z, percent int, hands string, minutes int, why, span string) {
		who := s.words.Say("lesson.hands." + hands)
		out = append(out, tonightStep{a, z, percent, hands, minutes, s.say("tonight.step", "Bars", span, "Hands", who, "Percent", percent), why, span, who})
	}
	add := func(from, to, percent int, hands string, minutes int, why string) {
		if a, z, ok := stretch(bars, from, to); ok {
			put(a, z, percent, hands, minutes, why, words.Upper(s.words.Value(words.Span(from, to))))
		}
	}
	if len(l.Plan.First) > 0 {
		h := l.Plan.First[0]
		add(h.From, h.To, 60, "right", 2, "")
		add(h.From, h.To, 60, "left", 2, "")
		add(h.From, h.To, 60, "both", 4, h.Why)
	}
	phrases := slices.Clone(l.Plan.Phrases)
	slices.SortStableFunc(phrases, func(a, b teach.Phrase) int { return cmp.Compare(a.Rank, b.Rank) })
	for i, p := range phrases {
		if i == 2 {
			break
		}
		add(p.From, p.To, 75, "both", 4, "")
	}
	if len(phrases) > 0 && len(bars) > 0 {
		put(0, len(bars)-1, 75, "both", 4, "", s.say("tonight.whole"))
	}
	return out
}

// stretch finds the bars from one number to another in the order of playing, the first
// time through.
func stretch(bars []barData, from, to int) (a, z int, ok bool) {
	a = slices.IndexFunc(bars, func(b barData) bool { return b.Number == from })
	if a < 0 {
		return 0, 0, false
	}
	z = a
	for k := a; k < len(bars); k++ {
		if b := bars[k]; b.Number >= from && b.Number <= to && b.Pass == bars[a].Pass {
			z = k
		}
	}
	return a, z, true
}

// tempi lists the steps of tempo of a plan, in percent, from the slowest.
func tempi(p teach.Plan) string {
	var out []string
	for _, st := range p.Order {
		if n := fmt.Sprint(st.Step.Percent); !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return strings.Join(out, " ")
}
