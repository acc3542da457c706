package vector

import (
	"fmt"
	"sync"

	"github.com/go-fonts/liberation/liberationsansbold"
	"github.com/go-fonts/liberation/liberationsansregular"
	"github.com/go-fonts/liberation/liberationserifbold"
	"github.com/go-fonts/liberation/liberationserifbolditalic"
	"github.com/go-fonts/liberation/liberationserifitalic"
	"github.com/go-fonts/liberation/liberationserifregular"
	"github.com/go-fonts/stix/stix2mathregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Face is a style of the text font, Liberation Serif, whose letters have the
// widths that the engraver reckons with, or of Liberation Sans for large print.
type Face uint8

// Styles.
const (
	Regular Face = iota
	Bold
	Italic
	BoldItalic
	fallbackFace // STIX Two Math: signs that the text font lacks
	Sans
	SansBold
)

var faceName = [...]string{Regular: "r", Bold: "b", Italic: "i", BoldItalic: "z", fallbackFace: "s", Sans: "a", SansBold: "c"}

// font is one font file with its glyphs, made when first used.
type font struct {
	name  string
	ttf   []byte
	once  sync.Once
	sfnt  *sfnt.Font
	upem  float64
	mu    sync.Mutex
	buf   sfnt.Buffer
	cache map[rune]*Glyph // nil value: the font lacks the sign
}

var fonts = [...]*font{
	Regular:      {name: faceName[Regular], ttf: liberationserifregular.TTF},
	Bold:         {name: faceName[Bold], ttf: liberationserifbold.TTF},
	Italic:       {name: faceName[Italic], ttf: liberationserifitalic.TTF},
	BoldItalic:   {name: faceName[BoldItalic], ttf: liberationserifbolditalic.TTF},
	fallbackFace: {name: faceName[fallbackFace], ttf: stix2mathregular.TTF},
	Sans:         {name: faceName[Sans], ttf: liberationsansregular.TTF},
	SansBold:     {name: faceName[SansBold], ttf: liberationsansbold.TTF},
}

// glyph returns the outline of a letter, or nil where the font has none.
func (f *font) glyph(r rune) *Glyph {
	f.once.Do(func() {
		s, err := sfnt.Parse(f.ttf)
		if err != nil {
			panic(fmt.Sprintf("vector: font %s: %v", f.name, err)) // embedded: cannot differ at run time
		}
		f.sfnt, f.upem, f.cache = s, float64(s.UnitsPerEm()), map[rune]*Glyph{}
	})
	f.mu.Lock()
	defer f.mu.Unlock()
	if g, ok := f.cache[r]; ok {
		return g
	}
	g := f.load(r)
	f.cache[r] = g
	return g
}

func (f *font) load(r rune) *Glyph {
	i, err := f.sfnt.GlyphIndex(&f.buf, r)
	if err != nil || i == 0 {
		return nil
	}
	ppem := fixed.I(int(f.sfnt.UnitsPerEm())) // so that coordinates are font units
	segs, err := f.sfnt.LoadGlyph(&f.buf, i, ppem, nil)
	if err != nil {
		return nil
	}
	pt := func(p fixed.Point26_6) Point { return Point{float64(p.X) / 64, float64(p.Y) / 64} }
	p := &Path{}
	for _, s := range segs {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if !p.Empty() {
				p.Close()
			}
			a := pt(s.Args[0])
			p.MoveTo(a.X, a.Y)
		case sfnt.SegmentOpLineTo:
			a := pt(s.Args[0])
			p.LineTo(a.X, a.Y)
		case sfnt.SegmentOpQuadTo:
			p.QuadTo(pt(s.Args[0]), pt(s.Args[1]))
		case sfnt.SegmentOpCubeTo:
			p.CubicTo(pt(s.Args[0]), pt(s.Args[1]), pt(s.Args[2]))
		}
	}
	if !p.Empty() {
		p.Close()
	}
	adv, err := f.sfnt.GlyphAdvance(&f.buf, i, ppem, 0)
	if err != nil {
		return nil
	}
	return NewGlyph(fmt.Sprintf("%s%X", f.name, r), p, float64(adv)/64)
}

