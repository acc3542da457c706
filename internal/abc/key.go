package abc

import (
	"strconv"
	"strings"

	"gradatim/theory"
)

// signature is what a K: field says: the key and the alteration that each
// letter has by it, which explicit accidentals may take out of the key.
type signature struct {
	key      theory.Key
	declared bool
	alter    [7]int8 // by theory.Letter

	shift shift // octaves by which what follows sounds higher
	clef  bool  // the field also (or only) names a clef or a voice property
	odd   bool  // explicit accidentals make a signature that the key does not have
	pipes bool  // K:HP or K:Hp
	moved bool  // "transpose=" stands there; it is not followed
}

// shift counts octaves: by "octave=", and by the ±8 of a clef.
type shift struct{ property, clef int }

func keySignature(k theory.Key) signature {
	s := signature{key: k, declared: true}
	for l := theory.C; l <= theory.B; l++ {
		s.alter[l] = k.Signature(l)
	}
	return s
}

// noSignature is what K:none leaves: no signs, and no word on the key.
func noSignature() signature {
	s := keySignature(theory.Key{Tonic: theory.Name{Letter: theory.C}, Mode: theory.Major})
	s.declared = false
	return s
}

// parseKey reads the value of a K: field (ABC 2.1, section 3.1.14 and 4.6):
// tonic, mode, explicit accidentals (with "exp" they are all there is), clef and
// voice properties in any order after the tonic. previous stays in force where
// only a clef is given. ok is false where no key can be read.
func parseKey(value string, previous signature) (_ signature, ok bool) {
	words := strings.Fields(value)
	sig := previous
	sig.clef, sig.odd, sig.pipes, sig.moved = false, false, false, false
	if len(words) == 0 {
		return noSignature(), true
	}
	switch words[0] {
	case "HP", "Hp":
		// Highland pipes play a mixolydian on A: F and C sharp, G natural.
		sig = keySignature(theory.Key{Tonic: theory.Name{Letter: theory.A}, Mode: theory.Mixolydian})
		sig.shift, sig.pipes = previous.shift, true
		words = words[1:]
	case "none":
		sig = noSignature()
		sig.shift = previous.shift
		words = words[1:]
	default:
		if voiceProperty(words[0], &sig) {
			return properties(words[1:], sig)
		}
		tonic, rest, good := cutTonic(words[0])
		if !good {
			return previous, false
		}
		words = words[1:]
		modeWord := rest
		if modeWord == "" && len(words) > 0 {
			if _, isMode := parseMode(words[0]); isMode || words[0] == "exp" {
				modeWord, words = words[0], words[1:]
			}
		}
		if modeWord == "exp" {
			k := theory.Key{Tonic: tonic, Mode: theory.Major}
			sig = signature{key: k, declared: true, shift: previous.shift}
			return accidentals(words, sig, true)
		}
		mode, isMode := parseMode(modeWord)
		if !isMode {
			// Accidentals may hang on the tonic without a space: K:D^c.
			if i := strings.IndexAny(modeWord, "^_="); i >= 0 {
				if mode, isMode = parseMode(modeWord[:i]); isMode {
					words = append([]string{modeWord[i:]}, words...)
				}
			}
			if !isMode {
				return previous, false
			}
		}
		sig = keySignature(theory.Key{Tonic: tonic, Mode: mode})
		sig.shift = previous.shift
	}
	return accidentals(words, sig, false)
}

// accidentals reads "^f _b =c" and the properties after them. exp: nothing else
// makes the signature, and the mode is the one that fits best.
func accidentals(words []string, sig signature, exp bool) (signature, bool) {
	for len(words) > 0 {
		w := words[0]
		for w != "" && strings.IndexByte("^_=", w[0]) >= 0 {
			i := 0
			for i < len(w) && strings.IndexByte("^_=", w[i]) >= 0 {
				i++
			}
			if i == len(w) {
				return sig, false
			}
			a, good := accidental(w[:i])
			l, isNote := noteLetter(w[i])
			if !good || !isNote {
				return sig, false
			}
			sig.alter[l] = a
			w = w[i+1:]
		}
		if w != "" {
			break
		}
		words = words[1:]
	}
	sig = fit(sig, exp)
	return properties(words, sig)
}

