package engrave

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"gradatim/internal/engrave/vector"
	"gradatim/internal/musicxml/markup"
	"gradatim/theory"
)

// symbol is a chord symbol, cut into the parts that are set differently.
type symbol struct {
	root    string   // "E♭"; "N.C." where no chord sounds
	suffix  string   // "m7": on the line
	raised  []string // "♯9♭13": each in parentheses, raised
	bass    string   // "D": after a slash
	degrees string   // printed below
	holder  *element // the harmony in the copy
}

func (s symbol) empty() bool { return s.root == "" }

// String writes the symbol as it is searched and read: "E♭7(♯9♭13)/D".
func (s symbol) String() string {
	var b strings.Builder
	b.WriteString(s.root)
	b.WriteString(s.suffix)
	for _, r := range s.raised {
		b.WriteString("(" + r + ")")
	}
	if s.bass != "" {
		b.WriteString("/" + s.bass)
	}
	return b.String()
}

// symbolOf is how a chord symbol is printed: its root, what its kind prints,
// those degrees that the kind does not print already, and its bass; of several
// stacked the uppermost.
func symbolOf(h *markup.Harmony) symbol {
	var s symbol
	if len(h.Chords) == 0 {
		return s
	}
	c := h.Chords[0]
	if c.Kind == "none" || isNoChord(c.Text) {
		s.root = "N.C."
		return s
	}
	switch {
	case c.Rooted:
		s.root = nameOf(c.Root, c.RootText)
	default:
		s.root = accidentalSigns(c.Function)
	}
	text := c.Text
	if !c.Texted {
		text = kindSuffix[c.Kind]
	}
	s.suffix, s.raised = cutRaised(accidentalSigns(text))
	var more strings.Builder
	for _, d := range c.Degrees {
		if !d.Hidden {
			more.WriteString(degreeText(d, text))
		}
	}
	if more.Len() > 0 {
		s.raised = append(s.raised, more.String())
	}
	if c.Based {
		s.bass = nameOf(c.Bass, c.BassText)
	}
	return s
}

func isNoChord(s string) bool { return strings.EqualFold(strings.ReplaceAll(s, ".", ""), "nc") }

// nameOf is a note as it is printed; text is its letter, where that is another.
func nameOf(n theory.Name, text string) string {
	sign := n.Alter
	n.Alter = 0
	letter := n.String()
	if text != "" {
		letter = accidentalSigns(text)
	}
	switch {
	case sign > 0:
		return letter + strings.Repeat("♯", int(sign))
	default:
		return letter + strings.Repeat("♭", int(-sign))
	}
}

// degreeText writes a degree that the kind's text does not have already.
func degreeText(d markup.Degree, printed string) string {
	value := strconv.Itoa(d.Value)
	if d.Value == 0 || strings.Contains(printed, value) && strings.ContainsAny(printed, "0123456789") {
		return ""
	}
	sign := ""
	switch {
	case d.Alter > 0:
		sign = "♯"
	case d.Alter < 0:
		sign = "♭"
	}
	switch {
	case d.Type == "subtract":
		return "omit" + value
	case d.Type == "add" && sign == "":
		return "add" + value
	}
	return sign + value
}

// accidentalSigns puts ♯ and ♭ for the letters # and b where they stand for
// accidentals: before a digit or, for "#", anywhere.
func accidentalSigns(s string) string {
	s = strings.ReplaceAll(s, "#", "♯")
	r := []rune(s)
	for i := 0; i+1 < len(r); i++ {
		if r[i] == 'b' && r[i+1] >= '0' && r[i+1] <= '9' {
			r[i] = '♭'
		}
	}
	return string(r)
}

