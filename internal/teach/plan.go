package teach

import (
	"cmp"
	"slices"

	"gradatim/internal/harmony"
	"gradatim/score"
	"gradatim/theory"
)

// percents are the tempo steps of drills and practice.
var percents = []int{60, 75, 90, 100}

// steps gives the tempo steps of a page.
func (p *page) steps() []Step {
	out := make([]Step, len(percents))
	for i, n := range percents {
		out[i] = p.step(n)
	}
	return out
}

func (p *page) step(percent int) Step {
	t := p.Score.Tempo
	t.PerMinute = max(1, (t.PerMinute*percent+50)/100)
	return Step{percent, tempoOf(p.words, t)}
}

// longest is the most bars of one portion of practice.
const longest = 8

// plan lays out the practice of a page.
func (w *writer) plan(p *page) Plan {
	var out Plan
	out.Phrases, out.First = w.phrases(p)
	for _, st := range []struct {
		key     string
		percent int
	}{{"rhythm", 60}, {"apart", 60}, {"together", 60}, {"steadier", 75}, {"joined", 90}, {"tempo", 100}} {
		out.Order = append(out.Order, Stage{w.say("plan." + st.key + ".name"), p.step(st.percent), w.say("plan." + st.key + ".text")})
	}
	out.Rules = w.words.Lines("lesson.plan.rules")
	if len(pedalBars(p.Score)) > 0 {
		out.Rules = append(out.Rules, p.claim("plan.pedal-last", p.whole()))
	}
	return out
}

// cut is a portion of practice: bars, by their indexes, of the tune or of what stands
// around it.
type cut struct {
	page        *page
	first, last int
	cadence     harmony.Cadence
}

// whole is the cut without a pick-up.
func (c cut) whole() cut {
	if c.page.Score.Bars[c.first].Pickup && c.first < c.last {
		c.first++
	}
	return c
}

func (c cut) number(b int) int { return c.page.Score.Bars[b].Number }

// within are the bars of a hard place that are of the cut, by their numbers.
func (c cut) within(h Hard) []int {
	var out []int
	for b := c.first; b <= c.last; b++ {
		if n := c.number(b); n >= h.From && n <= h.To && !c.page.Score.Bars[b].Pickup {
			out = append(out, n)
		}
	}
	return out
}

// cuts divides a page by the tune's phrases, long ones in half; an introduction and a tag
// are portions of their own.
func (w *writer) cuts(p *page) []cut {
	var tune []cut
	for _, ph := range w.in.Analysis.Phrases {
		first, last := ph.First, min(ph.Last, len(p.Score.Bars)-1)
		for last-first+1 > longest {
			tune = append(tune, cut{p, first, first + 3, harmony.NoCadence})
			first += 4
		}
		if first <= last {
			tune = append(tune, cut{p, first, last, ph.Cadence})
		}
	}
	if len(tune) == 0 {
		tune = []cut{{p, 0, len(p.Score.Bars) - 1, harmony.NoCadence}}
	}
	var out []cut
	for _, q := range p.parts() {
		if q == p {
			out = append(out, tune...)
		} else {
			out = append(out, cut{q, 0, len(q.Score.Bars) - 1, harmony.NoCadence})
		}
	}
	return out
}

// phrases lists the portions of practice and says in which order to take them: those
// with hard bars first, which are the places to begin with.
func (w *writer) phrases(p *page) ([]Phrase, []HardSpot) {
	out := []Phrase{}
	cuts := w.cuts(p)
	seen := map[string]likeness{}   // by notes
	nearly := map[string]likeness{} // by the notes of all but the last bar
	var of []cut
	spans := map[int][2]int{} // by number, without a pick-up
	number := 0
	rows := make([]int, len(cuts))
	for i, c := range cuts {
		rows[i] = len(out)
		ph := Phrase{From: c.number(c.first), To: c.number(c.last)}
		if i+1 < len(cuts) {
			ph.Join = []int{ph.To, cuts[i+1].number(cuts[i+1].first)}
		}
		if c.page != p {
			ph.Name = w.words.Say("part." + c.page.Score.Bars[0].Part.String())
			out, of = append(out, ph), append(of, c)
			continue
		}
		number++
		ph.Name, ph.number = w.say("plan.phrase", "n", number), number
		if c.cadence != harmony.NoCadence {
			key := "cadence."
			if p.plain() {
				key += "plain."
			}
			ph.Cadence = p.claim(key+c.cadence.String(), here{p.Score.Bars[c.first].At, p.Score.Bars[c.last].End()}, "key", p.Score.Bars[c.last].Key)
		}
		this := likeness{phrase: number}
		if p.Score.Bars[c.first].Pickup && c.first < c.last {
			c.first++ // the same music without it
			this.bare = true
		}
		spans[number] = [2]int{c.first, c.last}
		print := heard(p, c.first, c.last)
		if as, ok := seen[print]; ok {
			ph.like = as
			if k := len(out) - 1; out[k].like == as { // in a row
				out[k].Name = w.say("plan.phrases", "From", out[k].number, "To", number)
				out[k].To, out[k].Join = ph.To, ph.Join
				rows[i] = k
				continue
			}
		} else {
			seen[print] = this
			if c.last-c.first >= 2 {
				most := heard(p, c.first, c.last-1)
				if as, ok := nearly[most]; ok {
					ph.like, ph.like.butEnd = as, true
				} else {
					nearly[most] = this
				}
			}
		}
		out, of = append(out, ph), append(of, c)
	}
	hard := hardPlaces(p, cuts, rows, of, func(row int) int {
		if l := out[row].like; l.phrase > 0 && !l.butEnd {
			if k := slices.IndexFunc(out, func(ph Phrase) bool { return ph.number == l.phrase }); k >= 0 {
				return k
			}
		}
		return row
	})
	rank(out, hard)
	for i := range out { // a phrase is told by another only after that one
		if l := out[i].like; l.butEnd {
			if k := slices.IndexFunc(out, func(ph Phrase) bool { return ph.number == l.phrase }); k >= 0 && out[k].Rank > out[i].Rank {
				out[i].like = likeness{}
			}
		}
	}
	for i := range out {
		if out[i].like != (likeness{}) {
			out[i].As = w.like(p, out[i].like, spans, [2]int{of[i].first, of[i].last})
		}
		if out[i].As != "" {
			continue
		}
		out[i].Left, out[i].Right = of[i].page.handsIn(of[i].first, of[i].last)
	}
	return out, w.first(p, hard, of, out)
}

