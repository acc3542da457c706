package sound

import (
	"math"
	"sync"

	"gradatim/internal/sound/bank"
)

// The store holds recordings as they are played: decoded, and resampled to the
// key that wants them, in pages of a third of a second. A dense piece strikes the
// same keys thousands of times, so doing both once per key and not once per
// note is most of the sampler's speed; pages of 16-bit numbers, scaled to each
// recording's peak, keep it small, and memory does not depend on the piece.
//
// When the store is full, the page makes room whose next use lies furthest
// ahead (Belady, "A study of replacement algorithms for a virtual-storage
// computer", IBM Systems Journal 5(2), 1966, shows that nothing misses less).
// The plan knows that use. Rejected: the least recently used page, which in
// music that comes round again is the very one needed next.
//
// What a page holds depends on its name alone, never on what was asked before.
const (
	pageFrames = 16384
	storePages = 576 // of 65,536 bytes: 38 MB
)

// A tone is one recording at one pitch.
type tone struct {
	sample bank.Sample
	key    int     // the key it sounds
	cents  float64 // further correction
	fade   int     // frames faded out at the end
}

// toneName is what tells tones apart.
type toneName struct{ layer, sample, key int }

func (t tone) name() toneName { return toneName{t.sample.Layer, t.sample.Key, t.key} }

// preRoll is how much of a recording is kept before the hammer strikes: the
// sound of the key going down.
const preRoll = 240

// scale turns a page's numbers back into samples; a resampled peak may
// overshoot the recorded one a little.
func (t tone) scale() float64 {
	return math.Pow(10, float64(t.sample.Peak)/2000) * 1.12 / math.MaxInt16
}

// lead is the number of frames before the strike.
func (t tone) lead() int { return int(float64(t.sample.Onset-t.first()) / t.ratio()) }

// first is the recording's frame at which the tone starts.
func (t tone) first() int { return max(t.sample.Onset-preRoll, 0) }

// ratio is the number of recorded frames per frame played.
func (t tone) ratio() float64 {
	if t.sample.Layer == 0 {
		return 1
	}
	return math.Exp2((float64(t.key-t.sample.Key) + t.cents/100) / 12)
}

// length is the tone's length in frames.
func (t tone) length() int {
	return max(int(float64(t.sample.Frames-t.first()-taps)/t.ratio()), 0)
}

type pageName struct {
	tone  toneName
	index int
}

type page struct {
	name  pageName
	data  []int16 // interleaved stereo
	ready chan struct{}
	err   error
	pins  int // users; a page in use is not recycled
	next  int // frame of the take at which it will be wanted again
}

type store struct {
	bank     *bank.Bank
	limit    int
	mu       sync.Mutex
	pages    map[pageName]*page
	decoders []*decoder // idle
}

// decoder is a bank decoder with room for one page's worth of recording.
type decoder struct {
	bank *bank.Decoder
	pcm  []float32
}

func newStore(b *bank.Bank, limit int) *store {
	return &store{bank: b, limit: limit, pages: map[pageName]*page{}}
}

// pin returns a page of a tone and keeps it in place until unpin. next is the
// frame at which the page will be wanted again, as far as is known.
func (st *store) pin(t tone, index, next int) (*page, error) {
	name := pageName{t.name(), index}
	st.mu.Lock()
	if p := st.pages[name]; p != nil {
		p.pins++
		p.next = next
		st.mu.Unlock()
		<-p.ready
		if p.err != nil {
			st.unpin(p)
			return nil, p.err
		}
		return p, nil
	}
	p := &page{name: name, ready: make(chan struct{}), pins: 1, next: next, data: st.room()}
	st.pages[name] = p
	var d *decoder
	if n := len(st.decoders); n > 0 {
		d, st.decoders = st.decoders[n-1], st.decoders[:n-1]
	}
	st.mu.Unlock()

	if d == nil {
		d = &decoder{}
		d.bank, p.err = st.bank.NewDecoder()
	}
	if p.err == nil {
		p.err = d.fill(p.data, t, index)
	}
	close(p.ready)
	st.mu.Lock()
	defer st.mu.Unlock()
	if p.err != nil {
		p.pins--
		delete(st.pages, name)
		return nil, p.err
	}
	st.decoders = append(st.decoders, d)
	return p, nil
}

