package theory

import (
	"strings"
	"testing"
)

// TestRoman: chords by themselves in a key. Names and families as in trade
// courses in harmony; diatonic rows and secondary dominants after a Berklee course note
// (tables/tensions.tsv), the rest common practice, no source.
func TestRoman(t *testing.T) {
	for _, tt := range []struct{ key, chords string }{
		{"C", "C=I Cmaj7=Imaj7 C6=I6 Dm7=ii7 Em7=iii7 F=IV Fmaj7=IVmaj7 G7=V7 G7sus4=V7sus4 Am7=vi7 Bdim=vii° Bm7b5=viiø7 " +
			"C7=V7/IV D7=V7/V D=V/V E7=V7/vi A7=V7/ii A7(b9)=V7(b9)/ii B7=V7/iii F7=IV7 Bb7=bVII7 Bb=bVII Fm=iv Fm7=iv7 Fm6=iv6 " +
			"Ab=bVI Eb=bIII Db=bII Dbmaj7=bIImaj7 Dm7b5=iiø7 Cm=i Gm7=v7 Db7=bII7 Eb7=bII7/ii Gb7=bII7/IV F#7=bII7/IV " +
			"Ab7=bII7/V C#dim7=#i°7 D#dim7=#ii°7 F#dim7=#iv°7 G#dim7=#v°7 Ebdim7=biii°7 Cdim7=i°7 Bdim7=vii°7 Edim7=vii°7/IV " +
			"F#m7b5=#ivø7 Caug=I+ Gaug=V+ G7alt=V7alt G7(#5)=V7(#5) Am(maj7)=vi(maj7) C5=I5 A5=vi5 D7sus4=ii7sus4 C/E=I G13(b9)=V13(b9)"},
		{"Am", "Am=i Am7=i7 Am6=i6 Am(maj7)=i(maj7) Bm7b5=iiø7 C=bIII Cmaj7=bIIImaj7 Dm7=iv7 D7=IV7 E7=V7 E7(b9)=V7(b9) Em7=v7 " +
			"F=bVI Fmaj7=bVImaj7 G=bVII G7=bVII7 G#dim7=vii°7 F#m7b5=viø7 B7=V7/V A7=V7/iv C7=V7/bVI A=I Bb=bII Bb7=bII7 " +
			"F7=bII7/V Eb7=bII7/iv C#dim7=vii°7/iv D#dim7=#iv°7 E7(#5)=V7(#5) Caug=bIII+ A5=i5"},
		{"Ebm", "Ebm=i Ab7=IV7 Bb7=V7 Cb=bVI B=bVI Gb=bIII F#=bIII Fm7b5=iiø7 Ddim7=vii°7"},
		{"F#", "F#=I C#7=V7 D#m7=vi7 Ebm7=vi7 Bb7=V7/vi A#7=V7/vi G7=bII7 E#m7b5=viiø7 Fm7b5=viiø7"},
		{"D dorian", "Dm7=i7 Em7=ii7 F=bIII G7=IV7 Am7=v7 Bm7b5=viø7 C=bVII A7=V7 D7=V7/IV"},
		{"G mixolydian", "G7=I7 F=bVII Dm7=v7 C=IV Am=ii Bdim=iii° D7=V7"},
		{"E phrygian", "Em=i F=bII Fmaj7=bIImaj7 G7=bIII7 Dm7=bvii7"},
		{"F lydian", "Fmaj7=Imaj7 G7=II7 Em7=vii7 Bm7b5=#ivø7"},
		{"B locrian", "Bm7b5=iø7 Cmaj7=bIImaj7"},
	} {
		k := key(t, tt.key)
		for _, pair := range strings.Fields(tt.chords) {
			symbol, want, _ := strings.Cut(pair, "=")
			if got := k.Roman(chord(t, symbol)); got.String() != want {
				t.Errorf("%s in %s is %s (%s), want %s", symbol, k, got, got.Kind, want)
			}
		}
	}
	if r := (key(t, "C")).Roman(Chord{}); r != (Roman{}) || r.String() != "" {
		t.Errorf("no chord is %s", r)
	}
	if r := (Key{}).Roman(chord(t, "C")); r != (Roman{}) {
		t.Errorf("without a key C is %s", r)
	}
}

