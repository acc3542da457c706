package choice

import (
	"fmt"
	"strconv"
	"strings"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Places. A teacher counts the bars of the sheet that lies before her, where a repeat
// is written once. So a choice names a bar of the sheet, and holds each time that the
// bar is played, unless it names one.

// passes counts how often a bar of the sheet is played.
func passes(song leadsheet.Song, sheet int) int { return len(played(song, sheet, 0)) }

// played lists the bars, by index, that a number on the sheet stands for. nth picks one
// pass; 0: all.
func played(song leadsheet.Song, sheet, nth int) []int {
	var out []int
	for i, b := range song.Bars {
		if b.Sheet == sheet && (nth == 0 || nth == b.Pass) {
			out = append(out, i)
		}
	}
	return out
}

// offset turns a beat into a moment of the bar; ok is false where the bar has no such
// beat, or where no length measures it. Its end counts as one.
func offset(b leadsheet.Bar, text string) (off theory.Dur, ok bool) {
	num, den, ok := number(text)
	if !ok {
		return 0, false
	}
	beat := int64(b.Meter.BeatDur())
	at, exact := (num-den)*beat/den, (num-den)*beat%den == 0
	off = theory.Dur(at)
	if b.Pickup {
		off -= b.Meter.Bar() - b.Dur
	}
	return off, exact && off >= 0 && off <= b.Dur
}

// beat writes a moment of a bar as musicians count it, exactly: "1", "2.5", "3+1/3".
func beat(b leadsheet.Bar, at theory.Dur) string {
	off := at - b.At
	if b.Pickup {
		off += b.Meter.Bar() - b.Dur
	}
	unit := b.Meter.BeatDur()
	whole, part := int64(off/unit)+1, int64(off%unit)
	den := int64(unit)
	for x, y := den, part; ; x, y = y, x%y {
		if y == 0 {
			part, den = part/x, den/x
			break
		}
	}
	switch den {
	case 1:
		return fmt.Sprint(whole)
	case 2, 4:
		return strconv.FormatFloat(float64(whole)+float64(part)/float64(den), 'f', -1, 64)
	}
	return fmt.Sprintf("%d+%d/%d", whole, part, den)
}

// number reads "3", "2.5" or "3+1/3" as a fraction.
func number(text string) (num, den int64, ok bool) {
	whole, part, mixed := strings.Cut(text, "+")
	n, d, ok := fraction(whole)
	if !ok || !mixed {
		return n, d, ok
	}
	a, b, ok := fraction(part)
	return n*b + a*d, d * b, ok && d == 1
}

// fraction reads "3", "2.5" or "1/3", of a moderate size.
func fraction(text string) (num, den int64, ok bool) {
	digits := func(s string) (int64, bool) {
		if s == "" || len(s) > 5 || strings.Trim(s, "0123456789") != "" {
			return 0, false
		}
		n, err := strconv.ParseInt(s, 10, 32)
		return n, err == nil
	}
	if a, b, is := strings.Cut(text, "/"); is {
		n, ok1 := digits(a)
		d, ok2 := digits(b)
		return n, d, ok1 && ok2 && d > 0
	}
	a, b, is := strings.Cut(text, ".")
	n, ok := digits(a)
	if !ok || !is {
		return n, 1, ok
	}
	f, ok := digits(b)
	den = 1
	for range len(b) {
		den *= 10
	}
	return n*den + f, den, ok
}

// length reads a share of a whole note: "1/4", "1".
func length(text string) (theory.Dur, bool) {
	n, d, ok := fraction(text)
	if !ok || strings.Contains(text, ".") {
		return 0, false
	}
	return theory.Fraction(n, d)
}
