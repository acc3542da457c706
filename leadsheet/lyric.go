package leadsheet

import (
	"slices"
	"strconv"
	"strings"
)

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

// refrain is on how many notes in a row one verse stands alone for all to sing it; on fewer the
// others are silent, as where one word has a syllable more.
const refrain = 4

// Sings says of each note of a song in playing order which verse is sung there; 0: none is. Where
// several stand, that is the one whose number was called before them ("2. Up"), else as many as
// times that the place is played; after the last verse they begin again. What only one verse has, a
// refrain, all of them sing. Common practice, no source.
func (s Song) Sings() []int {
	out := make([]int, len(s.Melody))
	places, times := s.placesSung()
	verse, called, until := 0, 0, -refrain // the verse that is sung up to the note until
	for i, n := range s.Melody {
		if i > until && len(n.Sung) > 1 {
			until = i
			for k := i; k < len(places) && k-until <= refrain && places[k] >= places[max(i, k-1)]; k++ {
				if len(s.Melody[k].Sung) > 1 {
					until = k
				}
			}
			verse = verseOf(s.Melody[i:until+1], called, times[i])
			called = 0
		}
		_, has := In(n.Sung, verse)
		switch {
		case len(n.Sung) == 0:
		case i <= until && has:
			out[i] = verse
		case i > until && (n.Sung[0].Verse == 1 || n.Sung[0].Verse == verse || i-until >= refrain): // else another verse's last syllable
			out[i] = n.Sung[0].Verse
			called = max(called, n.Sung[0].calls())
		}
	}
	return out
}

// placesSung tells of each note of the tune in which bar of the page it stands, and how many
// times that was played till then.
func (s Song) placesSung() (places, times []int) {
	places, times = make([]int, len(s.Melody)), make([]int, len(s.Melody))
	count := map[int]int{}
	note := 0
	for _, b := range s.Bars {
		for part, place := range b.Page {
			end := b.End()
			switch {
			case part == 0 && place == 0:
				place = b.Written + 1
			case part == 0 && b.Page[1] != 0:
				end = b.At + b.Split
			case place == 0:
				continue
			}
			count[place]++
			for ; note < len(s.Melody) && s.Melody[note].At < end; note++ {
				places[note], times[note] = place, count[place]
			}
		}
	}
	return places, times
}

// verseOf chooses among the verses that stand under some notes: those that have a third of them.
func verseOf(notes []Note, called, time int) int {
	var has [MaxVerses + 1]int
	for _, n := range notes {
		for _, y := range n.Sung {
			if y.Verse > 0 && y.Verse <= MaxVerses {
				has[y.Verse]++
			}
		}
	}
	var verses []int
	for v, n := range has {
		if 3*n >= len(notes) && n > 0 {
			verses = append(verses, v)
		}
	}
	switch {
	case len(verses) == 0:
		return notes[0].Sung[0].Verse
	case slices.Contains(verses, called):
		return called
	}
	return verses[(time-1)%len(verses)]
}

// calls is the number of a verse that a syllable has before it, as "2. Up"; 0: none.
func (s Syllable) calls() int {
	number, rest, ok := strings.Cut(strings.TrimSpace(s.Text), ".")
	n, err := strconv.Atoi(number)
	if !ok || rest == "" || err != nil || n < 1 || n > MaxVerses {
		return 0
	}
	return n
}
