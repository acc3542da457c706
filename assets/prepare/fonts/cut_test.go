package main

import (
	"testing"

	"github.com/go-fonts/stix/stix2mathregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// A sign that was cut out is as wide as it was, and its ink lies where it lay.
func TestCut(t *testing.T) {
	ttf, err := cut(stix2mathregular.TTF, "Some Signs", "nobody", signs)
	if err != nil {
		t.Fatal(err)
	}
	small, err := sfnt.Parse(ttf)
	if err != nil {
		t.Fatal(err)
	}
	whole, err := sfnt.Parse(stix2mathregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	var b sfnt.Buffer
	if name, err := small.Name(&b, sfnt.NameIDFamily); err != nil || name != "Some Signs" {
		t.Errorf("the family is %q, %v", name, err)
	}
	if small.NumGlyphs() != len([]rune(signs))+1 {
		t.Errorf("%d glyphs for %d signs", small.NumGlyphs(), len([]rune(signs)))
	}
	measure := func(f *sfnt.Font, r rune) (fixed.Rectangle26_6, fixed.Int26_6) {
		i, err := f.GlyphIndex(&b, r)
		if err != nil || i == 0 {
			t.Fatalf("%q: glyph %d, %v", r, i, err)
		}
		box, advance, err := f.GlyphBounds(&b, i, fixed.I(int(f.UnitsPerEm())), font.HintingNone)
		if err != nil {
			t.Fatal(err)
		}
		return box, advance
	}
	for _, r := range signs {
		was, wasWide := measure(whole, r)
		is, isWide := measure(small, r)
		near := func(a, b fixed.Int26_6) bool { return a-b <= fixed.I(1) && b-a <= fixed.I(1) }
		if wasWide.Round() != isWide.Round() || !near(was.Min.X, is.Min.X) || !near(was.Min.Y, is.Min.Y) || !near(was.Max.X, is.Max.X) || !near(was.Max.Y, is.Max.Y) {
			t.Errorf("%q was %v, %v wide, and is %v, %v wide", r, was, wasWide, is, isWide)
		}
	}
	if _, err := cut(stix2mathregular.TTF, "Some Signs", "nobody", "♭七"); err == nil {
		t.Error("a character that the font lacks is no error")
	}
}

// A quadratic curve is its own approximation; a quarter of a circle takes more
// than one, and each ends where the cubic does.
func TestQuadratics(t *testing.T) {
	a, b, c, d := vec{0, 0}, vec{200, 200}, vec{400, 200}, vec{600, 0} // the quadratic 0,0 – 300,300 – 600,0
	if got := quadratics(a, b, c, d, 8); len(got) != 1 || got[0][0] != (vec{300, 300}) || got[0][1] != d {
		t.Errorf("%v", got)
	}
	got := quadratics(vec{0, 0}, vec{0, 552}, vec{448, 1000}, vec{1000, 1000}, 8)
	if len(got) < 2 || got[len(got)-1][1] != (vec{1000, 1000}) {
		t.Errorf("%v", got)
	}
}
