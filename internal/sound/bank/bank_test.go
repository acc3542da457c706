package bank_test

import (
	"bytes"
	"encoding/binary"
	"os"
	"slices"
	"strings"
	"testing"

	"gradatim/assets"
	"gradatim/internal/sound/bank"
)

func open(t testing.TB) *bank.Bank {
	t.Helper()
	f, err := assets.Piano()
	if err != nil && os.Getenv("CI") == "true" {
		t.Fatal(err)
	} else if err != nil {
		t.Skip(err)
	}
	b, err := bank.Open(f)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Reading a sample in pieces, from anywhere and beyond its end, gives the same
// frames as reading it at once.
func TestReadInPieces(t *testing.T) {
	b := open(t)
	d, err := b.NewDecoder()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []bank.Sample{b.Notes[0], b.Notes[75], b.Releases[40]} {
		whole := make([]float32, 2*(s.Frames+5000))
		if err := d.Read(whole, s, 0); err != nil {
			t.Fatal(err)
		}
		if slices.Max(whole) == 0 {
			t.Error("nothing decoded")
		}
		for _, x := range whole[2*s.Frames:] {
			if x != 0 {
				t.Fatal("sound beyond the end")
			}
		}
		for _, from := range []int{0, 1, 1000, 1024, 7777, s.Frames - 100, s.Frames, s.Frames + 10} {
			for _, n := range []int{1, 500, 4096} {
				part := make([]float32, 2*n)
				for i := range part {
					part[i] = 9 // must be overwritten
				}
				if err := d.Read(part, s, from); err != nil {
					t.Fatal(err)
				}
				if !slices.Equal(part, whole[2*from:2*(from+n)]) {
					t.Errorf("key %d: %d frames from %d differ from the whole", s.Key, n, from)
				}
			}
		}
	}
}

func TestBrokenFiles(t *testing.T) {
	index := func(js string) []byte {
		return append(binary.LittleEndian.AppendUint32([]byte("GRDPIAN2"), uint32(len(js))), js...)
	}
	for name, tt := range map[string]struct {
		file []byte
		want string
	}{
		"empty":          {nil, "EOF"},
		"something else": {bytes.Repeat([]byte("RIFF"), 10), "not an instrument"},
		"cut":            {index(`{"rate":48000}`)[:20], "EOF"},
		"no json":        {index("{{{{"), "index"},
		"no layers":      {index(`{"rate":48000}`), "no layers"},
		"empty layer":    {index(`{"rate":48000,"layers":[{"number":4,"velocity":40}]}`), "has no notes"},
		"off the keyboard": {index(`{"rate":48000,"layers":[{"number":4,"velocity":40}],
			"notes":[{"layer":4,"key":400,"packets":1,"frames":1}]}`), "out of bounds"},
	} {
		if _, err := bank.Open(bytes.NewReader(tt.file)); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %q", name, err, tt.want)
		}
	}
	whole := open(t)
	short := *whole
	short.Setup = short.Setup[:100]
	if _, err := short.NewDecoder(); err == nil {
		t.Error("half a setup header is accepted")
	}
	d, err := whole.NewDecoder()
	if err != nil {
		t.Fatal(err)
	}
	s := whole.Notes[0]
	s.Offset += 33 // in the middle of the table: nonsense from here on
	if err := d.Read(make([]float32, 20000), s, 3000); err == nil {
		t.Error("nonsense is decoded")
	}
	if err := d.Read(make([]float32, 2000), whole.Notes[0], 0); err != nil {
		t.Errorf("after nonsense: %v", err)
	}
}

func FuzzOpen(f *testing.F) {
	var b bytes.Buffer
	ix := bank.Index{Rate: 48000, Layers: []bank.Layer{{Number: 1, Velocity: 60}}, Notes: []bank.Sample{{Layer: 1, Key: 60, Packets: 1, Frames: 1}}}
	samples, err := bank.AppendSample(nil, []bank.Packet{{Data: []byte{0}, Frames: 0}})
	if err != nil {
		f.Fatal(err)
	}
	if err := bank.Write(&b, ix, samples); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte("GRDPIAN2\x02\x00\x00\x00{}"))
	f.Fuzz(func(t *testing.T, file []byte) {
		bk, err := bank.Open(bytes.NewReader(file))
		if err != nil {
			return
		}
		// What is accepted has a rate and, for every layer, a note on the piano.
		for _, l := range bk.Layers {
			if !slices.ContainsFunc(bk.Notes, func(s bank.Sample) bool { return s.Layer == l.Number && s.Key <= 127 }) {
				t.Errorf("layer %d has no notes", l.Number)
			}
		}
		var again bytes.Buffer
		if err := bank.Write(&again, bk.Index, nil); err != nil {
			t.Fatal(err)
		}
		if _, err := bank.Open(bytes.NewReader(again.Bytes())); err != nil {
			t.Errorf("written again: %v", err)
		}
	})
}

func TestPacketsThatDoNotFit(t *testing.T) {
	if _, err := bank.AppendSample(nil, []bank.Packet{{Data: make([]byte, 1<<16)}}); err == nil {
		t.Error("a packet of 64 KiB is accepted")
	}
}