func (st *store) unpin(p *page) {
	st.mu.Lock()
	p.pins--
	st.mu.Unlock()
}

// room returns the memory for a page: new, or that of the page wanted last. If
// all are in use, the store grows beyond its limit.
func (st *store) room() []int16 {
	if len(st.pages) >= st.limit {
		var last *page
		for _, p := range st.pages { // which of equals goes changes speed, not sound
			if p.pins == 0 && (last == nil || p.next > last.next) {
				last = p
			}
		}
		if last != nil {
			delete(st.pages, last.name)
			return last.data
		}
	}
	return make([]int16, 2*pageFrames)
}

// Resampling: a windowed sinc of twelve taps at 1024 positions between frames.
// The tones move by a semitone or so, so nothing folds down audibly.
const (
	taps   = 12
	phases = 1024
)

var sinc = sync.OnceValue(func() *[phases][taps]float32 {
	var table [phases][taps]float32
	for p := range table {
		var row [taps]float64
		sum := 0.0
		for k := range row {
			x := float64(k-taps/2+1) - float64(p)/phases
			row[k] = 0.5 + 0.5*math.Cos(math.Pi*x/(taps/2))
			if x != 0 {
				row[k] *= math.Sin(math.Pi*x*0.97) / (math.Pi * x * 0.97)
			}
			sum += row[k]
		}
		for k := range row {
			table[p][k] = float32(row[k] / sum)
		}
	}
	return &table
})

// fill decodes and resamples page index of a tone.
func (d *decoder) fill(out []int16, t tone, index int) error {
	step := uint64(math.Round(t.ratio() * (1 << 32))) // recorded frames per frame, 32.32
	start := uint64(index*pageFrames) * step
	rumble := bank.NewRumble(t.sample.Key, Rate)
	warm := 0 // frames before the page from which the filter runs
	if index > 0 {
		warm = rumble.Settle()
	}
	first := t.first() + int(start>>32) - (taps/2 - 1) // first recorded frame needed
	need := 2 * (warm + int((uint64(pageFrames)*step)>>32) + 2*taps)
	if len(d.pcm) < need {
		d.pcm = make([]float32, need)
	}
	pcm := d.pcm[:need]
	skip := min(max(warm-first, 0), need/2) // before the recording there was silence
	clear(pcm[:2*skip])
	if err := d.bank.Read(pcm[2*skip:], t.sample, first-warm+skip); err != nil {
		return err
	}
	t.sample.Place(pcm, &rumble)
	pcm = pcm[2*warm:]
	var (
		length   = t.length()
		unit     = 1 / t.scale()
		position = start & (1<<32 - 1)
		whole    = step == 1<<32
		table    = sinc()
	)
	for i := 0; i < pageFrames; i++ {
		at := index*pageFrames + i
		if at >= length {
			clear(out[2*i:])
			break
		}
		k := int(position >> 32)
		var l, r float32
		if whole {
			l, r = pcm[2*(k+taps/2-1)], pcm[2*(k+taps/2-1)+1]
		} else {
			w := (*[2 * taps]float32)(pcm[2*k:])
			h := &table[uint32(position)>>22]
			l = w[0]*h[0] + w[2]*h[1] + w[4]*h[2] + w[6]*h[3] + w[8]*h[4] + w[10]*h[5] +
				w[12]*h[6] + w[14]*h[7] + w[16]*h[8] + w[18]*h[9] + w[20]*h[10] + w[22]*h[11]
			r = w[1]*h[0] + w[3]*h[1] + w[5]*h[2] + w[7]*h[3] + w[9]*h[4] + w[11]*h[5] +
				w[13]*h[6] + w[15]*h[7] + w[17]*h[8] + w[19]*h[9] + w[21]*h[10] + w[23]*h[11]
		}
		position += step
		g := unit
		if at < fadeIn {
			g *= float64(at) / fadeIn
		}
		if left := length - at; left < t.fade {
			g *= float64(left) / float64(t.fade)
		}
		out[2*i], out[2*i+1] = whole16(float64(l)*g), whole16(float64(r)*g)
	}
	return nil
}

// fadeIn hides where a recording was begun.
const fadeIn = 96

func whole16(x float64) int16 {
	if x < 0 {
		return int16(max(x-0.5, math.MinInt16))
	}
	return int16(min(x+0.5, math.MaxInt16))
}
