package smf

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"fmt"
	"slices"
	"unicode/utf8"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
)

// Sequence is a piece as a MIDI file holds it. All positions and lengths are in
// ticks from the start; lists may come in any order.
type Sequence struct {
	Division  int // ticks per quarter note, 1 to 32767
	Title     string
	Copyright string
	Tempos    []Tempo
	Meters    []Meter
	Keys      []Key
	Markers   []Marker
	Tracks    []Track
	End       int64 // where the piece ends; later events move it
}

// Tempo is a tempo from a moment on.
type Tempo struct {
	At               int64
	MicrosPerQuarter int // microseconds per quarter, 1 to 2²⁴−1; 500000 is 120 quarters a minute
}

// Meter is a time signature from a moment on. Unit is a power of two.
type Meter struct {
	At          int64
	Beats, Unit int
}

// Key is a key signature from a moment on: sharps positive, −7 to 7.
type Key struct {
	At     int64
	Fifths int
	Minor  bool
}

// Marker names a moment: a section or rehearsal letter.
type Marker struct {
	At   int64
	Text string
}

// Track is one hand.
type Track struct {
	Name     string
	Channel  int // 0 to 15
	Program  int // 0 to 127; 0 is the grand piano of General MIDI
	Notes    []Note
	Controls []Control
}

// Note is a key pressed and released.
type Note struct {
	At, Length int64
	Key        int // 0 to 127; 60 is middle C
	Velocity   int // 1 to 127
}

// Control sets a controller.
type Control struct {
	At     int64
	Number int // 0 to 119
	Value  int // 0 to 127
}

// DamperPedal is the controller of the sustaining pedal; values of 64 and more
// are down. Source: MIDI 1.0.
const DamperPedal = 64

// Write writes the sequence: track 0 holds title, tempo, metre, key and markers,
// then comes one track for each Track. The same sequence gives the same bytes.
//
// Of two notes of one key on one channel that overlap, the first is cut where
// the second begins, since a MIDI file cannot tell their ends apart; of two that
// begin together the longer is kept, with the greater velocity.
func Write(s Sequence) ([]byte, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	end := s.End
	tracks := make([][]event, len(s.Tracks)+1)
	tracks[0] = s.conductor()
	notes := disentangle(s.Tracks)
	for i, t := range s.Tracks {
		tracks[i+1] = t.events(notes[i])
	}
	for _, t := range tracks {
		if len(t) > 0 {
			end = max(end, t[len(t)-1].at)
		}
	}
	file := smf.NewSMF1()
	file.TimeFormat = smf.MetricTicks(s.Division)
	for _, t := range tracks {
		var out smf.Track
		at := int64(0)
		for _, e := range t {
			out.Add(uint32(e.at-at), e.message)
			at = e.at
		}
		out.Close(uint32(end - at))
		if err := file.Add(out); err != nil {
			return nil, fmt.Errorf("smf: %w", err)
		}
	}
	var b bytes.Buffer
	if _, err := file.WriteTo(&b); err != nil {
		return nil, fmt.Errorf("smf: %w", err)
	}
	return b.Bytes(), nil
}

// event is a message at a moment; rank orders those of one moment.
type event struct {
	at      int64
	rank    int
	message []byte
}

func ordered(ev []event) []event {
	slices.SortStableFunc(ev, func(a, b event) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.rank, b.rank))
	})
	return ev
}

const (
	metaTempo = 0x51 // source: Standard MIDI Files 1.0
	// A time signature says how many MIDI clocks (24 to the quarter) a
	// metronome click lasts and how many 32nd notes make a quarter.
	clocksPerQuarter = 24
	thirtySeconds    = 8
)

// conductor lists the events of track 0.
func (s Sequence) conductor() []event {
	var ev []event
	if s.Title != "" {
		ev = append(ev, event{0, 0, smf.MetaTrackSequenceName(s.Title)})
	}
	if s.Copyright != "" {
		ev = append(ev, event{0, 1, smf.MetaCopyright(s.Copyright)})
	}
	for _, m := range s.Meters {
		click := clocksPerQuarter * 4 / m.Unit
		if m.Beats%3 == 0 && (m.Beats > 3 || m.Unit >= 8) && m.Unit >= 4 {
			click *= 3
		}
		ev = append(ev, event{m.At, 2, smf.MetaTimeSig(uint8(m.Beats), uint8(m.Unit), uint8(max(click, 1)), thirtySeconds)})
	}
	for _, k := range s.Keys {
		ev = append(ev, event{k.At, 3, smf.MetaKey(0, !k.Minor, uint8(max(k.Fifths, -k.Fifths)), k.Fifths < 0)})
	}
	for _, t := range s.Tempos {
		var b [4]byte
		binary.BigEndian.PutUint32(b[:], uint32(t.MicrosPerQuarter))
		ev = append(ev, event{t.At, 4, smf.MetaUndefined(metaTempo, b[1:])})
	}
	for _, m := range s.Markers {
		ev = append(ev, event{m.At, 5, smf.MetaMarker(m.Text)})
	}
	return ordered(ev)
}

