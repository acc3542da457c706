package technique

// table lists every technique in teaching order.
var table = []*Technique{
	// level 1
	plainTriads,
	brokenTriad,
	heldRoot,

	// level 2
	addedNotes,
	suspendedDelay,
	commonTonePad,
	anticipation,
	balladSpread,
	bassAndChord,
	threeThreeTwo,
	alberti,
	oneFiveEight,
	compoundSpread,
	thirdOrSixth,
	echo,

	// level 3
	seventhChords,
	extensions,
	alterations,
	styleDominants,
	diatonicSubstitution,
	lineCliche,
	steppingBass,
	pedalPoint,
	shells,
	rootThenGuides,
	comping,
	bossa,
	shuffle,
	guideTones,
	chordFill,
	slide,
	crush,
	ending,

	// level 4
	secondaryDominant,
	insertedDominant,
	relatedTwo,
	tritoneSubstitution,
	halfStepAbove,
	leadingDiminished,
	passingDiminished,
	commonToneDiminished,
	backdoor,
	turnaround,
	modalInterchange,
	walkingBass,
	ghostNotes,
	twoFeel,
	mordent,
	turn,
	enclosure,
	blockChords,
	octaves,

	// level 5
	stride,
	strideTenths,
	rootSeventh,
	clusters,
	fullChords,
	run,
	tremolo,
}
