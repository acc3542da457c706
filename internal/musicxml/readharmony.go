package musicxml

import (
	"encoding/xml"
	"fmt"
	"strings"

	"gradatim/theory"
)

// harmony is a <harmony>: one chord symbol, or several stacked.
type harmony struct {
	line      int
	staff     int
	offset    frac // divisions
	chords    []harmonyChord
	alternate bool
}

// harmonyChord is one group of root, kind and so on.
type harmonyChord struct {
	root     theory.Name
	rootText string // as printed, where that is not the name
	rooted   bool
	numeral  int // scale degree instead of a root; 0: none
	alter    int // of the numeral
	key      *keySign
	function string
	kind     string
	text     string // kind as printed
	texted   bool   // the text is given, though it may be empty
	inverted int
	bass     theory.Name
	based    bool
	changes  []degreeChange
	bad      string // what could not be read
}

func (p *docParser) harmony(e xml.StartElement) *harmony {
	h := &harmony{line: p.line, staff: 1, offset: frac{0, 1}, alternate: attr(e, "type") == "alternate"}
	var cur *harmonyChord
	begin := func() {
		if len(h.chords) < 8 {
			h.chords = append(h.chords, harmonyChord{})
		}
		cur = &h.chords[len(h.chords)-1]
	}
	p.each(func(e xml.StartElement) {
		if cur == nil {
			switch e.Name.Local {
			case "kind", "inversion", "bass", "degree":
				begin() // a group without its root
			}
		}
		switch e.Name.Local {
		case "root":
			begin()
			cur.root, cur.rootText, cur.rooted = p.name("root-step", "root-alter")
			if !cur.rooted {
				cur.bad = "the root is no note"
			}
		case "numeral":
			begin()
			p.numeral(cur)
		case "function":
			begin()
			cur.function = clip(p.text())
		case "kind":
			cur.text, cur.texted = attrSet(e, "text")
			cur.text = oneLine(cur.text)
			cur.kind = clip(p.text())
		case "inversion":
			cur.inverted, _ = integer(p.text())
		case "bass":
			cur.bass, _, cur.based = p.name("bass-step", "bass-alter")
			if !cur.based {
				cur.bad = "the bass is no note"
			}
		case "degree":
			if len(cur.changes) < 20 {
				cur.changes = append(cur.changes, p.degree())
			}
		case "offset":
			if f, ok := parseDecimal(p.text()); ok {
				h.offset = f
			}
		case "staff":
			h.staff = p.staff()
		}
	})
	return h
}

// name reads a step and its alteration.
func (p *docParser) name(stepTag, alterTag string) (n theory.Name, text string, ok bool) {
	p.each(func(e xml.StartElement) {
		switch e.Name.Local {
		case stepTag:
			text = attr(e, "text")
			var err error
			n, err = theory.ParseName(p.text())
			ok = err == nil
		case alterTag:
			if f, good := parseDecimal(p.text()); good && f.n/f.d >= -2 && f.n/f.d <= 2 {
				n.Alter = int8(f.n / f.d)
			} else {
				ok = false
			}
		}
	})
	return n, text, ok
}

func (p *docParser) numeral(c *harmonyChord) {
	p.each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "numeral-root":
			c.numeral, _ = integer(p.text())
		case "numeral-alter":
			c.alter, _ = integer(p.text())
		case "numeral-key":
			k := &keySign{}
			p.each(func(e xml.StartElement) {
				switch e.Name.Local {
				case "numeral-fifths":
					k.fifths, _ = integer(p.text())
				case "numeral-mode":
					k.mode = p.text()
				}
			})
			if k.mode == "natural minor" || k.mode == "harmonic minor" || k.mode == "melodic minor" {
				k.mode = "minor"
			}
			c.key = k
		}
	})
}

func (p *docParser) degree() degreeChange {
	d := degreeChange{Type: "add"}
	p.each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "degree-value":
			d.Value, _ = integer(p.text())
		case "degree-alter":
			if f, ok := parseDecimal(p.text()); ok {
				d.Alter = int(f.n / f.d)
			}
		case "degree-type":
			d.Type = clip(p.text())
		}
	})
	return d
}

// reading is a chord symbol as understood.
type reading struct {
	chord    theory.Chord
	text     string // as printed
	unknown  bool
	optional bool
	repeat   bool     // %: the chord before goes on
	cautions []string // what was not taken as written
	why      string   // of unknown
	fix      string
}

// read understands the symbol. Roots are moved by the part's transposition;
// numerals count in key.
func (h *harmony) read(key theory.Key, iv theory.Interval) reading {
	if len(h.chords) == 0 {
		return reading{unknown: true, why: "the chord symbol is empty"}
	}
	if len(h.chords) > 1 && h.chords[0].rooted && h.chords[1].rooted {
		// The second stands below the first (MusicXML 4.0 XSD, harmony-arrangement).
		up, low := h.chords[0].read(key, iv), h.chords[1].read(key, iv)
		out := low
		out.text = up.text + " over " + low.text
		if up.unknown || low.unknown || up.chord.Silent() || low.chord.Silent() {
			out.unknown, out.chord = true, theory.Chord{}
			out.why = "one of the two chords cannot be read"
			return out
		}
		out.cautions = append(up.cautions, low.cautions...)
		out.chord.UpperRoot, out.chord.UpperTones = up.chord.Root, up.chord.Tones
		return out
	}
	return h.chords[0].read(key, iv)
}

