package main

import (
	"strings"

	"gradatim/internal/hand"
	"gradatim/leadsheet"
)

// handFlags declares the two flags that say whose hands play.
func handFlags(f *flagSet) (reach, file *string) {
	reach = f.String("hand", "ninth", "`REACH`: octave, ninth, tenth, or thumb to little finger as 215 (mm) or 8.5in; hands may differ: \"left octave, right ninth\" (default: ninth)")
	file = f.String("hand-file", "", "`FILE`: named hands (TOML), one of which --hand may name")
	return reach, file
}

// chooseHand returns the profile that --hand names, among those of a file of
// profiles where one is given.
func (sh *shell) chooseHand(word, file string) (hand.Profile, error) {
	var named []hand.Profile
	if file != "" {
		data, err := sh.readFile(file)
		if err != nil {
			return hand.Profile{}, err
		}
		var ps leadsheet.Problems
		if named, ps = hand.ReadProfiles(label(file), data); ps.Err() != nil {
			return hand.Profile{}, ps
		}
	}
	p, err := hand.Choose(word, named)
	if err != nil {
		return p, usageError{"--hand: " + strings.TrimPrefix(err.Error(), "hand: ")}
	}
	return p, nil
}
