package leadsheet_test

import (
	"strings"
	"testing"

	"gradatim"
)

// Which verse is sung when, worked out by hand after common practice (no source): ABC as its open
// standard (2.1) lays words under notes.
func TestSings(t *testing.T) {
	for _, tt := range []struct{ name, abc, want string }{
		{"a repeat", "|:CDEF|G4:|\nw:a b c d e\nw:k l m n o\n", "a b c d e k l m n o"},
		{"three verses, two times", "|:CDEF|G4:|\nw:a b c d e\nw:k l m n o\nw:p q r s t\n", "a b c d e k l m n o"},
		{"one verse, two times", "|:CDEF|G4:|\nw:a b c d e\n", "a b c d e a b c d e"},
		{"two endings", "|:CDEF|1 G4:|2 A4|]\nw:a b c d e f\nw:k l m n * o\n", "a b c d e k l m n o"},
		{"two endings, the second's words in the second line", "|:CDEF|1 G4:|2 A4|]\nw:a b c d e *\nw:k l m n * o\n", "a b c d e k l m n o"},
		{"a word with a syllable less", "|:CDEF|GABc:|\nw:a b c d e f g h\nw:k * m n * p q r\n", "a b c d e f g h k m n p q r"},
		{"a word with a syllable more at the end", "|:CDEF|G2A2:|\nw:a b c d e *\nw:k l m n o p\n", "a b c d e k l m n o p"},
		{"a refrain", "|:CDEF|GABc|defg:|\nw:a b c d w x y z s t u v\nw:k l m n * * * * * * * *\n", "a b c d w x y z s t u v k l m n w x y z s t u v"},
		{"a D.S. al coda", "!segno!CDEF|G2A2 !coda!|BcBc !D.S.!|!coda!e4|]\nw:a b c d e f g h i j z\nw:k l m n o p * * * * *\n",
			"a b c d e f g h i j k l m n o p z"},
		{"a repeat, and a D.S. al coda after it", "|:!segno!CDEF|GABc:|BcBc !coda!|defg !D.S.!|!coda!e4|]\nw:a b c d e f g h r s t u v w x y z\nw:k l m n o p q i * * * * * * * * *\n",
			"a b c d e f g h k l m n o p q i r s t u v w x y a b c d e f g h r s t u z"},
		{"a verse that is called", "|:CDEF|!segno!GABc:|BcBc !D.S.!|]\nw:x x x 1.~A e f g h r s t 2.~B\nw:* * * * k l m n * * * *\n",
			"x x x 1. A e f g h x x x 1. A e f g h r s t 2. B k l m n r s t 2. B"},
	} {
		song, err := gradatim.Read("verses.abc", []byte("X:1\nT:Verses\nM:4/4\nL:1/4\nK:C\n"+tt.abc), 0)
		if err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		var got []string
		for i, v := range song.Sings() {
			for _, y := range song.Melody[i].Sung {
				if y.Verse == v && !y.Held {
					got = append(got, y.Text)
				}
			}
		}
		if got := strings.Join(got, " "); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
}
