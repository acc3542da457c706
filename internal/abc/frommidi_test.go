package abc_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/dictation"
	"gradatim/internal/reduction"
	"gradatim/internal/sharedtest"
	"gradatim/internal/smf"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// abcTunes lists the ABC sheets of the shared corpus and of the shared tunes, with the
// numbers of their tunes (licences in their README).
func abcTunes(t *testing.T) (out []abcTune) {
	t.Helper()
	files, _ := filepath.Glob(sharedtest.Path(t, "data/leadsheets") + "/*/*.abc")
	more, _ := filepath.Glob(sharedtest.Path(t, "tunes") + "/*.abc")
	for _, f := range append(files, more...) {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range abc.Tunes(data) {
			out = append(out, abcTune{f, data, h.Number})
		}
	}
	return out
}

type abcTune struct {
	file   string
	data   []byte
	number int
}

// toMIDI plays a tune with abc2midi (Debian package abcmidi). Grace notes and fermatas
// are switched off, as it plays them in the time of their notes.
func toMIDI(t *testing.T, tune abcTune) []byte {
	t.Helper()
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.abc"), filepath.Join(dir, "out.mid")
	if err := os.WriteFile(in, []byte(abc.Mended(filepath.Base(tune.file), string(tune.data))), 0o600); err != nil {
		t.Fatal(err)
	}
	args := []string{in}
	if tune.number > 0 {
		args = append(args, fmt.Sprint(tune.number))
	}
	log, err := exec.Command(sharedtest.Tool(t, "abc2midi"), append(args, "-o", out, "-NGRA", "-NFER", "-silent")...).CombinedOutput()
	data, fail := os.ReadFile(out)
	if fail != nil {
		t.Fatalf("abc2midi: %v\n%s", err, log)
	}
	return data
}

// heard counts what came back of a tune.
type heard struct{ notes, keys, onsets, values int }

func (h *heard) add(o heard) {
	h.notes += o.notes
	h.keys += o.keys
	h.onsets += o.onsets
	h.values += o.values
}

func (h heard) String() string {
	p := func(n int) float64 { return 100 * float64(n) / float64(max(h.notes, 1)) }
	return fmt.Sprintf("%d notes: key and onset %.2f %%, value too %.2f %%", h.notes, p(h.onsets), p(h.values))
}

// compare holds melodies against each other, from the first note of each.
func compare(want, got []leadsheet.Note) heard {
	type place struct {
		at  theory.Dur
		key int
	}
	at := map[place]theory.Dur{}
	for _, n := range got {
		at[place{n.At - got[0].At, n.Pitch.MIDI()}] = n.Dur
	}
	h := heard{notes: len(want)}
	for _, n := range want {
		if d, ok := at[place{n.At - want[0].At, n.Pitch.MIDI()}]; ok {
			h.onsets++
			if d == n.Dur {
				h.values++
			}
		}
	}
	return h
}

// TestFromABC: tunes that abc2midi has played come back as they were written; of all 110,
// 99.9 % of the notes with their onsets and values.
func TestFromABC(t *testing.T) {
	var all heard
	tunes := 0
	for _, tune := range abcTunes(t) {
		name := fmt.Sprint(filepath.Base(tune.file), " ", tune.number)
		if !sharedtest.Takes(name, 20, 6) {
			continue
		}
		want, err := abc.ReadLiteral(tune.data, abc.Options{Tune: tune.number})
		if err != nil {
			t.Fatal(err)
		}
		file, err := smf.Read(toMIDI(t, tune), "out.mid")
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		page, _, err := dictation.Of(file, dictation.Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		got, err := reduction.Of(page, "out.mid")
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		h := compare(want.Melody, got.Melody)
		if float64(h.values) < 0.9*float64(h.notes) {
			t.Logf("%s: %s", name, h)
		}
		all.add(h)
		tunes++
	}
	t.Logf("%d tunes, %s", tunes, all)
	if 100*all.values < 99*all.notes {
		t.Errorf("%s", all)
	}
}
