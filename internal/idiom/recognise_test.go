package idiom

import (
	"cmp"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/musicxml"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// label is what a sheet was called by hand.
type label struct {
	file, kind string
	fair       []string
}

func labels(t *testing.T) []label {
	t.Helper()
	data, err := os.ReadFile("testdata/labels.tsv")
	if err != nil {
		t.Fatal(err)
	}
	var out []label
	for line := range strings.Lines(string(data)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		c := strings.Split(strings.TrimRight(line, "\n"), "\t")
		l := label{file: c[0], kind: c[1]}
		if len(c) > 2 {
			l.fair = strings.Fields(c[2])
		}
		out = append(out, l)
	}
	if len(out) != 160 {
		t.Fatalf("%d labels, want 160", len(out))
	}
	return out
}

func sheet(t *testing.T, name string) leadsheet.Song {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(sharedtest.Path(t, "data/leadsheets"), name))
	if err != nil {
		t.Fatal(err)
	}
	var song leadsheet.Song
	if strings.HasSuffix(name, ".abc") {
		song, err = abc.Read(data, abc.Options{File: name})
	} else {
		song, err = musicxml.ReadSong(data, musicxml.Options{File: name})
	}
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return song
}

// TestLabelledSheets holds the guesses to sheets labelled by hand: of 100, at
// least 90 are what a musician calls them, or are said to be doubtful; and not
// too many are doubtful.
func TestLabelledSheets(t *testing.T) {
	kinds := All()
	right, doubtful, wrong := 0, 0, 0
	confused := map[string]int{}
	for _, l := range labels(t) {
		for _, k := range append([]string{l.kind}, l.fair...) {
			if _, ok := Named(k, kinds); !ok {
				t.Fatalf("%s: no kind %q", l.file, k)
			}
		}
		song := sheet(t, l.file)
		g := Recognise(song, harmony.Analyse(song), kinds)
		ok := g.Idiom.ID == l.kind || slices.Contains(l.fair, g.Idiom.ID)
		switch {
		case ok:
			right++
		case !g.Sure:
			doubtful++
		default:
			wrong++
		}
		if !ok {
			confused[l.kind+" taken for "+g.Idiom.ID]++
			t.Logf("%s: %s, taken for %s (sure %v, second %s)", l.file, l.kind, g.Idiom.ID, g.Sure, g.Second.ID)
		}
	}
	t.Logf("%d right, %d wrong but said to be doubtful, %d wrong; %v", right, doubtful, wrong, confused)
	if right+doubtful < 144 || right < 128 {
		t.Errorf("%d right, %d doubtful of 160; want 144 together, 128 right", right, doubtful)
	}
}

// Which sheets are walked up the ladder through the manners of its levels (common practice, no
// source): songs and standards; not rags, which are played and not sung, nor anything else.
func TestRagsStay(t *testing.T) {
	kinds := All()
	rags := map[string]bool{"nottingham/reelsdg_005_dill_pickle_rag.abc": true, "openewld/maple_leaf_rag.mxl": true}
	levels := ladder.Levels()
	walked := 0
	for _, l := range labels(t) {
		song := sheet(t, l.file)
		an := harmony.Analyse(song)
		g := Recognise(song, an, kinds)
		if !g.Idiom.Walks {
			continue
		}
		k := g.Idiom.Of(song, an)
		if k.Walks == rags[l.file] {
			t.Errorf("%s: a %s walks: %t", l.file, k.ID, k.Walks)
		}
		for _, level := range levels {
			switch m := Manner(k, level, Auto, kinds).ID; {
			case rags[l.file] && m != "two-beat":
				t.Errorf("%s, level %d: in the manner of a %s", l.file, level.Number, m)
			case m != k.ID:
				walked++
			}
			if m := Manner(k, level, Walk, kinds).ID; m != cmp.Or(level.WalksAs, k.ID) {
				t.Errorf("%s, level %d: asked to walk, it is a %s", l.file, level.Number, m)
			}
		}
	}
	if walked < 50 {
		t.Errorf("only %d pages are in another manner", walked)
	}
}
