package smf

import (
	"cmp"
	"encoding/binary"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"gradatim/leadsheet"
)

// What a file may hold at most to be read. A piano piece of an hour has some ten
// thousand notes.
const (
	MaxBytes  = 4 << 20
	MaxNotes  = 100_000
	maxTracks = 1_000
	maxText   = 1_000
	maxSigns  = 20_000 // tempos, metres, keys and markers
)

// File is what a MIDI file holds. Positions are in ticks, in order.
type File struct {
	Format    int  // 0 or 1
	Division  int  // ticks a quarter note
	Timed     bool // its ticks are parts of a second: the file knows no beats
	Title     string
	Copyright string
	Tempos    []Tempo
	Meters    []Meter
	Keys      []Key
	Markers   []Marker
	Lines     []Line    // those that have notes: by track, then channel
	Pedal     []Control // the damper pedal of all channels but that of percussion, each time that it moves
	Problems  leadsheet.Problems
}

// Line is what one track plays on one channel.
type Line struct {
	Name    string // of its track
	Track   int    // from 1
	Channel int    // 0 to 15; 9 is percussion
	Program int
	Notes   []Note
}

// Percussion is the channel of General MIDI's drums.
const Percussion = 9

// Read reads a MIDI file of format 0 or 1. What is cut off or wrong in it is a
// Problem, and what stands before it is kept. The error is a leadsheet.Problems.
//
// Source of the format: Standard MIDI Files 1.0 and MIDI 1.0 (MIDI Association), from
// memory; checked in the tests against files of other programs. Rejected: the reader of
// the library that Write uses, which makes room for as many bytes as a length in the
// file claims, up to 256 MB.
func Read(data []byte, file string) (File, error) {
	r := &fileReader{file: File{Division: 480}, name: file}
	if ps := r.read(data); ps.Err() != nil {
		return File{}, ps
	}
	f := r.file
	f.Problems = r.problems
	f.Pedal = onePedal(r.feet)
	at := func(a, b int64) int { return cmp.Compare(a, b) }
	slices.SortStableFunc(f.Tempos, func(a, b Tempo) int { return at(a.At, b.At) })
	slices.SortStableFunc(f.Meters, func(a, b Meter) int { return at(a.At, b.At) })
	slices.SortStableFunc(f.Keys, func(a, b Key) int { return at(a.At, b.At) })
	slices.SortStableFunc(f.Markers, func(a, b Marker) int { return at(a.At, b.At) })
	for i := range f.Lines {
		slices.SortStableFunc(f.Lines[i].Notes, func(a, b Note) int { return cmp.Or(at(a.At, b.At), cmp.Compare(a.Key, b.Key)) })
	}
	return f, nil
}

type fileReader struct {
	name     string
	file     File
	problems leadsheet.Problems
	notes    int
	signs    int
	feet     []footed
}

// footed is a move of the pedal of one channel.
type footed struct {
	channel int
	Control
}

// onePedal joins the pedals of the channels, as a piano has one: it is as far down as that
// which is lowest.
func onePedal(feet []footed) []Control {
	slices.SortStableFunc(feet, func(a, b footed) int { return cmp.Compare(a.At, b.At) })
	var down [16]int
	var out []Control
	now := 0
	for i, f := range feet {
		down[f.channel] = f.Value
		if i+1 < len(feet) && feet[i+1].At == f.At && feet[i+1].channel != f.channel {
			continue // both at once
		}
		if v := slices.Max(down[:]); v != now {
			now = v
			out = append(out, Control{f.At, DamperPedal, v})
		}
	}
	return out
}

func (r *fileReader) fail(says leadsheet.Saying, parts ...any) leadsheet.Problems {
	r.problems.Tell(leadsheet.Error, leadsheet.Pos{File: r.name}, says, parts...)
	return r.problems
}

func (r *fileReader) warn(says leadsheet.Saying, parts ...any) {
	if len(r.problems) < 40 {
		r.problems.Tell(leadsheet.Warning, leadsheet.Pos{File: r.name}, says, parts...)
	}
}

