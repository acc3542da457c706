package technique

// What tests outside the package use of those inside.
var (
	Sound    = sound
	ChordsOf = chordsOf
	NoLower  = lowestKey
)
