package sound

import (
	"fmt"
	"math"

	"gradatim/internal/sound/event"
)

// A plan is a sequence laid out in frames: which recordings start when and how
// each one ends.
type plan struct {
	voices []voice // by start, then key
	ticks  []tick  // by time
	lifts  []lift  // of the dampers
	frames int     // length of the take
}

// A voice is one recording being played. Until its first knee it sounds as recorded;
// from there it decays exponentially, from knee to knee, and reaches nothing at end.
type voice struct {
	tone           *tone
	start, end     int // frames of the take
	knees          []knee
	stopped        bool    // the last knee ends it
	straight, dark float32 // gains into the two sums of a block
	again          int     // frame at which the tone is next begun; a large number for never
}

type tick struct {
	start  int
	accent bool
}

// The damper of a low string needs longer than that of a high one: 0.115 s to
// fall to 1/e at A0, 0.05 s at C8. (Settled by the decays of another sampled
// grand, FluidR3_GM, after a key comes up; no ear has judged it.) From about
// F#6 up, key 90, strings have no damper.
func damping(key int) float64 { return (0.115 - 0.065*float64(key-21)/87) * Rate }

const (
	firstUndamped = 90
	choking       = 0.03 * Rate // a key struck again stops its own former sound
	decays        = 5           // a released voice ends after so many decay times
	tail          = Rate * 12 / 10
	noteFade      = Rate / 2
	releaseFade   = Rate / 50
	sameStrike    = Rate / 200 // two strikes of one key within 5 ms are one
)

// plan checks the events and lays them out.
func (in *Instrument) plan(seq event.Sequence, o Options) (plan, error) {
	var p plan
	if err := check(seq); err != nil {
		return p, err
	}
	seq = seq.Sorted()
	var (
		pedal   = pedalled(seq.Pedals)
		tones   = map[toneName]*tone{}
		timbres = map[[2]int]timbre{}
		ringing [128]int // 1 + index into notes of the voice that a key sounds
		notes   []voice
		rels    []voice
	)
	intern := func(t tone) *tone {
		if tones[t.name()] == nil {
			tones[t.name()] = &t
		}
		return tones[t.name()]
	}
	for _, n := range seq.Notes {
		strike := frame(n.Start)
		off := n.Start + n.Dur
		last := pedal.until(off) // when it is damped
		at := [2]int{n.Key, n.Velocity}
		tb, known := timbres[at]
		if !known {
			tb = in.timbre(n.Key, n.Velocity, o.Bright)
			timbres[at] = tb
		}
		v := voice{
			tone: intern(tone{sample: tb.sample, key: n.Key, cents: in.detune(tb.sample), fade: noteFade}),
		}
		v.start = strike - v.tone.lead()
		v.end = v.start + v.tone.length()
		v.setGain(tb.gain, tb.tilt)
		if n.Key < firstUndamped {
			v.letGo(n.Key, off, seq.Pedals)
		}
		if j := ringing[n.Key]; j > 0 {
			former := &notes[j-1]
			if former.start+former.tone.lead() > strike-sameStrike {
				if v.straight < former.straight {
					continue
				}
				former.end = former.start
			} else if !former.stopped || former.knees[len(former.knees)-1].at > strike {
				former.stop(strike, choking)
			}
		}
		notes = append(notes, v)
		ringing[n.Key] = len(notes)

		// The key coming up is heard the less, the longer the note has died away.
		if r := in.releases[n.Key]; r >= 0 && n.Key < firstUndamped && !math.IsInf(last, 1) && o.Release > Off {
			s := in.bank.Releases[r]
			up := voice{tone: intern(tone{sample: s, key: n.Key, fade: releaseFade}), start: frame(off)}
			up.end = up.start + up.tone.length()
			up.setGain(in.level[n.Key]-float64(s.Level)/100+o.Release+0.5*velocityDB(float64(n.Velocity))-min(1.5*n.Dur, 12), 0)
			rels = append(rels, up)
		}
	}
	p.voices = merged(notes, rels)
	p.lifts = lifts(seq.Pedals)
	for _, t := range seq.Ticks {
		p.ticks = append(p.ticks, tick{frame(t.Time), t.Accent})
		p.frames = max(p.frames, frame(t.Time)+tickFrames)
	}
	for _, v := range p.voices {
		p.frames = max(p.frames, v.end)
	}
	p.frames = o.Format.Whole(max(p.frames+tail, frame(seq.End)))
	if p.frames > MaxSeconds*Rate {
		return plan{frames: p.frames}, fmt.Errorf("%w: %.1f hours", ErrTooLong, float64(p.frames)/Rate/3600)
	}
	return p, nil
}