func (r *fileReader) read(data []byte) leadsheet.Problems {
	if len(data) > MaxBytes {
		return r.fail("file-too-large", "Bytes", len(data), "Most", MaxBytes)
	}
	if i := strings.Index(string(data[:min(len(data), 256)]), "MThd"); i > 0 { // in a RIFF wrapper
		data = data[i:]
	}
	if len(data) < 14 || string(data[:4]) != "MThd" {
		return r.fail("midi-syntax.header")
	}
	length := int(binary.BigEndian.Uint32(data[4:]))
	r.file.Format = int(binary.BigEndian.Uint16(data[8:]))
	division := binary.BigEndian.Uint16(data[12:])
	switch {
	case length < 6 || length > len(data)-8:
		return r.fail("midi-syntax.header")
	case r.file.Format > 1:
		return r.fail("midi-format", "Format", r.file.Format)
	case division == 0:
		return r.fail("midi-syntax.header")
	case division&0x8000 != 0: // frames a second, and ticks a frame
		frames, ticks := 256-int(division>>8), int(division&0xff)
		if frames == 29 {
			frames = 30
		}
		if frames <= 0 || ticks == 0 {
			return r.fail("midi-syntax.header")
		}
		r.file.Timed = true
		r.file.Division = max(frames*ticks/2, 1)
	default:
		r.file.Division = int(division)
	}
	data = data[8+length:]
	track := 0
	for len(data) >= 8 {
		kind, n := string(data[:4]), int(binary.BigEndian.Uint32(data[4:]))
		data = data[8:]
		if n > len(data) {
			if kind == "MTrk" {
				r.warn("midi-cut", "Track", track+1)
			}
			n = len(data)
		}
		if kind == "MTrk" {
			if track++; track > maxTracks {
				return r.fail("midi-too-long.tracks", "Most", maxTracks)
			}
			if ps := r.track(data[:n], track); ps != nil {
				return ps
			}
		}
		data = data[n:]
	}
	if len(r.file.Lines) == 0 {
		return r.fail("no-music.notes")
	}
	return nil
}

// downKey is a key that is down.
type downKey struct {
	line, note int
}

