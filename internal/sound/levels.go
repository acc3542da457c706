package sound

import (
	"context"
	"encoding/binary"
	"hash/fnv"
	"math"
	"sync"

	"gradatim/internal/sound/event"
	"gradatim/internal/sound/measure"
)

// metered is what levelling asks of a take: its loudness in LUFS and its largest sample.
type metered struct{ loudness, peak float64 }

// levels remembers what was metered, so that the hands of a page need not have the whole
// played again to be as loud as in it. What it holds depends on what was asked alone: who
// asks first pays. It forgets all when it has grown large.
type levels struct {
	mu sync.Mutex
	of map[uint64]metered
}

const mostLevels = 512

func (l *levels) keep(seq event.Sequence, o Options, m metered) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.of == nil || len(l.of) >= mostLevels {
		l.of = map[uint64]metered{}
	}
	l.of[take(seq, o)] = m
}

// meter returns what is metered of a take, without its metronome.
func (in *Instrument) meter(ctx context.Context, seq event.Sequence, o Options) (metered, error) {
	in.levels.mu.Lock()
	m, ok := in.levels.of[take(seq, o)]
	in.levels.mu.Unlock()
	if ok {
		return m, nil
	}
	p, err := in.plan(seq, o)
	if err != nil {
		return m, err
	}
	var meter measure.Loudness
	err = in.render(ctx, p, o, func(block []float32) error {
		meter.Add(block)
		m.peak = max(m.peak, float64(largest(block)))
		return nil
	})
	if err != nil {
		return m, err
	}
	m.loudness = meter.Integrated()
	in.levels.keep(seq, o, m)
	return m, nil
}

// take names a take and how it is played, but for what comes after levelling.
func take(seq event.Sequence, o Options) uint64 {
	h := fnv.New64a()
	var b [8]byte
	put := func(xs ...float64) {
		for _, x := range xs {
			binary.LittleEndian.PutUint64(b[:], math.Float64bits(x))
			h.Write(b[:])
		}
	}
	put(o.Reverb, o.Release, o.Bright, float64(o.Format), seq.End, float64(len(seq.Notes)))
	seq = seq.Sorted()
	for _, n := range seq.Notes {
		put(n.Start, n.Dur, float64(n.Key), float64(n.Velocity))
	}
	for _, p := range seq.Pedals {
		put(p.Time, float64(p.Value))
	}
	return h.Sum64()
}
