package account

import (
	"gradatim/internal/edition"
	"gradatim/internal/plan"
)

// section is a part of the form, as the page follows it.
type section struct {
	Bars    [2]int    `json:"bars"`
	Section string    `json:"section,omitempty"`
	Role    plan.Role `json:"role"`
	Dynamic string    `json:"dynamic"`
	Phrases []phrase  `json:"phrases"`
}

type phrase struct {
	Bars [2]int    `json:"bars"`
	Role plan.Role `json:"role"`
}

// growth is the crescendo to the tune's highest note.
type growth struct {
	From    int    `json:"from_bar"`
	Bar     int    `json:"bar"`
	Beat    string `json:"beat"`
	Dynamic string `json:"dynamic"`
}

func formOf(a edition.Page) (sections []section, climax *growth) {
	bars := func(first, last int) [2]int { return [2]int{a.Song.Bars[first].Number, a.Song.Bars[last].Number} }
	sections = []section{}
	for _, s := range a.Form.Sections {
		out := section{bars(s.First, s.Last), s.Name, s.Role, s.Dynamic, []phrase{}}
		for _, ph := range s.Phrases {
			out.Phrases = append(out.Phrases, phrase{bars(ph.First, ph.Last), ph.Role})
		}
		sections = append(sections, out)
	}
	if c := a.Form.Climax; c.To > 0 {
		to := a.Song.PosAt(c.To)
		climax = &growth{a.Song.PosAt(c.From).Bar, to.Bar, to.Beat.String(), c.Top}
	}
	return sections, climax
}
