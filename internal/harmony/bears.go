package harmony

import (
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Bears tells whether a chord bears a note of the tune over it, however short: one
// of its own, or a tension of its kind. next is the chord after it; zero: none.
//
// A dominant that falls a fifth bears every alteration. Any other one, above all a
// substitute, bears 1 9 3 ♯11 5 13 ♭7: its ♭9 would be the fifth of the dominant
// that it stands for. A diminished chord bears its own notes and whole steps above
// them. For the rest a tension lies a whole step above a chord tone (for the source
// see the test of tensions). Fits asks less: it lets a weak note pass over
// a chord that the sheet has; this is for a chord that we put there.
func Bears(ch, next theory.Chord, n theory.Name) bool {
	if ch.HasClass(n.Class()) {
		return true
	}
	t := ch.Tones
	only := func(semitones ...int) bool {
		for _, s := range semitones {
			if s == above(ch.Root, n) {
				return true
			}
		}
		return false
	}
	switch q := qualityOf(ch); {
	case q == dominant && t.Has(degree4) && !t.Has(degree3):
		return only(2, 7, 9)
	case q == dominant && !next.Silent() && above(ch.Root, next.Root) == 5:
		return only(1, 2, 3, 6, 7, 8, 9)
	case q == dominant:
		return only(2, 6, 7, 9)
	case q == diminished:
		return only(2, 5, 8, 9, 11)
	case q == halfDiminished:
		return only(2, 5, 8)
	case q == minor && t.Has(dg(6, 0)):
		return only(2, 5, 7, 9)
	case q == minor:
		return only(2, 5, 7, 9, 10)
	case q == augmented:
		return only(2, 6, 10)
	case q == major:
		return only(2, 6, 7, 9, 11)
	}
	return only(2, 7, 9)
}

// BearsAll tells whether a chord bears all of the tune that sounds in [from, to),
// the note held into it included.
func BearsAll(song leadsheet.Song, ch, next theory.Chord, from, to theory.Dur) bool {
	i := noteIndex(song.Melody, from)
	for i > 0 && song.Melody[i-1].End() > from {
		i--
	}
	for ; i < len(song.Melody) && song.Melody[i].At < to; i++ {
		if n := song.Melody[i]; n.End() > from && !Bears(ch, next, n.Pitch.Name) {
			return false
		}
	}
	return true
}
