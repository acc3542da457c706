package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/reason"
)

// commonToneDiminished colours a chord that stays with the diminished seventh on
// its own root.
var commonToneDiminished = &Technique{
	ID: "common-tone-diminished", Stage: Device,
	Needs: []string{"passing-diminished"},
	Rewrite: func(p Passage) []Rewrite {
		ch := p.Span.Chord
		bar := p.meter().Bar()
		if p.Span.Dur() < 2*bar || ch.MinorThird() || ch.Dominant() || ch.Silent() || ch.Slash || isSus(ch) || p.Final || p.plainTonic(ch) {
			return nil
		}
		from := p.Span.At + bar/2
		if p.meter().BeatCount()%2 == 1 {
			from = p.Span.At + bar - p.pulse()
		}
		to := p.Span.At + bar
		dim := diminishedOn(ch.Root)
		fit := harmony.Fits(p.Song, dim, from, to)
		if fit.Verdict != harmony.Fitting {
			return nil
		}
		why := reason.StaysInBass{Root: ch.Root}
		return []Rewrite{{Cost: 5 + fit.Cost/4, Chromatic: 1, Chords: []Chord{
			{At: p.Span.At, End: from, Chord: ch},
			{At: from, End: to, Chord: dim, Why: why},
			{At: to, End: p.Span.End, Chord: ch},
		}}}
	},
	Recognise: recogniseCommonTone,
	Also:      []string{"pedal-point"},
	Drill:     ChangedChords,
}

// recogniseCommonTone finds diminished sevenths between two chords on their own
// root.
func recogniseCommonTone(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool {
		return diminished(h) && h.Before.Root.Class() == h.Chord().Root.Class() && h.Next.Root.Class() == h.Chord().Root.Class() && !h.Next.Silent()
	})
}
