// Package codec writes 48 kHz stereo sound as files: MP3, WAV, FLAC and Ogg
// Opus, with tags. It compresses nothing itself; libraries and layer3 below it do, and it adds what
// they lack: exact places, tags, and bytes that depend on the input alone.
package codec

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"gradatim/internal/sound/codec/layer3"
)

// A Format is a kind of sound file.
type Format int

// The formats that can be written.
const (
	MP3  Format = 1 + iota // MPEG-1 layer III, constant bit rate
	WAV                    // RIFF, 16 bit
	FLAC                   // 16 bit
	Opus                   // Ogg Opus, RFC 7845
)

var formats = [...]struct{ ext, mime string }{
	MP3:  {"mp3", "audio/mpeg"},
	WAV:  {"wav", "audio/wav"},
	FLAC: {"flac", "audio/flac"},
	Opus: {"opus", "audio/ogg; codecs=opus"},
}

// Formats lists all formats.
func Formats() []Format { return []Format{MP3, WAV, FLAC, Opus} }

// ParseFormat returns the format of a file extension, with or without its dot.
func ParseFormat(ext string) (Format, error) {
	name := strings.ToLower(strings.TrimPrefix(ext, "."))
	for _, f := range Formats() {
		if formats[f].ext == name {
			return f, nil
		}
	}
	return 0, fmt.Errorf("no sound format is called %q: mp3, wav, flac and opus are", ext)
}

func (f Format) valid() bool { return f >= MP3 && f <= Opus }

// String returns the file extension without a dot.
func (f Format) String() string {
	if !f.valid() {
		return fmt.Sprintf("Format(%d)", int(f))
	}
	return formats[f].ext
}

// Whole returns how many frames are read back from a file into which n are
// written. An MP3 file ends with a whole block of 1152, in silence; the others
// are exact.
func (f Format) Whole(n int) int {
	if f == MP3 {
		return layer3.Frames(n) * layer3.Frame
	}
	return n
}

// MIME returns the media type of the format.
func (f Format) MIME() string {
	if !f.valid() {
		return "application/octet-stream"
	}
	return formats[f].mime
}

// Tags are what a file says about itself. Empty fields are left out.
type Tags struct {
	Title    string
	Composer string
	Album    string // the lesson that the file belongs to
	Level    string // "Level 3, early intermediate"
	Comment  string // what was recorded: hands, bars, tempo
	Credits  string // sources and licences
	BPM      int    // quarter notes a minute
	Track    int    // its place on the album, from 1; 0: none
	Chapters []Chapter
}

// Chapter is a stretch of a recording that has a name, until the next one or the end. MP3,
// FLAC and Opus have chapters, at most MaxChapters; WAV has none.
type Chapter struct {
	Start float64 // seconds
	Title string
}

// MaxChapters is as many as the table of contents of an MP3 file can list.
const MaxChapters = 255

// chapters lists the chapters in milliseconds with their ends; end is where the sound ends.
func (s Stream) chapters() (out []span) {
	all := s.Tags.Chapters
	if len(all) > MaxChapters {
		all = all[:MaxChapters]
	}
	for _, c := range all {
		at := uint32(max(c.Start, 0) * 1000)
		if k := len(out) - 1; k >= 0 {
			out[k].end = at
		}
		out = append(out, span{at, uint32(int64(s.Frames) * 1000 / rate), clean(c.Title)})
	}
	return out
}

type span struct {
	start, end uint32
	title      string
}

// clean makes text of a tag: a stray control character would end one early.
func clean(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\x00", "")
}

// fields lists the tags under their Vorbis comment names.
func (t Tags) fields() [][2]string {
	all := [][2]string{
		{"TITLE", t.Title}, {"COMPOSER", t.Composer}, {"ALBUM", t.Album}, {"LEVEL", t.Level},
		{"COMMENT", t.Comment}, {"COPYRIGHT", t.Credits},
	}
	if t.BPM > 0 {
		all = append(all, [2]string{"BPM", fmt.Sprint(t.BPM)})
	}
	if t.Track > 0 {
		all = append(all, [2]string{"TRACKNUMBER", fmt.Sprint(t.Track)})
	}
	var out [][2]string
	for _, f := range all {
		if f[1] != "" {
			out = append(out, [2]string{f[0], clean(f[1])})
		}
	}
	return out
}

// A Stream describes the sound to be written.
type Stream struct {
	Frames int // stereo frames that will be written, exactly
	Tags   Tags
	Kbps   int // kilobits a second for MP3 (0 means 192) and Opus (0 means 128)
}

// A Writer takes interleaved stereo frames, full scale 1, in pieces of any
// length. Close ends the file and leaves the underlying writer open.
type Writer interface {
	Write(frames []float32) error
	Close() error
}

const rate = 48000

// ErrLength is returned when more or fewer frames come than were announced.
var ErrLength = errors.New("not as many frames as announced")

// NewWriter begins a file on w.
func NewWriter(w io.Writer, f Format, s Stream) (Writer, error) {
	if s.Frames <= 0 {
		return nil, fmt.Errorf("%v: no frames", f)
	}
	switch f {
	case MP3:
		return newMP3(w, s)
	case WAV:
		return newWAV(w, s)
	case FLAC:
		return newFLAC(w, s)
	case Opus:
		return newOpus(w, s)
	default:
		return nil, fmt.Errorf("no such sound format: %v", f)
	}
}

// A tally compares the frames written with those announced.
type tally struct{ left int }

func (t *tally) take(frames []float32) error {
	if t.left -= len(frames) / 2; t.left < 0 || len(frames)%2 != 0 {
		return ErrLength
	}
	return nil
}

func (t *tally) close() error {
	if t.left != 0 {
		return ErrLength
	}
	return nil
}

// A dither rounds to 16 bit with triangular noise of two least significant
// bits, so that what is lost in rounding does not follow the music. Its
// generator starts from a fixed seed: same sound, same file.
type dither struct{ state uint32 }

func (d *dither) uniform() float32 {
	d.state = d.state*1664525 + 1013904223
	return float32(d.state>>8) / (1 << 24)
}

// round returns x, full scale 1, as a 16-bit number.
func (d *dither) round(x float32) int16 {
	v := x*32767 + d.uniform() - d.uniform()
	if v >= 0 {
		v += 0.5
	} else {
		v -= 0.5
	}
	return int16(max(min(v, 32767), -32768))
}
