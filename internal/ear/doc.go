// Package ear listens to a finished page as a teacher does and counts what she
// would mark: a chord that the tune denies, a printed bass that nobody plays, an
// ending that stops on the wrong foot. What cannot be played at all is the
// audit's subject; what is counted here can be played, and a good page has little
// or none of it.
//
// It reads the score and the lead sheet, in one key, and asks the audit which notes are
// the tune, as the audit asks nobody; nothing else: no Origin, no search, no technique, no
// analysis of ours. So a page cannot talk its way out
// of a count.
//
// What counts as a fault is common practice, no source, unless a count says more.
package ear
