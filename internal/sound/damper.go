package sound

import (
	"math"

	"gradatim/internal/sound/event"
)

// Dampers and pedal. Between up and down the dampers touch the strings lightly: what the
// keys have let go dies away, low strings slowest (Lehtonen, Askenfelt and Välimäki,
// "Analysis of the part-pedaling effect in the piano", JASA 126(2), 2009, from memory; the
// amounts are ours).
const (
	pedalTouch = 104 // from here on the dampers are off the strings
	pedalFull  = 63  // down to here they are fully on
)

// damped is how many frames a string takes to fall to 1/e when its key is up, at a position
// of the pedal.
func damped(key, pedal int) float64 {
	if pedal >= pedalTouch {
		return math.Inf(1)
	}
	full := damping(key)
	if pedal <= pedalFull {
		return full
	}
	x := float64(pedal-pedalFull) / (pedalTouch - pedalFull)
	heavy := 2 + 6*min(max(float64(60-key)/39, 0), 1)
	return full * math.Pow(heavy, x/(1-x))
}

// A knee is where the envelope of a voice changes its slope.
type knee struct {
	at    int     // frame of the take
	decay float64 // frames until 1/e from here on; may be infinite
	level float64 // of the envelope here, 1 where it began
}

// letGo has a voice follow the pedal from the moment at which its key comes up.
func (v *voice) letGo(key int, off float64, pedal []event.Pedal) {
	i := 0
	for lo, hi := 0, len(pedal); lo < hi; {
		mid := (lo + hi) / 2
		if pedal[mid].Time <= off {
			lo = mid + 1
		} else {
			hi = mid
		}
		i = lo
	}
	position := 0
	if i > 0 {
		position = pedal[i-1].Value
	}
	at := frame(off)
	for {
		if position <= pedalFull {
			v.stop(at, damped(key, position))
			return
		}
		v.bend(at, damped(key, position))
		if i == len(pedal) || frame(pedal[i].Time) >= v.end {
			return
		}
		at, position = frame(pedal[i].Time), pedal[i].Value
		i++
	}
}

// bend changes the slope of the envelope at a frame.
func (v *voice) bend(at int, decay float64) {
	at = max(at, v.start)
	for n := len(v.knees); n > 0 && v.knees[n-1].at >= at; n-- {
		v.knees = v.knees[:n-1]
	}
	level := 1.0
	if n := len(v.knees); n > 0 {
		if last := v.knees[n-1]; last.decay == decay {
			return
		} else {
			level = last.level * math.Exp(-float64(at-last.at)/last.decay)
		}
	} else if math.IsInf(decay, 1) {
		return // as it was
	}
	v.knees = append(v.knees, knee{at, decay, level})
}

// stop damps a voice from a frame on, to its end.
func (v *voice) stop(at int, decay float64) {
	if at >= v.end {
		return
	}
	at = max(at, v.start)
	v.bend(at, decay)
	v.stopped = true
	v.end = min(v.end, at+int(decays*decay))
}

// lifts is the position of all dampers, for the strings that ring along.
func lifts(pedal []event.Pedal) (out []lift) {
	for _, p := range pedal {
		open := min(max(float64(p.Value-pedalFull)/(pedalTouch-pedalFull), 0), 1)
		out = append(out, lift{frame(p.Time), float32(open * open)})
	}
	return out
}
