package notate

import (
	"cmp"
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// Sung is what of a verse stands under a written chord.
type Sung struct {
	Verse    int
	Text     string // "" where a syllable is only held
	Syllabic Syllabic
	Extend   Extend
}

// Syllabic says where in its word a syllable stands.
type Syllabic uint8

// Places of a syllable.
const (
	Single Syllabic = iota
	First
	Middle
	Last
)

// Extend is the line of a syllable that is held: begun, going on, ended.
type Extend uint8

// Extenders.
const (
	NoExtend Extend = iota
	ExtendFrom
	ExtendOn
	ExtendTo
)

// lyrics lays the syllables under the written chords. One that is held has a line to the
// last note of its hold, also where that is only tied; a word's syllables have hyphens
// between them, and those need no line.
func (w *writer) lyrics() {
	type line struct {
		hand  score.Hand
		verse int
	}
	within := map[line]bool{}
	songs := map[line][]score.Lyric{}
	var lines []line
	for _, y := range w.Source.Lyrics {
		l := line{w.signStaff(y.Hand), y.Verse}
		if songs[l] == nil {
			lines = append(lines, l)
		}
		songs[l] = append(songs[l], y)
	}
	slices.SortFunc(lines, func(a, b line) int { return cmp.Or(cmp.Compare(a.hand, b.hand), cmp.Compare(a.verse, b.verse)) })
	for _, l := range lines {
		var ys []score.Lyric
		for _, y := range songs[l] {
			if n := len(ys); !y.Held || n > 0 && !w.jumped(ys[n-1].At, y.At) {
				ys = append(ys, y)
			}
		}
		for i, y := range ys {
			own := w.written(l.hand, y)
			if len(own) == 0 {
				w.warn(y.At, "syllable-without-note", "Text", y.Text)
				continue
			}
			held := i+1 < len(ys) && ys[i+1].Held
			s := Sung{Verse: y.Verse, Text: y.Text}
			switch {
			case y.Held && held:
				s.Extend = ExtendOn
			case y.Held:
				s.Extend = ExtendTo
			case held, len(own) > 1 && !y.Hyphen:
				s.Extend = ExtendFrom
			}
			if !y.Held {
				switch before := within[l]; {
				case before && y.Hyphen:
					s.Syllabic = Middle
				case before:
					s.Syllabic = Last
				case y.Hyphen:
					s.Syllabic = First
				}
				within[l] = y.Hyphen
			}
			last := own[len(own)-1]
			if len(own) > 1 && s.Extend == ExtendTo {
				s.Extend = ExtendOn
				last.Sung = append(last.Sung, Sung{Verse: y.Verse, Extend: ExtendTo})
			} else if len(own) > 1 && s.Extend == ExtendFrom && !held {
				last.Sung = append(last.Sung, Sung{Verse: y.Verse, Extend: ExtendTo})
			}
			own[0].Sung = append(own[0].Sung, s)
		}
	}
}

// jumped tells whether the music may come to a place from elsewhere than from an earlier
// one, over a sign between them: what is held there has no line from it.
func (w *writer) jumped(from, to theory.Dur) bool {
	for b := w.Source.BarAt(from) + 1; b > 0 && b <= w.Source.BarAt(to); b++ {
		here, before := w.Source.Bars[b].Signs, w.Source.Bars[b-1].Signs
		if here.Start || here.EndingOpens || here.Segno || here.Coda || before.Times > 0 || before.DaCapo || before.DalSegno {
			return true
		}
	}
	return false
}

// written finds the chords as which the main note of a hand at a moment is written: the
// first, and those that are tied to it.
func (w *writer) written(staff score.Hand, y score.Lyric) (out []*Event) {
	note := -1
	for b := w.Source.BarAt(y.At); b >= 0 && b < len(w.Bars); b++ {
		found := false
		for v := range w.Bars[b].Voices {
			voice := &w.Bars[b].Voices[v]
			if w.signStaff(voice.Hand) != staff || voice.Hidden {
				continue
			}
			for k := range voice.Events {
				e := &voice.Events[k]
				if e.Kind != Chord || note < 0 && e.At != y.At {
					continue
				}
				for h := len(e.Heads) - 1; h >= 0; h-- {
					if note < 0 && e.Heads[h].First {
						note = e.Heads[h].Note
					}
					if e.Heads[h].Note == note {
						out = append(out, e)
						found = true
						if e.Heads[h].Last {
							return out
						}
						break
					}
				}
			}
		}
		if !found {
			return out
		}
	}
	return out
}
