package technique

import (
	"gradatim/internal/sight"
	"gradatim/theory"
)

// shells are root with seventh, third or sixth: the least that still says which
// chord it is.
var shells = &Technique{
	ID: "shells", Name: "Shells", Level: 3, Stage: LeftHand,
	What:  "Root and seventh (or third, or sixth) in the left hand: the chord in two notes.",
	Needs: []string{"seventh-chords"},
	Left: func(c Cell) []Figure {
		out := FromForms(c, shellForms, "root and seventh, a shell", nil)
		falls := !c.Prev.Silent() && classesApart(c.Prev.Root, c.Chord.Root) == 5
		for _, f := range FromForms(c, shellThirdForms, "root and third, a shell", nil) {
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
	Teach: Teaching{
		How:      "Little finger on the root and thumb on the seventh; two other fingers for a 1–3. Where roots fall by fifths 1–7 and 1–3 may take turns.",
		Practise: []string{"Shells round the tune's roots: 1–7, 1–3, 1–7 …", "Say the upper note's number."},
		Listen:   "Where 1–7 and 1–3 take turns the upper notes move by step or stay.",
		Mistakes: []string{"playing below C3 with a third: it growls"},
	},
	Drill: Drill{AroundChords, "Shells through the chords of the tune, 1–7 and 1–3 in turn."},
}

// growls is C3: below it root and third are no shell any more.
const growls = 48

var (
	shellForms = []Form{
		{Beats: 4, Steps: "s - . s"},
		{Beats: 4, Steps: "s - s -", MaxTempo: 132, Cost: 1},
		{Beats: 4, Steps: "s s s s", MaxTempo: 200, Cost: 3},
		{Beats: 3, Steps: "s - -"},
		{Beats: 2, Steps: "s -"},
		{Beats: 1, Steps: "s"},
		{Beats: 2, Compound: true, Steps: "s - - - - s"},
		{Beats: 2, Compound: true, Steps: "s - s s - s", Cost: 2},
		{Beats: 1, Compound: true, Steps: "s - -"},
	}
	shellThirdForms = []Form{
		{Beats: 4, Steps: "1+3 - . 1+3"},
		{Beats: 3, Steps: "1+3 - -"},
		{Beats: 2, Steps: "1+3 -"},
		{Beats: 1, Steps: "1+3"},
		{Beats: 2, Compound: true, Steps: "1+3 - - - - 1+3"},
		{Beats: 2, Compound: true, Steps: "1+3 - 1+3 1+3 - 1+3", Cost: 2},
		{Beats: 1, Compound: true, Steps: "1+3 - -"},
	}
)

var (
	rootGuideForms = []Form{
		{Beats: 4, Steps: "R - - g - - - -"},
		{Beats: 4, Steps: "R - - g - - g -", Cost: 1},
		{Beats: 3, Steps: "R - - g - -"},
		{Beats: 3, Steps: "R g g", Cost: 1},
		{Beats: 2, Steps: "R g"},
		{Beats: 2, Steps: "R g . g", Cost: 1},
		{Beats: 1, Steps: "s"},
		{Beats: 2, Compound: true, Steps: "R g"},
		{Beats: 2, Compound: true, Steps: "R - g R - g", Cost: 1},
		{Beats: 1, Compound: true, Steps: "R - g"},
	}
	rootGuideStraight = []Form{
		{Beats: 4, Steps: "R g - -"},
		{Beats: 4, Steps: "R g - g", Cost: 1},
		{Beats: 3, Steps: "R g -"},
		{Beats: 3, Steps: "R g g", Cost: 1},
		{Beats: 2, Steps: "R g"},
		{Beats: 2, Steps: "R g . g", Cost: 1},
		{Beats: 1, Steps: "s"},
		{Beats: 2, Compound: true, Steps: "R - - g - -"},
		{Beats: 2, Compound: true, Steps: "R - g R - g", Cost: 1},
		{Beats: 1, Compound: true, Steps: "R - g"},
	}
)

var (
	compingForms = [][]Form{
		{{Beats: 4, Steps: "v - - v . . . ."}, {Beats: 3, Steps: "v - - v . ."}, {Beats: 2, Steps: "v - . ."}, {Beats: 1, Steps: "v"}},
		{{Beats: 4, Steps: ". v - - v - . ."}, {Beats: 3, Steps: "v - - - . ."}, {Beats: 2, Steps: ". v - -"}, {Beats: 1, Steps: "v"}},
		{{Beats: 4, Steps: "v - - - . . . ."}, {Beats: 3, Steps: "v - . . v -"}, {Beats: 2, Steps: "v - - v"}, {Beats: 1, Steps: "v"}},
	}
	compingSay = []string{"rootless chord on 1 and the “and” of 2", "rootless chord on the “and” of 1 and on 3", "rootless chord on 1, then room"}
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

type degree = theory.Degree

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
