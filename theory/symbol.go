package theory

import (
	"fmt"
	"strings"
)

// maxSymbol bounds the bytes of a chord symbol; none on paper comes near it.
const maxSymbol = 128

// Symbol is one chord symbol as it stands over a staff.
type Symbol struct {
	Chord    Chord
	NoChord  bool      // N.C.: the chord stops sounding
	Repeat   bool      // %: the bar before is played again
	Optional bool      // (Em7): may be left out
	Cautions []Caution // what else the symbol could have meant
}

// String writes the symbol in the house style.
func (s Symbol) String() string {
	switch {
	case s.Repeat:
		return "%"
	case s.Optional:
		return "(" + s.Chord.String() + ")"
	}
	return s.Chord.String()
}

// SymbolError reports a chord symbol that cannot be read.
type SymbolError struct {
	Text       string // the symbol, cut short if it is very long
	Suggestion string // the nearest readable symbol; empty if there is no root
}

// Error says what was not understood and what may be meant.
func (e *SymbolError) Error() string {
	if e.Suggestion == "" {
		return fmt.Sprintf("theory: unknown chord %q", e.Text)
	}
	return fmt.Sprintf("theory: unknown chord %q; nearest is %q", e.Text, e.Suggestion)
}

// ParseSymbol reads a chord symbol in any of the usual ways of writing. It is
// generous about spaces, Unicode and full-width signs and about the bass note,
// which may be in lower case ("D/f#", ABC 2.1 §4.18; "D/f+" of old sheets).
// An error is a *SymbolError.
func ParseSymbol(s string) (Symbol, error) {
	if len(s) > maxSymbol {
		r := []rune(s[:maxSymbol])
		return Symbol{}, &SymbolError{Text: string(r[:min(len(r), 40)]) + "…"}
	}
	var sym Symbol
	p := plain(s)
	if in, ok := enclosed(p); ok {
		sym.Optional = true
		p = in
	}
	switch strings.ToLower(strings.ReplaceAll(strings.ReplaceAll(p, ".", ""), " ", "")) {
	case "nc", "nochord", "tacet", "tacetharmony":
		return Symbol{NoChord: true}, nil
	case "%":
		return Symbol{Repeat: true}, nil
	}
	if upper, lower, ok := cutOver(p); ok {
		c, notes, ok := readPolychord(unspaced(upper), unspaced(lower))
		if !ok {
			return Symbol{}, &SymbolError{Text: s, Suggestion: suggestOver(unspaced(upper), unspaced(lower))}
		}
		sym.Chord, sym.Cautions = c, notes
		return sym, nil
	}
	p = unspaced(p)
	c, notes, ok := readChord(p)
	if !ok {
		return Symbol{}, &SymbolError{Text: s, Suggestion: suggest(p)}
	}
	sym.Chord, sym.Cautions = c, notes
	return sym, nil
}

// enclosed takes off a pair of brackets that holds the whole symbol. A bracket
// whose partner is missing, as when "(D" and "A7)" stand over two notes, counts.
func enclosed(p string) (string, bool) {
	if p == "" {
		return p, false
	}
	closer := ""
	switch p[0] {
	case '(':
		closer = ")"
	case '[':
		closer = "]"
	}
	if closer != "" {
		in := p[1:]
		if t, ok := strings.CutSuffix(in, closer); ok && balanced(t) {
			return t, true
		}
		if balanced(in) {
			return in, true
		}
		return p, false
	}
	if t, ok := strings.CutSuffix(p, ")"); ok && !balanced(p) && balanced(t) {
		return t, true
	}
	if t, ok := strings.CutSuffix(p, "]"); ok {
		return t, true
	}
	return p, false
}

// balanced tells whether the round brackets of s match.
func balanced(s string) bool {
	depth := 0
	for i := 0; i < len(s); i++ {
		switch s[i] {
		case '(':
			depth++
		case ')':
			if depth--; depth < 0 {
				return false
			}
		}
	}
	return depth == 0
}

// cutOver splits a polychord: "D over C7" or "D|C7".
func cutOver(p string) (upper, lower string, ok bool) {
	if u, l, ok := strings.Cut(p, " over "); ok {
		return u, l, true
	}
	return strings.Cut(p, "|")
}

// readPolychord reads the two halves; only the lower may have a slash bass.
func readPolychord(upper, lower string) (Chord, []Caution, bool) {
	up, notes, ok := readChord(upper)
	if !ok || up.Slash {
		return Chord{}, nil, false
	}
	c, more, ok := readChord(lower)
	c.UpperRoot, c.UpperTones = up.Root, up.Tones
	return c, append(notes, more...), ok
}

// readChord reads a plain symbol: root, suffix, bass.
func readChord(p string) (Chord, []Caution, bool) {
	root, rest, err := cutName(p)
	if err != nil {
		return Chord{}, nil, false
	}
	suffix, bass, slash := cutBass(rest)
	tones, ok := readSuffix(suffix)
	if !ok {
		return Chord{}, nil, false
	}
	c := Chord{Root: root, Tones: tones}
	if slash && bass != root {
		c.Bass, c.Slash = bass, true
	}
	return c, cautions(root, suffix, tones), true
}

