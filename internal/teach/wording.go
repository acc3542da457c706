package teach

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// tempoOf puts a metronome mark in words.
func tempoOf(t leadsheet.Tempo) Tempo { return Tempo{valueName(t.Beat), t.PerMinute} }

var values = []struct {
	dur  theory.Dur
	name string
}{
	{theory.Whole * 3 / 2, "dotted whole"}, {theory.Whole, "whole"},
	{theory.Half * 3 / 2, "dotted half"}, {theory.Half, "half"},
	{theory.Quarter * 3 / 2, "dotted quarter"}, {theory.Quarter, "quarter"},
	{theory.Eighth * 3 / 2, "dotted eighth"}, {theory.Eighth, "eighth"},
	{theory.Sixteenth * 3 / 2, "dotted sixteenth"}, {theory.Sixteenth, "sixteenth"},
	{theory.Sixteenth / 2, "thirty-second"},
}

// valueName names a note value; "" where it takes more than one note to write.
func valueName(d theory.Dur) string {
	for _, v := range values {
		if v.dur == d {
			return v.name
		}
	}
	return ""
}

// list joins words: "C", "C and E", "C, E and G".
func list(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}

// count writes a number with its noun: "1 bar", "3 bars".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// barList names bars, runs drawn together: "bar 3", "bars 1–4 and 9", "the
// pick-up and bar 1".
func barList(bars []int) string {
	bars = slices.Clone(bars)
	slices.Sort(bars)
	bars = slices.Compact(bars)
	pickup := len(bars) > 0 && bars[0] == 0
	if pickup {
		bars = bars[1:]
	}
	var parts []string
	for i := 0; i < len(bars); {
		j := i
		for j+1 < len(bars) && bars[j+1] == bars[j]+1 {
			j++
		}
		switch {
		case j == i:
			parts = append(parts, strconv.Itoa(bars[i]))
		case j == i+1:
			parts = append(parts, strconv.Itoa(bars[i]), strconv.Itoa(bars[j]))
		default:
			parts = append(parts, fmt.Sprintf("%d–%d", bars[i], bars[j]))
		}
		i = j + 1
	}
	text := ""
	switch {
	case len(bars) == 1:
		text = "bar " + parts[0]
	case len(bars) > 1:
		text = "bars " + list(parts)
	}
	switch {
	case pickup && text != "":
		return "the pick-up and " + text
	case pickup:
		return "the pick-up"
	}
	return text
}

// span names bars from one to another.
func span(from, to int) string {
	var bars []int
	for n := from; n <= to; n++ {
		bars = append(bars, n)
	}
	return barList(bars)
}

// upper puts the first letter in upper case.
func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// lower puts the first letter in lower case where a common noun begins the text.
func lower(s string) string {
	if s == "" || len(s) > 1 && (s[1] < 'a' || s[1] > 'z') {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// sentence closes a clause.
func sentence(s string) string {
	s = strings.TrimRight(strings.TrimSpace(s), ".;, ")
	if s == "" {
		return ""
	}
	return upper(s) + "."
}

func wordCount(s string) int { return len(strings.Fields(s)) }

// degreeNames are the names of a chord's tones over its root.
var degreeNames = map[theory.Degree]string{
	{Number: 1}: "root", {Number: 2}: "second", {Number: 4}: "fourth", {Number: 6}: "sixth",
	{Number: 3}: "third", {Number: 3, Alter: -1}: "minor third",
	{Number: 5}: "fifth", {Number: 5, Alter: -1}: "diminished fifth", {Number: 5, Alter: 1}: "augmented fifth",
	{Number: 6, Alter: -1}: "minor sixth",
	{Number: 7}:            "major seventh", {Number: 7, Alter: -1}: "minor seventh", {Number: 7, Alter: -2}: "diminished seventh",
	{Number: 9}: "ninth", {Number: 9, Alter: -1}: "flat ninth", {Number: 9, Alter: 1}: "sharp ninth",
	{Number: 11}: "eleventh", {Number: 11, Alter: 1}: "sharp eleventh",
	{Number: 13}: "thirteenth", {Number: 13, Alter: -1}: "flat thirteenth",
	{Number: 2, Alter: -1}: "flat second", {Number: 4, Alter: 1}: "raised fourth", {Number: 11, Alter: -1}: "flat eleventh",
	{Number: 13, Alter: 1}: "sharp thirteenth",
}

// degreeName names a degree over a root: "minor third", "sharp ninth".
func degreeName(d theory.Degree) string {
	if s, ok := degreeNames[d]; ok {
		return s
	}
	return d.Pretty()
}

// overName names what a note is over a chord, in a phrase: "the third of F", "a
// note outside F".
func overName(c theory.Chord, n theory.Name) (string, bool) {
	if c.Silent() {
		return "", false
	}
	if d, ok := c.Degree(n); ok {
		return fmt.Sprintf("the %s of %s", degreeName(d), c.Pretty()), true
	}
	return "", false
}

// meterCount is what is said aloud in a bar, down to a note value.
func meterCount(m leadsheet.Meter, shortest theory.Dur) string {
	var out []string
	switch {
	case m.Compound():
		sub := m.BeatDur() / 3
		for i := range int(m.Bar() / sub) {
			out = append(out, strconv.Itoa(i+1))
		}
	default:
		beat := m.BeatDur()
		for i := range m.BeatCount() {
			out = append(out, strconv.Itoa(i+1))
			switch {
			case shortest >= beat:
			case shortest >= beat/2:
				out = append(out, "and")
			default:
				out = append(out, "e", "and", "a")
			}
		}
	}
	return strings.Join(out, " ")
}

// beatName names a place in a bar: "1", "4-and".
func beatName(s score.Score, at theory.Dur) string {
	b := s.PosAt(at).Beat
	whole, part := int(b/leadsheet.BeatUnit), b%leadsheet.BeatUnit
	switch {
	case part == 0:
		return strconv.Itoa(whole)
	case part*2 == leadsheet.BeatUnit:
		return fmt.Sprintf("the “and” of %d", whole)
	case part*3 == leadsheet.BeatUnit:
		return fmt.Sprintf("the second third of beat %d", whole)
	case part*3 == 2*leadsheet.BeatUnit:
		return fmt.Sprintf("the last third of beat %d", whole)
	}
	return fmt.Sprintf("just after %d", whole)
}
