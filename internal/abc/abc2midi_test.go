package abc

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// midiNote is a note as abc2midi plays it.
type midiNote struct {
	at, dur theory.Dur
	key     int
}

// fromABC2MIDI plays a tune with abc2midi (Debian package abcmidi) and reads the
// notes back through midicsv (Debian package midicsv). Chord symbols, grace notes
// and fermatas are switched off: the comparison is about the melody.
func fromABC2MIDI(t *testing.T, text string, tune int) []midiNote {
	t.Helper()
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.abc"), filepath.Join(dir, "out.mid")
	if err := os.WriteFile(in, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	args := []string{in}
	if tune > 0 {
		args = append(args, strconv.Itoa(tune))
	}
	args = append(args, "-o", out, "-NGUI", "-NGRA", "-NFER", "-silent")
	if log, err := exec.Command(sharedtest.Tool(t, "abc2midi"), args...).CombinedOutput(); err != nil {
		t.Logf("abc2midi: %v\n%s", err, log) // it returns errors for warnings too
	}
	csv, err := exec.Command(sharedtest.Tool(t, "midicsv"), out).Output()
	if err != nil {
		t.Fatal(err)
	}
	return notesOf(t, csv)
}

// notesOf reads the notes of channel 0. abc2midi starts each note one tick late,
// to part repeated notes.
func notesOf(t *testing.T, csv []byte) []midiNote {
	t.Helper()
	var notes []midiNote
	sounding := map[int]int{}
	division := 0
	sc := bufio.NewScanner(bytes.NewReader(csv))
	sc.Buffer(nil, 1<<20)
	for sc.Scan() {
		f := strings.Split(sc.Text(), ", ")
		number := func(i int) int {
			n, err := strconv.Atoi(f[i])
			if err != nil {
				t.Fatalf("midicsv: %q: %v", sc.Text(), err)
			}
			return n
		}
		switch {
		case f[2] == "Header":
			division = number(5)
		case (f[2] == "Note_on_c" || f[2] == "Note_off_c") && f[3] == "0":
			tick, key, loud := number(1), number(4), number(5)
			if f[2] == "Note_on_c" && loud > 0 {
				if _, twice := sounding[key]; twice {
					t.Fatalf("midicsv: key %d struck while it sounds", key)
				}
				sounding[key] = len(notes)
				notes = append(notes, midiNote{at: theory.Dur(tick - 1), key: key})
				continue
			}
			i := sounding[key]
			delete(sounding, key)
			notes[i].dur = theory.Dur(tick) - notes[i].at
		}
	}
	for i := range notes {
		for _, d := range []*theory.Dur{&notes[i].at, &notes[i].dur} {
			*d = *d * theory.Quarter / theory.Dur(division)
		}
	}
	return notes
}

// differences says where the two readings part, at most three times.
func differences(song leadsheet.Song, notes []midiNote) []string {
	var out []string
	for i := range max(len(song.Melody), len(notes)) {
		switch {
		case i >= len(song.Melody):
			out = append(out, fmt.Sprintf("note %d: abc2midi plays key %d at %s, we nothing", i, notes[i].key, notes[i].at))
		case i >= len(notes):
			out = append(out, fmt.Sprintf("note %d: we play %s at %s, abc2midi nothing", i, song.Melody[i].Pitch, song.Melody[i].At))
		default:
			a, b := song.Melody[i], notes[i]
			if a.Pitch.MIDI() == b.key && a.At == b.at && a.Dur == b.dur {
				continue
			}
			out = append(out, fmt.Sprintf("note %d (%s): we play %s at %s for %s, abc2midi key %d at %s for %s",
				i, a.Pos, a.Pitch, a.At, a.Dur, b.key, b.at, b.dur))
		}
		if len(out) == 3 {
			break
		}
	}
	return out
}

// exceptions are the sheets for which abc2midi is given a text with one place
// changed, because it reads that place otherwise; each says why.
var exceptions = map[string]struct{ old, new, why string }{
	"hpps_026_kafoozalum.abc":          {"R:Hornpipe\n", "", hornpipe},
	"hpps_029_king_of_the_fairies.abc": {"R:Hornpipe\n", "", hornpipe},
	"hpps_061_thames_hornpipe.abc":     {"R:Hornpipe\n", "", hornpipe},
	"tw_off_to_california.abc":         {"R:Hornpipe\n", "", hornpipe},
	"reelsdg_058_grand_old_duke_of_york.abc": {"\\\nP:D.S.\n", "",
		"it takes the words D.S. in a P: field for a part named D, and drops the last note of B with it"},
	"reelshl_035_jenny_lind.abc": {"P:C\n", "P:C\n|:",
		"it lets a repeat without an opening sign reach back over the label of the part"},
	"reelsrt_067_swedish_masquerade.abc": {"|2\"G\"G3:|", "|2\"G\"G3|]",
		"a second ending closed by a repeat sign makes it play the section a third time, without any ending"},
}

const hornpipe = "it swings a tune that calls itself a hornpipe; we keep the written lengths"

// TestAgainstABC2MIDI compares onset, length and pitch of every melody note, in
// playing order, over all ABC sheets of the shared corpora. Orders of parts are
// taken literally here, which is how abc2midi takes them.
func TestAgainstABC2MIDI(t *testing.T) {
	dir := sharedtest.Path(t, "data/leadsheets")
	sharedtest.Tool(t, "abc2midi")
	sharedtest.Tool(t, "midicsv")
	files, err := filepath.Glob(filepath.Join(dir, "*", "*.abc"))
	if err != nil || len(files) == 0 {
		t.Fatal("no sheets", err)
	}
	files = append(files, sharedtest.Path(t, "tunes/original.abc"), sharedtest.Path(t, "tunes/traditional.abc"))
	used := map[string]bool{}
	sheets, total := 0, 0
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		base := filepath.Base(file)
		tunes := Tunes(data)
		for _, h := range tunes {
			opt := Options{File: base}
			if len(tunes) > 1 {
				opt.Tune = h.Number
			}
			song, err := read(data, opt, true)
			if err != nil {
				t.Errorf("%s: %v", base, err)
				continue
			}
			text := string(data)
			if e, ok := exceptions[base]; ok {
				used[base] = true
				if strings.Count(text, e.old) != 1 {
					t.Errorf("%s: the place %q of its exception is not there once", base, e.old)
				}
				text = strings.Replace(text, e.old, e.new, 1)
			}
			notes := fromABC2MIDI(t, text, opt.Tune)
			for _, d := range differences(song, notes) {
				t.Errorf("%s %s: %s", base, h.Title, d)
			}
			sheets++
			total += len(notes)
		}
	}
	for name := range exceptions {
		if !used[name] {
			t.Errorf("the exception %s is for no sheet", name)
		}
	}
	t.Logf("%d tunes, %d notes alike, %d exceptions", sheets, total, len(exceptions))
}

