package sound

import (
	"context"
	"fmt"
	"math"
)

// A spool keeps a short take between metering and levelling, so that it is
// mixed once. Each block is kept as 16-bit numbers scaled to its own peak:
// what rounding adds lies 98 dB under the loudest moment of the same 85 ms.
type spool struct {
	blocks []spooled
}

type spooled struct {
	scale float32
	data  []int16
}

// spoolFrames is the longest take kept: 3.5 minutes in 40 MB.
const spoolFrames = 210 * Rate

// add keeps a block with its largest value; a nil spool keeps nothing.
func (s *spool) add(block []float32, peak float32) {
	if s == nil {
		return
	}
	b := spooled{scale: peak / math.MaxInt16, data: make([]int16, len(block))}
	if b.scale > 0 {
		unit := 1 / b.scale
		for i, x := range block {
			y := x * unit
			if y < 0 {
				y -= 0.5
			} else {
				y += 0.5
			}
			b.data[i] = int16(y)
		}
	}
	s.blocks = append(s.blocks, b)
}

// each hands out the blocks in order and forgets them.
func (s *spool) each(ctx context.Context, sink func([]float32) error) error {
	var out [2 * blockFrames]float32
	for i, b := range s.blocks {
		if ctx.Err() != nil {
			return fmt.Errorf("stopped: %w", context.Cause(ctx))
		}
		block := out[:len(b.data)]
		for j, x := range b.data {
			block[j] = float32(x) * b.scale
		}
		s.blocks[i] = spooled{}
		if err := sink(block); err != nil {
			return err
		}
	}
	return nil
}
