package harmony

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/theory"
)

// readings: common practice, no source, except where a row says otherwise.
var readings = []struct{ key, prev, chord, next, want string }{
	// The seven of the major key.
	{"C", "G", "C", "F", "tonic"},
	{"C", "C", "Dm7", "G7", "subdominant"},
	{"C", "C", "Em7", "F", "tonic"},
	{"C", "C", "Fmaj7", "G", "subdominant"},
	{"C", "F", "G7", "C", "dominant"},
	{"C", "F", "G7sus4", "G7", "dominant"},
	{"C", "C", "Am7", "Dm7", "tonic"},
	{"C", "F", "Bm7b5", "C", "dominant"},
	// Minor, natural and raised.
	{"Am", "E7", "Am", "Dm", "tonic"},
	{"Am", "Am", "Bm7b5", "E7", "subdominant"},
	{"Am", "Am", "C", "F", "tonic"},
	{"Am", "Am", "Dm7", "E7", "subdominant"},
	{"Am", "Dm", "E7", "Am", "dominant"},
	{"Am", "Dm", "Em", "Am", "dominant"},
	{"Am", "C", "F", "E7", "subdominant"},
	{"Am", "F", "G", "Am", "dominant"},
	{"Am", "F", "G7", "C", "applied dominant to C, resolves"},
	{"Am", "F", "G#dim7", "Am", "dominant"},
	{"Am", "E7", "A", "", "tonic"},
	// Church modes.
	{"D dorian", "Dm", "G", "Dm", "subdominant"},
	{"D dorian", "Dm", "C", "Dm", "dominant"},
	{"A mixolydian", "A", "G", "A", "dominant"},
	{"A mixolydian", "A", "G", "D", "subdominant"},
	{"A mixolydian", "G", "Em", "A", "dominant"},
	{"E phrygian", "Em", "F", "Em", "subdominant"},
	{"C", "C", "Bb5", "F", "chromatic"},
	{"C", "C", "Eb5", "F", "chromatic"},
	{"Am", "Am", "C5", "F", "tonic"},
	{"Am", "Am", "F5", "E7", "subdominant"},
	{"Am", "Am", "G5", "Am", "dominant"},
	{"Am", "Am", "G5", "F", "subdominant"},
	// Applied dominants, by where they go.
	{"C", "C", "A7", "Dm", "applied dominant to D, resolves"},
	{"C", "C", "B7", "Em", "applied dominant to E, resolves"},
	{"C", "C", "C7", "F", "applied dominant to F, resolves"},
	{"C", "C", "D7", "G7", "applied dominant to G, resolves"},
	{"C", "C", "D", "G7", "applied dominant to G, resolves"},
	{"C", "C", "E7", "Am", "applied dominant to A, resolves"},
	{"C", "C", "E7", "F", "applied dominant to A"},
	{"C", "C", "E+", "Am", "applied dominant to A, resolves"},
	{"C", "C", "G#dim7", "Am", "applied dominant to A, resolves"},
	{"C", "C", "F#m7b5", "G7", "applied dominant to G, resolves"},
	{"Dm", "Dm", "E7", "A7", "applied dominant to A, resolves"},
	// The key's own dominant is no applied one, nor a plain triad that stays in the key.
	{"C", "C", "F", "Bb", "subdominant"},
	{"C", "G", "C", "F", "tonic"},
	// The ii of an applied dominant.
	{"C", "C", "Bm7b5", "E7", "related ii to A"},
	{"C", "C", "Gm7", "C7", "related ii to F"},
	{"C", "C", "Abm7", "Db7", "related ii to C"},
	{"C", "Dm7", "Em7", "A7", "tonic"}, // iii, though it also prepares
	// Substitutes: the tritone G–D♭ (facts: any harmony text).
	{"C", "Dm7", "Db7", "C", "substitute dominant to C, resolves"},
	{"C", "C", "Ab7", "G7", "substitute dominant to G, resolves"},
	{"C", "Em7", "Eb7", "Dm7", "substitute dominant to D, resolves"},
	{"F", "F", "Eb7", "D7", "substitute dominant to D, resolves"},
	// Borrowed.
	{"C", "F", "Fm", "C", "borrowed"},
	{"C", "Fm7", "Bb7", "C", "borrowed"},
	{"C", "F", "Fm7", "Bb7", "borrowed"},
	{"C", "C", "Abmaj7", "G7", "borrowed"},
	{"C", "C", "Dm7b5", "G7", "borrowed"},
	{"C", "C", "Db", "G7", "borrowed"},
	{"C", "C", "Bb", "F", "borrowed"},
	{"C", "C", "Eb", "F", "borrowed"},
	{"C", "C", "Gm", "F", "borrowed"},
	{"C", "F", "Cm", "G", "borrowed"},
	{"C", "C", "Bb7", "Dm", "borrowed"},
	{"Am", "Am", "Bm", "E7", "subdominant"}, // on the raised sixth
	{"A aeolian", "Am", "Bm", "Em", "borrowed"},
	{"Am", "Am", "C#m", "D", "borrowed"},
	{"Am", "Am", "F#m", "D", "borrowed"},
	{"C", "C", "F#m", "F", "chromatic"},
	{"C", "C", "F#", "F", "chromatic"},
	{"C", "C", "Dmaj7", "F", "chromatic"},
	{"C", "C", "D", "F", "applied dominant to G"},
	{"C", "C", "Eb7", "F", "substitute dominant to D"},
	{"C", "C", "Db7", "F", "substitute dominant to C"},
	{"C", "C", "Ab7", "F", "substitute dominant to G"},
	// Passing and common-tone diminished chords.
	{"C", "C", "C#dim7", "Dm7", "passing to D, resolves"},
	{"C", "F", "F#dim7", "G7", "passing to G, resolves"},
	{"C", "Em7", "Ebdim7", "Dm7", "passing to D, resolves"},
	{"C", "C", "Cdim7", "C", "passing to C, resolves"},
	{"C", "F", "C#dim7", "Dm7", "applied dominant to D, resolves"},
	{"C", "Em7", "Ebm7", "Dm7", "passing to D, resolves"},
	// A diminished chord that only turns round a note is the dominant of that note.
	{"C", "Am", "G#dim7", "Am", "applied dominant to A, resolves"},
	{"C", "Dm7", "Ebdim7", "Em7", "passing to E, resolves"},
	// The key's vii°7 is the same chord with any of its notes in the bass.
	{"C", "F", "Ddim7", "C", "dominant"},
	{"C", "G", "Fdim7", "C", "dominant"},
	{"C", "F", "Abdim7", "C", "dominant"},
	{"C", "F", "F#dim7", "C", "passing to C, resolves"},
	{"C", "F", "Bbdim7", "Am", "passing to A, resolves"},
	{"C", "F", "Bdim7", "Am", "dominant"},
	{"C", "F", "Ebdim7", "Am", "passing to A, resolves"},
	{"C", "G", "Fdim7", "Am", "applied dominant to A, resolves"}, // G♯°7 over F
	{"C", "G", "Fdim", "Am", "passing to A, resolves"},           // a triad has no such turn
	{"C", "F", "Ebdim7", "", "passing to E"},
	{"Am", "Am", "Bdim", "E7", "subdominant"},
	{"C", "C", "F#dim7", "G", "applied dominant to G, resolves"},
	// Cadential six-four.
	{"C", "F", "C/G", "G7", "cadential six-four to G, resolves"},
	{"C", "F", "C/G", "F", "tonic"},
	{"C", "F", "C/G", "Gm7", "tonic"}, // no dominant
	{"C", "F", "C/E", "G7", "tonic"},
	{"Am", "Dm", "Am/E", "E7", "cadential six-four to E, resolves"},
	// Blues.
	{"C", "G7", "C7", "F7", "tonic"},
	{"C", "C7", "F7", "C7", "subdominant"},
	{"Am", "Am", "D7", "G7", "subdominant"},
	{"Am", "Am", "D7", "G", "applied dominant to G, resolves"},
	{"C", "C7", "F7", "Bb", "applied dominant to Bb, resolves"},
	// Spelling does not matter to the ear.
	{"Db", "Db", "C#dim7", "Ebm", "passing to Eb, resolves"},
	{"C", "C", "Abdim7", "Am", "applied dominant to A, resolves"},
	{"C", "C", "F#7", "C", "substitute dominant to F"},
	{"C", "C", "", "F", "none"},
	{"C", "G", "C5", "F", "tonic"},
	{"C", "G", "Ebm", "A", "chromatic"},
}

