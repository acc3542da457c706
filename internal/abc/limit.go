package abc

// What the reader accepts at most, beside the limits of the leadsheet package.
// A sheet beyond these ends in a placed error. They are generous: no tune of the
// corpora that the tests read has more than a hundred written bars.
const (
	MaxBytes       = 4 << 20 // of a file
	MaxTunes       = 20_000  // in a file
	MaxWrittenBars = 20_000  // in a tune
	MaxTokens      = 500_000 // of music code in a tune
	MaxBarNotes    = 1_000   // notes and rests in one bar
	MaxNoteWholes  = 64      // length of one note, in whole notes
	MaxBarWholes   = 256     // length of one bar, in whole notes
	MaxSymbols     = 2_000   // different chord symbols in a tune
	MaxGraces      = 16      // before one note
	MaxPartDepth   = 16      // of brackets in the order of parts
	MaxFieldBytes  = 10_000  // of the text of one field, continued lines included
	MaxNotesLines  = 200     // of remarks kept from one tune

	maxProblems     = 400 // in one report
	maxSameProblems = 40  // of one code
)
