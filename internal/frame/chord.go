package frame

import (
	"strings"

	"gradatim/theory"
)

var numerals = [...]string{"I", "II", "III", "IV", "V", "VI", "VII"}

// chordOn reads a numeral in a key: as it is written in major; in minor with the chords
// that the key has, and the major dominant; in the modes with their own triads, and the
// chord on the lowered seventh degree for the dominant, which they do without.
func chordOn(k theory.Key, text string) theory.Chord {
	body, seventh := strings.CutSuffix(text, "7")
	small := body == strings.ToLower(body)
	degree := 0
	for i, n := range numerals {
		if n == strings.ToUpper(body) {
			degree = i
		}
	}
	scale := k.Scale()
	suffix := ""
	switch k.Mode {
	case theory.Major:
		if small {
			suffix = "m"
		}
	case theory.Minor:
		switch degree {
		case 0, 3:
			suffix = "m"
		case 1:
			if suffix = "dim"; seventh {
				return chordNamed(scale[1], "m7b5")
			}
		}
	default:
		if degree == 4 && !small {
			degree, seventh = 6, false
		}
		third, fifth := above(scale, degree, 2), above(scale, degree, 4)
		switch {
		case fifth == 6:
			suffix, seventh = "dim", false
		case third == 3:
			suffix = "m"
		}
	}
	if seventh {
		suffix += "7"
	}
	return chordNamed(scale[degree], suffix)
}

// above counts the semitones from a degree of a scale to the one so many steps higher.
func above(scale [7]theory.Name, degree, steps int) int {
	return (scale[(degree+steps)%7].Class() - scale[degree].Class() + 12) % 12
}

func chordNamed(root theory.Name, suffix string) theory.Chord {
	s, err := theory.ParseSymbol(root.String() + suffix)
	if err != nil {
		panic(err) // the suffixes are those above
	}
	return s.Chord
}
