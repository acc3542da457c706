package sound

import (
	"context"

	"gradatim/internal/sound/event"
)

// PlayTwice is Play for a take that is too long to be kept.
func (in *Instrument) PlayTwice(ctx context.Context, seq event.Sequence, o Options, open func(int) (func([]float32) error, error)) (Report, error) {
	return in.play(ctx, seq, o.withDefaults(), false, open)
}

// NewSmallInstrument has room for so many pages only.
func NewSmallInstrument(in *Instrument, pages int) *Instrument {
	small := *in
	small.store = newStore(in.bank, pages)
	return &small
}

// Pages is the number of pages that the instrument keeps, and of those in use.
func (in *Instrument) Pages() (kept, pinned int) {
	in.store.mu.Lock()
	defer in.store.mu.Unlock()
	for _, p := range in.store.pages {
		if p.pins > 0 {
			pinned++
		}
	}
	return len(in.store.pages), pinned
}

// Limit runs frames through a limiter in pieces.
func Limit(frames []float32, ceiling float64, piece int) (out []float32, deepest float64) {
	l := newLimiter(ceiling)
	for len(frames) > 0 {
		n := min(2*piece, len(frames))
		out = append(out, l.add(frames[:n])...)
		frames = frames[n:]
	}
	return append(out, l.rest()...), l.deepest()
}

// Reverberate returns frames with the room's answer at 0 dB.
func Reverberate(frames []float32) []float32 {
	out := append([]float32(nil), frames...)
	newReverb(1).add(out)
	return out
}