// events lists the events of a hand. At one moment keys are released before the
// pedal moves, and pressed after it.
func (t Track) events(notes []Note) []event {
	ch := uint8(t.Channel)
	ev := []event{{0, 1, midi.ProgramChange(ch, uint8(t.Program))}}
	if t.Name != "" {
		ev = append(ev, event{0, 0, smf.MetaTrackSequenceName(t.Name)})
	}
	for _, n := range notes {
		ev = append(ev, event{n.At + n.Length, 2, midi.NoteOff(ch, uint8(n.Key))},
			event{n.At, 4, midi.NoteOn(ch, uint8(n.Key), uint8(n.Velocity))})
	}
	for _, c := range t.Controls {
		ev = append(ev, event{c.At, 3, midi.ControlChange(ch, uint8(c.Number), uint8(c.Value))})
	}
	return ordered(ev)
}

// disentangle returns the notes of each track, in order, without two of one key
// and channel sounding at once.
func disentangle(tracks []Track) [][]Note {
	type ref struct{ track, index int }
	out := make([][]Note, len(tracks))
	var all []ref
	for i, t := range tracks {
		out[i] = slices.Clone(t.Notes)
		slices.SortStableFunc(out[i], func(a, b Note) int {
			return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Key, b.Key), cmp.Compare(b.Length, a.Length),
				cmp.Compare(b.Velocity, a.Velocity))
		})
		for j := range out[i] {
			all = append(all, ref{i, j})
		}
	}
	slices.SortStableFunc(all, func(a, b ref) int {
		x, y := out[a.track][a.index], out[b.track][b.index]
		return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.Key, y.Key), cmp.Compare(y.Length, x.Length))
	})
	type key struct{ channel, key int }
	last := map[key]*Note{}
	for _, r := range all {
		n := &out[r.track][r.index]
		k := key{tracks[r.track].Channel, n.Key}
		p := last[k]
		switch {
		case p == nil || p.At+p.Length <= n.At:
		case p.At == n.At:
			p.Velocity = max(p.Velocity, n.Velocity)
			n.Length = 0 // the longer one came first
			continue
		default:
			p.Length = n.At - p.At
		}
		last[k] = n
	}
	for i := range out {
		out[i] = slices.DeleteFunc(out[i], func(n Note) bool { return n.Length == 0 })
	}
	return out
}

// longest is the longest delta time and, so that deltas always fit, the last
// position that a file can have here. Source: Standard MIDI Files 1.0, variable
// length quantity of four bytes.
const longest = 1<<28 - 1

func (s Sequence) check() error {
	var err error
	bad := func(format string, args ...any) {
		if err == nil {
			err = fmt.Errorf("smf: "+format, args...)
		}
	}
	at := func(t int64, what string) {
		if t < 0 || t > longest {
			bad("%s at tick %d: positions go from 0 to %d", what, t, longest)
		}
	}
	text := func(t, what string) {
		if !utf8.ValidString(t) || len(t) > 1<<16 {
			bad("the %s is no text", what)
		}
	}
	if s.Division < 1 || s.Division > 1<<15-1 {
		bad("division %d: 1 to 32767 ticks per quarter are possible", s.Division)
	}
	if len(s.Tracks) > 1<<15 {
		bad("%d tracks", len(s.Tracks))
	}
	at(s.End, "the end")
	text(s.Title, "title")
	text(s.Copyright, "copyright")
	for _, t := range s.Tempos {
		at(t.At, "a tempo")
		if t.MicrosPerQuarter < 1 || t.MicrosPerQuarter > 1<<24-1 {
			bad("a tempo of %d microseconds per quarter", t.MicrosPerQuarter)
		}
	}
	for _, m := range s.Meters {
		at(m.At, "a metre")
		if m.Beats < 1 || m.Beats > 255 || m.Unit < 1 || m.Unit > 64 || m.Unit&(m.Unit-1) != 0 {
			bad("a metre of %d/%d", m.Beats, m.Unit)
		}
	}
	for _, k := range s.Keys {
		at(k.At, "a key")
		if k.Fifths < -7 || k.Fifths > 7 {
			bad("a key signature of %d fifths", k.Fifths)
		}
	}
	for _, m := range s.Markers {
		at(m.At, "a marker")
		text(m.Text, "marker")
	}
	for _, t := range s.Tracks {
		text(t.Name, "name of a track")
		if t.Channel < 0 || t.Channel > 15 || t.Program < 0 || t.Program > 127 {
			bad("channel %d, program %d", t.Channel, t.Program)
		}
		for _, n := range t.Notes {
			at(n.At, "a note")
			at(n.At+n.Length, "the end of a note")
			if n.Length < 1 || n.Key < 0 || n.Key > 127 || n.Velocity < 1 || n.Velocity > 127 {
				bad("a note of length %d, key %d, velocity %d", n.Length, n.Key, n.Velocity)
			}
		}
		for _, c := range t.Controls {
			at(c.At, "a controller")
			if c.Number < 0 || c.Number > 119 || c.Value < 0 || c.Value > 127 {
				bad("controller %d with value %d", c.Number, c.Value)
			}
		}
	}
	return err
}