// like names the phrase that another repeats: "Phrase 1 without its pick-up".
func (w *writer) like(p *page, l likeness, spans map[int][2]int, bars [2]int) string {
	key := "plan.as"
	if l.bare {
		key = "plan.as-bare"
	}
	other := spans[l.phrase]
	if l.butEnd {
		bars[1]--
		other[1]--
	}
	bars[1] = bars[0] + other[1] - other[0] // of several in a row the first
	name := p.claim(key, p.whole(), "n", l.phrase, "bars", bars, "like", other)
	if l.butEnd && name != "" {
		return p.claim("plan.but-end", p.whole(), "Phrase", name, "bars", bars, "like", other)
	}
	return name
}

// rank orders the phrases for practice: those with harder bars first, then as
// they come, repeats last.
func rank(ps []Phrase, hard []hardPlace) {
	order := make([]int, len(ps))
	weight := make([]int, len(ps))
	for i := range ps {
		order[i] = i
		weight[i] = len(hard)
		for k, h := range hard {
			if h.row == i {
				weight[i] = k
				break
			}
		}
		if ps[i].like.phrase > 0 && !ps[i].like.butEnd {
			weight[i] = len(hard) + 1
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(weight[a], weight[b]) })
	for r, i := range order {
		ps[i].Rank = r + 1
	}
}

// handsIn says what the hands do in some bars.
func (p *page) handsIn(first, last int) (left, right string) {
	var l, r []string
	for b := first; b <= last; b++ {
		for _, t := range p.texture(b, score.Left, leftStage) {
			if !slices.Contains(l, t) {
				l = append(l, t)
			}
		}
		for _, t := range p.texture(b, score.Right, rightStages...) {
			if !slices.Contains(r, t) {
				r = append(r, t)
			}
		}
	}
	h := here{p.Score.Bars[first].At, p.Score.Bars[last].End()}
	return p.leftDoes(l, h), p.rightDoes(r, h)
}

// leftDoes says what the left hand does in a stretch that shows some techniques.
func (p *page) leftDoes(ids []string, h here) string {
	if len(ids) > 0 {
		return p.claim("plan.left", h, "Names", techniques(p.words, ids), "ids", ids)
	}
	for _, key := range []string{"rests", "single", "chords", "mixed"} {
		if proofs["plan."+key](p, h, nil) {
			return p.claim("plan."+key, h)
		}
	}
	return ""
}

// rightDoes says what the right hand does.
func (p *page) rightDoes(ids []string, h here) string {
	switch {
	case len(ids) > 0:
		return p.claim("plan.right", h, "Names", techniques(p.words, ids), "ids", ids)
	case tuneAlone(p, h, nil):
		return p.claim("plan.tune-alone", h)
	}
	return p.claim("plan.more", h)
}

// heard is equal for stretches that strike the same notes; how long they are held
// does not count.
func heard(p *page, first, last int) string {
	notes := stripped(p, first, last)
	for i := range notes {
		notes[i].Dur = min(notes[i].Dur, theory.Eighth)
	}
	return score.Text(score.Score{Bars: rebased(p, first, last), Notes: notes})
}

// fingerprint is equal for stretches with the same notes.
func fingerprint(p *page, first, last int) string {
	return score.Text(score.Score{Bars: rebased(p, first, last), Notes: stripped(p, first, last)})
}

func rebased(p *page, first, last int) []score.Bar {
	var out []score.Bar
	for _, b := range p.Score.Bars[first : last+1] {
		out = append(out, score.Bar{At: b.At - p.Score.Bars[first].At, Dur: b.Dur, Meter: b.Meter, Key: b.Key})
	}
	return out
}

func stripped(p *page, first, last int) []score.Note {
	var out []score.Note
	for b := first; b <= last; b++ {
		for _, n := range p.byBar[b] {
			out = append(out, score.Note{Hand: n.Hand, Voice: n.Voice, At: n.At - p.Score.Bars[first].At, Dur: n.Dur, Pitch: n.Pitch, Grace: n.Grace, Ornament: n.Ornament})
		}
	}
	return out
}
