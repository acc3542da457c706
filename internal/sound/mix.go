package sound

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sync"
)

const blockFrames = 4096

// sums is where the voices of one block add up. See voice.setGain.
type sums struct {
	straight, dark [2 * blockFrames]float32
}

func sortStable(vs []voice, by func(voice) int) {
	slices.SortStableFunc(vs, func(a, b voice) int { return cmp.Compare(by(a), by(b)) })
}

// render plays a plan through filter, reverb and metronome, and hands every
// block in order to the sink, which may change it.
//
// Voices have no memory: where they stand in a block follows from its number.
// So blocks are mixed on any processor in any order, each adding its voices in
// the plan's order; what has memory runs behind, in the order of time.
func (in *Instrument) render(ctx context.Context, p plan, o Options, sink func([]float32) error) error {
	room := newStage(p, o)
	blocks := (p.frames + blockFrames - 1) / blockFrames
	finish := func(b int, s *sums) error {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("stopped: %w", context.Cause(ctx))
		}
		frames := min(blockFrames, p.frames-b*blockFrames)
		return sink(room.play(b*blockFrames, frames, s))
	}
	active := newRoll(p.voices)
	if o.Procs == 1 {
		var s sums
		for b := range blocks {
			if err := in.mix(&s, b*blockFrames, p.voices, active.at(b, nil)); err != nil {
				return err
			}
			if err := finish(b, &s); err != nil {
				return err
			}
		}
		return nil
	}

	type job struct {
		block  int
		voices []int32
		sums   sums
		done   chan error
	}
	var (
		n     = 2 * o.Procs
		free  = make(chan *job, n)
		todo  = make(chan *job, n)
		order = make(chan *job, n)
		halt  = make(chan struct{})
		wg    sync.WaitGroup
	)
	defer wg.Wait()
	defer close(halt)
	for range n {
		free <- &job{done: make(chan error, 1)}
	}
	wg.Add(1)
	go func() {
		defer wg.Done()
		defer close(todo)
		defer close(order)
		for b := range blocks {
			select {
			case <-halt:
				return
			case j := <-free:
				j.block, j.voices = b, active.at(b, j.voices[:0])
				todo <- j // never blocks: there are as many jobs as room
				order <- j
			}
		}
	}()
	for range o.Procs {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for j := range todo {
				j.done <- in.mix(&j.sums, j.block*blockFrames, p.voices, j.voices)
			}
		}()
	}
	for j := range order {
		if err := <-j.done; err != nil {
			return err
		}
		if err := finish(j.block, &j.sums); err != nil {
			return err
		}
		free <- j
	}
	return nil
}

// A roll lists the voices that sound in a block, block after block.
type roll struct {
	voices []voice
	next   int
	now    []int32
}

func newRoll(voices []voice) *roll { return &roll{voices: voices} }

// at appends the voices of block b to list. Blocks must be asked in order.
func (r *roll) at(b int, list []int32) []int32 {
	from, to := b*blockFrames, (b+1)*blockFrames
	r.now = slices.DeleteFunc(r.now, func(i int32) bool { return r.voices[i].end <= from })
	for ; r.next < len(r.voices) && r.voices[r.next].start < to; r.next++ {
		if r.voices[r.next].end > from {
			r.now = append(r.now, int32(r.next))
		}
	}
	return append(list, r.now...)
}

// mix adds up the listed voices over the block that starts at frame at.
func (in *Instrument) mix(s *sums, at int, voices []voice, list []int32) error {
	clear(s.straight[:])
	clear(s.dark[:])
	for _, i := range list {
		if err := in.add(s, at, &voices[i]); err != nil {
			return err
		}
	}
	return nil
}

func (in *Instrument) add(s *sums, at int, v *voice) error {
	unit := v.tone.scale()
	to := min(v.end, at+blockFrames)
	for f := max(v.start, at); f < to; {
		index := (f - v.start) / pageFrames
		run := min(to, v.start+(index+1)*pageFrames)
		i := v.knee(f)
		if i+1 < len(v.knees) {
			run = min(run, v.knees[i+1].at)
		}
		next := v.again + index*pageFrames
		if run == at+blockFrames { // it sounds on
			next = run
		}
		p, err := in.store.pin(*v.tone, index, next)
		if err != nil {
			return err
		}
		first := f - v.start - index*pageFrames
		src := p.data[2*first : 2*(first+run-f)]
		straight, dark := s.straight[2*(f-at):2*(run-at)], s.dark[2*(f-at):2*(run-at)]
		if i < 0 {
			addFlat(straight, dark, src, v.straight*float32(unit), v.dark*float32(unit))
		} else {
			k, line, constant := v.knees[i], 1.0, 0.0
			since := float64(f - k.at)
			if v.stopped && i == len(v.knees)-1 {
				constant = 1 / float64(v.end-k.at)
				line -= since * constant
			}
			addDecay(straight, dark, src, v.straight*float32(unit), v.dark*float32(unit),
				k.level*math.Exp(-since/k.decay), math.Exp(-1/k.decay), line, constant)
		}
		in.store.unpin(p)
		f = run
	}
	return nil
}

// knee is the index of the last knee at or before a frame, -1 before the first.
func (v *voice) knee(f int) int {
	i := len(v.knees) - 1
	for i >= 0 && v.knees[i].at > f {
		i--
	}
	return i
}

func addFlat(straight, dark []float32, src []int16, g, h float32) {
	straight = straight[:len(src)]
	if h == 0 {
		for i, x := range src {
			straight[i] += float32(x) * g
		}
		return
	}
	dark = dark[:len(src)]
	for len(src) >= 4 { // a frame alone is mostly counting
		a, b, c, d := float32(src[0]), float32(src[1]), float32(src[2]), float32(src[3])
		s, t := straight[:4:4], dark[:4:4]
		s[0], s[1], s[2], s[3] = s[0]+a*g, s[1]+b*g, s[2]+c*g, s[3]+d*g
		t[0], t[1], t[2], t[3] = t[0]+a*h, t[1]+b*h, t[2]+c*h, t[3]+d*h
		src, straight, dark = src[4:], straight[4:], dark[4:]
	}
	for i, x := range src {
		y := float32(x)
		straight[i] += y * g
		dark[i] += y * h
	}
}

// addDecay adds with an envelope that starts at env × line and loses a factor
// and a constant per frame.
func addDecay(straight, dark []float32, src []int16, g, h float32, env, factor, line, constant float64) {
	straight, dark = straight[:len(src)], dark[:len(src)]
	for i := 0; i+1 < len(src); i += 2 {
		e := float32(env * line)
		env *= factor
		line -= constant
		l, r := float32(src[i])*e, float32(src[i+1])*e
		straight[i] += l * g
		straight[i+1] += r * g
		dark[i] += l * h
		dark[i+1] += r * h
	}
}
