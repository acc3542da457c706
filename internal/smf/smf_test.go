package smf

import (
	"bytes"
	"encoding/binary"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gitlab.com/gomidi/midi/v2/smf"

	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
)

var update = flag.Bool("update", false, "write the golden files anew")

const song = `title Small Lantern
rights Written for this project
meter 4/4
key Dm
pickup 1/4
meter 6/8 @ 3
key F @ 3
section A @ 1
section B @ 3
tempo 90
sign 0 R dynamic p
sign 1/4 L pedal down
sign 5/4 L pedal up
R1 A4:1/8 C#5:1/8 D5:1/12 E5:1/6*ghost F5:0*grace E5:1/2*v20 D5:1/4 D5:1/1 F5:3/8 E5:3/8
L1 r:1/4 <D3+F3>:1/1 <D3+F3>:1/1 F3:3/8 <F3+F3>:3/8
`

// The golden file is the text that Debian's midicsv, an independent reader of
// MIDI files, makes of ours; so the test checks the bytes against it where it is
// installed, and against gomidi's own reader everywhere.
func TestGolden(t *testing.T) {
	data, err := Write(Plain(scoretest.MustParse(song)))
	if err != nil {
		t.Fatal(err)
	}
	got := midicsv(t, data)
	golden := filepath.Join("testdata", "song.csv")
	if *update {
		if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func midicsv(t *testing.T, data []byte) string {
	t.Helper()
	tool := sharedtest.Tool(t, "midicsv")
	file := filepath.Join(t.TempDir(), "x.mid")
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	var complaints bytes.Buffer
	cmd := exec.Command(tool, file)
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	if err != nil || complaints.Len() > 0 {
		t.Fatalf("midicsv: %v %s", err, complaints.String())
	}
	return string(out)
}

// Facts of the MIDI standards (MIDI 1.0, Standard MIDI Files 1.0; values from
// memory, as the table of facts says): middle C is key 60 and A4 key 69, the
// damper is controller 64, 120 quarters a minute are FF 51 03 07 A1 20 (500000
// microseconds), the header holds format, tracks and division in 6 bytes.
func TestStandardFacts(t *testing.T) {
	s := scoretest.MustParse("tempo 120\nR1 C4:1/4 A4:1/4\nsign 0 L pedal down\nsign 1/4 L pedal up\n")
	data, err := Write(Plain(s))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(data, []byte("MThd\x00\x00\x00\x06\x00\x01\x00\x03")) {
		t.Errorf("header % x: want type 1 and three tracks", data[:14])
	}
	if d := binary.BigEndian.Uint16(data[12:]); d != 5040 {
		t.Errorf("division %d, want 5040: a tick is 1/20160 of a whole note", d)
	}
	for _, want := range []struct{ bytes, what string }{
		{"\xff\x51\x03\x07\xa1\x20", "tempo 500000"},
		{"\xff\x58\x04\x04\x02\x18\x08", "4/4, a click of 24 clocks, 8 thirty-seconds to the quarter"},
		{"\xff\x59\x02\x00\x00", "no sharps, major"},
		{"\x90\x3c\x50", "note on, middle C, key 60"},
		{"\xb0\x40\x7f", "damper down"},
		{"\xff\x2f\x00", "end of track"},
	} {
		if !bytes.Contains(data, []byte(want.bytes)) {
			t.Errorf("no % x (%s) in % x", want.bytes, want.what, data)
		}
	}
	if !strings.Contains(midicsv(t, data), "1, 0, Tempo, 500000") {
		t.Error("midicsv does not read the tempo")
	}
}

// The key signature: sharps counted up, flats down, minor marked (Standard MIDI Files 1.0,
// FF 59 02 sf mi).
func TestKeySignatures(t *testing.T) {
	for text, want := range map[string]string{"key D": "\xff\x59\x02\x02\x00", "key Bm": "\xff\x59\x02\x02\x01", "key Eb": "\xff\x59\x02\xfd\x00", "key Cm": "\xff\x59\x02\xfd\x01", "key C": "\xff\x59\x02\x00\x00"} {
		data, err := Write(Plain(scoretest.MustParse(text + "\nR1 C4:1\n")))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Contains(data, []byte(want)) {
			t.Errorf("%s: no % x in % x", text, want, data)
		}
	}
}

func TestDisentangle(t *testing.T) {
	tests := []struct {
		name        string
		notes, want []Note
	}{
		{"apart", []Note{{0, 10, 60, 64}, {10, 5, 60, 64}}, []Note{{0, 10, 60, 64}, {10, 5, 60, 64}}},
		{"overlap", []Note{{0, 20, 60, 64}, {10, 5, 60, 70}}, []Note{{0, 10, 60, 64}, {10, 5, 60, 70}}},
		{"together", []Note{{0, 5, 60, 90}, {0, 20, 60, 64}}, []Note{{0, 20, 60, 90}}},
		{"other keys", []Note{{0, 20, 60, 64}, {10, 5, 61, 70}}, []Note{{0, 20, 60, 64}, {10, 5, 61, 70}}},
		{"three", []Note{{0, 30, 60, 1}, {10, 30, 60, 2}, {20, 30, 60, 3}}, []Note{{0, 10, 60, 1}, {10, 10, 60, 2}, {20, 30, 60, 3}}},
	}
	for _, tt := range tests {
		if got := disentangle([]Track{{Notes: tt.notes}})[0]; fmt.Sprint(got) != fmt.Sprint(tt.want) {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}

func TestBad(t *testing.T) {
	ok := func() Sequence {
		return Sequence{Division: 480, Tracks: []Track{{Notes: []Note{{0, 1, 60, 64}}}}}
	}
	if _, err := Write(ok()); err != nil {
		t.Fatal(err)
	}
	tests := map[string]func(s *Sequence){
		"division":  func(s *Sequence) { s.Division = 32768 },
		"zero":      func(s *Sequence) { s.Division = 0 },
		"velocity":  func(s *Sequence) { s.Tracks[0].Notes[0].Velocity = 0 },
		"key":       func(s *Sequence) { s.Tracks[0].Notes[0].Key = 128 },
		"length":    func(s *Sequence) { s.Tracks[0].Notes[0].Length = 0 },
		"before":    func(s *Sequence) { s.Tracks[0].Notes[0].At = -1 },
		"too late":  func(s *Sequence) { s.End = 1 << 28 },
		"channel":   func(s *Sequence) { s.Tracks[0].Channel = 16 },
		"tempo":     func(s *Sequence) { s.Tempos = []Tempo{{0, 1 << 24}} },
		"metre":     func(s *Sequence) { s.Meters = []Meter{{0, 4, 3}} },
		"signature": func(s *Sequence) { s.Keys = []Key{{0, 8, false}} },
		"text":      func(s *Sequence) { s.Title = "\xff" },
		"control":   func(s *Sequence) { s.Tracks[0].Controls = []Control{{0, 64, 200}} },
	}
	for name, spoil := range tests {
		s := ok()
		spoil(&s)
		if _, err := Write(s); err == nil {
			t.Errorf("%s: written without an error", name)
		}
	}
}

// TestRandom reads random scores back with gomidi's reader: every note sounds
// where the score has it, both hands apart, and the file is the same each time.
func TestRandom(t *testing.T) {
	for seed := range uint64(100) {
		s := scoretest.Random(rand.New(rand.NewPCG(seed, 1)))
		q := Plain(s)
		data, err := Write(q)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		again, _ := Write(Plain(s))
		if !bytes.Equal(data, again) {
			t.Fatalf("seed %d: not the same bytes twice", seed)
		}
		file, err := smf.ReadFrom(bytes.NewReader(data))
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		want := disentangle(q.Tracks)
		for i := range q.Tracks {
			got, end := sounding(t, file.Tracks[i+1])
			for _, n := range want[i] {
				if got[n] == 0 {
					t.Errorf("seed %d track %d: %v is missing", seed, i, n)
				}
				got[n]--
			}
			for n, left := range got {
				if left != 0 {
					t.Errorf("seed %d track %d: %v too many", seed, i, n)
				}
			}
			if end < q.End {
				t.Errorf("seed %d: track ends at %d, the piece at %d", seed, end, q.End)
			}
		}
	}
}

func sounding(t *testing.T, tr smf.Track) (map[Note]int, int64) {
	t.Helper()
	notes := map[Note]int{}
	type start struct {
		at       int64
		velocity uint8
	}
	on := map[uint8]start{}
	at := int64(0)
	for _, e := range tr {
		at += int64(e.Delta)
		var ch, key, vel uint8
		switch {
		case e.Message.GetNoteStart(&ch, &key, &vel):
			if _, ok := on[key]; ok {
				t.Errorf("key %d pressed twice at %d", key, at)
			}
			on[key] = start{at, vel}
		case e.Message.GetNoteEnd(&ch, &key):
			s, ok := on[key]
			if !ok {
				t.Errorf("key %d released but not pressed at %d", key, at)
			}
			delete(on, key)
			notes[Note{s.at, at - s.at, int(key), int(s.velocity)}]++
		}
	}
	if len(on) > 0 {
		t.Errorf("keys left down: %v", on)
	}
	return notes, at
}

func FuzzWrite(f *testing.F) {
	f.Add(480, int64(0), int64(10), 60, 64, int64(5), int64(3), "x")
	f.Add(5040, int64(1<<27), int64(1<<26), 127, 127, int64(0), int64(1), "♭")
	f.Fuzz(func(t *testing.T, division int, at, length int64, key, vel int, at2, length2 int64, title string) {
		q := Sequence{Division: division, Title: title, Tracks: []Track{{Notes: []Note{{at, length, key, vel}, {at2, length2, key, vel}}}}}
		data, err := Write(q)
		if err != nil {
			return
		}
		file, err := smf.ReadFrom(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		want := disentangle(q.Tracks)[0]
		got, _ := sounding(t, file.Tracks[1])
		for _, n := range want {
			if got[n] != 1 {
				t.Errorf("%v sounds %d times", n, got[n])
			}
		}
	})
}

func ExampleWrite() {
	data, err := Write(Sequence{
		Division: 480,
		Tempos:   []Tempo{{0, 500_000}},
		Tracks:   []Track{{Name: "Right hand", Notes: []Note{{At: 0, Length: 480, Key: 60, Velocity: 80}}}},
	})
	fmt.Println(len(data) > 0, err)
	// Output: true <nil>
}

func BenchmarkWrite(b *testing.B) {
	for _, bars := range []int{32, 128, 512} {
		s := scoretest.Steady(bars)
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Write(Plain(s)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
