package idiom

import "gradatim/internal/ladder"

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
