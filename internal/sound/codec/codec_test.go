package codec_test

import (
	"bytes"
	"crypto/md5"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/mewkiz/flac"

	"gradatim/internal/sharedtest"
	"gradatim/internal/sound/codec"
)

// music is plucked tones, different left and right, that start at the first
// frame and end somewhere inside every format's blocks.
func music(frames int) []float32 {
	out := make([]float32, 2*frames)
	for n := 0; n < 12; n++ {
		at, hz := n*frames/13, 110*math.Exp2(float64(n*7%24)/12)
		for i := at; i < frames; i++ {
			t := float64(i-at) / 48000
			x := 0.0
			for h := 1.0; h < 5; h++ {
				x += math.Sin(2*math.Pi*hz*h*t) / h * math.Exp(-t*(2+h))
			}
			x *= 0.2 * (1 - math.Exp(-t/0.003))
			out[2*i] += float32(x * (0.5 + float64(n%3)/4))
			out[2*i+1] += float32(x * (1 - float64(n%3)/4))
		}
	}
	return out
}

var tags = codec.Tags{
	Title: "Gänge über Stufen ♭9", Composer: "N. N.", Album: "A Lesson", Level: "Level 3, early intermediate",
	Comment: "left hand, 60 %", Credits: "Piano: somebody, CC BY 3.0", BPM: 92,
}

// encode writes frames in pieces of odd sizes.
func encode(t testing.TB, w io.Writer, f codec.Format, frames []float32, s codec.Stream) {
	t.Helper()
	s.Frames = len(frames) / 2
	enc, err := codec.NewWriter(w, f, s)
	if err != nil {
		t.Fatal(err)
	}
	for n := 1; len(frames) > 0; n = n*3%5003 + 1 {
		k := min(2*n, len(frames))
		if err := enc.Write(frames[:k]); err != nil {
			t.Fatal(err)
		}
		frames = frames[k:]
	}
	if err := enc.Close(); err != nil {
		t.Fatal(err)
	}
}

