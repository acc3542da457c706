package teach

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"gradatim/internal/harmony"
	"gradatim/score"
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
	return Step{percent, tempoOf(t)}
}

// longest is the most bars of one portion of practice.
const longest = 8

// plan lays out the practice of a page.
func (w *writer) plan(p *page) Plan {
	out := Plan{First: hardest(p), Phrases: w.phrases(p)}
	stage := func(name string, percent int, text string) {
		out.Order = append(out.Order, Stage{name, p.step(percent), text})
	}
	stage("Rhythm", 60, "Tap both hands' rhythm on the lid while you count.")
	stage("Hands apart", 60, "Right hand alone, then left hand alone, each with its printed fingers.")
	stage("Together", 60, "Two bars at a time, then the whole phrase.")
	for _, n := range percents[1:] {
		text := map[int]string{75: "The whole phrase, counting aloud.", 90: "The phrase and the first beat of the next.", 100: "The phrase in its place, from the one before."}[n]
		stage(strconv.Itoa(n)+" percent", n, text)
	}
	out.Rules = []string{
		"Three clean repeats in a row: go one tempo step up.",
		"The same slip twice: go one step down, or take half as many bars.",
		"Keep one portion to ten minutes, then rest the hands or change the task.",
	}
	if len(pedalBars(p.Score)) > 0 {
		out.Rules = append(out.Rules, "Add the pedal last, when both hands are sure.")
	}
	return out
}

// hardest lists the places to begin with, at most three.
func hardest(p *page) []HardSpot {
	out := []HardSpot{}
	for _, h := range p.Hardest {
		if len(out) == 3 {
			break
		}
		to := h.To
		text := fmt.Sprintf("Begin with %s: hands apart, then together at 60 percent", span(h.From, to))
		if next := to + 1; len(p.barsNumbered(next)) > 0 {
			text += fmt.Sprintf(", and go on into bar %d", next)
		}
		if h.Why != "" {
			text += ". " + upper(h.Why)
		}
		out = append(out, HardSpot{h.From, to, sentence(text)})
	}
	return out
}

// phrases divides the page by the tune's phrases, long ones in half, and says in
// which order to take them: those with hard bars first.
func (w *writer) phrases(p *page) []Phrase {
	out := []Phrase{}
	type cut struct{ first, last int }
	var cuts []cut
	var cadence []harmony.Cadence
	add := func(first, last int, c harmony.Cadence) {
		cuts, cadence = append(cuts, cut{first, last}), append(cadence, c)
	}
	for _, ph := range w.in.Analysis.Phrases {
		first, last := ph.First, min(ph.Last, len(p.Score.Bars)-1)
		for last-first+1 > longest {
			add(first, first+3, harmony.NoCadence)
			first += 4
		}
		if first <= last {
			add(first, last, ph.Cadence)
		}
	}
	if len(cuts) == 0 {
		add(0, len(p.Score.Bars)-1, harmony.NoCadence)
	}
	seen := map[string]int{}
	for i, c := range cuts {
		ph := Phrase{Name: fmt.Sprintf("Phrase %d", i+1), From: p.Score.Bars[c.first].Number, To: p.Score.Bars[c.last].Number}
		if cadence[i] != harmony.NoCadence {
			ph.Cadence = cadence[i].String() + " cadence"
		}
		if i+1 < len(cuts) {
			next := p.Score.Bars[cuts[i+1].first].Number
			ph.Join = fmt.Sprintf("Play from bar %d over the first beat of bar %d and stop there", ph.To, next)
			if ph.To == next {
				ph.Join = ""
			}
		}
		print := fingerprint(p, c.first, c.last)
		if k, ok := seen[print]; ok {
			ph.As = out[k].Name
		} else {
			seen[print] = i
		}
		ph.Join = sentence(ph.Join)
		out = append(out, ph)
	}
	rank(out, p.Hardest)
	for i := range out {
		ph := &out[i]
		switch {
		case ph.As != "":
			ph.Text = fmt.Sprintf("The same notes as %s: play it from memory of that one.", lower(ph.As))
		default:
			ph.Text = phraseText(p, ph, cuts[i].first, cuts[i].last)
		}
	}
	return out
}

// rank orders the phrases for practice: those with harder bars first, then as
// they come, repeats last.
func rank(ps []Phrase, hard []Hard) {
	order := make([]int, len(ps))
	weight := make([]int, len(ps))
	for i := range ps {
		order[i] = i
		weight[i] = len(hard)
		for k, h := range hard {
			if h.From <= ps[i].To && h.To >= ps[i].From {
				weight[i] = k
				break
			}
		}
		if ps[i].As != "" {
			weight[i] = len(hard) + 1
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(weight[a], weight[b]) })
	for r, i := range order {
		ps[i].Rank = r + 1
	}
}

// phraseText says what to look at in a phrase, from its own notes.
func phraseText(p *page, ph *Phrase, first, last int) string {
	var left, right []string
	for b := first; b <= last; b++ {
		for _, t := range p.texture(b, score.Left, leftStage) {
			if !slices.Contains(left, t) {
				left = append(left, t)
			}
		}
		for _, t := range p.texture(b, score.Right, rightStages...) {
			if !slices.Contains(right, t) {
				right = append(right, t)
			}
		}
	}
	text := "Left hand: " + list(left)
	if len(left) == 0 {
		text = "Left hand rests"
	}
	if len(right) > 0 {
		text += ". Right hand: the tune with " + list(right)
	} else {
		text += ". Right hand: the tune alone"
	}
	return text + "."
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
