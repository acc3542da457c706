package theory

import (
	"strconv"
	"strings"
)

// suffixReader reads what follows the root of a chord symbol.
//
// Problem: chord symbols have no standard; the same chord is written in a dozen
// ways, and quality, extension, alterations, additions and omissions run into
// one another without separators.
//
// Source: the grammar of lead sheets as described in guides to chord spelling
// (quality? extension? (alterations | additions | omissions)*), with the
// decisions for its ambiguities listed at cautions.
//
// Method: one left-to-right pass of a greedy tokenizer that fills in a draft,
// then one rule (draft.tones) that turns the draft into degrees, so that the
// order of the parts does not matter. Cost: linear in the symbol. Rejected: a
// list of all suffixes, which never ends; the table of qualities only adds
// words and exceptions.
type suffixReader struct {
	rest  string
	draft draft

	depth  int  // of brackets
	adding bool // an "add" governs the rest of the bracket
	listed bool // the next number follows a slash, a comma or a bracket
}

// readSuffix returns the degrees that a suffix stands for.
func readSuffix(suffix string) (Degrees, bool) {
	if t, ok := qualityBook().word[suffix]; ok {
		return t, true
	}
	return readByGrammar(suffix)
}

func readByGrammar(suffix string) (Degrees, bool) {
	if len(suffix) > 1 && suffix[0] == '/' && (suffix[1] < '0' || suffix[1] > '9') {
		suffix = suffix[1:] // "G/dim" of old sheets
	}
	r := suffixReader{rest: suffix}
	r.quality()
	for r.rest != "" {
		if !r.part() {
			return Degrees{}, false
		}
	}
	if r.depth != 0 || r.draft.contradicts() {
		return Degrees{}, false
	}
	return r.draft.tones().Normal(), true
}

// cut takes the first of the words that the rest starts with.
func (r *suffixReader) cut(words ...string) bool {
	for _, w := range words {
		if t, ok := strings.CutPrefix(r.rest, w); ok {
			r.rest = t
			return true
		}
	}
	return false
}

// at tells whether the rest starts with one of the words.
func (r *suffixReader) at(words ...string) bool {
	for _, w := range words {
		if strings.HasPrefix(r.rest, w) {
			return true
		}
	}
	return false
}

// major takes a word for "major"; "madd9" and "Madd9" do not start with "ma".
func (r *suffixReader) major() bool {
	switch {
	case r.at("madd", "malt", "Mi", "MI"):
		return false
	case r.at("Madd", "MADD"):
		return r.cut("M")
	}
	return r.cut("major", "Major", "MAJOR", "maj", "Maj", "MAJ", "ma", "Ma", "MA", "M", "j")
}

// quality reads the word or sign right after the root.
func (r *suffixReader) quality() {
	d := &r.draft
	switch {
	case r.cut("Δ"):
		d.majorSeventh, d.ext = true, 7
		r.extension()
	case r.major():
		d.plainMajor = true
		if !r.extensionFollows() { // "Cmaj" is the triad
			d.majorSeventh = true // but C maj(#11) has its seventh
			return
		}
		d.majorSeventh = !r.at("6")
		r.extension()
	case r.cut("half-diminished", "half-dim", "halfdim", "hdim", "ø"):
		d.halfdim, d.ext = true, 7
		r.extension()
	case r.at("omit"):
	case r.cut("diminished", "dim", "Dim", "DIM", "°", "o"):
		d.dim = true
		r.cut("5")
	case r.cut("augmented", "aug", "Aug", "AUG", "+"):
		d.aug = true
		r.cut("5")
	case r.cut("minor", "Minor", "MINOR", "min", "Min", "MIN", "mi", "Mi", "MI", "m"):
		d.minor = true
		switch { // "m#7", "m+7": the seventh is raised
		case r.cut("#7", "+7"):
			d.majorSeventh, d.ext = true, 7
		case r.cut("5"): // a minor chord has its fifth anyway
		}
	case r.cut("-"):
		if r.cut("5") { // C-5: a minor power chord would mean nothing
			d.altered = append(d.altered, Degree{5, -1})
			return
		}
		d.minor = true
	case r.cut("dominant", "dom", "Dom", "DOM"):
		d.ext = 7
		r.extension()
	}
}

var extensionWords = []string{"13", "11", "69", "9", "7", "6"}

func (r *suffixReader) extensionFollows() bool { return r.at(extensionWords...) }

// extension reads the number that says how far the stack of thirds goes.
func (r *suffixReader) extension() {
	for _, w := range extensionWords {
		if !r.cut(w) {
			continue
		}
		if w == "69" {
			r.draft.ext, r.draft.sixNine = 6, true
		} else {
			r.draft.ext, _ = strconv.Atoi(w)
		}
		r.cut("th")
		return
	}
}

// part reads one part after the quality; false: it cannot.
func (r *suffixReader) part() bool {
	d := &r.draft
	listed := r.listed
	r.listed = false
	switch {
	case r.cut("("):
		r.depth++
		r.listed = true
		return r.depth == 1
	case r.cut(")"):
		r.depth--
		r.adding = false
		return r.depth == 0
	case r.cut(",", ";", "/"):
		r.listed = true
		return r.rest != ""
	case r.cut("sus"):
		return r.suspension()
	case r.cut("add", "Add", "ADD"):
		r.adding = true
		defer func() { r.adding = r.depth > 0 }()
		return r.addition()
	case r.cut("omit", "no"):
		n, ok := r.number()
		d.omitted = append(d.omitted, n)
		r.cut("rd", "th", "nd", "d")
		return ok && n <= 13
	case r.cut("altered", "alt"):
		d.alt = true
		if d.ext == 0 {
			d.ext = 7
			if r.rest == "7" {
				r.rest = ""
			}
		}
		return d.ext == 7
	case r.cut("Δ"):
		return r.majorExtension(true)
	case r.major():
		return r.majorExtension(false)
	case r.cut("dim"):
		return r.cut("5") && r.alter(5, -1)
	case r.cut("aug"):
		r.cut("5")
		return r.alter(5, 1)
	case r.at("#", "b", "+", "-"):
		a := r.sign()
		if a == 1 && !r.atDigit() {
			return r.alter(5, 1) // "7+"
		}
		n, ok := r.number()
		return ok && r.alter(n, a)
	case r.adding || listed && (d.ext != 0 || r.depth == 0):
		return r.addition()
	case d.ext == 0 && r.extensionFollows():
		r.extension()
		return true
	case r.atDigit():
		return r.loneNumber()
	}
	return false
}

