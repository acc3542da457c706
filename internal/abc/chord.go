package abc

import (
	"errors"
	"regexp"
	"strings"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// reading is what a quoted symbol means.
type reading struct {
	symbol   theory.Symbol
	unknown  bool
	suggest  string           // readable symbol nearest to an unknown one
	bassOnly bool             // the text names only a bass note
	bass     theory.Name      // that note
	mended   leadsheet.Saying // what was changed to read it; empty: nothing
	as       string           // what it was read as then
}

var (
	bassNote    = regexp.MustCompile(`^([a-g])([#b+-]?)$`)
	plusRoot    = regexp.MustCompile(`^(\(?[A-G])\+`)
	plusBass    = regexp.MustCompile(`/([A-G])\+(\)?)$`)
	alternative = regexp.MustCompile(`^([A-G][^()]*)\s*\(([A-G][^()]*)\)$`)
)

// readSymbol reads a chord symbol through theory.ParseSymbol. ABC collections
// write more than chord symbols there: "D/f+" is D over F sharp, "f#" alone a
// bass note, "G(Em)" a chord with another for print (ABC 2.1, section 4.18), and
// where plusSharp is set "F+7" is F sharp seven.
func readSymbol(text string, plusSharp bool) reading {
	if m := bassNote.FindStringSubmatch(text); m != nil {
		return reading{bassOnly: true, bass: nameOf(m[1], m[2])}
	}
	t := text
	as := ""
	if plusSharp {
		sharp := plusBass.ReplaceAllString(plusRoot.ReplaceAllString(t, "$1#"), "/$1#$2")
		if sharp != t {
			t, as = sharp, sharp
		}
	}
	sym, err := theory.ParseSymbol(t)
	if err == nil {
		out := reading{symbol: sym, as: as}
		if as != "" {
			out.mended = "chord-mended.sharp"
		}
		return out
	}
	if m := alternative.FindStringSubmatch(t); m != nil {
		if first, e := theory.ParseSymbol(strings.TrimSpace(m[1])); e == nil {
			if _, e = theory.ParseSymbol(m[2]); e == nil {
				return reading{symbol: first, mended: "chord-mended.brackets", as: strings.TrimSpace(m[1])}
			}
		}
	}
	out := reading{unknown: true}
	var se *theory.SymbolError
	if errors.As(err, &se) {
		out.suggest = se.Suggestion
	}
	return out
}

// nameOf reads a small bass letter and its sign.
func nameOf(letter, sign string) theory.Name {
	l, _ := noteLetter(letter[0])
	n := theory.Name{Letter: l}
	switch sign {
	case "#", "+":
		n.Alter = 1
	case "b", "-":
		n.Alter = -1
	}
	return n
}

// symbols reads the chord symbols of a song, each text once.
type symbols struct {
	*report
	plusSharp bool
	known     map[string]reading
}

// mark makes the chord mark of a symbol. before is the mark in force; ok is false
// where the symbol says nothing of its own ("%", an unsupported bass note).
func (s *symbols) mark(sym symbol, before *leadsheet.ChordMark) (m leadsheet.ChordMark, repeat, ok bool) {
	r, known := s.known[sym.text]
	if !known {
		if len(s.known) == MaxSymbols {
			s.fail(sym.at, "too-long.symbols", "Most", MaxSymbols)
			return m, false, false
		}
		r = readSymbol(sym.text, s.plusSharp)
		s.known[sym.text] = r
	}
	m = leadsheet.ChordMark{Text: sym.text}
	switch {
	case r.unknown:
		says := leadsheet.Saying("chord-unknown")
		if r.suggest != "" {
			says = "chord-unknown.near"
		}
		s.once(leadsheet.Warning, sym.at, says, sym.text, "Symbol", leadsheet.Quoted(clip(sym.text)), "Near", leadsheet.Quoted(r.suggest))
		m.Unknown = true
		return m, false, true
	case r.bassOnly:
		if before == nil || before.Unknown || before.Chord.Silent() {
			s.once(leadsheet.Warning, sym.at, "chord-bass-note.alone", "none"+sym.text, "Symbol", leadsheet.Quoted(sym.text))
			return m, false, false
		}
		s.once(leadsheet.Warning, sym.at, "chord-bass-note", sym.text, "Symbol", leadsheet.Quoted(sym.text))
		m.Chord = before.Chord
		m.Chord.Slash, m.Chord.Bass = true, r.bass
		if r.bass == m.Chord.Root {
			m.Chord.Slash, m.Chord.Bass = false, theory.Name{}
		}
		return m, false, true
	case r.symbol.Repeat:
		return m, true, true
	}
	if r.mended != "" {
		s.once(leadsheet.Warning, sym.at, r.mended, sym.text, "Symbol", leadsheet.Quoted(sym.text), "Read", leadsheet.Quoted(r.as))
	}
	for _, c := range r.symbol.Cautions {
		s.once(leadsheet.Warning, sym.at, "chord-caution", sym.text+"\x00"+c.String(), "Symbol", leadsheet.Quoted(sym.text), "Caution", c)
	}
	m.Chord, m.Optional = r.symbol.Chord, r.symbol.Optional
	return m, false, true
}
