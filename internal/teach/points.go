package teach

import (
	"strings"

	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/score"
)

const leftStage = technique.LeftHand

var rightStages = []technique.Stage{technique.RightHand, technique.Ornament}

// points collects the common mistakes and what to listen for of the techniques
// that a level is about. What two techniques say alike is said once.
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
	var out []Caution
	for _, about := range []string{"pain", "stretch", "repetition", "volume"} {
		out = append(out, Caution{w.say("caution." + about + ".name"), w.say("caution." + about + ".text")})
	}
	return out
}

// levelCautions are those of the techniques that the page uses and no level below
// did, each under its technique's name, and each sentence once.
func (w *writer) levelCautions(p *page, news []New) []Caution {
	out := []Caution{}
	said, travels := map[string]bool{}, false
	for _, u := range p.Used {
		t, ok := technique.ByID(u.Technique)
		if !ok || w.known[t.ID] > 0 {
			continue
		}
		told := w.words.Technique(u.Technique)
		travels = travels || told.Travel != ""
		var keep []string
		for _, s := range append([]string{told.Travel}, told.Cautions...) {
			if s == "" || said[s] {
				continue
			}
			said[s] = true
			keep = append(keep, s)
		}
		if len(keep) > 0 {
			out = append(out, Caution{told.Title(), strings.Join(keep, " ")})
		}
	}
	if n := widest(p.Score); n >= 12 && !travels {
		out = append(out, Caution{w.say("caution.wide.name"), p.claim("caution.wide.text", p.whole(), "Width", words.HalfSteps(n))})
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