func TestRead(t *testing.T) {
	for _, tt := range readings {
		r := Read(key(t, tt.key), chord(t, tt.prev), chord(t, tt.chord), chord(t, tt.next))
		got := r.Function.String()
		if r.Target != (theory.Name{}) || strings.Contains(tt.want, " to C") {
			got += " to " + r.Target.String()
		}
		if r.Resolves {
			got += ", resolves"
		}
		if got != tt.want {
			t.Errorf("%s: %s–%s–%s: %s, want %s", tt.key, tt.prev, tt.chord, tt.next, got, tt.want)
		}
	}
}

// The readings move with the key.
func TestReadTransposes(t *testing.T) {
	for _, tt := range readings {
		k, p, c, n := key(t, tt.key), chord(t, tt.prev), chord(t, tt.chord), chord(t, tt.next)
		want := Read(k, p, c, n)
		for f := -5; f <= 6; f++ {
			iv := theory.NameInterval(k.Tonic, theory.NameOnFifths(k.Tonic.Fifths()+f))
			got := Read(k.Transpose(iv), p.Transpose(iv), c.Transpose(iv), n.Transpose(iv))
			if got.Function != want.Function || got.Resolves != want.Resolves {
				t.Errorf("%s up %v: %v, want %v", tt.chord, iv, got, want)
			}
		}
	}
}