// find returns the letter in the wanted style or, where that lacks it, in the
// fallback; nil if neither has it.
func find(r rune, face Face) (*font, *Glyph) {
	if r == '\u00a0' {
		r = ' '
	}
	for _, f := range []*font{fonts[face], fonts[fallbackFace]} {
		if g := f.glyph(r); g != nil {
			return f, g
		}
	}
	return nil, nil
}

// CanDraw tells whether a letter can be drawn; where it cannot, text keeps its
// room and stays empty.
func CanDraw(r rune) bool { _, g := find(r, Regular); return g != nil }

// Music is a music font: outlines by code point, as the engraver carries them.
type Music struct {
	Name string
	upem float64
	read func(code string) (*Path, error)
	adv  map[rune]float64

	mu    sync.Mutex
	cache map[rune]*Glyph
}

// NewMusic makes a music font of the given units to the em from advance widths
// and a function that returns the outline (y down) of a code point written in
// hexadecimal.
func NewMusic(name string, upem float64, advance map[rune]float64, outline func(code string) (*Path, error)) *Music {
	return &Music{Name: name, upem: upem, read: outline, adv: advance, cache: map[rune]*Glyph{}}
}

// Glyph returns the outline of a code point, nil if the font has none.
func (m *Music) Glyph(r rune) *Glyph {
	m.mu.Lock()
	defer m.mu.Unlock()
	if g, ok := m.cache[r]; ok {
		return g
	}
	var g *Glyph
	code := fmt.Sprintf("%04X", r)
	if p, err := m.read(code); err == nil {
		g = NewGlyph(code, p, m.adv[r])
	}
	m.cache[r] = g
	return g
}

// plainMusic gives the signs of the private range that have a plain form. All
// lie in the basic plane, which is what text in a PDF file can hold here. Code
// points: SMuFL 1.4, and the engraver's own for accidentals in text.
var plainMusic = map[rune]string{
	0xE1D2: "whole note", 0xE1D3: "half note", 0xE1D5: "♩", 0xE1D7: "♪", 0xE1D9: "16th note", 0xE1E7: ".",
	0xECA2: "whole note", 0xECA3: "half note", 0xECA5: "♩", 0xECA7: "♪", 0xECA9: "16th note", 0xECB7: ".",
	0xE260: "♭", 0xE261: "♮", 0xE262: "♯", 0xE263: "double sharp", 0xE264: "♭♭",
	0xEA64: "♭", 0xEA65: "♮", 0xEA66: "♯", 0xEA67: "♭♭", 0xEA68: "double sharp",
	0xED60: "♭", 0xED61: "♮", 0xED62: "♯",
	0xE520: "p", 0xE521: "m", 0xE522: "f", 0xE523: "r", 0xE524: "s", 0xE525: "z", 0xE526: "n",
	0xE527: "pppppp", 0xE528: "ppppp", 0xE529: "pppp", 0xE52A: "ppp", 0xE52B: "pp", 0xE52C: "mp",
	0xE52D: "mf", 0xE52E: "pf", 0xE52F: "ff", 0xE530: "fff", 0xE531: "ffff", 0xE532: "fffff",
	0xE533: "ffffff", 0xE534: "fp", 0xE535: "fz", 0xE536: "sf", 0xE537: "sfp", 0xE538: "sfpp",
	0xE539: "sfz", 0xE53A: "sfzp", 0xE53B: "sffz", 0xE53C: "rf", 0xE53D: "rfz",
	0xE047: "Segno", 0xE048: "Coda", 0xE650: "Ped.", 0xE655: "*",
	0xE510: "8", 0xE511: "8va", 0xE512: "8va", 0xE513: "8ba", 0xE514: "15", 0xE515: "15ma",
}
