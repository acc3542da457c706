package musicxml

import (
	"encoding/xml"
	"strings"

	"gradatim/internal/musicxml/markup"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// harmony is a <harmony>: one chord symbol, or several stacked.
type harmony struct {
	markup.Harmony
	line   int
	offset frac // divisions
}

func (p *docParser) harmony(e xml.StartElement) *harmony {
	h := &harmony{line: p.Line, offset: frac{0, 1}}
	h.Harmony = p.Cursor.Harmony(e)
	if f, ok := parseDecimal(h.Offset); ok {
		h.offset = f
	}
	return h
}

// reading is a chord symbol as understood.
type reading struct {
	chord    theory.Chord
	text     string // as printed
	unknown  bool
	optional bool
	repeat   bool             // %: the chord before goes on
	cautions []any            // what was not taken as written
	why      leadsheet.Saying // of unknown
	kind     string           // for why
	near     string           // the nearest that can be read
}

// tell makes a caution: what is told of a symbol that was not taken as written.
func tell(says leadsheet.Saying, parts ...any) leadsheet.Problem {
	return leadsheet.Tell(leadsheet.Warning, leadsheet.Pos{}, says, parts...)
}

// read understands the symbol. Roots are moved by the part's transposition;
// numerals count in key.
func (h *harmony) read(key theory.Key, iv theory.Interval) reading {
	if len(h.Chords) == 0 {
		return reading{unknown: true, why: "chord-unknown.empty"}
	}
	first := symbol{&h.Chords[0]}
	if len(h.Chords) > 1 && h.Chords[0].Rooted && h.Chords[1].Rooted {
		// The second stands below the first (MusicXML 4.0 XSD, harmony-arrangement).
		up, low := first.read(key, iv), symbol{&h.Chords[1]}.read(key, iv)
		out := low
		out.text = up.text + " over " + low.text
		if up.unknown || low.unknown || up.chord.Silent() || low.chord.Silent() {
			out.unknown, out.chord = true, theory.Chord{}
			out.why = "chord-unknown.two"
			return out
		}
		out.cautions = append(up.cautions, low.cautions...)
		out.chord.UpperRoot, out.chord.UpperTones = up.chord.Root, up.chord.Tones
		return out
	}
	return first.read(key, iv)
}

// symbol is one chord of a harmony, as a reader of its meaning sees it.
type symbol struct{ *markup.HarmonyChord }

func (c symbol) read(key theory.Key, iv theory.Interval) reading {
	if c.Kind == "none" {
		text := "N.C."
		if c.Texted && c.Text != "" {
			text = c.Text
		}
		return reading{text: text}
	}
	root, ok := c.Root, c.Rooted
	if c.Numeral != nil {
		root, ok = c.numeralRoot(key, iv)
	}
	if !ok {
		text := c.Function + c.Text
		why := c.Bad
		if why == "" {
			why = "chord-unknown.rootless"
		}
		if text != "" && c.Function == "" {
			if sym, err := theory.ParseSymbol(text); err == nil { // the whole symbol as text
				return fromSymbol(sym, text, iv)
			}
		}
		return reading{text: strings.TrimSpace(text), unknown: true, why: why}
	}
	printed := c.printed()
	sym, err := theory.ParseSymbol(printed)
	textual := err == nil && c.Texted && !sym.NoChord && !sym.Repeat && sym.Chord.Root == root
	out := reading{text: c.withBass(printed), optional: textual && sym.Optional}
	tones, known, cautions := kindTones(c.Kind, c.Degrees)
	tones = tones.Normal()
	switch {
	case known:
		out.cautions = cautions
	case textual && c.Text != "":
		tones = sym.Chord.Tones
		if c.Kind != "other" {
			out.cautions = append(out.cautions, tell("chord-caution.by-text", "Kind", leadsheet.Quoted(c.Kind), "Read", sym.Chord.String()))
		}
		known = true
	default:
		if byKind, err := theory.ParseSymbol(root.String() + c.Kind); err == nil && c.Kind != "" {
			tones, known = byKind.Chord.Tones, true
			out.cautions = append(out.cautions, tell("chord-caution.kind", "Kind", leadsheet.Quoted(c.Kind), "Read", byKind.Chord.String()))
		}
	}
	if !known {
		out.unknown = true
		out.kind = c.Kind
		if c.Text != "" && err != nil {
			if se, ok := err.(*theory.SymbolError); ok {
				out.near = se.Suggestion
			}
		}
		switch {
		case c.Kind == "" && out.near == "":
			out.why = "chord-unknown.kindless"
		case c.Kind == "":
			out.why = "chord-unknown.kindless-near"
		case out.near == "":
			out.why = "chord-unknown.kind"
		default:
			out.why = "chord-unknown.kind-near"
		}
		return out
	}
	chord := theory.Chord{Root: root, Tones: tones}
	same := textual && sym.Chord.Tones.Normal() == tones
	if textual && !sym.Chord.UpperTones.Empty() && sameNotes(sym.Chord, chord) { // a polychord, told by its text
		chord, same = sym.Chord, true
	}
	switch {
	case c.Based && c.Bass != root:
		chord.Bass, chord.Slash = c.Bass, true
	case !c.Based && c.Inverted > 0:
		same = false
		if n, ok := inversionBass(chord, c.Inverted); ok {
			chord.Bass, chord.Slash = n, true
		} else {
			out.cautions = append(out.cautions, tell("chord-caution.inversion", "Number", c.Inverted))
		}
	}
	// What is printed counts as the text where it says the same as the kind;
	// otherwise the reader sees one chord and the file means another.
	if !same {
		if textual && c.Text != "" && len(c.Degrees) == 0 && c.Inverted == 0 {
			out.cautions = append(out.cautions, tell("chord-caution.meant", "Printed", sym.Chord.String(), "Meant", chord.String()))
		}
		out.text = chord.String()
	}
	if iv != theory.Unison {
		chord = chord.Transpose(iv)
		out.text = chord.String()
	}
	out.chord = chord
	return out
}

// printed is the symbol as it stands over the staff, without its bass.
func (c symbol) printed() string {
	root := c.Root.String()
	if c.RootText != "" {
		root = c.RootText
		if !strings.ContainsAny(root, "b#♭♯") {
			root += strings.TrimPrefix(c.Root.String(), c.Root.Letter.String())
		}
	}
	return root + c.Text
}

// withBass adds the bass to a printed symbol, inside a bracket that closes it.
func (c symbol) withBass(text string) string {
	if !c.Based {
		return text
	}
	if strings.HasPrefix(text, "(") && strings.HasSuffix(text, ")") {
		return strings.TrimSuffix(text, ")") + "/" + c.Bass.String() + ")"
	}
	return text + "/" + c.Bass.String()
}

// sameNotes tells whether two chords have the same pitch classes.
func sameNotes(a, b theory.Chord) bool {
	for class := range 12 {
		if a.HasClass(class) != b.HasClass(class) {
			return false
		}
	}
	return true
}

// fromSymbol takes a symbol that was written as text.
func fromSymbol(sym theory.Symbol, text string, iv theory.Interval) reading {
	out := reading{chord: sym.Chord, text: text, optional: sym.Optional, repeat: sym.Repeat}
	for _, c := range sym.Cautions {
		out.cautions = append(out.cautions, c)
	}
	if iv != theory.Unison && !sym.Chord.Silent() {
		out.chord = sym.Chord.Transpose(iv)
		out.text = out.chord.String()
	}
	return out
}

// numeralRoot finds the note that a scale degree stands for, before
// transposition.
func (c symbol) numeralRoot(key theory.Key, iv theory.Interval) (theory.Name, bool) {
	num := c.Numeral
	if num.Keyed {
		k, _, ok := keySign{fifths: num.Fifths, mode: num.Mode}.keyOf()
		if !ok {
			return theory.Name{}, false
		}
		key = k
	} else if key.Valid() {
		key = key.Transpose(iv.Neg()) // back to the written key
	}
	if !key.Valid() || num.Degree < 1 || num.Degree > 7 || num.Alter < -2 || num.Alter > 2 {
		return theory.Name{}, false
	}
	n := key.Scale()[num.Degree-1]
	n.Alter += int8(num.Alter)
	return n, n.Alter >= -3 && n.Alter <= 3
}

// inversionBass returns the chord note that an inversion puts into the bass.
func inversionBass(c theory.Chord, inversion int) (theory.Name, bool) {
	list := c.Tones.List()
	var stack []theory.Degree
	for _, d := range list {
		if d.Number != 1 && (d.Number <= 7) {
			stack = append(stack, d)
		}
	}
	if inversion < 1 || inversion > len(stack) {
		return theory.Name{}, false
	}
	return stack[inversion-1].On(c.Root), true
}
