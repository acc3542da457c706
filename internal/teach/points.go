package teach

import (
	"slices"
	"strings"

	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/score"
)

const leftStage = technique.LeftHand

var rightStages = []technique.Stage{technique.RightHand, technique.Ornament}

// points collects the common mistakes and what to listen for of the techniques
// taught. What two techniques say alike is said once.
func (w *writer) points(news []New) (mistakes, listen []Point) {
	mistakes, listen = []Point{}, []Point{}
	add := func(ps *[]Point, text, name, id string) {
		text = sentence(text)
		if text == "" {
			return
		}
		for i := range *ps {
			if strings.EqualFold((*ps)[i].Text, text) {
				(*ps)[i].For = append((*ps)[i].For, id)
				(*ps)[i].About += " + " + name
				return
			}
		}
		*ps = append(*ps, Point{text, words.Upper(name), []string{id}})
	}
	for _, n := range news {
		told := w.words.Technique(n.Technique)
		for _, m := range told.Mistakes {
			add(&mistakes, m, told.Name, n.Technique)
		}
		add(&listen, told.Listen, told.Name, n.Technique)
	}
	return mistakes, listen
}

// generalCautions hold for every page.
func (w *writer) generalCautions() []Caution {
	return []Caution{
		{"pain", "Stop at the first pain, numbness or tingling, and do not play through it. If it comes back, ask a teacher, and a doctor or another clinician."},
		{"stretch", "No exercise makes a hand wider. What does not reach easily is rolled, left out, or given to the other hand."},
		{"repetition", "Rest before a hand tires: a few minutes in every half hour, and sooner for anything that repeats."},
		{"volume", "Keep headphones and loudspeakers so soft that you could talk over them, and give the ears rests as well."},
	}
}

// levelCautions are those of the techniques that the page uses and no level below
// did, each under its technique's name. What the general cautions say already is
// not said again.
func (w *writer) levelCautions(p *page, news []New) []Caution {
	out := []Caution{}
	said := map[string]bool{}
	for _, u := range p.Used {
		t, ok := technique.ByID(u.Technique)
		told := w.words.Technique(u.Technique)
		if !ok || told.Caution == "" || w.known[t.ID] > 0 {
			continue
		}
		var keep []string
		for _, s := range sentences(told.Caution) {
			if said[s] || general(s) {
				continue
			}
			said[s] = true
			keep = append(keep, s)
		}
		if len(keep) > 0 {
			out = append(out, Caution{told.Title(), strings.Join(keep, " ")})
		}
	}
	if n := widest(p.Score); n >= 12 && !slices.ContainsFunc(out, func(c Caution) bool { return strings.Contains(c.Text, "hand") && strings.Contains(c.Text, "travel") }) {
		out = append(out, Caution{"Wide chords", "The widest chord struck at once is " + withArticle(intervalName(n)) + ": roll it if it does not lie easily under the hand."})
	}
	return out
}

// general tells whether a sentence only repeats the general cautions.
func general(s string) bool {
	return strings.HasPrefix(s, "Stop if anything hurts") || strings.HasPrefix(s, "Stop at the first pain") || s == "No stretching exercises."
}

// sentences splits a text.
func sentences(s string) []string {
	var out []string
	for s = strings.TrimSpace(s); s != ""; {
		i := strings.Index(s, ". ")
		if i < 0 {
			out = append(out, s)
			break
		}
		out = append(out, s[:i+1])
		s = strings.TrimSpace(s[i+1:])
	}
	return out
}

// widest is the widest chord that one hand strikes at once, unrolled, in
// semitones.
func widest(s score.Score) int {
	type hold struct{ low, high int }
	most := 0
	at := map[score.Hand]hold{}
	for i, n := range s.Notes {
		if i > 0 && s.Notes[i-1].At != n.At {
			clear(at)
		}
		if n.Grace > 0 || n.Marks.Has(score.Rolled) {
			continue
		}
		k := n.Pitch.MIDI()
		h, ok := at[n.Hand]
		if !ok {
			h = hold{k, k}
		}
		h = hold{min(h.low, k), max(h.high, k)}
		at[n.Hand] = h
		most = max(most, h.high-h.low)
	}
	return most
}
