package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// rootThenGuides is a low root, then third and seventh off the beat.
var rootThenGuides = &Technique{
	ID: "root-then-guides", Stage: LeftHand,
	Needs: []string{"shells"},
	Left: func(c Cell) []Figure {
		forms := rootGuideForms
		if !c.Swing {
			forms = rootGuideStraight
		}
		out := figures(c, forms, reason.Figure("root-then-guides"), func(c Cell) []Voicing { return guideVoicings(c, 50, c.High) })
		if c.Dur() == c.Pulse() && !c.Meter.Compound() { // no time for more than a shell
			return by(shells.ID, out)
		}
		return out
	},
	Recognise: recogniseRootGuides,
	Unseen:    "over a triad its two notes are third and fifth: a broken triad",
	Also:      []string{"shells", "root-seventh", "stride", "broken-triad", "repeated-chords", "bass-and-chord"}, // where a chord has time for one strike, or a leap
	Drill:     AroundChords,
}

var (
	rootGuideForms = forms(
		pattern{Beats: 4, Steps: "R - - g - - - -"},
		pattern{Beats: 4, Steps: "R - - g - - g -", Cost: 1},
		pattern{Beats: 3, Steps: "R g -"}, // not two halves of three: that is another metre
		pattern{Beats: 3, Steps: "R g g", Cost: 1},
		pattern{Beats: 2, Steps: "R g"},
		pattern{Beats: 2, Steps: "R g . g", Cost: 1},
		pattern{Beats: 1, Steps: "s"},
		pattern{Beats: 2, Compound: true, Steps: "R g"},
		pattern{Beats: 2, Compound: true, Steps: "R - g R - g", Cost: 1},
		pattern{Beats: 1, Compound: true, Steps: "R - g"},
	)
	rootGuideStraight = forms(
		pattern{Beats: 4, Steps: "R g - -"},
		pattern{Beats: 4, Steps: "R g - g", Cost: 1},
		pattern{Beats: 3, Steps: "R g g"},
		pattern{Beats: 3, Steps: "R g -", Cost: 1},
		pattern{Beats: 2, Steps: "R g"},
		pattern{Beats: 2, Steps: "R g . g", Cost: 1},
		pattern{Beats: 1, Steps: "s"},
		pattern{Beats: 2, Compound: true, Steps: "R - - g - -"},
		pattern{Beats: 2, Compound: true, Steps: "R - g R - g", Cost: 1},
		pattern{Beats: 1, Compound: true, Steps: "R - g"},
	)
)

// guideVoicings places third and seventh (or what stands for them) in both
// orders between two keys.
func guideVoicings(c Cell, low, high int) []Voicing {
	third, ok := c.Chord.Third()
	if !ok {
		third = fifthOf(c.Chord)
	}
	sev, ok := c.Chord.Seventh()
	if !ok {
		sev = fifthOf(c.Chord)
	}
	root := c.Chord.Root
	out := Placements(root, []degree{third, sev}, low, high, 12, 0)
	return append(out, Placements(root, []degree{sev, third}, low, high, 12, 0)...)
}

// recogniseRootGuides finds a lone root followed by two notes of its chord that
// are neither root nor fifth, near enough to need no leap or held for more than a
// beat.
func recogniseRootGuides(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if !a.Known() || !a.Lone() || len(b.Notes) != 2 || a.From != b.From || a.Bar != b.Bar || a.Notes[0].Pitch.Class() != a.Chord.Lowest().Class() {
			continue
		}
		both := 0
		for _, n := range b.Notes {
			if d, in := b.Degree(n); in && d.Number != 1 && d.Number != 5 {
				both++
			}
		}
		steady := b.At-a.At == a.Pulse && b.Dur() <= b.Pulse // as in stride
		if both == 2 && !(steady && b.High()-a.Low() > sight.Ninth && b.Low()-a.Low() >= 10) {
			out = append(out, finding(a.Chord.Pretty(), a, b))
		}
	}
	return out
}
