package perform_test

import (
	"reflect"
	"strings"
	"testing"

	"gradatim/internal/perform"
	"gradatim/theory"
)

// downs and ups are the moves of the pedal that press it, and that let go of all.
func moves(p perform.Performance) (downs, ups, half []float64) {
	was := 0
	for _, e := range p.Pedals {
		switch {
		case e.Value == 0:
			ups = append(ups, e.Time)
		case was == 0:
			downs = append(downs, e.Time)
		case e.Value < was:
			half = append(half, e.Time)
		}
		was = e.Value
	}
	return downs, ups, half
}

// The pedal goes down after a chord is struck and up as the next one is (common practice,
// no source; the limits in milliseconds are ours). Values from 64 are down, below up: MIDI
// 1.0, controller 64, from memory.
func TestPedal(t *testing.T) {
	// One note a chord, so that nothing steps.
	p := play(t, strings.Replace(tune, "R1 A4:1/4 C5:1/4 D5:1/2 C5:1/4 A4:1/4 G4:1/2 F4:1/4 A4:1/4 C5:3/8 D5:1/8 A4:1/4 G4:1/4 F4:1/2",
		"R1 A4:1/2 D5:1/2 C5:1/2 G4:1/2 F4:1/2 A4:1/2 G4:1/2 F4:1/2", 1), perform.Options{Even: true, Click: true})
	downs, ups, _ := moves(p)
	if len(downs) != 8 || len(ups) != 8 {
		t.Fatalf("%d and %d moves of the pedal for eight chords: %v", len(downs), len(ups), p.Pedals)
	}
	for i := range 7 {
		chord := p.Timing.Seconds(theory.Dur(i)*theory.Half, 0)
		next := p.Timing.Seconds(theory.Dur(i+1)*theory.Half, 0)
		if downs[i] < chord+0.03 || downs[i] > chord+0.15 {
			t.Errorf("chord %d: pedal down %.0f ms after it", i, (downs[i]-chord)*1000)
		}
		if ups[i] > next+0.04 || ups[i] < next-0.05 {
			t.Errorf("chord %d: pedal up %.0f ms after the next", i, (ups[i]-next)*1000)
		}
	}
	last := theory.Dur(3) * theory.Whole
	if p := play(t, walk, perform.Options{}); len(p.Pedals) > 0 && p.Pedals[0].Time < p.Timing.Seconds(last, 0) {
		t.Errorf("pedal under a walking bass: %v", p.Pedals)
	}
	rolls := play(t, strings.Replace(tune, "pedal by ear", "pedal for rolls", 1), perform.Options{})
	if downs, _, _ := moves(rolls); len(downs) == 0 || downs[0] < rolls.Timing.Seconds(2*theory.Whole, 0) {
		t.Errorf("pedal under broken chords for a player who does not use it: %v", rolls.Pedals)
	}
	if p := play(t, tune, perform.Options{Hands: perform.Melody}); len(p.Pedals) != 0 {
		t.Errorf("pedal under the melody alone: %v", p.Pedals)
	}
	whole, right := play(t, tune, perform.Options{}), play(t, tune, perform.Options{Hands: perform.RightAlone})
	if !reflect.DeepEqual(whole.Pedals, right.Pedals) {
		t.Error("a hand alone is pedalled otherwise than in the whole")
	}
}

// Where the tune steps under one harmony the pedal is changed, by half where a note that
// the hand has left would go; under steps too fast for a foot it stays half down.
func TestPedalUnderSteps(t *testing.T) {
	page := func(right string) perform.Performance {
		return play(t, `
level 3
pedal by ear
meter 4/4
key C
tempo 80
straight
R1 `+right+` C5:1/1
L1 C3:1/8 G3:1/8 E4:1/8 G3:1/8 C3:1/8 G3:1/8 E4:1/8 G3:1/8 C3:1/1
chord 0 C
`, perform.Options{Even: true, Click: true})
	}
	steps := page("E5:1/4 F5:1/4 E5:1/4 D5:1/4")
	if _, _, half := moves(steps); len(half) < 2 {
		t.Errorf("the tune steps three times: %v", steps.Pedals)
	}
	for i, e := range steps.Pedals {
		if e.Value == 0 && e.Time < steps.Timing.Seconds(theory.Whole, 0)-0.01 {
			t.Errorf("move %d lets the bass go: %v", i, steps.Pedals)
		}
	}
	leaps := page("E5:1/4 G5:1/4 E5:1/4 C5:1/4")
	if _, _, half := moves(leaps); len(half) > 2 { // the last chord is let go slowly
		t.Errorf("nothing steps: %v", leaps.Pedals)
	}
	quick := page("E5:1/8 F5:1/8 E5:1/8 D5:1/8 E5:1/8 F5:1/8 E5:1/8 D5:1/8")
	if e := quick.Pedals[0]; e.Value < 64 || e.Value > 100 {
		t.Errorf("quick steps: %v", quick.Pedals)
	}
}

// The last chord rings for four seconds or so, under the pedal, in whole takes, and loops
// go on.
func TestTheEndRings(t *testing.T) {
	p := play(t, tune, perform.Options{})
	start := p.Timing.Seconds(4*theory.Whole-theory.Half, 0)
	for _, n := range p.Notes {
		if n.At == 4*theory.Whole-theory.Half && (n.End < start+3.9 || n.End > start+6) {
			t.Errorf("key %d of the last chord is down for %.1f s", n.Key, n.End-n.Start)
		}
	}
	if p.Seconds < start+4 {
		t.Errorf("it lasts %.1f s beyond the last chord", p.Seconds-start)
	}
	if p := play(t, tune, perform.Options{Loop: 2}); p.Seconds > p.Timing.End+0.1 {
		t.Errorf("a loop lasts %.2f s beyond its end", p.Seconds-p.Timing.End)
	}
	short := strings.NewReplacer("G4:1/4 F4:1/2", "G4:1/4 F4:1/2*stacc", "F2:1/2", "F2:1/2*stacc").Replace(tune)
	if p := play(t, short, perform.Options{}); p.Seconds > p.Timing.End+0.1 {
		t.Errorf("what is written short lasts %.2f s beyond the end", p.Seconds-p.Timing.End)
	}
}

func TestPedalAsWritten(t *testing.T) {
	// A page that is not to be pedalled by ear is pedalled as it says and nowhere else.
	signs := "sign 0 L pedal down\nsign 1 L pedal up\nsign 2 L pedal down\nsign 3 L pedal up\n"
	theirs := play(t, strings.Replace(tune, "pedal by ear", "", 1)+signs, perform.Options{Click: true})
	if downs, _, _ := moves(theirs); len(downs) != 2+1 { // and under the last chord
		t.Errorf("pedal as written: %v", theirs.Pedals)
	}
	// On one that is, bars without a sign are pedalled by the chord.
	ours := play(t, tune+signs, perform.Options{Click: true})
	if downs, _, _ := moves(ours); len(downs) != 2+4+1 {
		t.Errorf("%v, want two written, four by the chord and a change where the tune steps", ours.Pedals)
	}
}
