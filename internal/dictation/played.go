package dictation

import (
	"math"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// pace is how long a quarter lasts from a place on, in microseconds; foot how far the
// pedal is down, as in MIDI. Places in quarters, as those of the notes before they are
// written down.
type pace struct{ at, micros float64 }

type foot struct {
	at    float64
	value int
}

// ownBeats keeps the tempi and the pedal of a file whose beats are kept.
func (t *take) ownBeats() {
	div := float64(t.file.Division)
	if !t.file.Timed {
		for _, x := range t.file.Tempos {
			t.paces = append(t.paces, pace{float64(x.At) / div, float64(x.MicrosPerQuarter)})
		}
	}
	if len(t.paces) == 0 || t.paces[0].at > 0 { // Standard MIDI Files 1.0: 120 where nothing is said
		t.paces = append([]pace{{0, 500_000}}, t.paces...)
	}
	for _, c := range t.file.Pedal {
		t.feet = append(t.feet, foot{float64(c.At) / div, c.Value})
	}
}

// stroke is what the page does not tell of a note: how hard it was struck, and by how
// much its beginning and end were played apart from where they are written.
func (t *take) stroke(n note) score.Stroke {
	return score.Stroke{Velocity: uint8(min(max(n.vel, 1), 127)), On: quarters(n.down) - t.shift - n.at, Off: quarters(n.up) - t.shift - n.end}
}

// played are tempi and pedal of the playing, as directions. What is faster or slower than
// anything that is played is brought to the bounds.
func (t *take) played(end theory.Dur) []score.Direction {
	var out []score.Direction
	add := func(at theory.Dur, kind score.DirectionKind, value int) {
		at = max(at, 0)
		if k := len(out) - 1; k >= 0 && out[k].Kind == kind {
			if out[k].At == at {
				out = out[:k]
			} else if out[k].Value == value {
				return
			}
		}
		out = append(out, score.Direction{At: at, Kind: kind, Value: value})
	}
	for _, p := range t.paces {
		if at := quarters(p.at) - t.shift; at < end {
			micros := min(max(p.micros, 60e6/leadsheet.MaxQuarters), 60e6/leadsheet.MinQuarters)
			add(at, score.TempoChange, int(math.Round(micros)))
		}
	}
	for _, f := range t.feet {
		if at := quarters(f.at) - t.shift; at < end+theory.Whole { // the last chord may be held by the pedal
			add(min(at, end), score.PedalDepth, f.value)
		}
	}
	return out
}
