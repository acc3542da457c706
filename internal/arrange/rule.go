package arrange

import "gradatim/theory"

// rule is a hard rule of one cell: what a hand cannot do, an ear cannot bear, or a level
// does not ask for.
type rule uint8

const (
	keeps rule = iota // none is broken
	tooQuick
	meetsTune
	tooMany
	tooWide
	outOfReach
	offKeyboard
	tooLow
	tooFarAway
	tooMuch
	handsMeet
	offBass
	notHeld
)

// The words in brackets are the audit's for the same rule, where it has one.
var ruleTexts = [...]string{
	tooQuick:    "the level writes no notes so short",
	meetsTune:   "it crosses the tune or rubs against it [hands-cross, minor-ninth]",
	tooMany:     "the level asks for no more notes at once [hand-full]",
	tooWide:     "the level asks for no chord so wide",
	outOfReach:  "the hand does not reach it [reach]",
	offKeyboard: "it is not on the keyboard [range]",
	tooLow:      "the notes lie too near to each other for so low a place [low-interval]",
	tooFarAway:  "the hand is not there in time [jump]",
	tooMuch:     "the level asks for no more notes a second",
	offBass:     "it does not begin with the chord's bass, and the sheet or the level asks for that",
	notHeld:     "the last chord is struck once, without a half step in it, and held",
	handsMeet:   "the other hand is in the way [hands-cross]",
}

// String says what the rule is about.
func (r rule) String() string { return ruleTexts[r] }

// breach is a rule broken at a moment; the zero breach is none.
type breach struct {
	rule rule
	at   theory.Dur
}
