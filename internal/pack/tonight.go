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
// the numbers that the player has, tempo and hands.
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
	number := func(n int) bool {
		return slices.ContainsFunc(bars, func(b barData) bool { return b.Number == n && b.Name == "" })
	}
	var out []tonightStep
	add := func(from, to, percent int, hands string, minutes int, why string) {
		if from == 0 && to > 0 && !number(0) {
			from = 1
		}
		if !number(from) || !number(to) || to < from {
			return
		}
		span, who := words.Upper(s.words.Value(words.Span(from, to))), s.words.Say("lesson.hands."+hands)
		out = append(out, tonightStep{from, to, percent, hands, minutes, s.say("tonight.step", "Bars", span, "Hands", who, "Percent", percent), why, span, who})
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
	if n := len(l.Plan.Phrases); n > 0 {
		add(l.Plan.Phrases[0].From, l.Plan.Phrases[n-1].To, 75, "both", 4, "")
	}
	return out
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
