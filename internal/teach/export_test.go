package teach

import "gradatim/internal/technique"

// Makes tells whether a kind of drill has its makers.
func Makes(d technique.Drill) bool { return len(makers[d]) > 0 }

// Claims counts what a lesson claimed of notes, by message.
func Claims(l Lesson) map[string]Tally { return l.claims }

// Proved tells whether a message has a proof.
func Proved(key string) bool { return proofs[key] != nil }
