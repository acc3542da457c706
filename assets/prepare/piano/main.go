// Command piano cuts the grand piano's samples out of their npm packages into
// the one file that package assets embeds.
//
// Each recording is a 48 kHz stereo Ogg Vorbis stream. Its pages are dropped
// and its packets kept as they are, up to some seconds, so that nothing is
// encoded a second time; then it is measured: where the hammer strikes, how
// loud and bright it is, how far from equal temperament. The output depends
// on the input alone.
package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"

	"github.com/jfreymuth/vorbis"

	"gradatim/internal/sound/bank"
	"gradatim/internal/sound/measure"
)

// credit goes into the file; package sound repeats it for readers.
const credit = "Salamander Grand Piano V3 by Alexander Holm, CC BY 3.0; cut and level-matched"

// layers are the strengths of touch taken from the sixteen recorded, each with
// the MIDI velocity in the middle of the range that its recording serves.
var layers = []bank.Layer{
	{Number: 4, Velocity: 40}, {Number: 8, Velocity: 61}, {Number: 12, Velocity: 93}, {Number: 15, Velocity: 117},
}

const (
	noteSeconds    = 8
	releaseSeconds = 2
)

func main() {
	node := flag.String("node", "node_modules", "folder of the installed npm packages")
	out := flag.String("o", "piano.bank", "file to write")
	verbose := flag.Bool("v", false, "print what was measured")
	flag.Parse()
	var log io.Writer = io.Discard
	if *verbose {
		log = os.Stdout
	}
	if err := run(*node, *out, log); err != nil {
		fmt.Fprintln(os.Stderr, "piano:", err)
		os.Exit(1)
	}
}

// run builds the bank in memory and puts it in place with one rename, so that
// a broken run leaves the former file.
func run(node, out string, log io.Writer) error {
	var b bytes.Buffer
	if err := build(&b, node, log); err != nil {
		return err
	}
	tmp, err := os.CreateTemp(filepath.Dir(out), filepath.Base(out)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.Write(b.Bytes())
	if err := errors.Join(err, tmp.Chmod(0o644), tmp.Close()); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), out)
}

func build(w io.Writer, node string, log io.Writer) error {
	ix := bank.Index{Rate: measure.Rate, Credit: credit, Layers: layers}
	var samples []byte
	add := func(s bank.Sample, pkg, file string, seconds int) (bank.Sample, error) {
		raw, err := os.ReadFile(filepath.Join(node, "@audio-samples", pkg, "audio", file))
		if errors.Is(err, os.ErrNotExist) {
			return s, fmt.Errorf("%w (run npm ci --ignore-scripts first)", err)
		} else if err != nil {
			return s, err
		}
		r, err := read(raw, seconds*measure.Rate)
		if err != nil {
			return s, fmt.Errorf("%s: %w", file, err)
		}
		if ix.Setup == nil {
			ix.Ident, ix.Setup = r.ident, r.setup
		}
		if !bytes.Equal(ix.Ident, r.ident) || !bytes.Equal(ix.Setup, r.setup) {
			return s, fmt.Errorf("%s: encoded with another setup than the first sample", file)
		}
		s.Offset, s.Packets, s.Frames = len(samples), len(r.packets), len(r.pcm)/2
		if samples, err = bank.AppendSample(samples, r.packets); err != nil {
			return s, fmt.Errorf("%s: %w", file, err)
		}
		gauge(&s, r.pcm)
		fmt.Fprintf(log, "%-9s onset %5.1f ms  length %5.2f s  level %6.2f dB  peak %6.2f dB  tuning %+6.2f cents  image %5d  bands %5d\n",
			file, ms(s.Onset), ms(s.Frames)/1000, float64(s.Level)/100, float64(s.Peak)/100, float64(s.Cents)/100, s.Image, s.Bands)
		return s, nil
	}
	names := map[int]string{0: "C", 3: "D#", 6: "F#", 9: "A"}
	for _, l := range layers {
		// The keyboard was recorded in minor thirds, A0 to C8.
		for key := 21; key <= 108; key += 3 {
			file := fmt.Sprintf("%s%dv%d.ogg", names[key%12], key/12-1, l.Number)
			s, err := add(bank.Sample{Layer: l.Number, Key: key}, fmt.Sprintf("piano-velocity%d", l.Number), file, noteSeconds)
			if err != nil {
				return err
			}
			ix.Notes = append(ix.Notes, s)
		}
	}
	for n := 1; n <= 88; n++ {
		s, err := add(bank.Sample{Key: n + 20}, "piano-release", fmt.Sprintf("rel%d.ogg", n), releaseSeconds)
		if err != nil {
			return err
		}
		ix.Releases = append(ix.Releases, s)
	}
	return bank.Write(w, ix, samples)
}

