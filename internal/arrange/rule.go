package arrange

import (
	"gradatim/reason"
	"gradatim/theory"
)

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

// ruleFacts say why, as values.
var ruleFacts = [...]reason.Fact{
	tooQuick:    "rule-too-quick",
	meetsTune:   "rule-meets-tune",
	tooMany:     "rule-too-many",
	tooWide:     "rule-too-wide",
	outOfReach:  "rule-out-of-reach",
	offKeyboard: "rule-off-keyboard",
	tooLow:      "rule-too-low",
	tooFarAway:  "rule-too-far-away",
	tooMuch:     "rule-too-much",
	offBass:     "rule-off-bass",
	notHeld:     "rule-not-held",
	handsMeet:   "rule-hands-meet",
}

// why is the rule as a reason.
func (r rule) why() reason.Fact { return ruleFacts[r] }

// breach is a rule broken at a moment; the zero breach is none.
type breach struct {
	rule rule
	at   theory.Dur
}
