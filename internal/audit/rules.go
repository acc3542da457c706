package audit

// Codes of the rules. They are stable: programs and teachers may rely on them.
const (
	BarLength     = "bar-length"
	BarGap        = "bar-gap"
	NoteLength    = "note-length"
	NoteOutside   = "note-outside"
	VoiceOverlap  = "voice-overlap"
	MelodyMissing = "melody-missing"
	MelodyOctave  = "melody-octave"
	MelodyCovered = "melody-covered"
	HandFull      = "hand-full"
	Reach         = "reach"
	Fingers       = "fingers"
	HandsCross    = "hands-cross"
	KeyShared     = "key-shared"
	Range         = "range"
	Jump          = "jump"
	Repetition    = "repetition"
	MinorNinth    = "minor-ninth"
	LowInterval   = "low-interval"
	TensionClash  = "tension-clash"
	Unexplained   = "note-unexplained"
	NoChord       = "no-chord"
)

// Rule is one rule of the audit.
type Rule struct {
	Code string
	Says string // what a score must do
	Fix  string // the way out that is suggested where it does not
}

// Rules lists all rules in the order in which they are judged. The list is fresh
// at each call.
func Rules() []Rule {
	return []Rule{
		{BarLength, "a bar holds exactly its metre, unless it is a pick-up, the last bar, or split in two", "make the bar as long as its metre"},
		{BarGap, "each bar begins where the one before it ends", "let the bars follow one another without gap or overlap"},
		{NoteLength, "a note has a length, and a grace note has none", "give the note a length"},
		{NoteOutside, "a note lies within the piece", "move or shorten the note"},
		{VoiceOverlap, "in one voice a note ends before the next begins, and notes struck together end together", "write the notes in two voices, or shorten the first"},
		{MelodyMissing, "every melody note is struck in the top line, in order, on its beat or at most half a beat early", "put the melody note back on top"},
		{MelodyOctave, "the melody keeps its octave within a section", "keep the whole section in one octave"},
		{MelodyCovered, "nothing sounds above a melody note when it is struck", "move the note above it down an octave, or release it before"},
		{HandFull, "a hand holds at most five keys", "leave out a doubled note or the fifth"},
		{Reach, "what a hand holds together lies within its span; a rolled chord is judged note to note", "roll the chord, leave out an outer note, or give it to the other hand"},
		{Fingers, "no two fingers stretch further than they can", "leave out an inner note or move it to the other hand"},
		{HandsCross, "the left hand stays below the right, unless it crosses over it altogether to play the top line", "give the notes to the hand that is nearer"},
		{KeyShared, "no key is struck by one hand while the other holds or strikes it", "leave the key to one hand"},
		{Range, "every note is on the keyboard, A0 to C8", "move the note by an octave"},
		{Jump, "a hand reaches its next keys in time at the printed tempo", "bring the keys nearer, or take a slower tempo"},
		{Repetition, "a key is struck again no faster than fingers can at the printed tempo", "leave out a repetition, or take a slower tempo"},
		{MinorNinth, "no two notes sound a minor ninth apart, compound or not, but the flat ninth over the root of a dominant", "move one of the two by an octave, or leave it out"},
		{LowInterval, "close intervals lie no lower than they can be heard as such", "move the lower note up an octave, or leave out the upper"},
		{TensionClash, "of two tensions that exclude each other only one sounds", "keep the one that suits the melody"},
		{Unexplained, "every note belongs to the printed chord, is an available tension, or leads by step into the next", "use a note of the chord, or print the chord that is meant"},
		{NoChord, "where no chord is printed by intent (N.C.) nothing but the melody sounds", "leave the accompaniment out there"},
	}
}
