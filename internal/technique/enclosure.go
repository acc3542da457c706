package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// enclosure surrounds the next target from above and below.
var enclosure = &Technique{
	ID: "enclosure", Stage: Ornament,
	Needs: []string{"chord-fill"},
	Adorn: func(s Spot) []Figure {
		if s.Next.Event < 0 || s.Until-s.From < beatOf(s) || s.Until != s.Next.At || !s.Goal.HasClass(s.Next.Pitch.Class()) {
			return nil
		}
		const unit = theory.Eighth
		above := stepAbove(s.Cell.Key, s.Next.Pitch)
		below := s.Next.Pitch.Up(halfDown)
		if abs(int(below.Alter)) > 1 || abs(int(above.Alter)) > 1 {
			return nil
		}
		at := s.Until - 2*unit
		if at < s.From || at < s.Note.At+unit {
			return nil
		}
		return []Figure{{Cost: 1, CutTune: at, Say: reason.Encloses{Note: s.Next.Pitch.Name}, Tones: []Tone{
			{At: at, Dur: unit, Pitch: above, Kind: score.Ornamental},
			{At: at + unit, Dur: unit, Pitch: below, Kind: score.Ornamental}}}}
	},
	Recognise: recogniseEnclosures,
	Drill:     OrnamentedScale,
	Scale: OnScale{From: 64, Wide: true, Put: func(s ScaleNote) (Adorned, bool) {
		n, beat := s.Note, s.Meter.BeatDur()
		if n.Dur <= beat {
			return Adorned{}, false
		}
		lead := beat / 2
		if s.Meter.Compound() {
			lead = beat / 3
		}
		at := n.At + beat - 2*lead
		above, below := stepAbove(s.Key, n.Pitch), n.Pitch.Up(halfDown)
		n.At, n.Dur = n.At+beat, n.Dur-beat
		return Adorned{Note: n, Why: reason.Encloses{Note: n.Pitch.Name}, Added: []Tone{
			{At: at, Dur: lead, Pitch: above, Kind: score.Ornamental},
			{At: at + lead, Dur: lead, Pitch: below, Kind: score.Ornamental}}}, true
	}},
}

// stepAbove is the next note of the key above a note, a half step above where the
// key has none a whole step above.
func stepAbove(k theory.Key, p theory.Pitch) theory.Pitch {
	if up := p.Up(theory.Interval{Steps: 1, Semitones: 2}); k.Contains(up.Name) {
		return up
	}
	return p.Up(halfUp)
}

// recogniseEnclosures finds, in the top line or the second voice, a note above
// and a note a half step below the one that follows on a beat.
func recogniseEnclosures(page *sight.Page) []Finding {
	ps := page.Right()
	var out []Finding
	for i := 0; i+2 < len(ps); i++ {
		a, b, c := ps[i], ps[i+1], ps[i+2]
		if !a.Lone() || !b.Lone() || a.Dur() > a.Pulse/2 || b.Dur() > b.Pulse/2 || b.At != a.End || c.At != b.End || c.Off%c.Pulse != 0 {
			continue
		}
		if encloses(a.Low(), b.Low(), c.High()) {
			out = append(out, finding(c.Top().Pitch.Pretty(), a, b))
		}
	}
	return out
}

// encloses tells whether two notes surround a third: a step above it, then a half
// step below.
func encloses(a, b, goal int) bool { return a > goal && a-goal <= 2 && goal-b == 1 }
