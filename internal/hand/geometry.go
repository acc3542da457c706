package hand

import "fmt"

// Length is a length in hundredths of a millimetre.
type Length int

// Sizes of a piano keyboard. Octave and white key: trade standard (an octave is
// 164 to 165 mm on pianos of today); the width of a black key is the one that
// the fingering literature calculates with.
const (
	Millimetre Length = 100
	Inch       Length = 2540
	Octave     Length = 16450
	WhiteKey   Length = Octave / 7
	BlackKey   Length = 1370
)

// String writes the length in millimetres with one decimal: "164.5 mm".
func (l Length) String() string {
	sign := ""
	if l < 0 {
		sign, l = "-", -l
	}
	tenths := (l + 5) / 10
	return fmt.Sprintf("%s%d.%d mm", sign, tenths/10, tenths%10)
}

// offsets are the centres of an octave's keys to the right of the centre of its
// C, in twelfths of a Length, which holds them exactly. White keys are 23.5 mm
// apart; black keys lie on an even division of the octave in twelve, counted
// from the left edge of C: (semitone + ½) · 164.5/12 − 11.75 mm.
var offsets = [12]int{0, 10575, 28200, 43475, 56400, 84600, 92825, 112800, 125725, 141000, 158625, 169200}

// The ends of the keyboard, as MIDI numbers: A0 and C8.
const (
	LowestKey  = 21
	HighestKey = 108
)

// place returns the centre of a key in twelfths of a Length from the centre of
// MIDI 0.
func place(key int) int {
	if key >= 0 && key < len(places) {
		return places[key]
	}
	return placeOf(key)
}

// places tabulates the MIDI keys.
var places = func() (ps [128]int) {
	for k := range ps {
		ps[k] = placeOf(k)
	}
	return ps
}()

func placeOf(key int) int {
	octave := key / 12
	if key < 0 {
		octave = (key - 11) / 12
	}
	return octave*12*int(Octave) + offsets[key-12*octave]
}

// Position returns the centre of a key, given by its MIDI number, measured from
// the centre of MIDI 0. Keys rise to the right.
func Position(key int) Length {
	p := place(key)
	if p < 0 {
		p -= 11
	}
	return Length(p / 12)
}

// Distance returns the distance between the centres of two keys, never
// negative.
func Distance(a, b int) Length {
	d := place(b) - place(a)
	if d < 0 {
		d = -d
	}
	return Length(d / 12)
}

// Black tells whether the key is a black one.
func Black(key int) bool {
	switch ((key % 12) + 12) % 12 {
	case 1, 3, 6, 8, 10:
		return true
	}
	return false
}

// Twelfths returns the signed distance from a to b in twelfths of an octave,
// rounded to the nearest: the "semitones" of the fingering rules as they are
// understood on real keys (Jacobs 2001: bins of an octave's twelfth with their
// boundaries half way).
func Twelfths(a, b int) int {
	d := place(b) - place(a)
	if d < 0 {
		return -int((-d + int(Octave)/2) / int(Octave))
	}
	return (d + int(Octave)/2) / int(Octave)
}
