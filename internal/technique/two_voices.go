package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// twoVoices gives the left hand bass and tenor that move with the tune, as a hymn
// is played.
var twoVoices = &Technique{
	ID: "two-voices", Stage: LeftHand, Sings: true,
	Needs:     []string{"root-and-fifth"},
	Left:      voicesUnder,
	Recognise: pairsWith,
	Also:      []string{"open-fifths", "shells", "root-seventh", "held-root", "shuffle"},
	Drill:     BassAlone,
}

// tenor bounds the upper of the two voices, as choirs have it (common practice, no
// source).
const (
	tenorLow  = 48 // C3
	tenorHigh = 67 // G4
)

// voicesUnder makes the pairs of a cell: a bass note and, within a tenth above it, a
// tenor from the chord, struck at the cell's start and again with the tune's notes
// on the beats.
func voicesUnder(c Cell) []Figure {
	if c.Chord.Silent() {
		return nil
	}
	at := []theory.Dur{c.At}
	for _, m := range c.Melody {
		if m.At > c.At && m.At < c.End && !m.Pushed && c.Meter.OnBeat(m.At-c.BarAt) && m.At > at[len(at)-1] {
			at = append(at, m.At)
		}
	}
	var names []theory.Name
	for _, n := range []int{3, 5, 7} {
		switch d, ok := c.Chord.Third(); {
		case n == 3 && ok:
			names = append(names, d.On(c.Chord.Root))
		case n == 5:
			names = append(names, fifthOf(c.Chord).On(c.Chord.Root))
		case n == 7:
			if d, ok := c.Chord.Seventh(); ok {
				names = append(names, d.On(c.Chord.Root))
			}
		}
	}
	names = append(names, c.Chord.Root)
	var out []Figure
	for _, base := range c.basses() {
		for k, name := range names {
			for p := name.Above(max(tenorLow, base.MIDI()+3)); p.MIDI() <= min(tenorHigh, c.High, base.MIDI()+16); p.Octave++ {
				if p.MIDI()-base.MIDI() > c.Caps.Span[1] || p.MIDI() >= c.MelodyLow(c.At, c.End) {
					continue
				}
				if gap := p.MIDI() - base.MIDI(); gap < 7 && base.MIDI() < tenorLow {
					continue // a third so low growls
				}
				f := Figure{Cost: k, Say: reason.Figure("two-voices")}
				if c.Caps.Span[1] > 12 { // a hand that opens takes the bass where a bass sings
					f.Cost += max(0, base.MIDI()-tenorLow) / 2
				}
				for i, on := range at {
					end := c.End
					if i+1 < len(at) {
						end = at[i+1]
					}
					f.Tones = append(f.Tones, Tone{At: on, Dur: end - on, Pitch: base, Kind: score.Bass},
						Tone{At: on, Dur: end - on, Pitch: p, Kind: c.kindOf(p, score.Chord)})
				}
				out = append(out, f)
			}
		}
	}
	return out
}

// pairsWith finds two notes of the left hand struck together with the right hand,
// three times running or more, not in fifths and octaves alone, in voices that do
// not leap.
func pairsWith(page *sight.Page) []Finding {
	var out []Finding
	var run []sight.Play
	voices := false
	flush := func() {
		if len(run) >= 3 && voices {
			for i := 0; i+1 < len(run); i += 2 {
				out = append(out, finding("", run[i], run[i+1]))
			}
		}
		run, voices = nil, false
	}
	for _, p := range page.Left() {
		_, with := page.Top(p.At)
		if len(p.Notes) != 2 || !with || p.Span() < 3 || p.Span() > 16 {
			flush()
			continue
		}
		if k := len(run); k > 0 && (abs(p.Low()-run[k-1].Low()) > 12 || abs(p.High()-run[k-1].High()) > 7) {
			flush()
		}
		run, voices = append(run, p), voices || p.Span() != 7 && p.Span() != 12
	}
	flush()
	return out
}