// Which chords belong to a key, and where the others come from: common practice, no source.
func TestRomanKind(t *testing.T) {
	c, am := key(t, "C"), key(t, "Am")
	for _, tt := range []struct {
		key    Key
		symbol string
		kind   RomanKind
		from   Mode
	}{
		{c, "Dm7", Diatonic, 0}, {c, "A7", Applied, 0}, {c, "Db7", Substitute, 0}, {c, "Fm6", Borrowed, Minor},
		{c, "Dbmaj7", Borrowed, Phrygian}, {c, "F#m7b5", Borrowed, Lydian}, {c, "Bb7", Borrowed, Minor},
		{c, "C#dim7", PassingDim, 0}, {c, "G#dim7", PassingDim, 0}, {c, "Bdim7", Borrowed, Minor}, {c, "Caug", Chromatic, 0},
		{am, "E7", Diatonic, 0}, {am, "G#dim7", Diatonic, 0}, {am, "A", Borrowed, Major}, {am, "Am6", Diatonic, 0},
		{am, "Fm", Chromatic, 0}, // F A♭ C only sounds like F G♯ C
	} {
		if r := tt.key.Roman(chord(t, tt.symbol)); r.Kind != tt.kind || r.From != tt.from {
			t.Errorf("%s in %s: %s, %s from %s", tt.symbol, tt.key, r, r.Kind, r.From)
		}
	}
	for k := Diatonic; k <= Chromatic; k++ {
		if k.String() == "none" {
			t.Errorf("kind %d has no name", k)
		}
	}
}

// The numeral of a chord that leads to a target: common practice, no source.
func TestRomanOf(t *testing.T) {
	c := key(t, "C")
	for _, tt := range []struct{ symbol, target, want string }{
		{"F7", "E", "bII7/iii"}, {"Bb7", "A", "bII7/vi"}, {"Gm7", "F", "ii7/IV"}, {"Em7b5", "D", "iiø7/ii"},
		{"C#dim7", "D", "vii°7/ii"}, {"Dbdim7", "D", "vii°7/ii"}, {"G7", "C", "V7"}, {"Db7", "C", "bII7"},
		{"F#7", "B", "V7/vii"}, {"Eb7", "Ab", "V7/bVI"}, {"Dm7", "C", "ii7"}, {"C", "A", "I"},
	} {
		if got := c.RomanOf(chord(t, tt.symbol), name(t, tt.target)); got.String() != tt.want {
			t.Errorf("%s before %s: %s, want %s", tt.symbol, tt.target, got, tt.want)
		}
	}
}

// How numerals are printed: common practice, no source.
func TestRomanPretty(t *testing.T) {
	c := key(t, "C")
	for symbol, want := range map[string]string{"Bb7": "♭VII7", "F#dim7": "♯iv°7", "A7(b9)": "V7(♭9)/ii", "Db7": "♭II7"} {
		if got := c.Roman(chord(t, symbol)).Pretty(); got != want {
			t.Errorf("%s: %s", symbol, got)
		}
	}
}

// TestRomanTransposes: a reading does not depend on the key's place.
func TestRomanTransposes(t *testing.T) {
	from := key(t, "C")
	for m := Major; m <= Locrian; m++ {
		from.Mode = m
		for _, q := range qualityBook().list {
			for _, root := range []string{"C", "Db", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"} {
				c := Chord{Root: name(t, root), Tones: q.tones}
				want := from.Roman(c)
				if want.Degree < 1 || want.Alter < -1 || want.Alter > 1 || want.Kind == 0 {
					t.Fatalf("%s in %s: %+v", c, from, want)
				}
				for _, tonic := range []Name{{D, 0}, {E, -1}, {F, 1}, {B, -1}} {
					iv := NameInterval(from.Tonic, tonic)
					if got := from.Transpose(iv).Roman(c.Transpose(iv)); got != want {
						t.Fatalf("%s in %s is %s, moved up %s %s", c, from, want, iv, got)
					}
				}
			}
		}
	}
}
