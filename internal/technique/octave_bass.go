package technique

import (
	"slices"

	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// octaveBass is the bass of marches, rags and grand waltzes: octaves on the strong
// beats, chords on the weak ones.
var octaveBass = &Technique{
	ID: "octave-bass", Stage: LeftHand,
	Needs: []string{"bass-and-chord", "seventh-chords"},
	Left: func(c Cell) []Figure {
		out := figures(c, octaveBassForms, reason.Figure("octave-bass"), closeChords)
		return slices.DeleteFunc(out, func(f Figure) bool { // the chord lies above the octave
			return len(f.Tones) > 2 && f.Tones[2].Pitch.MIDI() <= f.Tones[1].Pitch.MIDI()
		})
	},
	Recognise: recogniseOctaveBass,
	Also:      []string{"stride", "bass-and-chord"},
	Drill:     OnOneChord,
}

var octaveBassForms = forms(
	pattern{Beats: 4, Steps: "R+R^ c 5+5_ c"},
	pattern{Beats: 4, Steps: "R+R^ c R c", Cost: 3},
	pattern{Beats: 3, Steps: "R+R^ c c"},
	pattern{Beats: 2, Steps: "R+R^ c"},
	pattern{Beats: 1, Steps: "R+R^"},
	pattern{Beats: 2, Compound: true, Steps: "R+R^ - c 5+5_ - c"},
	pattern{Beats: 1, Compound: true, Steps: "R+R^ - c"},
)

// closeChords lists the chord in close position near middle C: the triad, or third,
// fifth and seventh where the chord has one.
func closeChords(c Cell) []Voicing {
	third, ok := c.Chord.Third()
	if !ok {
		return Triads(c, 48, c.High)
	}
	ds := []theory.Degree{{Number: 1}, third, fifthOf(c.Chord)}
	if sev, ok := c.Chord.Seventh(); ok {
		ds = []theory.Degree{third, fifthOf(c.Chord), sev}
	}
	var out []Voicing
	for i, rot := range Rotations(ds) {
		out = append(out, Placements(c.Chord.Root, rot, 50, c.High, c.Caps.Span[1], i)...)
	}
	if len(ds) == 3 && ds[0].Number == 1 {
		out = append(out, c.open(50, c.High)...)
	}
	return append(out, c.unseventh(50, c.High)...)
}

// recogniseOctaveBass finds a low octave and the chord after it, higher.
func recogniseOctaveBass(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if len(a.Notes) == 2 && a.Span() == 12 && len(b.Notes) >= 3 && b.Low() > a.Low()+5 && b.At-a.At <= 2*a.Pulse {
			out = append(out, finding("", a, b))
		}
	}
	return out
}