// cutRaised takes the parentheses out of a suffix; each is raised. Text after
// a parenthesis goes before it. Alterations that stand free at the end are
// raised with them: "m7♭5(add11)" prints m7 and, raised, (♭5,add11).
func cutRaised(s string) (line string, raised []string) {
	for {
		i := strings.IndexByte(s, '(')
		if i < 0 {
			break
		}
		n := strings.IndexByte(s[i:], ')')
		if n < 0 {
			break
		}
		if in := s[i+1 : i+n]; in != "" {
			raised = append(raised, in)
		}
		s = s[:i] + s[i+n+1:]
	}
	if at := reAltered.FindStringIndex(s); at != nil && at[0] > 0 {
		free := strings.Join(reAlteration.FindAllString(s[at[0]:], -1), ",")
		s = s[:at[0]]
		if len(raised) > 0 {
			raised[0] = free + "," + raised[0]
		} else {
			raised = []string{free}
		}
	}
	return s, raised
}

var (
	reAltered    = regexp.MustCompile(`([♭♯][0-9]+,?)+$`)
	reAlteration = regexp.MustCompile(`[♭♯][0-9]+`)
)

// kindSuffix is printed for a kind without a text of its own. Kinds: MusicXML
// 4.0, kind-value; suffixes: house style, common practice.
var kindSuffix = map[string]string{
	"major": "", "minor": "m", "augmented": "+", "diminished": "°", "dominant": "7",
	"major-seventh": "maj7", "minor-seventh": "m7", "diminished-seventh": "°7", "augmented-seventh": "+7",
	"half-diminished": "ø7", "major-minor": "m(maj7)", "major-sixth": "6", "minor-sixth": "m6",
	"dominant-ninth": "9", "major-ninth": "maj9", "minor-ninth": "m9", "dominant-11th": "11",
	"major-11th": "maj11", "minor-11th": "m11", "dominant-13th": "13", "major-13th": "maj13",
	"minor-13th": "m13", "suspended-second": "sus2", "suspended-fourth": "sus4", "Neapolitan": "N6",
	"Italian": "It6", "French": "Fr6", "German": "Ger6", "pedal": " pedal", "power": "5", "Tristan": "Tristan",
}

// chordDegrees gives each symbol the degrees printed below it.
func (p *prepared) chordDegrees(l Layout) {
	n := 0
	for i := range p.symbols {
		for j := range p.symbols[i] {
			s := &p.symbols[i][j]
			if l.Degrees {
				if n < len(l.ChordDegrees) {
					s.degrees = accidentalSigns(l.ChordDegrees[n])
				} else {
					s.degrees = degreesOf(s.String())
				}
			}
			n++
			s.hold()
		}
	}
}

// degreesOf lists the degrees that a chord symbol stands for; empty if it
// cannot be read.
func degreesOf(symbol string) string {
	s, err := theory.ParseSymbol(symbol)
	if err != nil || s.NoChord || s.Repeat {
		return ""
	}
	var out []string
	for _, d := range s.Chord.Tones.List() {
		out = append(out, d.Pretty())
	}
	return strings.Join(out, " ")
}

// Sizes of a chord symbol, in ems of its root.
const (
	suffixSize  = 0.86
	raisedSize  = 0.66
	raisedRise  = 0.34
	degreesSize = 0.62
)

// Widths of the engraver's own text font, in ems: what it is given to measure.
const (
	widthOfC      = 0.667
	widthOfPeriod = 0.25
)

// hold replaces the harmony in the copy by one that only takes up room: the
// letter C and as many periods as make it as wide as the symbol and its
// degrees. The engraver finds a place for it; the symbol is then drawn there.
func (s *symbol) hold() {
	// No music font is at hand yet: its accidentals are about half an em.
	w := max(s.roughWidth(), degreesSize*s.degreesWidth())
	periods := max(0, int(math.Ceil((w+0.1-widthOfC)/widthOfPeriod)))
	kind := elem("kind", "major")
	kind.set("text", strings.Repeat(".", periods))
	e := s.holder
	kids := []*element{elem("root", "", elem("root-step", "C")), kind}
	if h := e.harmony; h.Offset != "" {
		kids = append(kids, elem("offset", h.Offset))
	}
	if h := e.harmony; h.Staff != "" {
		kids = append(kids, elem("staff", h.Staff))
	}
	e.attr, e.kids = nil, kids
}

