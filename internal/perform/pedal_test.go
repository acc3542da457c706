package perform_test

import (
	"strings"
	"testing"

	"gradatim/internal/perform"
	"gradatim/theory"
)

// The pedal goes down after a chord is struck and up as the next one is (common practice,
// no source; the limits in milliseconds are ours). Values from 64 are down, below up: MIDI
// 1.0, controller 64, from memory.
func TestPedal(t *testing.T) {
	p := play(t, tune, perform.Options{Even: true, Click: true})
	if len(p.Pedals) != 16 {
		t.Fatalf("%d pedal moves for eight chords", len(p.Pedals))
	}
	for i := 0; i < len(p.Pedals); i += 2 {
		chord := p.Timing.Seconds(theory.Dur(i/2)*theory.Half, 0)
		next := p.Timing.Seconds(theory.Dur(i/2+1)*theory.Half, 0)
		down, up := p.Pedals[i], p.Pedals[i+1]
		if down.Value < 64 || down.Time < chord+0.03 || down.Time > chord+0.15 {
			t.Errorf("chord %d: pedal down %.0f ms after it", i/2, (down.Time-chord)*1000)
		}
		if up.Value >= 64 || up.Time > next+0.02 || up.Time < next-0.05 {
			t.Errorf("chord %d: pedal up %.0f ms after the next", i/2, (up.Time-next)*1000)
		}
	}
	if p := play(t, walk, perform.Options{}); len(p.Pedals) != 0 {
		t.Errorf("pedal under a walking bass: %v", p.Pedals)
	}
	if p := play(t, strings.Replace(tune, "pedal by ear", "pedal for rolls", 1), perform.Options{}); len(p.Pedals) != 0 {
		t.Errorf("pedal for a player who does not use it: %v", p.Pedals)
	}
	if p := play(t, tune, perform.Options{Hands: perform.Melody}); len(p.Pedals) != 0 {
		t.Errorf("pedal under the melody alone: %v", p.Pedals)
	}
	// A page that is not to be pedalled by ear is pedalled as it says and nowhere else.
	signs := "sign 0 L pedal down\nsign 1 L pedal up\nsign 2 L pedal down\nsign 3 L pedal up\n"
	theirs := play(t, strings.Replace(tune, "pedal by ear", "", 1)+signs, perform.Options{Click: true})
	if len(theirs.Pedals) != 4 {
		t.Errorf("pedal as written: %v", theirs.Pedals)
	}
	// On one that is, bars without a sign are pedalled by the chord.
	if ours := play(t, tune+signs, perform.Options{Click: true}); len(ours.Pedals) != 4+8 {
		t.Errorf("%d moves of the pedal, want two written and four by the chord", len(ours.Pedals))
	}
}