func ExampleRead() {
	c, _ := theory.ParseKey("C")
	read := func(s string) theory.Chord { sym, _ := theory.ParseSymbol(s); return sym.Chord }
	r := Read(c, read("C"), read("A7"), read("Dm7"))
	fmt.Println(r.Function, "to", r.Target, r.Resolves)
	// Output: applied dominant to D true
}

// Numerals as the trade writes them, read in context: "V7/ii" only where it goes
// there. Common practice, no source.
func TestRomansInContext(t *testing.T) {
	for _, tt := range []struct{ key, chords, want string }{
		{"C", "C A7 Dm7 G7 C", "I V7/ii ii7 V7 I"},
		{"C", "Cmaj7 C#dim7 Dm7 Db7 C", "Imaj7 #i°7 ii7 bII7 I"},
		{"C", "C Bm7b5 E7 Am", "I iiø7/vi V7/vi vi"},
		{"C", "C Fm7 Bb7 C", "I iv7 bVII7 I"},
		{"C", "C7 F7 C7 G7", "I7 IV7 I7 V7"},
		{"Am", "Am Bm7b5 E7 Am", "i iiø7 V7 i"},
		{"Am", "Am G7 C F E7 Am", "i V7/bIII bIII bVI V7 i"},
		{"G", "G C#m7b5 D7 G", "I viiø7/V V7 I"},
	} {
		ss := []Span{}
		for _, c := range strings.Fields(tt.chords) {
			ss = append(ss, Span{Chord: chord(t, c), Key: key(t, tt.key)})
		}
		readSpans(ss)
		var got []string
		for _, s := range ss {
			got = append(got, s.Roman.String())
		}
		if strings.Join(got, " ") != tt.want {
			t.Errorf("%s in %s: %s, want %s", tt.chords, tt.key, strings.Join(got, " "), tt.want)
		}
	}
}
