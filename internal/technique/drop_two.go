package technique

import (
	"slices"

	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// dropTwo opens a close four-note chord: its second voice from the top goes to
// the left hand an octave lower, the right keeps the tune and the other two.
var dropTwo = &Technique{
	ID: "drop-two", Stage: RightHand,
	Needs: []string{"block-chords"},
	Right: func(c Cell) []Figure {
		m, voices, ok := closeChord(c)
		if !ok {
			return nil
		}
		f := Figure{Say: reason.Figure("drop-two"), Drop: voices[2].MIDI() - 12}
		for _, p := range voices[:2] { // the third and fourth voice
			f.Tones = append(f.Tones, Tone{At: m.At, Dur: c.End - m.At, Pitch: p, Kind: c.kindOf(p, score.Chord)})
		}
		out := []Figure{f}
		if guides(c, voices[:2]) {
			f.Drop, f.By, f.Say = 0, guideTones.ID, reason.Figure("drop-two.guides") // what the right hand has by itself
			out = append(out, f)
		}
		return out
	},
	Recognise: recogniseDropTwo,
	Also:      []string{"guide-tones", "full-chords", "clusters", "third-or-sixth"},
	Drill:     FromThePage,
}

// guides tells whether notes are thirds, sevenths, sixths and colours of the chord,
// with a guide tone among them.
func guides(c Cell, ps []theory.Pitch) bool {
	some := false
	for _, p := range ps {
		d, in := c.Chord.Degree(p.Name)
		if !in || d.Number == 1 || d.Number == 5 {
			return false
		}
		some = some || d.Number <= 7
	}
	return some
}

// closeChord returns the note of the tune that carries the chord and the three
// voices of a close chord below it, lowest first.
func closeChord(c Cell) (MelodyNote, []theory.Pitch, bool) {
	m, ok := anchor(c)
	if !ok || c.beatTempo() > 120 || m.End-m.At < c.Meter.BeatDur() {
		return m, nil, false
	}
	if _, in := c.Chord.Degree(m.Pitch.Name); !in {
		return m, nil, false
	}
	voices := block(c, m, 4)
	if len(voices) != 3 {
		return m, nil, false
	}
	return m, voices, true
}

// recogniseDropTwo finds the chords and the voice that is dropped.
func recogniseDropTwo(page *sight.Page) []Finding {
	var out []Finding
	for _, d := range drops(page, func([]sight.Play, int) bool { return true }) {
		f := standing(d.from)
		f.Notes = append(slices.Clone(f.Notes), d.voice.ID)
		f.Detail = d.voice.Pitch.Pretty() + " is dropped"
		out = append(out, f)
	}
	return out
}

// drop is a voice of a close chord that the left hand has an octave lower.
type drop struct {
	from  sight.UnderTune
	voice *score.Note
}

// drops finds three right-hand notes that would be a close four-note chord with one
// more chord tone below the top, where the left hand sounds that tone an octave
// lower in a play that is takes.
func drops(page *sight.Page, takes func(left []sight.Play, i int) bool) []drop {
	left := page.Left()
	first := 0
	var out []drop
	for _, c := range page.Under() {
		for first < len(left) && left[first].End <= c.At {
			first++
		}
		k := c.Keys
		if len(k) != 3 || k[2]-k[0] >= 12 || k[2]-k[1] < 4 || c.Chord.Silent() {
			continue
		}
	search:
		for i := first; i < len(left) && left[i].At < c.End; i++ {
			for _, n := range left[i].Notes {
				voice := n.Pitch.MIDI() + 12
				if voice > k[1] && voice < k[2] && c.Chord.HasClass(n.Pitch.Class()) && n.End() > c.At && takes(left, i) {
					out = append(out, drop{c, n})
					break search
				}
			}
		}
	}
	return out
}
