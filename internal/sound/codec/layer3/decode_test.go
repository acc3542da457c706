package layer3

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	gomp3 "github.com/hajimehoshi/go-mp3"

	"gradatim/internal/sharedtest"
)

// decoders decode a file to 16-bit stereo; they have nothing in common but the standard.
// (The library is the only one in this process, and the only one under -short.)
var decoders = []struct {
	name   string
	decode func(t testing.TB, mp3 []byte) []byte
}{
	{"go-mp3", func(t testing.TB, mp3 []byte) []byte {
		d, err := gomp3.NewDecoder(bytes.NewReader(mp3))
		if err != nil {
			t.Fatal(err)
		}
		out, err := io.ReadAll(d)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}},
	{"ffmpeg", func(t testing.TB, mp3 []byte) []byte {
		return pipe(t, mp3, "ffmpeg", "-v", "error", "-flags", "+bitexact", "-i", "FILE", "-f", "s16le", "-")
	}},
	{"mpg123", func(t testing.TB, mp3 []byte) []byte {
		return pipe(t, mp3, "mpg123", "-q", "--no-gapless", "-s", "-e", "s16", "FILE")
	}},
}

func pipe(t testing.TB, mp3 []byte, name string, args ...string) []byte {
	t.Helper()
	file := filepath.Join(t.TempDir(), "a.mp3")
	if err := os.WriteFile(file, mp3, 0o644); err != nil {
		t.Fatal(err)
	}
	for i, a := range args {
		if a == "FILE" {
			args[i] = file
		}
	}
	var complaint bytes.Buffer
	cmd := exec.Command(sharedtest.Tool(t, name), args...)
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil || complaint.Len() > 0 {
		t.Fatalf("%s: %v: %s", name, err, complaint.Bytes())
	}
	return out
}

// tableFrames writes pairs of numbers with one table, or fours with one of the two
// tables of ones, and the same numbers with another; gain keeps the sound below full scale.
func tableFrames(t *testing.T, numbers []int, table int, quadB bool, gain int) []byte {
	t.Helper()
	var out bytes.Buffer
	size, head, _ := Size(320)
	s := newStream(&out, size, head)
	f := new(frame)
	put := func() {
		if err := s.put(f); err != nil {
			t.Fatal(err)
		}
		*f = frame{}
	}
	const most = 48 // numbers in a part
	n := 0
	for len(numbers) > 0 {
		p := &f.part[n%4/2][n%2]
		k := min(most, len(numbers))
		for i, v := range numbers[:k] {
			p.q[i] = uint16(max(v, -v))
			p.x[i] = float32(v)
		}
		numbers = numbers[k:]
		p.gain = gain
		if table >= 32 {
			p.ones, p.quadB = k/4, quadB
		} else {
			p.pairs, p.table, p.region = k/2, [3]int{table, table, table}, [2]int{15, 5}
		}
		var b bits
		p.write(&b, words())
		p.bits = 8*len(b.b) + int(b.have)
		if p.bits > partBits {
			t.Fatal("too many bits for a part")
		}
		if n++; n%4 == 0 {
			put()
		}
	}
	put()
	put()
	return out.Bytes()
}

// Every pair in every table, and every four in both tables of ones, sounds as the same
// numbers do in the largest table: in each decoder, to the bit.
func TestTablesAgree(t *testing.T) {
	h := words()
	// One file of all, so that each decoder starts twice; ends tells whose frames are where.
	var a, b []byte
	var names []string
	var ends []int
	add := func(name string, x, y []byte) {
		a, b = append(a, x...), append(b, y...)
		names, ends = append(names, name), append(ends, len(a))
		if len(a) != len(b) {
			t.Fatal("not as many frames")
		}
	}
	for table := range 32 {
		if h.pair[table] == nil {
			continue
		}
		var numbers []int
		values := []int{}
		for v := range 16 {
			if h.pair[table][v].n > 0 {
				values = append(values, v)
			}
		}
		if n := linbits(table); n > 0 {
			values = append(values, 16, 15+(1<<n-1)/3, 15+1<<n-1)
		}
		sign := 1
		for _, x := range values {
			for _, y := range values {
				numbers = append(numbers, x*sign, -y*sign)
				sign = -sign
			}
		}
		gain := 150
		if values[len(values)-1] > 600 {
			gain = 120
		}
		add(fmt.Sprintf("table %d", table), tableFrames(t, numbers, table, false, gain), tableFrames(t, numbers, 31, false, gain))
	}
	var ones []int
	for i := range 16 {
		for k := range 16 {
			for b := range 4 {
				v := i >> (3 - b) & 1
				if k>>b&1 == 1 {
					v = -v
				}
				ones = append(ones, v)
			}
		}
	}
	for _, quadB := range []bool{false, true} {
		add(fmt.Sprintf("ones, second table %v", quadB), tableFrames(t, ones, 32, quadB, 200), tableFrames(t, ones, 1, false, 200))
	}
	size, _, _ := Size(320)
	for _, d := range decoders {
		if testing.Short() && d.name != "go-mp3" {
			continue
		}
		x, y := d.decode(t, a), d.decode(t, b)
		if len(x) != len(a)/size*4*Frame || len(y) != len(x) {
			t.Fatalf("%s: %d and %d bytes from %d frames", d.name, len(x), len(y), len(a)/size)
		}
		from := 0
		for i, name := range names {
			to := ends[i] / size * 4 * Frame
			if bytes.Count(x[from:to], []byte{0}) == to-from || !bytes.Equal(x[from:to], y[from:to]) {
				t.Errorf("%s is silent, or %s decodes it otherwise than table 31", name, d.name)
			}
			from = to
		}
	}
}

