package engrave

import (
	"math"

	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// Paper is the size of a page and its margins, in millimetres.
type Paper struct {
	Name          string
	Width, Height float64
	Side          float64 // margin left and right
	Top, Bottom   float64 // margin above the first and below the last line
}

// Papers. A4 is that of ISO 216; Letter that of ANSI/ASME Y14.1 (8½ × 11 in);
// Tablet is a 4 : 3 screen lying on its side, as large as a 13 inch one.
var (
	A4     = Paper{"a4", 210, 297, 15, 14, 12}
	Letter = Paper{"letter", 215.9, 279.4, 16, 14, 12}
	Tablet = Paper{"tablet", 264, 198, 10, 8, 7}
)

// Density says how much music stands on a line.
type Density uint8

// Densities.
const (
	Normal Density = iota + 1
	Airy           // for beginners: wide notes, wide distances
	Dense          // for players who are used to full pages
)

// Title is what stands above the first system and at the foot. Empty fields
// are taken from the score where it has them.
type Title struct {
	Title    string
	Subtitle string // under the title: the level by name
	Composer string
	Arranger string
	Tempo    string // above the first bar, instead of the score's own: "Medium swing ♩ = 132"
	Rights   string // at the foot of the first page
	Hide     bool   // print none of these
}

// Layout says how a score is put on pages. The zero value is a portrait A4
// page with all fingerings and chord symbols.
type Layout struct {
	Paper       Paper   // zero: A4
	LargePrint  bool    // larger staves, heavier lines, bigger fingerings
	StaffHeight float64 // mm from the first to the fifth line, 3 to 14; 0: 7, or 5.9 to 8 to fill pages; in large print 9.5
	Density     Density // 0: Normal
	HideFingers bool    // leave the fingerings out
	HideChords  bool    // leave the chord symbols out
	Degrees     bool    // print chord degrees under the chord symbols

	// ChordDegrees are the degrees under each chord symbol, in the order of
	// the symbols: "3 ♭7 9". Where there is none, the degrees of the symbol
	// itself are printed.
	ChordDegrees []string

	Title Title
	Foot  string // left in the foot of every page; empty: title and subtitle
	// HideFoot leaves the foot out, for pictures in another document.
	HideFoot bool
	Lang     string // of the texts: one of words.Languages; empty: English

	// IDPrefix and a hyphen go before every id in SVG, so that several scores
	// can stand in one document. Empty: the score's own ids stay as they are,
	// others start with "v". A letter, then letters, digits, "-" and "_".
	IDPrefix string
	prefixed bool // IDPrefix was given
	elastic  bool // StaffHeight may give way a little to save a page or to fill it
	lines    int  // so many, for more bars on a line save a page; 0: as they come
	joined   bool // with lines: a section may begin amid one
	words    *words.Words
}

// plain returns the layout with its defaults filled in, or what is wrong with
// it.
func (l Layout) plain() (Layout, error) {
	var ps leadsheet.Problems
	bad := func(says leadsheet.Saying, parts ...any) {
		ps.Tell(leadsheet.Error, leadsheet.Pos{}, says, parts...)
	}
	if l.Paper == (Paper{}) {
		l.Paper = A4
	}
	if l.StaffHeight == 0 {
		l.elastic = !l.LargePrint
		if l.StaffHeight = 7; l.LargePrint {
			l.StaffHeight = 9.5
		}
	}
	if l.Density == 0 {
		l.Density = Normal
	}
	var err error
	if l.words, err = words.In(l.Lang); err != nil {
		bad("engrave-layout.language", "Error", err.Error())
		l.words = words.Must(words.Default)
	}
	l.Lang = l.words.ID()
	if l.prefixed = l.IDPrefix != ""; !l.prefixed {
		l.IDPrefix = "v"
	}
	inRange := func(v, low, high float64) bool { return v >= low && v <= high && !math.IsNaN(v) }
	p := l.Paper
	if !inRange(p.Width, 80, 2000) || !inRange(p.Height, 80, 2000) {
		bad("engrave-layout.page", "Width", p.Width, "Height", p.Height)
	} else if !inRange(p.Side, 0, p.Width/4) || !inRange(p.Top, 0, p.Height/4) || !inRange(p.Bottom, 0, p.Height/4) {
		bad("engrave-layout.margins", "Side", p.Side, "Top", p.Top, "Bottom", p.Bottom)
	}
	if !inRange(l.StaffHeight, 3, 14) {
		bad("engrave-layout.staff", "Height", l.StaffHeight)
	}
	if l.Density > Dense {
		bad("engrave-layout.density", "Density", int(l.Density))
	}
	for i, r := range l.IDPrefix {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z'
		if !letter && (i == 0 || !(r >= '0' && r <= '9' || r == '-' || r == '_')) {
			bad("engrave-layout.prefix", "Prefix", leadsheet.Quoted(l.IDPrefix))
			break
		}
	}
	return l, ps.Err()
}
