package edition_test

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"gradatim"
	"gradatim/internal/account"
	"gradatim/internal/audit"
	"gradatim/internal/edition"
	"gradatim/internal/ladder"
	"gradatim/internal/musicxml"
	"gradatim/internal/sharedtest"
	"gradatim/internal/smf"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// FuzzLadder takes any bytes the whole way from a sheet to pages. What is refused
// is refused with a placed error; what is arranged keeps every note of the tune,
// in order, passes the audit and can be written.
func FuzzLadder(f *testing.F) {
	examples, err := filepath.Glob(filepath.Join(sharedtest.Root(), "examples", "*.abc"))
	if err != nil || len(examples) == 0 {
		f.Fatal("no examples", err)
	}
	for _, name := range examples {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		for level := range uint8(5) {
			f.Add(data, level)
		}
	}
	for i, s := range []string{
		"X:1\nM:4/4\nL:1/4\nK:C\n\"C\"CDEF|\"G7\"GABc|\"C\"c4|]\n",
		"X:1\nM:3/4\nL:1/8\nK:F#m\n(3ABc|\"F#m\"f2e2c2|\"C#7/G#\"{d}c6|\"N.C.\"z4 a2|\"Bm7b5\"b6|]\n",
		"X:1\nM:6/8\nL:1/8\nK:Cb\n|:\"Cb\"CDE FGA|1\"Gb7\"G3 G3:|2\"Cb\"c6|]\n",
		"X:1\nM:12/8\nL:1/8\nK:Ddor\n\"Dm\"D,,3A,3 d'3a'3|\"Xyz\"D12|]\n",
		"X:1\nM:2/4\nL:1/64\nK:C\nCDEFGABcCDEFGABcCDEFGABcCDEFGABc|]\n",
		"<score-partwise><part-list><score-part id='a'/></part-list><part id='a'><measure><note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration></note></measure></part></score-partwise>",
	} {
		f.Add([]byte(s), uint8(i))
	}
	levels := ladder.Levels()
	f.Fuzz(func(t *testing.T, data []byte, level uint8) {
		if len(data) > 4096 {
			return
		}
		song, err := gradatim.Read("sheet", data, 0)
		if err != nil {
			refused(t, err)
			return
		}
		if b, err := account.Sheet(song, words.Must(words.Default)); err != nil || !json.Valid(b) {
			t.Fatalf("the sheet in JSON: %v\n%s", err, b)
		}
		if len(song.Bars) > 24 || len(song.Melody) > 300 {
			return
		}
		as, err := edition.Make(context.Background(), song, edition.Options{Levels: levels[int(level)%len(levels):][:1]})
		if err != nil {
			refused(t, err)
			return
		}
		for _, a := range as {
			if a.Failed {
				refused(t, a.Problems)
				continue
			}
			kept := 0
			for _, n := range played(a).Notes {
				if i, ok := n.Origin.Event(); ok {
					if i < kept-1 || i > kept {
						t.Fatalf("level %d: after note %d of the tune comes note %d", a.Level.Number, kept-1, i)
					}
					kept = max(kept, i+1)
				}
			}
			if kept != len(song.Melody) {
				t.Fatalf("level %d: %d of %d notes of the tune", a.Level.Number, kept, len(song.Melody))
			}
			if found := audit.Check(a.Score, audit.Options{Song: &a.Song}); len(found) > 0 {
				t.Fatalf("level %d: %v", a.Level.Number, found[0])
			}
			if _, err := musicxml.Write(a.Score); err != nil {
				refused(t, err)
			}
			if _, err := smf.Write(smf.Plain(a.Score)); err != nil {
				t.Fatal(err)
			}
			if b, err := account.Of(a); err != nil || !json.Valid(b) {
				t.Fatalf("the account: %v", err)
			}
		}
	})
}

// refused checks that a refusal says at least one error in plain words.
func refused(t *testing.T, err error) {
	t.Helper()
	var ps leadsheet.Problems
	if !errors.As(err, &ps) || ps.Err() == nil {
		t.Fatalf("refused without a placed error: %v", err)
	}
	for _, p := range ps {
		if p.Code == "" || p.Text == "" && p.Says == "" { // a writer's are put into words by who asked
			t.Fatalf("a problem without a code or a text: %#v", p)
		}
	}
}