// notAlike are the small tunes that abc2midi reads otherwise on purpose, or
// plays so that the written notes cannot be read back.
var notAlike = map[string]string{
	"notes struck together":       "it plays all notes; a lead sheet keeps the highest",
	"tie on a struck group":       "the same",
	"slurs and ornaments":         "it plays the ornaments out",
	"lengths that cannot be held": "it rounds to its own ticks",
	"octave of the key field":     "it does not follow octave= after the header",
	"K:g":                         "it knows no small tonic; we are generous",
	"K:E♭":                        "it knows no ♭; we are generous",
	"K:D^g":                       "it wants a space before the accidental; we are generous",
	"K:treble-8":                  "it wants a key before the clef",
}

// TestSmallTunesAgainstABC2MIDI compares the tunes of TestMelody, and a scale in
// every key of TestParseKey.
func TestSmallTunesAgainstABC2MIDI(t *testing.T) {
	sharedtest.Tool(t, "abc2midi")
	sharedtest.Tool(t, "midicsv")
	compare := func(t *testing.T, in string) {
		t.Helper()
		s, err := read([]byte(in), Options{}, true)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range differences(s, fromABC2MIDI(t, in, 0)) {
			t.Errorf("%s\n%s", in, d)
		}
	}
	names := map[string]bool{}
	for _, tt := range melodies {
		names[tt.name] = true
		if notAlike[tt.name] == "" {
			t.Run(tt.name, func(t *testing.T) { compare(t, plainHead+tt.music+"\n") })
		}
	}
	for _, tt := range keyFields {
		name := "K:" + tt.in
		names[name] = true
		if tt.ok && tt.in != "" && notAlike[name] == "" {
			t.Run(name, func(t *testing.T) { compare(t, "X:1\nM:7/4\nL:1/4\nK:"+tt.in+"\nCDEFGAB|c|\n") })
		}
	}
	for name := range notAlike {
		if !names[name] {
			t.Errorf("the exception %q is for no tune", name)
		}
	}
}
