package perform_test

import (
	"slices"
	"strings"
	"testing"

	"gradatim/internal/perform"
)

// Files say 120 bpm as 500000 microseconds a quarter note (Standard MIDI File
// 1.0, FF 51 03), and read back they keep the performance's time.
func TestEvents(t *testing.T) {
	p := play(t, strings.Replace(walk, "tempo 132", "tempo 120", 1), perform.Options{Click: true, CountIn: 1})
	events := p.Events()
	if e := events[0]; e.Kind != perform.TempoEvent || e.Tick != 0 || e.Micros != 500000 {
		t.Errorf("first event %v", e)
	}
	for _, o := range []perform.Options{{}, {CountIn: 1}, {Loop: 3, From: 2, To: 3}, {Tempo: perform.Tempo{Percent: 60}, Click: true}} {
		for _, text := range []string{tune, walk} {
			p := play(t, text, o)
			var on []perform.Event
			tick := 0
			downs := map[int]int{}
			for _, e := range p.Events() {
				if e.Tick < tick {
					t.Fatalf("%v after tick %d", e, tick)
				}
				tick = e.Tick
				switch e.Kind {
				case perform.NoteOn:
					on = append(on, e)
					if downs[e.Key]++; downs[e.Key] > 1 {
						t.Errorf("%v: the key is down already", e)
					}
				case perform.NoteOff:
					if downs[e.Key]--; downs[e.Key] < 0 {
						t.Errorf("%v: the key is up already", e)
					}
				}
			}
			var want []perform.Note
			for _, n := range p.Notes {
				if !n.Shared {
					want = append(want, n)
				}
			}
			if len(on) != len(want) {
				t.Fatalf("%d strikes in the file, %d in the performance", len(on), len(want))
			}
			for i, e := range on {
				// half a tick, and the whole microseconds of the tempo
				near(t, "strike", e.Seconds+perform.Lead, want[i].Start, 0.0003)
			}
		}
	}
}

// Bar lines of a file with a pick-up stand where they do on the page.
func TestEventsCountBars(t *testing.T) {
	text := "meter 3/4\ntempo 120\npickup 1/4\nR1 C5:1/4 D5:3/4 E5:3/4"
	var metres []string
	for _, e := range play(t, text, perform.Options{}).Events() {
		if e.Kind == perform.MeterEvent {
			metres = append(metres, e.String())
		}
	}
	if want := []string{"0 metre 1/4", "5040 metre 3/4"}; !slices.Equal(metres, want) {
		t.Errorf("%v, want %v", metres, want)
	}
	metres = nil
	for _, e := range play(t, text, perform.Options{CountIn: 2}).Events() {
		if e.Kind == perform.MeterEvent {
			metres = append(metres, e.String())
		}
	}
	if want := []string{"0 metre 3/4"}; !slices.Equal(metres, want) {
		t.Errorf("with a count-in: %v, want %v", metres, want)
	}
}