// roughWidth is the symbol's width in ems of its root.
func (s symbol) roughWidth() float64 {
	w := roughWidth(s.root) + suffixSize*roughWidth(s.suffix)
	for _, r := range s.raised {
		w += raisedSize * roughWidth("("+r+")")
	}
	if s.bass != "" {
		w += roughWidth("/" + s.bass)
	}
	return w
}

func roughWidth(s string) float64 {
	t := vector.Text{}
	signs := 0
	for _, r := range s {
		if isAccidental(r) {
			signs++
		} else {
			t.Spans = append(t.Spans, vector.Span{Text: string(r), Size: 1})
		}
	}
	return t.Width() + float64(signs)*accidentalWidth
}

// degreesWidth is the width of the degrees in their ems: they are set with
// wide spaces.
func (s symbol) degreesWidth() float64 {
	return roughWidth(s.degrees) + 0.25*float64(strings.Count(s.degrees, " "))
}

// symbolsWidth is the least width of a bar with these symbols side by side, in
// staff spaces.
func symbolsWidth(ss []symbol) float64 {
	w := 0.0
	for _, s := range ss {
		w += max(s.roughWidth(), degreesSize*s.degreesWidth())*chordEm + 1
	}
	return w
}

// chordEm is the size of the text of chord symbols in staff spaces, as the
// engraver sets it.
const chordEm = 2.25

func isAccidental(r rune) bool { _, ok := accidentals[r]; return ok }

// An accidental in text is drawn from the music font: in the text fonts it is
// missing or too wide. It is as high as a capital and a little more, and stands
// a little free. Lengths are in ems of the text.
type accidental struct {
	glyph string
	em    float64 // of the music font
	rise  float64
}

var accidentals = map[rune]accidental{
	'♭': {"\uE260", 1.25, 0.17},
	'♮': {"\uE261", 1.12, 0.33},
	'♯': {"\uE262", 1.15, 0.33},
}

const (
	accidentalBearing = 0.05 // free on either side
	accidentalWidth   = 0.35 // the widest, with its bearings
)

// typesetter sets text with accidentals.
type typesetter struct{ music *vector.Music }

// spans cuts text at its accidentals.
func (ts typesetter) spans(s string, size, rise float64, face vector.Face) []vector.Span {
	var out []vector.Span
	runes := []rune(s)
	from := 0
	text := func(to int, space float64) {
		if to > from {
			out = append(out, vector.Span{Text: string(runes[from:to]), Size: size, Rise: rise, Face: face, Fill: vector.Ink, Space: space})
		}
		from = to
	}
	for i, r := range runes {
		a, ok := accidentals[r]
		if !ok {
			continue
		}
		free := accidentalBearing * size
		if i > 0 && !isAccidental(runes[i-1]) && runes[i-1] != ' ' { // the letter before keeps its distance
			text(i-1, 0)
			text(i, free)
		}
		text(i, 0)
		out = append(out, vector.Span{Text: a.glyph, Size: size * a.em, Rise: rise + a.rise*size, Music: ts.music, Fill: vector.Ink, Space: free})
		from = i + 1
	}
	text(len(runes), 0)
	return out
}

// symbol sets a chord symbol with its root's size at a place.
func (ts typesetter) symbol(s symbol, x, y, size float64) *vector.Text {
	t := &vector.Text{X: x, Y: y, Plain: s.String(), Outlined: true}
	add := func(text string, size, rise float64) {
		t.Spans = append(t.Spans, ts.spans(text, size, rise, vector.Regular)...)
	}
	add(s.root, size, 0)
	add(s.suffix, size*suffixSize, 0)
	for _, r := range s.raised {
		add("("+r+")", size*raisedSize, size*raisedRise)
	}
	if s.bass != "" {
		add("/"+s.bass, size, 0)
	}
	return t
}

// line sets a line of text; a plain one stays plain.
func (ts typesetter) line(s string, x, y, size float64, face vector.Face, anchor vector.Anchor) *vector.Text {
	t := &vector.Text{X: x, Y: y, Anchor: anchor, Spans: ts.spans(s, size, 0, face)}
	if len(t.Spans) > 1 {
		t.Plain, t.Outlined = s, true
	}
	return t
}