func frame(seconds float64) int { return int(math.Round(seconds * Rate)) }

// check refuses what could only come from a broken performer.
func check(seq event.Sequence) error {
	bad := func(t float64) bool { return !(t >= 0 && t <= MaxSeconds) }
	for i, n := range seq.Notes {
		if bad(n.Start) || bad(n.Dur) {
			return fmt.Errorf("%w: note %d from %g for %g s", ErrTooLong, i, n.Start, n.Dur)
		}
		if n.Key < 21 || n.Key > 108 || n.Velocity < 1 || n.Velocity > 127 {
			return fmt.Errorf("note %d: key %d with velocity %d is not on the piano", i, n.Key, n.Velocity)
		}
	}
	for i, e := range seq.Pedals {
		if bad(e.Time) || e.Value < 0 || e.Value > 127 {
			return fmt.Errorf("pedal %d: position %d at %g s", i, e.Value, e.Time)
		}
	}
	for i, e := range seq.Ticks {
		if bad(e.Time) {
			return fmt.Errorf("tick %d at %g s", i, e.Time)
		}
	}
	if bad(seq.End) {
		return fmt.Errorf("%w: %g s", ErrTooLong, seq.End)
	}
	if len(seq.Notes)+len(seq.Ticks) == 0 {
		return ErrNothing
	}
	return nil
}

// merged joins two lists by start; at the same frame notes come first.
// Releases are in order of their note's start, not of their own: sort them.
func merged(notes, rels []voice) []voice {
	all := append(notes, rels...)
	sortStable(all, func(v voice) int { return v.start })
	again := map[*tone]int{}
	for i := len(all) - 1; i >= 0; i-- {
		v := &all[i]
		v.again = math.MaxInt / 2
		if at, ok := again[v.tone]; ok {
			v.again = at
		}
		again[v.tone] = v.start
	}
	return all
}

// setGain splits a voice between the two sums of a block. One of them later
// passes a low-pass filter: straight + lowpass(dark) is a shelf whose upper
// part is raised by tilt dB, and one filter serves every voice.
func (v *voice) setGain(db, tilt float64) {
	gain, high := math.Pow(10, db/20), math.Pow(10, tilt/20)
	v.straight, v.dark = float32(gain*high), float32(gain*(1-high))
	if math.Abs(tilt) < 0.05 {
		v.straight, v.dark = float32(gain), 0
	}
}

// held is when the damper pedal was down: disjoint spans in order.
type held []struct{ from, to float64 }

func pedalled(moves []event.Pedal) held {
	var h held
	for _, e := range moves {
		down := e.Value >= 64
		open := len(h) > 0 && math.IsInf(h[len(h)-1].to, 1)
		switch {
		case down && !open:
			h = append(h, struct{ from, to float64 }{e.Time, math.Inf(1)})
		case !down && open:
			h[len(h)-1].to = e.Time
		}
	}
	return h
}

// until is when a key that comes up at t is damped: then, or when the pedal is
// next lifted.
func (h held) until(t float64) float64 {
	lo, hi := 0, len(h)
	for lo < hi {
		if mid := (lo + hi) / 2; h[mid].to <= t {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo < len(h) && h[lo].from <= t {
		return h[lo].to
	}
	return t
}