func ms(frames int) float64    { return float64(frames) * 1000 / measure.Rate }
func hundredths(x float64) int { return int(math.Round(x * 100)) }

// gauge fills in what can be measured on the decoded frames, and leaves them as they are
// played.
func gauge(s *bank.Sample, pcm []float32) {
	if s.Layer != 0 {
		s.Onset = strike(pcm)
		s.Cents = hundredths(tuning(pcm, s.Onset, s.Key))
	}
	head := pcm[2*s.Onset : 2*min(s.Onset+measure.Rate*4/10, s.Frames)]
	s.Image = [4]int{bank.Unity, 0, 0, bank.Unity}
	clean := slices.Clone(head)
	rumble := bank.NewRumble(s.Key, measure.Rate)
	s.Place(clean, &rumble)
	// An image even without the shelf is not even under it: what is high in a note lies
	// between the microphones more than what is low.
	bank.Air(clean, measure.Rate)
	var left, right, product float64
	for i := 0; i+1 < len(clean); i += 2 {
		l, r := float64(clean[i]), float64(clean[i+1])
		left, right, product = left+l*l, right+r*r, product+l*r
	}
	s.Image = bank.Balanced(left, right, product, s.Key)
	rumble = bank.NewRumble(s.Key, measure.Rate)
	s.Place(pcm, &rumble)
	peak := 0.0
	for _, x := range pcm {
		peak = math.Max(peak, math.Abs(float64(x)))
	}
	s.Peak = hundredths(20 * math.Log10(peak))
	s.Level = hundredths(10 * math.Log10(power(head)))
	s.Bands = bands(head)
}

// bands is the power between the bank's edges, re all of it, in hundredths of a decibel. A
// transform with a window leaks nothing from a strong fundamental into what is measured
// far above it, as the skirts of a filter would.
func bands(frames []float32) (out [len(bank.Edges) + 1]int) {
	var power [len(out)]float64
	total := 0.0
	for c := range 2 {
		var channel []float64
		for i := c; i < len(frames); i += 2 {
			channel = append(channel, float64(frames[i]))
		}
		spectrum := measure.SpectrumOf(channel)
		band := 0
		for i, m := range spectrum.Mag {
			for band < len(bank.Edges) && float64(i)*spectrum.Bin >= bank.Edges[band] {
				band++
			}
			power[band] += m * m
			total += m * m
		}
	}
	for i, p := range power {
		out[i] = hundredths(10 * math.Log10(p/total+1e-12))
	}
	return out
}

// strike finds where the hammer meets the string: the first millisecond whose
// power is within 15 dB of the strongest in the first 0.12 s. The key's own
// noise before it lies 20 dB and more below, whatever the touch; a threshold
// relative to the note's peak would take it for the strike in soft layers.
func strike(pcm []float32) int {
	const window = measure.Rate / 1000
	square := func(i int) float64 {
		l, r := float64(pcm[2*i]), float64(pcm[2*i+1])
		return l*l + r*r
	}
	var powers []float64
	sum := 0.0
	for i := 0; i < len(pcm)/2 && i < measure.Rate*12/100; i++ {
		sum += square(i)
		if i >= window {
			sum -= square(i - window)
		}
		powers = append(powers, sum)
	}
	limit := slices.Max(powers) * math.Pow(10, -15.0/10)
	at := slices.IndexFunc(powers, func(p float64) bool { return p >= limit })
	return max(at-window/2, 0)
}