func (c *harmonyChord) read(key theory.Key, iv theory.Interval) reading {
	if c.kind == "none" {
		text := "N.C."
		if c.texted && c.text != "" {
			text = c.text
		}
		return reading{text: text}
	}
	root, ok := c.root, c.rooted
	if c.numeral != 0 {
		root, ok = c.numeralRoot(key, iv)
	}
	if !ok {
		text := c.function + c.text
		why := c.bad
		if why == "" {
			why = "the chord symbol has no root"
		}
		if text != "" && c.function == "" {
			if sym, err := theory.ParseSymbol(text); err == nil { // the whole symbol as text
				return fromSymbol(sym, text, iv)
			}
		}
		return reading{text: strings.TrimSpace(text), unknown: true, why: why}
	}
	printed := c.printed()
	sym, err := theory.ParseSymbol(printed)
	textual := err == nil && c.texted && !sym.NoChord && !sym.Repeat && sym.Chord.Root == root
	out := reading{text: c.withBass(printed), optional: textual && sym.Optional}
	tones, known, cautions := kindTones(c.kind, c.changes)
	tones = tones.Normal()
	switch {
	case known:
		out.cautions = cautions
	case textual && c.text != "":
		tones = sym.Chord.Tones
		if c.kind != "other" {
			out.cautions = append(out.cautions, fmt.Sprintf("the kind %q has no fixed notes; read from its text as %s", c.kind, sym.Chord))
		}
		known = true
	default:
		if byKind, err := theory.ParseSymbol(root.String() + c.kind); err == nil && c.kind != "" {
			tones, known = byKind.Chord.Tones, true
			out.cautions = append(out.cautions, fmt.Sprintf("%q is not a kind of the standard; read as %s", c.kind, byKind.Chord))
		}
	}
	if !known {
		out.unknown = true
		if out.why = fmt.Sprintf("the kind %q has no fixed notes", c.kind); c.kind == "" {
			out.why = "the chord symbol has no kind"
		}
		if c.text != "" && err != nil {
			if se, ok := err.(*theory.SymbolError); ok && se.Suggestion != "" {
				out.fix = "write " + se.Suggestion
			}
		}
		return out
	}
	chord := theory.Chord{Root: root, Tones: tones}
	same := textual && sym.Chord.Tones.Normal() == tones
	if textual && !sym.Chord.UpperTones.Empty() && sameNotes(sym.Chord, chord) { // a polychord, told by its text
		chord, same = sym.Chord, true
	}
	switch {
	case c.based && c.bass != root:
		chord.Bass, chord.Slash = c.bass, true
	case !c.based && c.inverted > 0:
		same = false
		if n, ok := inversionBass(chord, c.inverted); ok {
			chord.Bass, chord.Slash = n, true
		} else {
			out.cautions = append(out.cautions, fmt.Sprintf("the chord has no inversion %d; left in root position", c.inverted))
		}
	}
	// What is printed counts as the text where it says the same as the kind;
	// otherwise the reader sees one chord and the file means another.
	if !same {
		if textual && c.text != "" && len(c.changes) == 0 && c.inverted == 0 {
			out.cautions = append(out.cautions, fmt.Sprintf("printed as %s but meant as %s; read as meant", sym.Chord, chord))
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
func (c *harmonyChord) printed() string {
	root := c.root.String()
	if c.rootText != "" {
		root = c.rootText
		if !strings.ContainsAny(root, "b#♭♯") {
			root += strings.TrimPrefix(c.root.String(), c.root.Letter.String())
		}
	}
	return root + c.text
}

// withBass adds the bass to a printed symbol, inside a bracket that closes it.
func (c *harmonyChord) withBass(text string) string {
	if !c.based {
		return text
	}
	if strings.HasPrefix(text, "(") && strings.HasSuffix(text, ")") {
		return strings.TrimSuffix(text, ")") + "/" + c.bass.String() + ")"
	}
	return text + "/" + c.bass.String()
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
	out := reading{chord: sym.Chord, text: text, optional: sym.Optional, repeat: sym.Repeat, cautions: sym.Cautions}
	if iv != theory.Unison && !sym.Chord.Silent() {
		out.chord = sym.Chord.Transpose(iv)
		out.text = out.chord.String()
	}
	return out
}

// numeralRoot finds the note that a scale degree stands for, before
// transposition.
func (c *harmonyChord) numeralRoot(key theory.Key, iv theory.Interval) (theory.Name, bool) {
	if c.key != nil {
		k, _, ok := c.key.keyOf()
		if !ok {
			return theory.Name{}, false
		}
		key = k
	} else if key.Valid() {
		key = key.Transpose(iv.Neg()) // back to the written key
	}
	if !key.Valid() || c.numeral < 1 || c.numeral > 7 || c.alter < -2 || c.alter > 2 {
		return theory.Name{}, false
	}
	n := key.Scale()[c.numeral-1]
	n.Alter += int8(c.alter)
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
