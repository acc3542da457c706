package main

import "gradatim"

// handFlags declares the two flags that say whose hands play.
func handFlags(f *flagSet) (reach, file *string) {
	reach = f.String("hand", "ninth", "`REACH`: octave, ninth, tenth, or thumb to little finger as 215 (mm) or 8.5in; hands may differ: \"left octave, right ninth\" (default: ninth)")
	file = f.String("hand-file", "", "`FILE`: named hands (TOML), one of which --hand may name")
	return reach, file
}

// chooseHand returns the hand that --hand names, among those of a file of hands where
// one is given.
func (sh *shell) chooseHand(word, file string) (gradatim.Hand, error) {
	files, err := sh.someFile(file)
	if err != nil {
		return gradatim.Hand{}, err
	}
	h, err := gradatim.ParseHand(word, files...)
	if err != nil {
		return h, asUsage("--hand: ", err)
	}
	return h, nil
}