// track reads the events of a track.
func (r *fileReader) track(data []byte, track int) leadsheet.Problems {
	var lines [16]int // index + 1 into file.Lines, by channel
	var program [16]int
	down := map[[2]int][]downKey{}
	name := ""
	at, status, ended := int64(0), byte(0), false
	first := len(r.file.Lines)
	line := func(ch int) *Line {
		if lines[ch] == 0 {
			r.file.Lines = append(r.file.Lines, Line{Track: track, Channel: ch, Program: program[ch]})
			lines[ch] = len(r.file.Lines)
		}
		return &r.file.Lines[lines[ch]-1]
	}
	release := func(ch, key int) {
		k := [2]int{ch, key}
		if open := down[k]; len(open) > 0 { // the oldest first
			n := &r.file.Lines[open[0].line].Notes[open[0].note]
			n.Length = max(at-n.At, 1)
			down[k] = open[1:]
		}
	}
	cut := func() { r.warn("midi-cut", "Track", track) }
events:
	for len(data) > 0 && !ended {
		delta, n := varint(data)
		if n == 0 || at+delta > longest*16 {
			cut()
			break
		}
		at += delta
		data = data[n:]
		if len(data) == 0 {
			cut()
			break
		}
		b := data[0]
		if b&0x80 != 0 {
			data = data[1:]
		} else if b = status; status == 0 {
			cut() // data without a status
			break
		}
		switch {
		case b == 0xff: // meta
			if len(data) == 0 {
				cut()
				break events
			}
			kind := data[0]
			size, n := varint(data[1:])
			if n == 0 || size > int64(len(data)-1-n) {
				cut()
				break events
			}
			body := data[1+n : 1+n+int(size)]
			data = data[1+n+int(size):]
			if r.signs++; r.signs > maxSigns {
				return r.fail("midi-too-long.events", "Most", maxSigns)
			}
			if kind == 0x03 {
				name = text(body)
			}
			ended = kind == 0x2f
			r.meta(kind, body, at, track)
		case b == 0xf0 || b == 0xf7: // system exclusive
			size, n := varint(data)
			if n == 0 || size > int64(len(data)-n) {
				cut()
				break events
			}
			data = data[n+int(size):]
			status = 0
		case b >= 0xf1:
			cut() // not for files
			break events
		default:
			status = b
			want := 2
			if b&0xe0 == 0xc0 { // program, pressure
				want = 1
			}
			if len(data) < want || data[0]&0x80 != 0 || data[want-1]&0x80 != 0 {
				cut()
				break events
			}
			ch, x, y := int(b&0x0f), int(data[0]), int(data[want-1])
			data = data[want:]
			switch b & 0xf0 {
			case 0x90:
				if y == 0 {
					release(ch, x)
					break
				}
				if r.notes++; r.notes > MaxNotes {
					return r.fail("midi-too-long.notes", "Most", MaxNotes)
				}
				l := line(ch)
				l.Notes = append(l.Notes, Note{At: at, Key: x, Velocity: y})
				k := [2]int{ch, x}
				down[k] = append(down[k], downKey{lines[ch] - 1, len(l.Notes) - 1})
			case 0x80:
				release(ch, x)
			case 0xb0:
				if x == DamperPedal && ch != Percussion {
					r.feet = append(r.feet, footed{ch, Control{at, x, y}})
				}
			case 0xc0:
				program[ch] = x
			}
		}
	}
	for k := range down { // what is never released sounds to the end
		for len(down[k]) > 0 {
			release(k[0], k[1])
		}
	}
	for i := first; i < len(r.file.Lines); i++ {
		r.file.Lines[i].Name = name
	}
	return nil
}

// meta reads a meta event.
func (r *fileReader) meta(kind byte, body []byte, at int64, track int) {
	f := &r.file
	switch {
	case kind == 0x03 && track == 1 && f.Title == "":
		f.Title = text(body)
	case kind == 0x02 && f.Copyright == "":
		f.Copyright = text(body)
	case kind == 0x06:
		f.Markers = append(f.Markers, Marker{at, text(body)})
	case kind == metaTempo && len(body) == 3:
		if us := int(body[0])<<16 | int(body[1])<<8 | int(body[2]); us > 0 {
			f.Tempos = append(f.Tempos, Tempo{at, us})
		}
	case kind == 0x58 && len(body) >= 2 && body[0] > 0 && body[0] <= 64 && body[1] <= 6:
		f.Meters = append(f.Meters, Meter{at, int(body[0]), 1 << body[1]})
	case kind == 0x59 && len(body) >= 2 && int8(body[0]) >= -7 && int8(body[0]) <= 7:
		f.Keys = append(f.Keys, Key{at, int(int8(body[0])), body[1] == 1})
	}
}

// varint reads a variable length quantity of at most four bytes; n is 0 where there is
// none.
func varint(data []byte) (v int64, n int) {
	for i := 0; i < 4 && i < len(data); i++ {
		v = v<<7 | int64(data[i]&0x7f)
		if data[i]&0x80 == 0 {
			return v, i + 1
		}
	}
	return 0, 0
}

// text reads a name: UTF-8, or else as older programs write it.
func text(b []byte) string {
	b = b[:min(len(b), maxText)]
	s := string(b)
	if !utf8.Valid(b) {
		if out, err := charmap.Windows1252.NewDecoder().Bytes(b); err == nil {
			s = string(out)
		}
	}
	return strings.TrimSpace(strings.Map(func(c rune) rune {
		if c < ' ' || c == 0x7f || c == utf8.RuneError {
			return -1
		}
		return c
	}, s))
}
