package theory_test

import (
	"errors"
	"fmt"

	"gradatim/theory"
)

func ExampleParseSymbol() {
	for _, text := range []string{"B♭-7", "CΔ9", "F#ø", "C7+", "D over C7", "(Em7)", "N.C."} {
		s, err := theory.ParseSymbol(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(text, "=", s, s.Chord.Spell(), s.Cautions)
	}
	// Output:
	// B♭-7 = Bbm7 [Bb Db F Ab] []
	// CΔ9 = Cmaj9 [C E G B D] []
	// F#ø = F#m7b5 [F# A C E] []
	// C7+ = C7(#5) [C E G# Bb] [seven-plus C7+]
	// D over C7 = D over C7 [C E G Bb D F# A] []
	// (Em7) = (Em7) [E G B D] []
	// N.C. = N.C. [] []
}

func ExampleSymbolError() {
	_, err := theory.ParseSymbol("Bbm77")
	var bad *theory.SymbolError
	if errors.As(err, &bad) {
		fmt.Println(bad.Suggestion)
	}
	// Output: Bbm7
}

func ExampleChord_SpellReading() {
	s, _ := theory.ParseSymbol("C°7")
	fmt.Println(s.Chord.Spell(), s.Chord.SpellReading())
	// Output: [C Eb Gb Bbb] [C Eb Gb A]
}

func ExampleChord_Scales() {
	s, _ := theory.ParseSymbol("G7alt")
	for _, scale := range s.Chord.Scales() {
		fmt.Println(scale, scale.On(s.Chord.Root))
	}
	// Output: altered [G Ab A# B C# Eb F]
}

func ExampleKey_Roman() {
	key, _ := theory.ParseKey("F")
	for _, text := range []string{"Gm7", "C7", "D7(b9)", "Gb7", "Bbm6", "F#dim7", "Eb7"} {
		s, _ := theory.ParseSymbol(text)
		r := key.Roman(s.Chord)
		fmt.Printf("%s %s, %s\n", text, r.Pretty(), r.Kind)
	}
	// Output:
	// Gm7 ii7, diatonic
	// C7 V7, diatonic
	// D7(b9) V7(♭9)/ii, applied
	// Gb7 ♭II7, substitute
	// Bbm6 iv6, borrowed
	// F#dim7 ♯i°7, passing diminished
	// Eb7 ♭VII7, borrowed
}

func ExampleKey_RomanOf() {
	key, _ := theory.ParseKey("C")
	gm7, _ := theory.ParseSymbol("Gm7")
	f, _ := theory.ParseName("F")
	fmt.Println(key.Roman(gm7.Chord), key.RomanOf(gm7.Chord, f))
	// Output: v7 ii7/IV
}

func ExampleHarmonicSpelling() {
	key, _ := theory.ParseKey("C")
	sub, _ := theory.ParseSymbol("Db7")
	fmt.Println(theory.HarmonicSpelling(key, sub.Chord, 71)) // its seventh leads to C
	fmt.Println(theory.HarmonicSpelling(key, sub.Chord, 61))
	// Output:
	// B4
	// Db4
}

func ExampleScale() {
	root, _ := theory.ParseName("Ab")
	fmt.Println(theory.LydianDominant, theory.LydianDominant.On(root), theory.LydianDominant.Degrees())
	// Output: lydian dominant [Ab Bb C D Eb F Gb] 1 2 3 #4 5 6 b7
}

func ExampleChord_Transpose() {
	s, _ := theory.ParseSymbol("C7(b9)/E")
	up, _ := theory.ParseInterval("A4")
	fmt.Println(s.Chord.Transpose(up))
	// Output: F#7(b9)/A#
}

func ExamplePitch() {
	p, _ := theory.ParsePitch("F#4")
	third, _ := theory.ParseInterval("m3")
	fmt.Println(p, p.MIDI(), p.Up(third), p.Up(third.Neg()).Pretty())
	// Output: F#4 66 A4 D♯4
}

func ExampleKey() {
	key, _ := theory.ParseKey("Ebm")
	fmt.Println(key, key.Fifths(), key.Scale())
	// Output: Eb minor -6 [Eb F Gb Ab Bb Cb Db]
}

func ExampleFraction() {
	d, exact := theory.Fraction(1, 12)
	fmt.Println(d, int64(d), exact)
	// Output: 1/12 1680 true
}

func ExampleDegree() {
	d, _ := theory.ParseDegree("#9")
	root, _ := theory.ParseName("Eb")
	fmt.Println(d, d.Pretty(), d.Semitones(), d.On(root))
	// Output: #9 ♯9 15 F#
}
