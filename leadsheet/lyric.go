package leadsheet

// Syllable is what a verse has on a note: a syllable that begins there, or one that is
// held over from the note before.
type Syllable struct {
	Verse  int    // from 1
	Text   string // "" where Held
	Hyphen bool   // the word goes on with the verse's next syllable
	Held   bool   // the last syllable of a word is still sung
}

// String writes the text, with a hyphen where the word goes on, and "_" where it is held.
func (s Syllable) String() string {
	switch {
	case s.Held:
		return "_"
	case s.Hyphen:
		return s.Text + "-"
	}
	return s.Text
}

// In returns what a verse has among the syllables of a note.
func In(sung []Syllable, verse int) (s Syllable, ok bool) {
	for _, s := range sung {
		if s.Verse == verse {
			return s, true
		}
	}
	return Syllable{}, false
}

// Lyric is the syllable of the first verse that begins on the note, with "-" where its
// word goes on; "" for none.
func (n Note) Lyric() string {
	if s, ok := In(n.Sung, 1); ok && !s.Held {
		return s.String()
	}
	return ""
}

// Verses is how many verses stand under the music.
func (s Song) Verses() int {
	most := 0
	for _, n := range s.Melody {
		for _, y := range n.Sung {
			most = max(most, y.Verse)
		}
	}
	return most
}

// MaxVerses is more verses than stand under one line of music.
const MaxVerses = 32
