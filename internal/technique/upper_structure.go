package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// upperStructure plays a plain triad over a dominant's third and seventh: the
// triad is made of the chord's own tensions.
var upperStructure = &Technique{
	ID: "upper-structure", Stage: RightHand,
	Needs: []string{"alterations", "full-chords"},
	Right: func(c Cell) []Figure {
		if !c.Chord.Dominant() {
			return nil
		}
		m, ok := anchor(c)
		if !ok {
			return nil
		}
		var out []Figure
		for _, u := range upperTriads(c.Chord) {
			if !u.HasClass(m.Pitch.Class()) {
				continue
			}
			var f Figure
			for d := range u.Tones.All() {
				p := d.On(u.Root).Below(m.Pitch.MIDI() - 2)
				if p.Class() == m.Pitch.Class() {
					continue
				}
				f.Tones = append(f.Tones, Tone{At: m.At, Dur: c.End - m.At, Pitch: p, Kind: c.kindOf(p, score.Tension)})
			}
			sortTones(f.Tones)
			if len(f.Tones) != 2 || f.Tones[0].Pitch.MIDI() < 55 || m.Pitch.MIDI()-f.Tones[0].Pitch.MIDI() > 12 {
				continue
			}
			f.Say = reason.TriadOver{Triad: u, Chord: c.Chord}
			out = append(out, f)
		}
		return out
	},
	Recognise: recogniseUpper,
	Also:      []string{"guide-tones", "full-chords", "clusters"},
	Drill:     FromThePage,
}

// upperTriads lists the major and minor triads on 2, ♭3, ♭5, ♭6 and 6 of a
// dominant whose notes all belong to it, two of them tensions at least.
func upperTriads(ch theory.Chord) []theory.Chord {
	var out []theory.Chord
	for root := range ch.Tones.All() {
		for _, third := range []theory.Degree{deg3, degB3} {
			u := theory.Chord{Root: root.On(ch.Root), Tones: theory.DegreesOf(deg1, third, deg5)}
			tensions, all := 0, true
			for _, n := range u.Spell() {
				d, in := ch.Degree(n)
				all = all && in
				if d.Number > 7 {
					tensions++
				}
			}
			if all && tensions >= 2 {
				out = append(out, u)
			}
		}
	}
	return out
}

// recogniseUpper finds right-hand triads over a dominant that consist mostly of
// its tensions.
func recogniseUpper(page *sight.Page) []Finding {
	var out []Finding
	for _, st := range page.Right() {
		sym, ok := page.Score.ChordAt(st.At)
		if !ok || !sym.Chord.Dominant() || len(st.Notes) != 3 {
			continue
		}
		for _, u := range upperTriads(sym.Chord) {
			all := true
			for _, n := range st.Notes {
				all = all && u.HasClass(n.Pitch.Class())
			}
			if all {
				out = append(out, Finding{At: st.At, End: st.End, Notes: st.IDs(), Detail: u.Pretty() + " over " + sym.Chord.Pretty()})
				break
			}
		}
	}
	return out
}
