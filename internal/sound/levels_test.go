package sound_test

import (
	"math"
	"testing"

	"gradatim/internal/sound"
	"gradatim/internal/sound/event"
	"gradatim/internal/sound/measure"
)

// Two hands, each levelled like the whole, add up to the whole; and the metronome changes
// neither. Whether the whole was metered before changes nothing.
func TestHandsAreAsLoudAsInTheWhole(t *testing.T) {
	left := notes(event.Note{Start: 0.1, Dur: 1, Key: 48, Velocity: 50}, event.Note{Start: 1.1, Dur: 1, Key: 43, Velocity: 50})
	right := notes(event.Note{Start: 0.1, Dur: 1, Key: 72, Velocity: 90}, event.Note{Start: 1.1, Dur: 1, Key: 74, Velocity: 90})
	whole := notes(append(append([]event.Note(nil), left.Notes...), right.Notes...)...)
	clicked := left
	clicked.Ticks = []event.Tick{{Time: 0.1}, {Time: 1.1, Accent: true}}
	alone := sound.NewSmallInstrument(piano(t), 576)
	_, first := listenTo(t, alone, left, sound.Options{Like: &whole})
	all, rep := listenTo(t, alone, whole, sound.Options{})
	l, again := listenTo(t, alone, left, sound.Options{Like: &whole})
	_, click := listenTo(t, alone, clicked, sound.Options{Like: &whole})
	r, _ := listenTo(t, alone, right, sound.Options{Like: &whole})
	for _, x := range []sound.Report{first, again, click} {
		if math.Abs(x.Gain-rep.Gain) > 1e-9 {
			t.Errorf("a gain of %.3f dB, %.3f dB for the whole", x.Gain, rep.Gain)
		}
	}
	worst := 0.0
	for i := range min(len(all), len(l), len(r)) - measure.Rate/2*2 { // before the files fade out
		worst = max(worst, math.Abs(float64(all[i]-l[i]-r[i])))
	}
	if worst > 0.002 {
		t.Errorf("the hands together leave the whole by %.4f", worst)
	}
}
