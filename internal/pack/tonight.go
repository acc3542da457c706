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

// hash is what the player's address has to set a step up.
func (t tonightStep) hash() string {
	return fmt.Sprintf("#bars=%d-%d&tempo=%d&hands=%s", t.From, t.To, t.Percent, t.Hands)
}

// weeks are the sittings of each week out of the plan, of about twenty minutes and in the
// plan's own order: in the first week two phrases are begun, hand by hand and slowly, in the
// next ones three or more, while what was begun the week before is taken faster. All of it is
// played once everything was begun, and at its tempo at the end (common practice of
// teachers, no source).
func (s *site) weeks(l teach.LevelLesson, bars []barData) [][]tonightStep {
	out := [][]tonightStep{nil}
	week := 0
	turn := func() { out, week = append(out, nil), week+1 }
	put := func(a, z, percent int, hands string, minutes int, why, span string) {
		for _, t := range out[week] {
			if t.From == a && t.To == z && t.Percent == percent && t.Hands == hands {
				return
			}
		}
		who := s.words.Say("lesson.hands." + hands)
		out[week] = append(out[week], tonightStep{a, z, percent, hands, minutes, s.say("tonight.step", "Bars", span, "Hands", who, "Percent", percent), why, span, who})
	}
	add := func(from, to, percent int, hands string, minutes int, why string) {
		if a, z, ok := stretch(bars, from, to); ok {
			put(a, z, percent, hands, minutes, why, words.Upper(s.words.Value(words.Span(from, to))))
		}
	}
	whole := func(percent, minutes int) {
		if len(bars) > 0 {
			put(0, len(bars)-1, percent, "both", minutes, "", s.say("tonight.whole"))
		}
	}
	portions := portions(l.Plan)
	begin := func(i, apart, together int) {
		if i < len(portions) {
			p := portions[i]
			add(p.From, p.To, 60, "right", apart, "")
			add(p.From, p.To, 60, "left", apart, "")
			add(p.From, p.To, 60, "both", together, p.Why)
		}
	}
	again := func(i, percent, minutes int) {
		if i < len(portions) {
			add(portions[i].From, portions[i].To, percent, "both", minutes, "")
		}
	}
	if len(portions) == 0 {
		return out
	}
	begin(0, 2, 4)
	begin(1, 2, 4)
	if n := len(portions); n > 1 && touch(portions[0], portions[1]) {
		add(min(portions[0].From, portions[1].From), max(portions[0].To, portions[1].To), 60, "both", 4, s.say("tonight.joined"))
	} else {
		again(0, 75, 4)
	}
	n := len(portions)
	each := max(3, n/3) // so that there are five weeks at most
	if left := n - 2; left > 0 {
		more := (left + each - 1) / each
		each = (left + more - 1) / more // as many in one week as in another
	}
	for i := 2; i < n; i += each {
		turn()
		for k := i; k < i+each; k++ {
			begin(k, 1, 3)
		}
		for k := range 2 { // of the week before
			again(max(0, i-each)+k, 75, 3)
		}
	}
	if len(out) == 1 {
		turn()
		again(0, 75, 4)
		again(1, 75, 4)
		whole(60, 5)
	}
	turn()
	again(0, 90, 3)
	again(1, 90, 3)
	whole(75, 4)
	whole(90, 4)
	whole(100, 4)
	return out
}

// portions are the phrases to be learnt, the first to practise first: with the join to a
// neighbour where that is what is hard.
func portions(p teach.Plan) []teach.HardSpot {
	phrases := slices.Clone(p.Phrases)
	slices.SortStableFunc(phrases, func(a, b teach.Phrase) int { return cmp.Compare(a.Rank, b.Rank) })
	var out []teach.HardSpot
	for i, ph := range phrases {
		switch {
		case i < len(p.First): // in the same order
			out = append(out, p.First[i])
		case !ph.Repeats():
			out = append(out, teach.HardSpot{From: ph.From, To: ph.To})
		}
	}
	return out
}

// touch tells whether one portion follows the other.
func touch(a, b teach.HardSpot) bool { return a.To+1 >= b.From && b.To+1 >= a.From }

// tonight is a sitting of the first week.
func (s *site) tonight(l teach.LevelLesson, bars []barData) []tonightStep {
	return s.weeks(l, bars)[0]
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