func power(frames []float32) float64 {
	sum := 0.0
	for _, x := range frames {
		sum += float64(x) * float64(x)
	}
	return sum / float64(len(frames))
}

// tuning is the median deviation of the first partials from the harmonics of
// the key, in cents. The fundamental alone would mislead: low strings are
// stiff, and one of a unison's three strings may beat.
func tuning(pcm []float32, onset, key int) float64 {
	const window = 1 << 16
	from := onset + measure.Rate/10
	if from+window/2 > len(pcm)/2 {
		from = onset
	}
	spectrum := measure.SpectrumOf(measure.Mono(pcm[2*from : 2*min(from+window, len(pcm)/2)]))
	hz := measure.Hertz(key)
	var off []float64
	for h := 1.0; h <= 4 && h*hz < 6000; h++ {
		if h == 1 && key < 36 { // too weak to measure down there
			continue
		}
		if f := spectrum.Peak(h*hz, 60); f > 0 {
			off = append(off, measure.Cents(h*hz, f))
		}
	}
	if len(off) == 0 {
		return 0
	}
	slices.Sort(off)
	return (off[(len(off)-1)/2] + off[len(off)/2]) / 2
}

// A recording is one Ogg Vorbis stream taken apart.
type recording struct {
	ident, setup []byte // Vorbis headers
	packets      []bank.Packet
	pcm          []float32 // interleaved stereo
}

// read takes an Ogg Vorbis stream apart and decodes it, up to the packet that
// completes the given number of frames. (RFC 3533 for the pages; the Vorbis I
// specification, section 4, for the three headers and the overlap.)
func read(stream []byte, frames int) (recording, error) {
	var r recording
	packets, total, err := unpage(stream)
	if err != nil {
		return r, err
	}
	if len(packets) < 4 {
		return r, io.ErrUnexpectedEOF
	}
	r.ident, r.setup = packets[0], packets[2]
	var d vorbis.Decoder
	for _, h := range packets[:3] {
		if err := d.ReadHeader(h); err != nil {
			return r, err
		}
	}
	if d.SampleRate() != measure.Rate || d.Channels() != 2 {
		return r, fmt.Errorf("%d Hz, %d channels; %d Hz stereo expected", d.SampleRate(), d.Channels(), measure.Rate)
	}
	for _, p := range packets[3:] {
		pcm, err := d.Decode(p)
		if err != nil {
			return r, err
		}
		r.packets = append(r.packets, bank.Packet{Data: p, Frames: len(pcm) / 2})
		r.pcm = append(r.pcm, pcm...)
		if len(r.pcm) >= 2*frames {
			break
		}
	}
	r.pcm = r.pcm[:2*min(len(r.pcm)/2, int(total))] // the last packet is padded
	return r, nil
}

// unpage joins the segments of an Ogg stream's pages into packets and returns
// them with the last page's granule position, the number of frames in all.
func unpage(stream []byte) (packets [][]byte, total int64, err error) {
	var open []byte
	for len(stream) > 0 {
		if len(stream) < 27 || string(stream[:4]) != "OggS" || len(stream) < 27+int(stream[26]) {
			return nil, 0, errors.New("not an Ogg stream")
		}
		if granule := int64(binary.LittleEndian.Uint64(stream[6:])); granule >= 0 {
			total = granule // -1 where no packet ends
		}
		laces := stream[27 : 27+int(stream[26])]
		stream = stream[27+len(laces):]
		for _, lace := range laces {
			if len(stream) < int(lace) {
				return nil, 0, io.ErrUnexpectedEOF
			}
			open = append(open, stream[:lace]...)
			stream = stream[lace:]
			if lace < 255 {
				packets, open = append(packets, open), nil
			}
		}
	}
	return packets, total, nil
}