// decode has ffmpeg decode a file to 32-bit frames.
func decode(t testing.TB, file string) []float32 {
	t.Helper()
	out, err := exec.Command(sharedtest.Tool(t, "ffmpeg"), "-v", "error", "-i", file, "-f", "f32le", "-ar", "48000", "-ac", "2", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	frames := make([]float32, len(out)/4)
	for i := range frames {
		frames[i] = math.Float32frombits(binary.LittleEndian.Uint32(out[4*i:]))
	}
	return frames
}

// likeness is the signal-to-noise ratio of b against a, in dB, with b moved by
// shift frames.
func likeness(a, b []float32, shift int) float64 {
	var signal, noise float64
	for i := range a {
		j := i + 2*shift
		if j < 0 || j >= len(b) {
			continue
		}
		signal += float64(a[i]) * float64(a[i])
		noise += float64(a[i]-b[j]) * float64(a[i]-b[j])
	}
	return 10 * math.Log10(signal/noise)
}

// ffmpeg decodes every format to exactly the frames that were written: as many,
// starting at the same one, at the same level.
func TestFormatsAreExact(t *testing.T) {
	least := map[codec.Format]float64{codec.WAV: 70, codec.FLAC: 70, codec.MP3: 60, codec.Opus: 15}
	for _, frames := range []int{48000*3 + 17, 1152 * 30, 1152 * 31, 700} {
		want := music(frames)
		for _, f := range codec.Formats() {
			want := want
			if f == codec.MP3 { // a decoder starts cold; a recording starts with silence
				want = append(make([]float32, 2*1152), want...)
			}
			file := filepath.Join(t.TempDir(), "a."+f.String())
			out, err := os.Create(file)
			if err != nil {
				t.Fatal(err)
			}
			encode(t, out, f, want, codec.Stream{Tags: tags})
			if err := out.Close(); err != nil {
				t.Fatal(err)
			}
			got := decode(t, file)
			if len(got) != 2*f.Whole(len(want)/2) {
				t.Errorf("%v: %d frames, %d written", f, len(got)/2, len(want)/2)
				continue
			}
			if end := got[len(want):]; len(end) > 2400 && loudest(end[1200:]) > 0.001 {
				t.Errorf("%v: the end that is filled up reaches %.4f", f, loudest(end[1200:]))
			}
			if frames < 10000 {
				continue
			}
			best := likeness(want, got, 0)
			if best < least[f] {
				t.Errorf("%v: signal to noise %.1f dB, want %.0f", f, best, least[f])
			}
			for shift := -3; shift <= 3; shift++ {
				if shift != 0 && likeness(want, got, shift) >= best {
					t.Errorf("%v: better when moved by %d frames", f, shift)
				}
			}
		}
	}
}

func loudest(frames []float32) float32 { return max(slices.Max(frames), -slices.Min(frames)) }

// FLAC keeps the very numbers that WAV does, and its checksum is theirs.
func TestFLACIsLossless(t *testing.T) {
	frames := music(20011)
	dir := t.TempDir()
	var wav bytes.Buffer
	encode(t, &wav, codec.WAV, frames, codec.Stream{})
	file, err := os.Create(filepath.Join(dir, "a.flac"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	encode(t, file, codec.FLAC, frames, codec.Stream{Tags: tags})
	if at, _ := file.Seek(0, io.SeekCurrent); at == 0 {
		t.Error("the writer is not left at the end of the file")
	}
	out, err := exec.Command(sharedtest.Tool(t, "ffmpeg"), "-v", "error", "-i", file.Name(), "-f", "s16le", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	pcm := wav.Bytes()[wav.Len()-2*len(frames):]
	if !bytes.Equal(out, pcm) {
		t.Error("decoded numbers differ from those of WAV")
	}
	s, err := flac.ParseFile(file.Name())
	if err != nil {
		t.Fatal(err)
	}
	if s.Info.MD5sum != md5.Sum(pcm) || s.Info.NSamples != uint64(len(frames)/2) {
		t.Errorf("checksum %x of %d frames, want %x of %d", s.Info.MD5sum, s.Info.NSamples, md5.Sum(pcm), len(frames)/2)
	}
	// A sink that cannot seek gets the same sound with the checksum unknown.
	var b bytes.Buffer
	encode(t, &b, codec.FLAC, frames, codec.Stream{Tags: tags})
	if s, err := flac.New(bytes.NewReader(b.Bytes())); err != nil || s.Info.NSamples != uint64(len(frames)/2) || s.Info.MD5sum != [16]byte{} {
		t.Errorf("without seeking: %v, %v", s.Info, err)
	}
}

// ffprobe reads the tags back, accents and signs included.
func TestTags(t *testing.T) {
	probe := sharedtest.Tool(t, "ffprobe")
	for _, f := range codec.Formats() {
		file := filepath.Join(t.TempDir(), "a."+f.String())
		var b bytes.Buffer
		encode(t, &b, f, music(5000), codec.Stream{Tags: tags})
		if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(probe, "-v", "error", "-show_entries", "format_tags:stream_tags", "-of", "json", file).Output()
		if err != nil {
			t.Fatal(err)
		}
		var got struct {
			Format  struct{ Tags map[string]string }
			Streams []struct{ Tags map[string]string }
		}
		if err := json.Unmarshal(out, &got); err != nil {
			t.Fatal(err)
		}
		all := map[string]string{}
		for k, v := range got.Format.Tags {
			all[strings.ToLower(k)] = v
		}
		for _, s := range got.Streams {
			for k, v := range s.Tags {
				all[strings.ToLower(k)] = v
			}
		}
		want := map[string]string{"title": tags.Title, "comment": tags.Comment, "copyright": tags.Credits, "album": tags.Album}
		switch f {
		case codec.WAV:
			want["isbj"], want["artist"] = tags.Level, tags.Composer
		case codec.MP3:
			want["level"], want["composer"], want["tbpm"] = tags.Level, tags.Composer, "92"
		default:
			want["level"], want["composer"], want["bpm"] = tags.Level, tags.Composer, "92"
		}
		for k, v := range want {
			if all[k] != v {
				t.Errorf("%v: %s is %q, want %q", f, k, all[k], v)
			}
		}
	}
}

func TestSameSoundSameFile(t *testing.T) {
	frames := music(30000)
	for _, f := range codec.Formats() {
		var a, b bytes.Buffer
		encode(t, &a, f, frames, codec.Stream{Tags: tags})
		encode(t, &b, f, frames, codec.Stream{Tags: tags})
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%v: two runs differ", f)
		}
	}
}

func TestBitrates(t *testing.T) {
	probe := sharedtest.Tool(t, "ffprobe")
	for _, kbps := range []int{64, 96, 160, 256, 320} {
		file := filepath.Join(t.TempDir(), "a.mp3")
		var b bytes.Buffer
		frames := music(96000)
		encode(t, &b, codec.MP3, frames, codec.Stream{Kbps: kbps})
		if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(probe, "-v", "error", "-show_entries", "stream=bit_rate", "-of", "csv=p=0", file).Output()
		if got, _ := strconv.Atoi(strings.TrimSpace(string(out))); err != nil || got != kbps*1000 {
			t.Errorf("%d kbit/s: ffprobe reads %d, %v", kbps, got, err)
		}
		if got := decode(t, file); len(got) != 2*codec.MP3.Whole(len(frames)/2) || likeness(frames, got, 0) < 18 {
			t.Errorf("%d kbit/s: %d frames, %.0f dB", kbps, len(got)/2, likeness(frames, got, 0))
		}
	}
}

func TestBadInput(t *testing.T) {
	for _, tt := range []struct {
		f codec.Format
		s codec.Stream
	}{
		{0, codec.Stream{Frames: 1}},
		{codec.MP3, codec.Stream{}},
		{codec.MP3, codec.Stream{Frames: 1, Kbps: 100}},
		{codec.Opus, codec.Stream{Frames: 1, Kbps: 9}},
		{codec.WAV, codec.Stream{Frames: 1 << 31}},
		{codec.MP3, codec.Stream{Frames: 1 << 40}},
		{codec.Opus, codec.Stream{Frames: 1, Tags: codec.Tags{Title: strings.Repeat("x", 1<<17)}}},
	} {
		if _, err := codec.NewWriter(io.Discard, tt.f, tt.s); err == nil {
			t.Errorf("%v with %d frames at %d kbit/s is accepted", tt.f, tt.s.Frames, tt.s.Kbps)
		}
	}
	for _, f := range codec.Formats() {
		w, err := codec.NewWriter(io.Discard, f, codec.Stream{Frames: 100})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Write(make([]float32, 2*99)); err != nil {
			t.Fatal(err)
		}
		if err := w.Write(make([]float32, 4)); !errors.Is(err, codec.ErrLength) {
			t.Errorf("%v: a frame too many: %v", f, err)
		}
		w, _ = codec.NewWriter(io.Discard, f, codec.Stream{Frames: 100})
		if err := w.Close(); !errors.Is(err, codec.ErrLength) {
			t.Errorf("%v: a hundred frames too few: %v", f, err)
		}
	}
}

// full is a disk with so much room.
type full struct{ left int }

var errFull = errors.New("no space left on device")

func (f *full) Write(b []byte) (int, error) {
	if f.left -= len(b); f.left < 0 {
		return 0, errFull
	}
	return len(b), nil
}

func TestFullDisk(t *testing.T) {
	frames := music(96000)
	for _, f := range codec.Formats() {
		for _, room := range []int{0, 100, 20000} {
			w, err := codec.NewWriter(&full{room}, f, codec.Stream{Frames: len(frames) / 2})
			if err == nil {
				if err = w.Write(frames); err == nil {
					err = w.Close()
				}
			}
			if !errors.Is(err, errFull) {
				t.Errorf("%v with room for %d bytes: %v", f, room, err)
			}
		}
	}
}

func ExampleParseFormat() {
	for _, ext := range []string{".mp3", "FLAC", "xyz"} {
		f, err := codec.ParseFormat(ext)
		fmt.Println(f, f.MIME(), err)
	}
	// Output:
	// mp3 audio/mpeg <nil>
	// flac audio/flac <nil>
	// Format(0) application/octet-stream no sound format is called "xyz": mp3, wav, flac and opus are
}

func BenchmarkWrite(b *testing.B) {
	frames := music(480000)
	for _, f := range codec.Formats() {
		b.Run(fmt.Sprintf("%v/seconds=10", f), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				encode(b, io.Discard, f, frames, codec.Stream{})
			}
		})
	}
}

// BenchmarkAgainstFFmpeg codes a minute as MP3, here and by the encoder that
// ffmpeg brings, which has a model of the ear: "ms-ffmpeg" is the processor
// time of the latter, its start included.
func BenchmarkAgainstFFmpeg(b *testing.B) {
	tool := sharedtest.Tool(b, "ffmpeg")
	frames := music(60 * 48000)
	var wav bytes.Buffer
	encode(b, &wav, codec.WAV, frames, codec.Stream{})
	b.Run("seconds=60", func(b *testing.B) {
		var theirs time.Duration
		for b.Loop() {
			encode(b, io.Discard, codec.MP3, frames, codec.Stream{})
			b.StopTimer()
			cmd := exec.Command(tool, "-v", "error", "-f", "wav", "-i", "-", "-b:a", "192k", "-f", "mp3", "-")
			cmd.Stdin = bytes.NewReader(wav.Bytes())
			if err := cmd.Run(); err != nil {
				b.Fatal(err)
			}
			theirs += cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
			b.StartTimer()
		}
		b.ReportMetric(float64(theirs.Milliseconds())/float64(b.N), "ms-ffmpeg")
	})
}
