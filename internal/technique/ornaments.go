package technique

import (
	"slices"

	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// beatOf is the length of a beat at a spot.
func beatOf(s Spot) theory.Dur { return s.Cell.Meter.BeatDur() }

// onBeat tells whether the spot's note begins on a beat and was not pushed.
func onBeat(s Spot) bool {
	return !s.Note.Pushed && s.Cell.Meter.OnBeat(s.Note.At-s.Cell.BarAt)
}

// chordTone tells whether the spot's note belongs to its chord.
func chordTone(s Spot) bool { return s.Cell.Chord.HasClass(s.Note.Pitch.Class()) }

func grace(s Spot, place uint8, p theory.Pitch) Tone {
	return Tone{At: s.Note.At, Pitch: p, Kind: score.Ornamental, Grace: place, Marks: score.Slashed}
}

// graceSpelling writes the note a half step below as the raised lower neighbour.
func graceSpelling(s Spot, p theory.Pitch) theory.Pitch {
	q := s.Note.Pitch.Up(halfDown)
	if q.MIDI() == p.MIDI() && q.Alter >= -1 && q.Alter <= 1 {
		return q
	}
	return p
}

// crushed puts the half step below before a note of a scale.
func (s ScaleNote) crushed() Adorned {
	return Adorned{Note: s.Note, Why: reason.Fact("half-step-below"),
		Added: []Tone{{At: s.Note.At, Pitch: s.Note.Pitch.Up(halfDown), Kind: score.Ornamental, Grace: 1, Marks: score.Slashed}}}
}

// below is the note of the key's scale so many steps under a note of it.
func (s ScaleNote) below(steps int) theory.Pitch {
	p := s.Note.Pitch
	for range steps {
		degree, _ := s.Key.Degree(p.Name)
		p = s.Key.Scale()[(degree+5)%7].Below(p.MIDI() - 1)
	}
	return p
}

// with strikes another note together with a note of a scale.
func (s ScaleNote) with(p theory.Pitch, k score.Kind, why reason.Reason) Adorned {
	return Adorned{Note: s.Note, Added: []Tone{{At: s.Note.At, Dur: s.Note.Dur, Pitch: p, Kind: k}}, Why: why}
}

// sign puts an ornament sign on each note of a scale.
func sign(o score.Ornament) func(ScaleNote) (Adorned, bool) {
	return func(s ScaleNote) (Adorned, bool) {
		s.Note.Ornament = o
		return Adorned{Note: s.Note}, true
	}
}

// graces finds the grace notes from a half step below that are of a kind.
func graces(page *sight.Page, is func(sight.Grace) bool) []Finding {
	var out []Finding
	for _, g := range page.Graces() {
		if is(g) {
			out = append(out, Finding{At: g.Grace.At, End: g.Grace.At + 1, Notes: []string{g.Grace.ID}, Detail: g.Grace.Pitch.Pretty() + " – " + g.Main.Pitch.Pretty()})
		}
	}
	return out
}

// signed finds the notes that have one of the ornament signs.
func signed(page *sight.Page, signs ...score.Ornament) []Finding {
	var out []Finding
	for _, n := range page.Score.Notes {
		if slices.Contains(signs, n.Ornament) {
			out = append(out, Finding{At: n.At, End: n.End(), Notes: []string{n.ID}})
		}
	}
	return out
}
