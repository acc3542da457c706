// Package claim holds what is said of a page against its notes. Each kind of reason,
// each fact and each figure of a hand has a predicate here, which reads notes, bars and
// printed chords and nothing else: not why a note was chosen, and not what it was
// chosen for, but for the figure to which it belongs. A reason that its notes deny is
// not told.
//
// Problem: a reason is made before the page is done. What comes after (plainer symbols,
// mended bars, another octave) can leave it behind. Objective: no sentence that its own
// bars deny. Source: what the terms mean in any harmony and piano course; common
// practice, no source. Method: a reason is a tree; of it those clauses stay that hold.
// Cost: linear in the notes of the bars spoken of, for each reason. Rejected: mending
// reasons where they are made, as who makes them cannot see the page that they end on.
//
// It owns the predicates and refuses wording.
package claim
