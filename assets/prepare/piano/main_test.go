package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/assets"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sound/bank"
)

// node returns the folder of the npm packages.
func node(t testing.TB) string {
	t.Helper()
	dir := filepath.Join(sharedtest.Root(), "node_modules")
	if _, err := os.Stat(filepath.Join(dir, "@audio-samples")); err != nil {
		sharedtest.Absent(t, "run npm ci --ignore-scripts: "+err.Error())
	}
	return dir
}

// The bank that is embedded was built by another run: building it again gives
// the same bytes.
func TestBuildIsReproducible(t *testing.T) {
	if testing.Short() {
		t.Skip("reads 208 recordings")
	}
	dir := node(t)
	r, err := assets.Piano()
	if err != nil {
		sharedtest.Absent(t, err.Error())
	}
	embedded, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := build(&b, dir, io.Discard); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(b.Bytes(), embedded) {
		t.Fatalf("%d bytes, embedded are %d others: run go generate ./assets", b.Len(), len(embedded))
	}
	bk, err := bank.Open(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	if len(bk.Notes) != 4*30 || len(bk.Releases) != 88 {
		t.Errorf("%d notes, %d releases", len(bk.Notes), len(bk.Releases))
	}
	if !strings.Contains(bk.Credit, "Alexander Holm") || !strings.Contains(bk.Credit, "CC BY 3.0") {
		t.Errorf("credit %q", bk.Credit)
	}
	// Layers struck harder are louder and brighter on every recorded key, but
	// for what a hammer may vary.
	for i, s := range bk.Notes[:90] {
		u := bk.Notes[i+30]
		if u.Key != s.Key || u.Level < s.Level-100 {
			t.Errorf("key %d: layer %d has %d, layer %d has %d hundredths of a dB", s.Key, s.Layer, s.Level, u.Layer, u.Level)
		}
	}
	// C2 to C5 are in tune within the stretch of a piano.
	for _, s := range bk.Notes {
		if s.Key >= 36 && s.Key <= 72 && (s.Cents < -1000 || s.Cents > 1000) {
			t.Errorf("layer %d, key %d: %.1f cents", s.Layer, s.Key, float64(s.Cents)/100)
		}
		if s.Onset < 100 || s.Onset > 2400 {
			t.Errorf("layer %d, key %d: struck after %d frames", s.Layer, s.Key, s.Onset)
		}
	}
}

// What the bank's decoder makes of a recording is what ffmpeg makes of the file
// in the npm package.
func TestRecordingsDecodeAsByFFmpeg(t *testing.T) {
	dir := node(t)
	ffmpeg := sharedtest.Tool(t, "ffmpeg")
	r, err := assets.Piano()
	if err != nil {
		sharedtest.Absent(t, err.Error())
	}
	bk, err := bank.Open(r)
	if err != nil {
		t.Fatal(err)
	}
	d, err := bk.NewDecoder()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		file string
		s    bank.Sample
	}{
		{"piano-velocity8/audio/A4v8.ogg", find(t, bk.Notes, 8, 69)},
		{"piano-velocity15/audio/C2v15.ogg", find(t, bk.Notes, 15, 36)},
		{"piano-velocity4/audio/C8v4.ogg", find(t, bk.Notes, 4, 108)}, // shorter than the cut
		{"piano-release/audio/rel40.ogg", find(t, bk.Releases, 0, 60)},
	} {
		out, err := exec.Command(ffmpeg, "-v", "error", "-i", filepath.Join(dir, "@audio-samples", tt.file), "-f", "f32le", "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		got := make([]float32, 2*tt.s.Frames)
		if err := d.Read(got, tt.s, 0); err != nil {
			t.Fatal(err)
		}
		if len(out)/8 < tt.s.Frames {
			t.Errorf("%s: %d frames, ffmpeg has %d", tt.file, tt.s.Frames, len(out)/8)
			continue
		}
		worst := 0.0
		for i, x := range got {
			y := math.Float32frombits(binary.LittleEndian.Uint32(out[4*i:]))
			worst = max(worst, math.Abs(float64(x-y)))
		}
		if worst > 1e-4 {
			t.Errorf("%s: differs from ffmpeg by %g", tt.file, worst)
		}
	}
}

func find(t testing.TB, list []bank.Sample, layer, key int) bank.Sample {
	t.Helper()
	for _, s := range list {
		if s.Layer == layer && s.Key == key {
			return s
		}
	}
	t.Fatalf("no sample of layer %d, key %d", layer, key)
	return bank.Sample{}
}

func TestBadInput(t *testing.T) {
	if err := run(t.TempDir(), filepath.Join(t.TempDir(), "x"), io.Discard); err == nil || !strings.Contains(err.Error(), "npm ci") {
		t.Errorf("without packages: %v", err)
	}
	for name, stream := range map[string][]byte{
		"nothing":      nil,
		"no Ogg":       []byte("RIFF............WAVEfmt .................."),
		"half a page":  append([]byte("OggS"), make([]byte, 22)...),
		"a cut packet": append(append([]byte("OggS"), make([]byte, 22)...), 1, 200, 0),
	} {
		if _, err := read(stream, 1000); err == nil {
			t.Errorf("%s is taken for a recording", name)
		}
	}
	// A failed run leaves the former file.
	dir := t.TempDir()
	out := filepath.Join(dir, "piano.bank")
	if err := os.WriteFile(out, []byte("former"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := run(t.TempDir(), out, io.Discard); !errors.Is(err, os.ErrNotExist) {
		t.Error(err)
	}
	left, _ := os.ReadDir(dir)
	if b, _ := os.ReadFile(out); string(b) != "former" || len(left) != 1 {
		t.Errorf("a failed run leaves %d files and %q", len(left), b)
	}
}
