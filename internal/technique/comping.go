package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// comping puts full left-hand chords without their root on and off the beat.
var comping = &Technique{
	ID: "comping", Stage: LeftHand,
	Needs: []string{"extensions", "root-then-guides"}, Varies: true,
	Left: func(c Cell) []Figure {
		var out []Figure
		for k, forms := range compingForms {
			for _, f := range figures(c, forms, compingSay[k], func(c Cell) []Voicing { return rootless(c, 48, c.High) }) {
				f.Cost += (k + int(c.BarAt/max(1, c.Meter.Bar()))) % len(compingForms) // the cells take turns
				out = append(out, f)
			}
		}
		if c.Dur() == c.Pulse() && !c.Meter.Compound() { // no time for more than a shell
			return by(shells.ID, out)
		}
		return out
	},
	Also:      []string{"bass-and-chord", "stride", "repeated-chords"},
	Recognise: recogniseRootless,
	Drill:     FigureCadence,
}

var (
	compingForms = [][]form{
		forms(
			pattern{Beats: 4, Steps: "R - - v - v . ."},
			pattern{Beats: 3, Steps: "R - - v . ."},
			pattern{Beats: 2, Steps: "R - - v"},
			pattern{Beats: 1, Steps: "s"},
		),
		forms(
			pattern{Beats: 4, Steps: "R v - - - v . ."},
			pattern{Beats: 3, Steps: "R v - - . ."},
			pattern{Beats: 2, Steps: "R v - ."},
			pattern{Beats: 1, Steps: "s"},
		),
		forms(
			pattern{Beats: 4, Steps: "R - - v - . . ."},
			pattern{Beats: 3, Steps: "R - - v - -"},
			pattern{Beats: 2, Steps: "R v - -"},
			pattern{Beats: 1, Steps: "s"},
		),
	}
	compingSay = []reason.Figure{"comping.after-two", "comping.after-one", "comping.once"}
)

// rootless lists the four-note shapes without the root, in the two types that
// start on the third and on the seventh, with the top note between C4 and C5
// (facts of the trade; the placing from a university teacher's handout); three
// notes where four do not fit the hand.
func rootless(c Cell, low, high int) []Voicing {
	ch := c.Chord
	third, ok := ch.Third()
	if !ok {
		return nil
	}
	sev, ok := ch.Seventh()
	if !ok {
		return nil
	}
	fifth := fifthOf(ch)
	ninth := degree{Number: 1}
	for _, d := range []degree{deg9, degB9, degS9} {
		if ch.Tones.Has(d) {
			ninth = d
			break
		}
	}
	for _, d := range []degree{deg13, degB13} {
		if ch.Dominant() && ch.Tones.Has(d) {
			fifth = d
		}
	}
	if ch.MinorThird() && ch.Tones.Has(deg11) && ninth == deg1 {
		ninth = deg11
	}
	root := ch.Root
	cost := 0
	if c.NewChord && c.Held == 0 && c.Opens {
		cost = 3
	}
	var out []Voicing
	if ninth == deg1 { // nothing stands for the root
		for _, shape := range [][]degree{{third, fifth, sev}, {sev, third, fifth}, {fifth, sev, third}} {
			out = append(out, Placements(root, shape, low, high, 12, cost)...)
		}
		return out
	}
	for _, shape := range [][]degree{{third, fifth, sev, ninth}, {sev, ninth, third, fifth}} {
		for _, v := range Placements(root, shape, low, high, 12, cost) {
			top := v.Pitches[len(v.Pitches)-1].MIDI()
			if top < 60 {
				v.Cost += 2
			}
			out = append(out, v)
		}
	}
	for _, shape := range [][]degree{{third, sev, ninth}, {sev, third, fifth}, {sev, ninth, third}} {
		out = append(out, Placements(root, shape, low, high, 12, cost+2)...)
	}
	return out
}

// recogniseRootless finds left-hand chords of three notes or more that hold third
// and seventh of the printed chord and not its root, in bars without a low bass
// note of the hand, or off the beat after the one that began the chord.
func recogniseRootless(page *sight.Page) []Finding {
	ps := page.Left()
	type stay struct { // of a chord in a bar
		bar  int
		from theory.Dur
	}
	based, basses := map[int]bool{}, map[stay]int{}
	for _, p := range ps {
		if len(p.Notes) <= 2 && p.Low() <= 52 && p.Known() && p.Notes[0].Pitch.Class() == p.Chord.Lowest().Class() {
			based[p.Bar] = true
			basses[stay{p.Bar, p.From}]++
		}
	}
	var out []Finding
	for _, p := range ps {
		after := p.Off%p.Pulse != 0 && !p.Compound && basses[stay{p.Bar, p.From}] == 1 && p.To-p.From >= 2*p.Pulse
		if !p.Known() || len(p.Notes) < 3 || based[p.Bar] && !after {
			continue
		}
		third, sev, root := false, false, false
		for _, n := range p.Notes {
			d, in := p.Degree(n)
			third = third || in && (d.Number == 3 || d.Number == 4)
			sev = sev || in && (d.Number == 7 || d.Number == 6)
			root = root || n.Pitch.Class() == p.Chord.Root.Class()
		}
		if third && sev && !root {
			out = append(out, finding(p.Chord.Pretty(), p))
		}
	}
	return out
}