// fit chooses the mode of an "exp" signature: the one on its tonic that differs
// in the fewest letters, another third counting as three; of equals, the one that
// comes first in the order of theory.Mode.
func fit(sig signature, exp bool) signature {
	differ := func(m theory.Mode) int {
		n := 0
		for l := theory.C; l <= theory.B; l++ {
			if (theory.Key{Tonic: sig.key.Tonic, Mode: m}).Signature(l) != sig.alter[l] {
				n++
				if l == (sig.key.Tonic.Letter+2)%7 {
					n += 2
				}
			}
		}
		return n
	}
	if exp {
		best := theory.Major
		for m := theory.Minor; m <= theory.Locrian; m++ {
			if differ(m) < differ(best) {
				best = m
			}
		}
		sig.key.Mode = best
	}
	sig.odd = differ(sig.key.Mode) > 0
	return sig
}

func properties(words []string, sig signature) (signature, bool) {
	for _, w := range words {
		if !voiceProperty(w, &sig) {
			return sig, false
		}
	}
	return sig, true
}

// voiceProperty reads clef and voice properties; all but the octave only say
// how to print.
func voiceProperty(w string, sig *signature) bool {
	name, value, has := strings.Cut(w, "=")
	if !has {
		name, value = "clef", w
	}
	value = strings.Trim(value, `"`)
	switch strings.ToLower(name) {
	case "clef":
		base := strings.TrimRight(strings.ToLower(value), "+-0123456789")
		switch base {
		case "treble", "bass", "alto", "tenor", "perc", "mezzosoprano", "soprano", "baritone", "none", "g", "f", "c":
		default:
			return false
		}
		if !has && len(base) == 1 {
			return false
		}
		sig.clef, sig.shift.clef = true, 0
		if strings.HasSuffix(value, "+8") {
			sig.shift.clef = 1
		} else if strings.HasSuffix(value, "-8") {
			sig.shift.clef = -1
		}
	case "octave":
		n, err := strconv.Atoi(value)
		if err != nil || n < -4 || n > 4 {
			return false
		}
		sig.clef, sig.shift.property = true, n
	case "transpose", "shift", "score", "sound", "t":
		sig.clef, sig.moved = true, true
	case "middle", "m", "stafflines", "staffscale", "name", "nm", "subname", "snm", "stem", "merge", "up", "down", "gchords", "cue":
		sig.clef = true
	default:
		return false
	}
	return true
}

// cutTonic reads "F#", "Bb", "e".
func cutTonic(w string) (theory.Name, string, bool) {
	l, ok := noteLetter(w[0])
	if !ok {
		return theory.Name{}, w, false
	}
	n := theory.Name{Letter: l}
	switch rest := w[1:]; {
	case strings.HasPrefix(rest, "#"):
		n.Alter = 1
		return n, rest[1:], true
	case strings.HasPrefix(rest, "♯"), strings.HasPrefix(rest, "♭"):
		n.Alter = 1
		if strings.HasPrefix(rest, "♭") {
			n.Alter = -1
		}
		return n, rest[len("♯"):], true
	case strings.HasPrefix(rest, "b"):
		n.Alter = -1
		return n, rest[1:], true
	default:
		return n, rest, true
	}
}

// parseMode reads a mode's name; only its first three letters count, and their
// case does not, except that M is major and m is minor.
func parseMode(w string) (theory.Mode, bool) {
	switch w {
	case "", "M":
		return theory.Major, true
	case "m":
		return theory.Minor, true
	}
	if len(w) < 3 || strings.Trim(strings.ToLower(w), "abcdefghijklmnopqrstuvwxyz") != "" {
		return 0, false
	}
	switch strings.ToLower(w[:3]) {
	case "maj", "ion":
		return theory.Major, true
	case "min":
		return theory.Minor, true
	case "aeo":
		return theory.Aeolian, true
	case "dor":
		return theory.Dorian, true
	case "phr":
		return theory.Phrygian, true
	case "lyd":
		return theory.Lydian, true
	case "mix":
		return theory.Mixolydian, true
	case "loc":
		return theory.Locrian, true
	}
	return 0, false
}

// noteLetter reads a note letter of either case.
func noteLetter(c byte) (theory.Letter, bool) {
	if c >= 'a' && c <= 'g' {
		c -= 'a' - 'A'
	}
	if c < 'A' || c > 'G' {
		return 0, false
	}
	return theory.Letter((int(c-'A') + 5) % 7), true
}

// accidental reads "^", "__", "=" …; ok is false for what ABC does not have.
func accidental(s string) (alter int8, ok bool) {
	switch s {
	case "^^":
		return 2, true
	case "^":
		return 1, true
	case "=":
		return 0, true
	case "_":
		return -1, true
	case "__":
		return -2, true
	}
	return 0, false
}
