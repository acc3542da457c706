package edition

import (
	"strings"
	"testing"

	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Diminished chords are spelled after where they go (common practice of harmony: the leading
// tone of what follows, or the second degree before its dominant; no source).
func TestRaised(t *testing.T) {
	for _, tt := range []struct {
		name, chords string // one a bar
		tune         string // one note a bar
		want         string
	}{
		{"up a half step", "C Gbdim G C", "C5 A4 G4 C5", "C F#dim G C"},
		{"and a seventh", "C Dbdim7 Dm7 G7", "C5 E4 D4 B4", "C C#dim7 Dm7 G7"},
		{"before the dominant", "Em Gbm7b5 B7 Em", "B4 A4 B4 G4", "Em F#m7b5 B7 Em"},
		{"the symbol comes twice", "C Gbdim Gbdim7 G", "C5 A4 A4 G4", "C F#dim F#dim7 G"},
		{"right as it is", "C F#dim G C", "C5 A4 G4 C5", "C F#dim G C"},
		{"down a half step", "C Ebdim7 Dm7 G7", "C5 A4 D4 B4", "C Ebdim7 Dm7 G7"},
		{"the tune has the flat", "C Gbdim G C", "C5 Gb4 G4 C5", "C Gbdim G C"},
		{"it would be a white key's other name", "C Fdim F#m C", "C5 Ab4 F#4 C5", "C Fdim F#m C"},
		{"not diminished", "C Gb G C", "C5 Bb4 G4 C5", "C Gb G C"},
		{"with a bass of its own", "C Gbdim/Eb G C", "C5 A4 G4 C5", "C F#dim/Eb G C"},
		{"with one of its tones in the bass", "C Dbdim/Fb Dm C", "C5 G4 D4 C5", "C C#dim/E Dm C"},
	} {
		song := leadsheet.Song{Key: theory.Key{Tonic: theory.Name{Letter: theory.C}, Mode: theory.Major}}
		notes := strings.Fields(tt.tune)
		for i, s := range strings.Fields(tt.chords) {
			sym, err := theory.ParseSymbol(s)
			p, err2 := theory.ParsePitch(notes[i])
			if err != nil || err2 != nil {
				t.Fatal(err, err2)
			}
			at := theory.Dur(i) * theory.Whole
			song.Bars = append(song.Bars, leadsheet.Bar{At: at, Dur: theory.Whole, Number: i + 1})
			song.Chords = append(song.Chords, leadsheet.ChordMark{At: at, Chord: sym.Chord, Text: s})
			song.Melody = append(song.Melody, leadsheet.Note{At: at, Dur: theory.Whole, Pitch: p})
		}
		before := text(song)
		got, told := raised(song)
		if text(got) != tt.want || text(song) != before {
			t.Errorf("%s: %s, of the sheet %s; want %s", tt.name, text(got), text(song), tt.want)
		}
		if changed := tt.want != tt.chords; changed != (len(told) > 0) {
			t.Errorf("%s: told %v", tt.name, told)
		}
	}
	song := leadsheet.Song{}
	if got, told := raised(song); len(got.Chords) > 0 || told != nil {
		t.Error("a song without chords")
	}
}

// The place and the words of what is told.
func TestRaisedTold(t *testing.T) {
	chord := func(s string) theory.Chord {
		sym, err := theory.ParseSymbol(s)
		if err != nil {
			t.Fatal(err)
		}
		return sym.Chord
	}
	told := leadsheet.Problems{leadsheet.Tell(leadsheet.Info, leadsheet.Pos{Bar: 27}, "chord-respelled", "Chord", chord("Gbdim"), "Read", chord("F#dim"), "Next", chord("G"))}
	for lang, want := range map[string]string{
		"en": "G♭dim is spelled F♯dim on the page, as it leads to G; the lead sheet keeps its name",
		"de": "G♭dim steht auf der Seite als F♯dim, weil der Akkord zu G führt; das Leadsheet behält den Namen",
	} {
		if got := words.Must(lang).Problems(told)[0].Text; got != want {
			t.Errorf("%s: %s", lang, got)
		}
	}
}

func text(s leadsheet.Song) string {
	var out []string
	for _, c := range s.Chords {
		out = append(out, c.Chord.String())
	}
	return strings.Join(out, " ")
}
