package proof_test

import (
	"fmt"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/harmony"
	"gradatim/internal/proof"
	"gradatim/leadsheet"
)

// FuzzMend: whatever is read, each suspicion has an id of its own, the song given stays as
// it is, and a song that was mended is one still: its bars follow on one another, its notes
// and chords stand in order within them.
func FuzzMend(f *testing.F) {
	for _, s := range []string{
		"X:1\nM:4/4\nL:1/4\nK:F\n\"F\"FGAc|\"B\"d4|\"C7\"cBAG|\"A#\"F4|\"F\"cAFA|\"Gm\"B2G4|\"C7\"EGBG|\"C7\"F4|]\n",
		"X:1\nM:4/4\nL:1/4\nK:C\nG|:\"C\"CDEF|G4|E4|C3G:|D4||\"G\"GABc|c3:|\n",
		"X:1\nM:6/8\nL:1/8\nK:D\nA|:\"D\"dAF DFA|\"A\"Bed cBA|\"D\"d6|d5:|d4|]\n",
		"X:1\nM:3/4\nL:1/4\nK:Am\n\"Am\"^FGA|\"C\"^F2A|\"D\"^F3|\"G\"=G3-|\"F\"G2E|\"E\"E3|]\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		song, err := abc.Read(data, abc.Options{})
		if err != nil {
			return
		}
		found := proof.Of(song, harmony.Analyse(song))
		ids := map[string]bool{}
		var all []string
		for _, s := range found {
			if ids[s.ID] || s.ID == "" {
				t.Fatalf("%q twice", s.ID)
			}
			ids[s.ID] = true
			if s.Mendable() {
				all = append(all, s.ID)
			}
		}
		was := abc.Write(song)
		mended, taken, _, _ := proof.Mend(song, true, all...)
		if string(abc.Write(song)) != string(was) {
			t.Fatal("the song given was changed")
		}
		if len(taken) == 0 && len(all) > 0 {
			t.Fatalf("none of %q was taken", all)
		}
		if was, is := broken(song), broken(mended); was == "" && is != "" {
			t.Fatal(is)
		}
	})
}

// broken says what of a song is out of order; "": nothing.
func broken(s leadsheet.Song) string {
	for i := 1; i < len(s.Bars); i++ {
		if s.Bars[i].At != s.Bars[i-1].End() || s.Bars[i].Dur <= 0 {
			return fmt.Sprintf("bar %d begins at %s, the one before it ends at %s", s.Bars[i].Number, s.Bars[i].At, s.Bars[i-1].End())
		}
	}
	for i, n := range s.Melody {
		if i > 0 && n.At < s.Melody[i-1].End() || n.Dur <= 0 || n.End() > s.End() {
			return fmt.Sprintf("note %d, %s at %s for %s, overlaps", i, n.Pitch, n.At, n.Dur)
		}
	}
	for i, c := range s.Chords {
		if i > 0 && c.At < s.Chords[i-1].At || c.At >= s.End() {
			return fmt.Sprintf("chord %d, %s at %s, is out of order", i, c.Text, c.At)
		}
	}
	return ""
}
