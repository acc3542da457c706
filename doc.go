// Package gradatim turns a lead sheet, a melody with chord symbols, into a ladder of
// graded two-hand piano arrangements. Each page is judged by a referee that knows
// nothing of how it was made, and of each note is known why it is there. The command of
// the same name does all that it does through this package; any other program can.
//
// # A job
//
// A [Job] is a lead sheet with every option. Only the sheet is needed; the zero value
// of an option is what is done where nothing is said.
//
//	job := gradatim.Job{
//		Sheet:  gradatim.File{Name: "waltz.abc", Data: data},
//		Levels: []int{2, 4},
//		Hand:   gradatim.Hand{Right: 20000, Left: 20000},
//		Style:  "waltz",
//	}
//
// A job holds its files itself, so that it can be sent, stored and compared: [Job.Text]
// is its one canonical form, [ParseJob] reads it, and [Job.Hash] names what is made of
// it. Same job, same bytes: no clock, chance or machine enters a page. Each option has a
// Parse function that reads what a person would write: [ParseKey], [ParseHand],
// [ParseLevels] and so on.
//
// # A session
//
// [Open] reads a job and gives a [Session], of which everything is asked: what was
// understood of the sheet ([Session.Song]), the pages ([Session.Ladder]), files of each
// page ([Session.MusicXML], [Session.PDF], [Session.MIDI], [Session.Record],
// [Session.Account]) and the lesson ([Session.Lesson], [Session.Pack]). What is asked
// for is made once, when it is first asked for. A session never changes and may be used
// by several goroutines. Programs that do many jobs open them in one [Studio], which
// keeps the engraver and the piano.
//
// # Pages
//
// A [Page] is the tune at one level, as a score.Score: spelled pitches, exact durations,
// and an Origin on each note. A level that no page of passes the audit is a page that
// Failed, never an unplayable one.
//
// # Scores
//
// [ReadScore] reads anybody's piano score into the same form. Of a score, a page's or
// that of a file, [Audit] says which rules of playing it breaks and [Rate] how hard it
// is; [Excerpt] cuts bars out of it; [WriteScore] and [WriteMIDI] write it,
// [Studio.Engrave] prints it and [Studio.Record] plays it. [LockText] keeps bars of a
// page as text. Of a lead sheet, [Describe] says what was understood.
//
// # Choices
//
// What a teacher wants her way she says as a [Choice]: a chord, a technique, a figure, a
// note, a finger, at one level, from a beat of a bar. [Session.Change] gives the session
// in which it holds; only what it touches is searched again, and the session before is
// still there to go back to. [Session.RunnersUp] lists what else a bar could have been,
// with the exact price of each for the whole page, and the choices that make it so.
// [Session.Lock] keeps bars as they are, [Session.Free] lets go of them. The choices stand
// in [Session.Job], so that the work can be saved and opened again.
//
// # Lessons
//
// [Session.Lesson] is what a teacher would say of the ladder, as data. [Session.Pack]
// puts all that a student gets into a [Store]: a [Folder], a [Zip] file, or one of the
// caller's own. A lesson that stands there is replaced whole, or not at all.
//
// # Errors
//
// What is wrong with a sheet, an option or a choice is a leadsheet.Problems: all of it,
// each with its place (file, line, bar, beat), a stable code and a way out. What the
// program had to drop or guess is told in the same form beside the result. Every call
// that can take long takes a context, and ends with its cause.
//
// # Take care
//
// Wide stretches can hurt a hand: say what the player reaches with ease. Whether a tune
// may be arranged, copied or performed depends on its rights and on local law;
// [Publishable] says only what is missing in what is known of them.
package gradatim
