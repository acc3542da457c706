package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/reason"
)

// diatonicSubstitution takes another chord of the same function, with two notes
// in common.
var diatonicSubstitution = &Technique{
	ID: "diatonic-substitution", Stage: Device,
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		if p.First || p.Final || p.Arrives || p.Span.Chord.Slash || p.plainTonic(p.Span.Chord) {
			return nil
		}
		key := p.Span.Key
		deg, alter := key.Degree(p.Span.Chord.Root)
		if alter != 0 || key.Mode.Minorish() || p.Span.Chord.Dominant() || isSus(p.Span.Chord) || p.Span.Chord.Diminished() {
			return nil
		}
		var others []int
		switch deg {
		case 1:
			others = []int{6, 3}
		case 4:
			others = []int{2}
		}
		half := p.Span.Dur() / 2
		if half < p.shortest() || half%p.pulse() != 0 {
			return nil
		}
		mid := p.Span.At + half
		var out []Rewrite
		for _, o := range others {
			sub := minorSeventhOn(key.Scale()[o-1])
			if p.Usage.Palette != AllColours && o != 2 {
				sub = sub.Triad()
			}
			fit := harmony.Fits(p.Song, sub, mid, p.Span.End)
			if fit.Verdict != harmony.Fitting {
				continue
			}
			if p.Next.Sounding() && p.Next.Chord.Root == sub.Root {
				continue
			}
			why := reason.SharesTwo{Chord: sub, Sheet: p.Span.Chord.Triad()}
			out = append(out, Rewrite{Cost: 3 + fit.Cost/4, Chords: []Chord{
				{At: p.Span.At, End: mid, Chord: p.Span.Chord},
				{At: mid, End: p.Span.End, Chord: sub, Why: why},
			}})
		}
		return out
	},
	Recognise: recogniseSubstitution,
	Also:      []string{"related-ii", "turnaround"},
	Drill:     ChangedChords,
}

// recogniseSubstitution finds iii or vi after I, and ii after IV, as minor
// sevenths in the second half of their time.
func recogniseSubstitution(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool {
		if h.Key.Mode.Minorish() || h.Before.Silent() || !h.Chord().MinorThird() || !h.Chord().Tones.Has(degB7) || h.Chord().Diminished() || h.End-h.At != h.Lasted {
			return false
		}
		from, a := h.Key.Degree(h.Before.Root)
		to, b := h.Key.Degree(h.Chord().Root)
		return a == 0 && b == 0 && !h.Before.MinorThird() && (from == 1 && (to == 6 || to == 3) || from == 4 && to == 2)
	})
}