// A prefix code that can be decoded and wastes nothing: the Kraft sum of each table is one.
func TestTablesAreWhole(t *testing.T) {
	h := words()
	check := func(name string, all []word) {
		sum := 0.0
		for i, a := range all {
			if a.n == 0 {
				continue
			}
			sum += math.Exp2(-float64(a.n))
			for k, b := range all {
				if i != k && b.n >= a.n && b.bits>>(b.n-a.n) == a.bits {
					t.Errorf("%s: word %d begins word %d", name, i, k)
				}
			}
		}
		if sum != 1 {
			t.Errorf("%s: Kraft sum %v", name, sum)
		}
	}
	for i, p := range h.pair {
		if p != nil {
			check(fmt.Sprint("table ", i), p[:])
		}
	}
	check("A", h.quad[0][:])
	check("B", h.quad[1][:])
}

// code codes interleaved samples.
func code(t testing.TB, x []float32, kbps int) []byte {
	t.Helper()
	var out bytes.Buffer
	e, err := New(&out, kbps)
	if err != nil {
		t.Fatal(err)
	}
	for n := 1; len(x) > 0; n = n*3%2003 + 1 {
		k := min(2*n, len(x))
		if err := e.Write(x[:k]); err != nil {
			t.Fatal(err)
		}
		x = x[k:]
	}
	if err := e.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func samples(pcm []byte) []float32 {
	x := make([]float32, len(pcm)/2)
	for i := range x {
		x[i] = float32(int16(binary.LittleEndian.Uint16(pcm[2*i:]))) / 32768
	}
	return x
}

// The decoders agree about noise, struck tones and clicks to the last bit of 16 (go-mp3 to
// 45 dB), and begin at the first sample.
func TestDecodersAgree(t *testing.T) {
	x := append(make([]float32, 4*Frame), mixed(1)...)
	for _, kbps := range []int{128, 192, 320} {
		mp3 := code(t, x, kbps)
		var last []float32
		for _, d := range decoders {
			if testing.Short() && d.name != "go-mp3" {
				continue
			}
			y := samples(d.decode(t, mp3))
			if len(y) != 2*Frame*Frames(len(x)/2) {
				t.Errorf("%d kbit/s: %s returns %d frames", kbps, d.name, len(y)/2)
				continue
			}
			best, at := 0.0, 0
			for shift := -4; shift <= 4; shift++ {
				if r := ratio(x, y, shift); r > best {
					best, at = r, shift
				}
			}
			if at != 0 || best < 25 {
				t.Errorf("%d kbit/s: %s is best moved by %d samples, %.1f dB", kbps, d.name, at, best)
			}
			before := last
			last = y
			if d.name == "ffmpeg" { // beside go-mp3, which cuts off where others round
				if r := ratio(before, y, 0); r < 45 {
					t.Errorf("%d kbit/s: ffmpeg and go-mp3 are alike to %.1f dB only", kbps, r)
				}
				continue
			}
			for i := range before {
				if off := math.Abs(float64(y[i] - before[i])); off > 1.1/32768 {
					t.Errorf("%d kbit/s: %s differs by %.1f at %d", kbps, d.name, off*32768, i)
					break
				}
			}
		}
	}
}

// ratio is signal to noise in dB, y moved by shift frames.
func ratio(x, y []float32, shift int) float64 {
	var signal, noise float64
	for i := 16; i < len(x)-16; i++ {
		d := float64(y[i+2*shift] - x[i])
		signal += float64(x[i]) * float64(x[i])
		noise += d * d
	}
	return 10 * math.Log10(signal/noise)
}

// mixed is struck tones, noise and clicks, for so many seconds.
func mixed(seconds int) []float32 {
	r := rand.New(rand.NewPCG(1, 2))
	x := make([]float32, 2*Rate*seconds)
	phase := 0.0
	for i := range len(x) / 2 {
		s := float64(i%12000) / Rate
		phase += 2 * math.Pi * (220 + float64(i/12000%5)*55) / Rate
		v := 0.2 * math.Exp(-4*s) * (math.Sin(phase) + 0.3*math.Sin(3*phase))
		if i%15000 < 40 {
			v += 0.3
		}
		n := 0.01 * (r.Float64() - 0.5)
		x[2*i], x[2*i+1] = float32(v+n), float32(0.6*v-n)
	}
	return x
}

// Whatever goes in, the frames are well formed: a reader that knows only the standard's
// side information finds each part where it should be, and its code words fill it exactly.
func FuzzFrames(f *testing.F) {
	f.Add([]byte("silence"), uint8(0))
	f.Add(bytes.Repeat([]byte{0xff, 0x7f, 0x00, 0x80}, 3000), uint8(1))
	loud := make([]byte, 12000)
	for i := range loud {
		loud[i] = byte(i * i >> 3)
	}
	f.Add(loud, uint8(5))
	f.Fuzz(func(t *testing.T, data []byte, which uint8) {
		x := make([]float32, len(data)/2&^1)
		for i := range x {
			x[i] = float32(int16(binary.LittleEndian.Uint16(data[2*i:]))) / 8192
			if x[i] == 2.5 { // some that are no numbers
				x[i] = float32(math.Inf(int(which) - 3))
			} else if x[i] == 1.5 {
				x[i] = float32(math.NaN())
			}
		}
		kbps := []int{128, 160, 192, 224, 256, 320, 64, 80, 96, 112}[which%10]
		mp3 := code(t, x, kbps)
		size, _, _ := Size(kbps)
		if len(mp3) != size*Frames(len(x)/2) {
			t.Fatalf("%d bytes for %d samples", len(mp3), len(x)/2)
		}
		if len(mp3) > 0 {
			read(t, mp3, size)
			decoders[0].decode(t, mp3)
		}
	})
}

// A field reads bits.
type field struct {
	b  []byte
	at int
}

func (f *field) get(n int) int {
	v := 0
	for range n {
		v = v<<1 | int(f.b[f.at/8]>>(7-f.at%8)&1)
		f.at++
	}
	return v
}

// read follows frames as the standard's 2.4.1.7 lays them out.
func read(t *testing.T, mp3 []byte, size int) {
	t.Helper()
	for at := 0; at < len(mp3); at += size {
		f := &field{b: mp3[at : at+size]}
		if f.get(15) != 0x7ffd {
			t.Fatalf("no frame at %d", at)
		}
		f.at = 32
		if back := f.get(9); back != 0 { // whoever jumps there would lose the frame
			t.Fatalf("frame %d reaches back %d bytes", at/size, back)
		}
		main := mp3[at+headBytes : at+size]
		f.get(3)
		var shared [2][4]bool
		for c := range 2 {
			for g := range 4 {
				shared[c][g] = f.get(1) == 1
			}
		}
		b := &field{b: main}
		for g := range 2 {
			for c := range 2 {
				length, pairs := f.get(12), f.get(9)
				f.get(8)
				slen := lengths[f.get(4)]
				var table [3]int
				edge := [3]int{36, 576, 576}
				kind := 0
				if f.get(1) == 1 {
					if kind = f.get(2); kind == 0 || f.get(1) != 0 {
						t.Fatal("a block of no kind")
					}
					table[0], table[1] = f.get(5), f.get(5)
					f.get(9)
				} else {
					for i := range table {
						table[i] = f.get(5)
					}
					a := f.get(4) + 1
					edge[0] = int(longBands[a])
					edge[1] = int(longBands[min(a+f.get(3)+1, 22)])
				}
				f.get(2)
				quad := f.get(1)
				if 2*pairs > granule {
					t.Fatalf("%d pairs", pairs)
				}
				end := b.at + length
				if end > 8*len(main) {
					t.Fatalf("a part reaches %d bits too far", end-8*len(main))
				}
				if length == 0 {
					continue
				}
				if kind == short {
					b.get(18 * int(slen[0]+slen[1]))
				} else {
					for i, from := range groups[:4] {
						if g == 0 || !shared[c][i] {
							for k := from; k < groups[i+1]; k++ {
								b.get(int(slen[min(k/11, 1)]))
							}
						}
					}
				}
				region := 0
				for i := 0; i < 2*pairs; i += 2 {
					for i >= edge[region] {
						region++
					}
					if table[region] == 0 {
						continue
					}
					v := b.word(t, words().pair[table[region]][:])
					for _, v := range []int{v >> 4, v & 15} {
						if v == 15 {
							b.get(linbits(table[region]))
						}
						b.get(min(v, 1))
					}
				}
				lines := 2 * pairs
				for b.at < end {
					v := b.word(t, words().quad[quad][:])
					b.get(v&1 + v>>1&1 + v>>2&1 + v>>3)
					lines += 4
				}
				if b.at != end || lines > granule {
					t.Fatalf("frame %d: a part of %d bits and %d lines ends %d bits late", at/size, length, lines, b.at-end)
				}
			}
		}
	}
}

func (f *field) word(t *testing.T, all []word) int {
	v, n := uint32(0), uint8(0)
	for n < 20 {
		v, n = v<<1|uint32(f.get(1)), n+1
		for i, w := range all {
			if w.n == n && w.bits == v {
				return i
			}
		}
	}
	t.Fatal("no code word")
	return 0
}
