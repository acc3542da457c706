package sound

import (
	"io"
	"math"
	"slices"

	"gradatim/internal/sound/bank"
)

// An Instrument is a sampled piano. It keeps decoded notes between recordings,
// at most 38 MB of them, and may serve many goroutines at once.
type Instrument struct {
	bank     *bank.Bank
	notes    [][]bank.Sample // layer, then key; parallel to bank.Layers
	releases [128]int        // index into bank.Releases, or -1
	level    [128]float64    // dB of each key at the reference layer, smoothed over neighbours
	bright   [][128]float64  // brightness of each key at each layer, dB, smoothed likewise
	cents    [128]float64    // the piano's own stretch, cents above equal temperament
	store    *store
	levels   *levels
}

// NewInstrument opens an instrument file, usually the one of package assets.
func NewInstrument(file io.ReaderAt) (*Instrument, error) {
	b, err := bank.Open(file)
	if err != nil {
		return nil, err
	}
	in := &Instrument{bank: b, store: newStore(b, storePages), levels: &levels{}}
	for _, l := range b.Layers {
		var of []bank.Sample
		for _, s := range b.Notes {
			if s.Layer == l.Number {
				of = append(of, s)
			}
		}
		in.notes = append(in.notes, of)
		in.bright = append(in.bright, brightness(of))
	}
	// A harder touch is brighter on every key, whatever one recording says.
	for i := 1; i < len(in.bright); i++ {
		for key := range in.bright[i] {
			in.bright[i][key] = max(in.bright[i][key], in.bright[i-1][key]+0.5)
		}
	}
	// The second loudest layer is the one recorded with the steadiest hand.
	in.level = smooth(in.notes[max(len(in.notes)-2, 0)], func(s bank.Sample, _ int) float64 { return float64(s.Level) / 100 })
	for key := range in.cents {
		in.cents[key] = stretch(b.Notes, key)
		in.releases[key] = slices.IndexFunc(b.Releases, func(s bank.Sample) bool { return s.Key == key })
	}
	return in, nil
}

// smooth spreads a measurement at the recorded keys over all keys, as a mean
// weighted by nearness (a Gaussian of five semitones). What one microphone
// position or one hammer did to one note goes away; the keyboard's own slope
// stays. Units: dB.
func smooth(samples []bank.Sample, of func(s bank.Sample, key int) float64) (out [128]float64) {
	for key := range out {
		var sum, weight float64
		for _, s := range samples {
			d := float64(s.Key-key) / 5
			w := math.Exp(-d * d)
			sum += w * of(s, key)
			weight += w
		}
		out[key] = sum / weight
	}
	return out
}

// stretch is how far the piano's own tuning lies above equal temperament
// around a key: the median over neighbours within a fourth and all layers.
func stretch(samples []bank.Sample, key int) float64 {
	var near []int
	for _, s := range samples {
		if s.Key >= key-6 && s.Key <= key+6 {
			near = append(near, s.Cents)
		}
	}
	if len(near) == 0 {
		return 0
	}
	slices.Sort(near)
	return float64(near[len(near)/2]) / 100
}

// detune is the correction, in cents, that brings a sample onto the piano's
// stretch. Two cents are left alone, and so are the ends of the keyboard,
// where pitch can be neither measured nor heard well.
func (in *Instrument) detune(s bank.Sample) float64 {
	if s.Key < 36 || s.Key > 99 {
		return 0
	}
	off := in.cents[s.Key] - float64(s.Cents)/100
	if math.Abs(off) <= 2 {
		return 0
	}
	return off
}

// velocityDB is how loud a velocity shall be, in dB above velocity 93: 40·log10, as General
// MIDI instruments turn velocity into level (SoundFont 2.04, default modulators, from
// memory). What was recorded has 8 to 12 dB from layer to layer.
func velocityDB(v float64) float64 { return 40 * math.Log10(max(v, 3)/93) }

// A timbre says how to sound one velocity on one key: which recording, how
// much louder, and how much brighter above about 2 kHz. Blending two layers
// would be simpler, but their phases differ and cancel.
type timbre struct {
	sample bank.Sample
	gain   float64 // dB
	tilt   float64 // dB
}

// timbre takes the layer nearest in velocity and the recorded key nearest in
// pitch, and corrects what it lacks of the wanted loudness and brightness. bright is
// what the caller wants on top, in dB.
func (in *Instrument) timbre(key, velocity int, bright float64) timbre {
	v := math.Log2(float64(max(velocity, 3)))
	centre := func(i int) float64 { return math.Log2(float64(in.bank.Layers[i].Velocity)) }
	layer := 0
	for i := range in.bank.Layers {
		if math.Abs(centre(i)-v) < math.Abs(centre(layer)-v) {
			layer = i
		}
	}
	s := nearest(in.notes[layer], key)
	// The brightness wanted lies on a line through the layers, continued at
	// its ends: so neighbouring velocities sound alike across a change of
	// layer, and neighbouring keys across a change of sample.
	want := in.bright[layer][key]
	if n := len(in.bank.Layers); n > 1 {
		i := 0
		for i+2 < n && v > centre(i+1) {
			i++
		}
		lo, hi := in.bright[i][key], in.bright[i+1][key]
		part := (v - centre(i)) / (centre(i+1) - centre(i))
		if part < 0 { // softer than anything recorded: no filter makes that as dark as a piano does
			part /= 2
		}
		want = lo + (hi-lo)*part
	}
	tilt, louder := tiltFor(s, key, want)
	tilt, louder = tilt+bright, louder+spectrumOf(s).louder(tilt+bright)-spectrumOf(s).louder(tilt)
	return timbre{
		sample: s,
		gain:   in.level[key] + velocityDB(float64(velocity)) - float64(s.Level)/100 - louder,
		tilt:   tilt,
	}
}

// nearest returns the recording of a layer that is nearest to a key, of two the lower.
func nearest(samples []bank.Sample, key int) bank.Sample {
	s := samples[0]
	for _, t := range samples {
		if distance(t.Key, key) < distance(s.Key, key) {
			s = t
		}
	}
	return s
}

func distance(a, b int) int {
	if a < b {
		return b - a
	}
	return a - b
}
