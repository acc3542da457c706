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
	Haste         = "haste"
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
}

// Rules lists all rules in the order in which they are judged. The list is fresh
// at each call.
func Rules() []Rule {
	return []Rule{
		{BarLength, "a bar holds exactly its metre, unless it is a pick-up, the last bar, or split in two"},
		{BarGap, "each bar begins where the one before it ends"},
		{NoteLength, "a note has a length, and a grace note has none"},
		{NoteOutside, "a note lies within the piece"},
		{VoiceOverlap, "in one voice a note ends before the next begins, or is tied on under it to its end"},
		{MelodyMissing, "every melody note is struck in the top line, in order, on its beat or at most half a beat early"},
		{MelodyOctave, "the melody keeps its octave within a section"},
		{MelodyCovered, "nothing sounds above a melody note when it is struck"},
		{HandFull, "a hand holds at most five keys"},
		{Reach, "what a hand holds together lies within its span; a rolled chord is judged note to note"},
		{Fingers, "no two fingers stretch further than they can"},
		{HandsCross, "the left hand stays below the right, unless it crosses over it altogether to play the top line"},
		{KeyShared, "no key is struck by one hand while the other holds or strikes it"},
		{Range, "every note is on the keyboard, A0 to C8"},
		{Jump, "a hand reaches its next keys in time at the printed tempo"},
		{Repetition, "a key is struck again no faster than fingers can at the printed tempo"},
		{Haste, "at the printed tempo each finger that is printed gets to its key in time, and past another only where it can"},
		{MinorNinth, "no two notes sound a minor ninth apart, compound or not, but the flat ninth over the root of a dominant"},
		{LowInterval, "close intervals lie no lower than they can be heard as such"},
		{TensionClash, "of two tensions that exclude each other only one sounds"},
		{Unexplained, "every note belongs to the printed chord, is a colour that the chord allows, or leads by step into the next"},
		{NoChord, "where no chord is printed by intent (N.C.) nothing but the melody sounds"},
	}
}