// cutBass takes "/E" from the end of what follows the root. "6/9" and "7/b9"
// have no bass note.
func cutBass(rest string) (suffix string, bass Name, ok bool) {
	i := strings.LastIndexByte(rest, '/')
	if i < 0 {
		return rest, Name{}, false
	}
	b := rest[i+1:]
	if b == "" {
		return rest, Name{}, false
	}
	b = strings.ToUpper(b[:1]) + strings.ReplaceAll(b[1:], "+", "#")
	n, err := ParseName(b)
	if err != nil {
		return rest, Name{}, false
	}
	return rest[:i], n, true
}

// String writes the chord in the house style: "Bb7(b9)/D", "C(add9)",
// "D over C7", "N.C.". ParseSymbol reads it back as the same chord (as its
// Normal, should the degrees not be normal).
func (c Chord) String() string {
	if c.Silent() {
		return "N.C."
	}
	s := c.Root.String() + c.Suffix()
	if c.Slash && c.Bass != c.Root {
		s += "/" + c.Bass.String()
	}
	if !c.UpperTones.Empty() {
		return c.UpperRoot.String() + suffixOf(c.UpperTones) + " over " + s
	}
	return s
}

// Pretty writes the chord with the signs of print: "B♭7(♭9)/D".
func (c Chord) Pretty() string {
	if c.Silent() {
		return "N.C."
	}
	s := c.Root.Pretty() + pretty(c.Suffix())
	if c.Slash && c.Bass != c.Root {
		s += "/" + c.Bass.Pretty()
	}
	if !c.UpperTones.Empty() {
		return c.UpperRoot.Pretty() + pretty(suffixOf(c.UpperTones)) + " over " + s
	}
	return s
}

// Suffix writes what follows the root, without a slash bass: "m7", "7(b9)". Of
// a polychord it is the lower chord's.
func (c Chord) Suffix() string {
	if c.Silent() {
		return ""
	}
	return suffixOf(c.Tones)
}

// cautions tells what else a symbol is used for, where usage differs. Decisions:
// common practice, no source, unless a check names one.
func cautions(root Name, suffix string, tones Degrees) []Caution {
	var out []Caution
	note := func(u Usage, written, read, other string) { out = append(out, Caution{u, written, read, other}) }
	name := root.String()
	as := name + suffix
	if root.Alter != 0 {
		accidental := name[1:]
		for _, n := range []string{"5", "9", "11", "13"} {
			if strings.HasPrefix(suffix, n) && rareRoot(root, n) {
				note(OnRoot, name+n, name, name[:1]+"("+accidental+n+")")
				break
			}
		}
	}
	switch {
	case suffix == "°" || suffix == "o":
		note(DiminishedTriad, name+"°", "", "")
	case suffix == "2":
		note(AddedSecond, as, name+"(add9)", "")
	case suffix == "4":
		note(ReadAs, as, name+"sus4", "")
	case strings.HasPrefix(suffix, "-5"):
		note(ReadAs, name+"-5", name+"(b5)", "")
	case suffix == "m5" || suffix == "min5":
		note(MinorFifth, as, name+"m", "")
	case strings.HasPrefix(suffix, "-9") || strings.HasPrefix(suffix, "-13"):
		note(MinorChord, as, "", name+"7(b"+suffix[1:]+")")
	case strings.HasPrefix(suffix, "+9") || strings.HasPrefix(suffix, "+11"):
		note(AugmentedFifth, as, "", name+"7(#"+suffix[1:]+")")
	case strings.HasPrefix(suffix, "m+7"):
		note(ReadAs, as, name+"m(maj7)", "")
	case strings.HasPrefix(suffix, "(9)"), strings.HasPrefix(suffix, "(11)"), strings.HasPrefix(suffix, "(13)"):
		note(WithSeventh, as, "", "")
	}
	if i := strings.Index(suffix, "7+"); i >= 0 && (i+2 == len(suffix) || suffix[i+2] < '0' || suffix[i+2] > '9') &&
		tones.Has(Degree{3, 0}) && tones.Has(Degree{7, -1}) {
		note(SevenPlus, name+"7+", name+"7(#5)", name+"maj7")
	}
	if tones.Has(Degree{3, 0}) && tones.Has(Degree{11, 0}) {
		note(ThirdAndEleventh, name+suffixOf(tones), "", "")
	}
	return out
}

// rareRoot tells whether a root with an accidental is rare enough before that
// number that an alteration may be meant: "Bb9" is an ordinary chord, "Cb9" not.
func rareRoot(root Name, number string) bool {
	switch {
	case root.Alter > 1 || root.Alter < -1 || number == "5":
		return true
	case root.Alter > 0:
		return number == "11" || number == "9" && root.Letter != F
	}
	return (number == "9" || number == "13") && (root.Letter == C || root.Letter == F)
}
