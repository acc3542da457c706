package idiom

import (
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/leadsheet"
)

// Way says how a tune goes up the ladder.
type Way uint8

// Ways. A tune walks when each level dresses it in the manner of another kind (plain
// and swung, pop, blues, swing, stride), each whole-hearted; it stays when every
// level leaves it the kind that it is. Auto follows the kind's own habit.
const (
	Auto Way = iota
	Walk
	Stay
)

// Of is the kind as it is for one tune: among tunes of a kind that walks are some that stay, as a
// rag among songs.
func (k Idiom) Of(song leadsheet.Song, an harmony.Analysis) Idiom {
	if k.stays != 0 && FactsOf(song, an)&k.stays == k.stays {
		k.Walks = false
	}
	return k
}

// Manner is the kind in whose manner a tune of a kind is played at a level: what the
// level's file names where the tune walks, else its own.
func Manner(tune Idiom, l ladder.Level, w Way, among []Idiom) Idiom {
	if w == Stay || w == Auto && !tune.Walks {
		return tune
	}
	if m, ok := Named(l.WalksAs, among); ok {
		return m
	}
	return tune
}
