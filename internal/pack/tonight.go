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
	Label    string // the text with its number in the sitting
	Number   int    // in it
	Tempo    string // as a metronome has it, on the sheet
}

// week is what is done on each day of a week.
type week struct {
	Number, Minutes int
	New             []newLink   // what is learnt in it, at most three things
	Warm            []drillStep // to begin with
	Steps           []tonightStep
}

// newLink leads to where one of the new things is explained.
type newLink struct{ Href, Name string }

// drillStep is a drill with which a sitting begins: one whose subject is in the bars that
// the week takes up.
type drillStep struct {
	Href, Text, Hands, Tempo string
	Minutes                  int
}

// drillMinutes is how long a drill is played before the piece is (common practice, no source).
const drillMinutes = 2

// The most drills and new things of a week (common practice, no source).
const (
	drillsAWeek = 2
	newAWeek    = 3
)

// course is the one plan of a level, which the page with the player, the page of practice
// and the sheet of homework show: its weeks, each with the drills and the new things of the
// bars that it takes up. What finds no room in a week is in none.
func (s *site) course(e int, l teach.LevelLesson, bars []barData) []week {
	n := namesOf(s.in, e, l.Number)
	sittings := s.weeks(l, bars)
	out := make([]week, 0, len(sittings))
	var begun [][]int // the numbers of the bars of each week
	for i, steps := range sittings {
		w := week{Number: i + 1, Steps: steps}
		var numbers []int
		for k := range w.Steps {
			t := &w.Steps[k]
			t.Number = k + 1
			t.Label = s.say("tonight.numbered", "n", k+1, "of", len(steps), "Step", t.Text)
			w.Minutes += t.Minutes
			for b := t.From; b <= t.To; b++ {
				numbers = append(numbers, bars[b].Number)
			}
		}
		if len(steps) > 0 {
			out, begun = append(out, w), append(begun, numbers)
		}
	}
	serves := func(i int, techniques []string) bool {
		return slices.ContainsFunc(techniques, func(id string) bool {
			return slices.ContainsFunc(barsOf(l, id), func(b int) bool { return slices.Contains(begun[i], b) })
		})
	}
	put := func(k int, fits func(i int) bool) bool {
		d := l.Drills[k]
		for i := range out {
			if w := &out[i]; len(w.Warm) < drillsAWeek && fits(i) {
				w.Warm = append(w.Warm, drillStep{n.pageOf(drillsPage) + fmt.Sprintf("#drill%d", k+1), s.say("homework.drill", "Name", d.Name), d.Hands, shortTempo(d.Steps[0].Tempo), drillMinutes})
				w.Minutes += drillMinutes
				return true
			}
		}
		return false
	}
	var whole []int // drills that belong to the level as a whole
	for k, d := range l.Drills {
		switch {
		case len(d.Steps) == 0:
		case len(d.For) == 0:
			whole = append(whole, k)
		default:
			put(k, func(i int) bool { return serves(i, d.For) })
		}
	}
	for _, k := range whole {
		put(k, func(i int) bool { return true })
	}
	in := map[string]int{} // week of a new thing
	for _, x := range l.New {
		for i := range out {
			early := slices.ContainsFunc(l.New, func(o teach.New) bool {
				at, ok := in[o.Technique]
				return x.After(o) && (!ok || at > i)
			})
			if len(out[i].New) < newAWeek && !early && serves(i, []string{x.Technique}) {
				in[x.Technique] = i
				out[i].New = append(out[i].New, newLink{n.pageOf(learnPage) + "#" + newID(x), x.Name})
				break
			}
		}
	}
	return out
}

// newID is where one of the new things of a level stands on its page.
func newID(n teach.New) string { return "new-" + n.Technique }

// Hash is what the player's address has to set a step up.
func (t tonightStep) Hash() string {
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
		out[week] = append(out[week], tonightStep{From: a, To: z, Percent: percent, Hands: hands, Minutes: minutes, Text: s.say("tonight.step", "Bars", span, "Hands", who, "Percent", percent), Why: why, Span: span, Who: who})
	}
	add := func(from, to, percent int, hands string, minutes int, why string) {
		if a, z, ok := stretch(bars, from, to); ok {
			put(a, z, percent, hands, minutes, why, words.Upper(s.words.Value(words.Span(from, to))))
		}
	}
	whole := func(percent, minutes int, why string) {
		if len(bars) > 0 {
			put(0, len(bars)-1, percent, "both", minutes, why, s.say("tonight.whole"))
		}
	}
	portions := portions(l.Plan)
	begin := func(i, apart, together int) {
		if i < len(portions) {
			p := portions[i]
			add(p.From, p.To, 60, "right", apart, "")
			add(p.From, p.To, 60, "left", apart, "")
			why := p.Why
			if len(p.again) > 0 {
				why = strings.TrimSpace(why + " " + s.say("tonight.again", "Bars", words.Bars(p.again)))
			}
			add(p.From, p.To, 60, "both", together, why)
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
		whole(60, 5, "")
	}
	turn()
	again(0, 90, 3)
	again(1, 90, 3)
	whole(75, 4, "")
	whole(90, 4, s.say("tonight.when-clean"))
	whole(100, 4, s.say("tonight.when-clean"))
	return out
}

// portion is a phrase to be learnt, and the bars of those that have the same notes.
type portion struct {
	teach.HardSpot
	again []int
}

// portions are the phrases to be learnt, the first to practise first: with the join to a
// neighbour where that is what is hard.
func portions(p teach.Plan) []portion {
	phrases := slices.Clone(p.Phrases)
	slices.SortStableFunc(phrases, func(a, b teach.Phrase) int { return cmp.Compare(a.Rank, b.Rank) })
	var out []portion
	for i, ph := range phrases {
		var x portion
		switch {
		case i < len(p.First): // in the same order
			x.HardSpot = p.First[i]
		case !ph.Repeats():
			x.HardSpot = teach.HardSpot{From: ph.From, To: ph.To}
		default:
			continue
		}
		for _, o := range p.Phrases {
			if o.Repeating(ph) {
				for b := o.From; b <= o.To; b++ {
					x.again = append(x.again, b)
				}
			}
		}
		out = append(out, x)
	}
	return out
}

// touch tells whether one portion follows the other.
func touch(a, b portion) bool { return a.To+1 >= b.From && b.To+1 >= a.From }

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