// suspension reads what "sus" suspends.
func (r *suffixReader) suspension() bool {
	d := &r.draft
	switch {
	case r.cut("24", "2/4", "42", "4/2"):
		d.sus2, d.sus4 = true, true
	case r.cut("2"):
		d.sus2 = true
	default:
		r.cut("4")
		d.sus4 = true
	}
	return true
}

// loneNumber reads a number that is no extension: 2, 4, 5.
func (r *suffixReader) loneNumber() bool {
	d := &r.draft
	switch {
	case r.at("2sus", "4sus"):
		d.sus2, d.sus4 = d.sus2 || r.at("2"), d.sus4 || r.at("4")
		r.rest = r.rest[len("2sus"):]
		return true
	case r.cut("2"):
		d.added = append(d.added, Degree{9, 0})
		return d.ext == 0
	case r.cut("4"):
		d.sus4 = true
		return d.ext == 0
	case r.cut("5"):
		d.power = true
		return d.ext == 0 && !d.minor && !d.dim && !d.aug
	}
	return false
}

// majorExtension reads the number after a "maj" that is not the quality.
func (r *suffixReader) majorExtension(triangle bool) bool {
	d := &r.draft
	had := d.ext
	if !triangle && !r.extensionFollows() && !d.minor && !d.dim && !d.aug {
		return false
	}
	if had == 6 { // m6(maj7): the sixth stays
		d.added = append(d.added, Degree{6, 0})
	}
	if !r.at("6") {
		r.extension()
	}
	d.ext = max(d.ext, 7)
	switch {
	case d.dim && had >= 7: // °7(maj7): both sevenths
		d.added = append(d.added, Degree{7, 0})
		d.ext = max(d.ext, had)
	case had >= 7 && !d.minor && !d.halfdim && !d.aug: // 7(maj7) contradicts itself
		return false
	default:
		d.majorSeventh = true
		d.ext = max(d.ext, had)
	}
	return true
}

// addition reads the degree after "add", or a listed number.
func (r *suffixReader) addition() bool {
	if r.cut("maj7", "M7", "ma7", "Δ7", "Δ") {
		r.draft.added = append(r.draft.added, Degree{7, 0})
		return true
	}
	a := 0
	if r.at("#", "b", "+", "-") {
		a = r.sign()
	}
	n, ok := r.number()
	if !ok || n > 13 {
		return false
	}
	if n == 7 && a == 0 {
		a = -1 // the seventh of chord symbols is the minor one
	} else if n == 7 && a > 0 {
		a = 0
	}
	r.draft.added = append(r.draft.added, Degree{int8(n), int8(a)})
	return true
}

func (r *suffixReader) atDigit() bool {
	return r.rest != "" && r.rest[0] >= '0' && r.rest[0] <= '9'
}

// sign reads one or two accidentals.
func (r *suffixReader) sign() int {
	c := r.rest[0]
	up := c == '#' || c == '+'
	r.rest = r.rest[1:]
	n := 1
	if r.rest != "" && r.rest[0] == c {
		r.rest = r.rest[1:]
		n = 2
	}
	if up {
		return n
	}
	return -n
}

// number reads a degree number, 1 to 13.
func (r *suffixReader) number() (int, bool) {
	i := 0
	for i < len(r.rest) && i < 2 && r.rest[i] >= '0' && r.rest[i] <= '9' {
		i++
	}
	if i == 2 && r.rest[:2] != "10" && r.rest[:2] != "11" && r.rest[:2] != "12" && r.rest[:2] != "13" {
		i = 1 // "b913"
	}
	n, err := strconv.Atoi(r.rest[:i])
	r.rest = r.rest[i:]
	return n, err == nil && n >= 1
}

// alter notes an altered degree.
func (r *suffixReader) alter(n, a int) bool {
	d := &r.draft
	if r.adding {
		d.added = append(d.added, Degree{int8(n), int8(a)})
		return n >= 1 && n <= 13
	}
	if a < -1 || a > 1 {
		return false
	}
	implies := true // an altered tension brings its seventh
	switch {
	case n == 5:
		implies = false
	case n == 2 || n == 9 || n == 3 && a > 0 || n == 10:
		if n == 10 { // the ♭10 of parts is the ♯9
			a += 2
		}
		n = 9
		if a > 1 {
			return false
		}
	case (n == 4 || n == 11) && a > 0:
		n = 11
	case n == 6 && a < 0:
		implies = false
		if d.ext >= 7 {
			n = 13
		} else {
			d.added = append(d.added, Degree{6, -1})
			return true
		}
	case n == 13 && a < 0:
	case n == 7 && a > 0:
		d.majorSeventh, d.ext = true, max(d.ext, 7)
		return d.minor
	case n == 7 && a < 0:
		d.ext = max(d.ext, 7)
		return !d.majorSeventh
	default:
		return false
	}
	d.altered = append(d.altered, Degree{int8(n), int8(a)})
	if implies && d.ext == 0 {
		d.ext = 7
	}
	return true
}
