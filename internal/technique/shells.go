package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// shells are root with seventh, third or sixth: the least that still says which
// chord it is.
var shells = &Technique{
	ID: "shells", Stage: LeftHand, Shell: true,
	Needs: []string{"seventh-chords"},
	Left: func(c Cell) []Figure {
		if c.Chord.Slash && c.Chord.Bass != c.Chord.Root { // over another bass it is none
			return nil
		}
		out := figures(c, shellForms, reason.Figure("shells"), nil)
		falls := !c.Prev.Silent() && classesApart(c.Prev.Root, c.Chord.Root) == 5
		for _, f := range figures(c, shellThirdForms, reason.Figure("shells.third"), nil) {
			if f.Bottom() < growls {
				continue
			}
			if !falls { // a 1–3 answers the 1–7 a fifth above it
				f.Cost++
			}
			out = append(out, f)
		}
		return out
	},
	Recognise: recogniseShells,
	Unseen:    "where a chord lasts a beat, two notes only pass",
	Also:      []string{"root-seventh", "shuffle", "two-voices"},
	Drill:     OwnBars,
}

// growls is C3: below it root and third are no shell any more.
const growls = 48

var (
	shellForms = forms(
		pattern{Beats: 4, Steps: "s - . s"},
		pattern{Beats: 4, Steps: "s - s -", MaxTempo: 132, Cost: 1},
		pattern{Beats: 4, Steps: "s s s s", MaxTempo: 200, Cost: 3},
		pattern{Beats: 3, Steps: "s - -"},
		pattern{Beats: 2, Steps: "s -"},
		pattern{Beats: 1, Steps: "s"},
		pattern{Beats: 2, Compound: true, Steps: "s - - - - s"},
		pattern{Beats: 2, Compound: true, Steps: "s - s s - s", Cost: 2},
		pattern{Beats: 1, Compound: true, Steps: "s - -"},
	)
	shellThirdForms = forms(
		pattern{Beats: 4, Steps: "1+3 - . 1+3"},
		pattern{Beats: 3, Steps: "1+3 - -"},
		pattern{Beats: 2, Steps: "1+3 -"},
		pattern{Beats: 1, Steps: "1+3"},
		pattern{Beats: 2, Compound: true, Steps: "1+3 - - - - 1+3"},
		pattern{Beats: 2, Compound: true, Steps: "1+3 - 1+3 1+3 - 1+3", Cost: 2},
		pattern{Beats: 1, Compound: true, Steps: "1+3 - -"},
	)
)

// recogniseShells finds shells, but those that walk with chords of a beat each
// and those that a low note of their own goes before.
func recogniseShells(page *sight.Page) []Finding {
	var out []Finding
	for _, p := range page.Left() {
		if isShell(p) && !(passingBy(p) && !p.Compound) {
			out = append(out, finding(p.Chord.Pretty(), p))
		}
	}
	return out
}

// isShell tells whether a strike is the printed chord's root with its seventh,
// sixth, third or fourth, within an octave.
func isShell(p sight.Play) bool {
	if len(p.Notes) != 2 || !p.Known() || p.Span() > 12 || p.Notes[0].Pitch.Class() != p.Chord.Root.Class() {
		return false
	}
	d, in := p.Degree(p.Notes[1])
	return in && (d.Number == 3 || d.Number == 6 || d.Number == 7 || d.Number == 4)
}

// passingBy tells whether the chord in force lasts no longer than a beat.
func passingBy(p sight.Play) bool { return p.Known() && p.To-p.From <= p.Pulse && p.Dur() <= p.Pulse }
