package technique

// table lists every technique in teaching order.
var table = []*Technique{
	plainTriads,
	brokenTriad,
	heldRoot,

	addedNotes,
	suspendedDelay,
	anticipation,
	balladSpread,
	bassAndChord,
	threeThreeTwo,
	alberti,
	oneFiveEight,
	compoundSpread,
	thirdOrSixth,
	echo,
}
