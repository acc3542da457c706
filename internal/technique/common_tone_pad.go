package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// commonTonePad keeps tonic and fifth of the key sounding over changing roots.
var commonTonePad = &Technique{
	ID: "common-tone-pad", Stage: Device,
	Needs: []string{"added-notes"},
	Paint: func(t Toned) []Tint {
		key := t.Passage.Span.Key
		if t.Passage.Usage.FreeDominants || key.Mode.Minorish() || isSus(t.Chord) || t.Chord.Diminished() {
			return nil
		}
		deg, alter := key.Degree(t.Chord.Root)
		if alter != 0 || t.Chord.Dominant() {
			return nil
		}
		var tones theory.Degrees
		var added theory.Degree
		switch {
		case deg == 4: // 1 of the key is its fifth, 5 of the key its 9th
			tones, added = theory.DegreesOf(deg1, deg3, deg5, deg9), deg9
		case deg == 6 && t.Chord.MinorThird(): // 1 and 5 of the key are its third and seventh
			tones, added = theory.DegreesOf(deg1, degB3, deg5, degB7), degB7
		default:
			return nil
		}
		if clashes(t, added) {
			return nil
		}
		ch := theory.Chord{Root: t.Chord.Root, Tones: tones, Slash: t.Chord.Slash, Bass: t.Chord.Bass}
		fifth := key.Tonic.Up(fifthUp)
		return []Tint{{Chord: ch, Added: added, Cost: 3, Why: reason.BothStay{Tonic: key.Tonic, Fifth: fifth}}}
	},
	Recognise: recognisePad,
	Drill:     ColouredChords,
}

// recognisePad finds two and more chords in a row, on different roots, that all
// have the key's first and fifth, one of them as added notes (a 9th on IV, a 7th
// on vi) that are struck.
func recognisePad(page *sight.Page) []Finding {
	var out []Finding
	sps := page.Spans()
	for i := 0; i < len(sps); {
		k, ok := page.Key(sps[i].At)
		fifth := k.Tonic.Up(fifthUp)
		holds := func(ch *theory.Chord) bool {
			return ok && !ch.Silent() && !ch.Dominant() && ch.HasClass(k.Tonic.Class()) && ch.HasClass(fifth.Class())
		}
		j := i
		var ids []string
		for j < len(sps) && holds(sps[j].Chord()) {
			if ch := sps[j].Chord(); !ch.Triad().HasClass(fifth.Class()) {
				if d, ok := ch.Degree(fifth); ok && (d == add9 || d == degB7) && !ch.Tones.Has(deg7) {
					ids = append(ids, page.StruckClass(sps[j].At, sps[j].End, fifth.Class())...)
				}
			}
			j++
		}
		if j-i >= 2 && len(ids) > 0 {
			out = append(out, Finding{At: sps[i].At, End: sps[j-1].End, Notes: ids, Detail: k.Tonic.Pretty() + " and " + fifth.Pretty() + " stay"})
		}
		i = max(j, i+1)
	}
	return out
}
