package idiom

import (
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

func TestEveryKindKnowsEveryMetre(t *testing.T) {
	for _, k := range All() {
		for _, m := range []leadsheet.Meter{{Beats: 2, Unit: 4}, {Beats: 3, Unit: 4}, {Beats: 4, Unit: 4}, {Beats: 2, Unit: 2},
			{Beats: 6, Unit: 8}, {Beats: 9, Unit: 8}, {Beats: 12, Unit: 8}, {Beats: 3, Unit: 2}, {Beats: 6, Unit: 4}, {Beats: 3, Unit: 8}, {Beats: 5, Unit: 4}} {
			if tempo, ok := k.Tempo(m); !ok || !tempo.Set() || tempo.Words == "" {
				t.Errorf("%s has no tempo in %s", k.ID, m)
			}
		}
	}
}

// A sheet that names its kind is taken at its word (R: is the field of ABC 2.1,
// section 3.1.15, for that).
func TestSheetNamesItsKind(t *testing.T) {
	for word, want := range map[string]string{"hornpipe": "reel", "Slip Jig": "jig", "waltz": "waltz", "March": "march", "Bossa nova": "latin",
		"Lullaby": "lullaby", "blues": "blues", "Medium Swing": "swing", "Ballad": "ballad", "polka": "reel", "Rag": "two-beat", "carol": "hymn", "air": "air"} {
		song, err := abc.Read([]byte("X:1\nT:A tune\nR:"+word+"\nM:4/4\nL:1/4\nK:C\n\"C\"CDEF|\"G7\"GFED|\"C\"C4|]\n"), abc.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if g := Recognise(song, harmony.Analyse(song), All()); g.Idiom.ID != want || !g.Sure {
			t.Errorf("R:%s: %s (sure %v), want %s", word, g.Idiom.ID, g.Sure, want)
		}
	}
}

func TestWordsAreWhole(t *testing.T) {
	for _, tt := range []struct {
		text string
		want bool
	}{{"The Reel", true}, {"Reels of Cotton", false}, {"reel-ing", true}, {"", false}, {"Freely", false}} {
		if _, got := wordOf(tt.text, []string{"reel"}); got != tt.want {
			t.Errorf("%q: %v, want %v", tt.text, got, tt.want)
		}
	}
}

func TestParseTellsAllThatIsWrong(t *testing.T) {
	_, err := Parse("own.toml", []byte("manner = \"run\"\nstays_where = [\"yodelled\"]\nfeel = \"wobbly\"\ncolour = 3\n[recognise]\nfacts = { purple = 2, common = 99 }\n[[tempo]]\nmetres = \"steps\"\nbeat = \"x\"\nusual = 5\n[[level]]\nfrom = 1\nleft = [\"yodel\", \"turn\"]\n"))
	for _, code := range []string{"idiom-name", "idiom-manner", "idiom-manner.fact", "idiom-feel", "idiom-key", "idiom-fact", "idiom-tempo", "idiom-technique"} {
		if err == nil || !strings.Contains(err.Error(), code) {
			t.Errorf("no %s in %v", code, err)
		}
	}
}

// Shape takes only what the level may use, keeps its last resort, and never asks
// for more than the level does.
func TestShapeStaysWithinTheLevel(t *testing.T) {
	for _, k := range All() {
		for _, l := range ladder.Levels() {
			s := k.Shape(l)
			for _, id := range s.LeftAll() {
				if !l.Uses(id) {
					t.Errorf("%s, level %d: %s is not the level's", k.ID, l.Number, id)
				}
			}
			if len(s.Left) == 0 || s.Resort() == "" {
				t.Errorf("%s, level %d: no left hand", k.ID, l.Number)
			}
			if s.Anticipations > l.Anticipations || s.Ornamentation > l.Ornamentation || s.Colour > l.Colour {
				t.Errorf("%s, level %d asks for more than the level", k.ID, l.Number)
			}
		}
	}
}

// TestEveryTechniqueIsPlayed: what a level may use, some kind of tune uses there. A kind
// lists its techniques, and one that no kind lists would never sound.
func TestEveryTechniqueIsPlayed(t *testing.T) {
	for _, l := range ladder.Levels() {
		played := map[string]bool{}
		for _, k := range All() {
			s := k.Shape(l)
			for _, id := range slices.Concat(s.LeftAll(), s.Right, s.Devices, s.Line, s.Ornaments) {
				played[id] = true
			}
		}
		for _, id := range slices.Concat(l.LeftAll(), l.Right, l.Devices, l.Line, l.Ornaments) {
			if !played[id] {
				t.Errorf("level %d: no kind of tune has %s", l.Number, id)
			}
		}
	}
}

// TestEveryKindHasAName: a page that is in the manner of a kind says so in the reader's
// language.
func TestEveryKindHasAName(t *testing.T) {
	for _, language := range words.Languages() {
		for _, k := range All() {
			if key := "kind." + k.ID; !words.Must(language).Has(key) {
				t.Errorf("%s: no message %s", language, key)
			}
		}
	}
}

// What is slow and what is fast: common practice, no source.
func TestTempoFacts(t *testing.T) {
	m := leadsheet.Meter{Beats: 4, Unit: 4}
	song := leadsheet.Song{Tempo: leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 60}}
	if fs := tempoFacts(0, song, m); !fs.Has(Slow) || fs.Has(Fast) {
		t.Error("60 quarters a minute in 4/4 is slow")
	}
	song.Tempo.PerMinute = 160
	if fs := tempoFacts(0, song, m); fs.Has(Slow) || !fs.Has(Fast) {
		t.Error("160 is fast")
	}
}

func TestEveryFactHasWords(t *testing.T) {
	for f := Fact(1); f < lastFact; f++ {
		if key := "fact.tune-" + f.String(); f.String() == "" || !words.Must("en").Has(key) {
			t.Errorf("fact %d, %q: no message %s", f, f, key)
		}
	}
}

// A song in beats of three whose chords stay for a bar moves on; one whose chords change in
// the bar is slower. (Common practice, no source.)
func TestTempoOverFewChords(t *testing.T) {
	kind, ok := Named("parlour-song", All())
	if !ok {
		t.Fatal("no parlour songs")
	}
	song := leadsheet.Song{Meter: leadsheet.Meter{Beats: 6, Unit: 8}, Bars: make([]leadsheet.Bar, 4)}
	for _, text := range []string{"C", "C", "F", "C"} {
		song.Chords = append(song.Chords, leadsheet.ChordMark{Text: text})
	}
	few, _ := kind.TempoOf(song)
	song.Bars = song.Bars[:2]
	many, _ := kind.TempoOf(song)
	if few.PerMinute <= many.PerMinute || few.Words == many.Words {
		t.Errorf("over few chords %v, over many %v", few, many)
	}
}
