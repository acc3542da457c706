package harmony

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// song builds a lead sheet from a line of text: notes "F4:1/4", rests "r:1/4",
// ties "F4:1/2~", chords "[Bb7]", bar lines "|", a section "{A}", a change of key "K=Dm". A
// first bar shorter than the metre is a pick-up. key "" leaves the key
// undeclared.
func song(t testing.TB, meter, key, text string) leadsheet.Song {
	t.Helper()
	s, err := parseSong(meter, key, text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func parseSong(meter, key, text string) (leadsheet.Song, error) {
	s := leadsheet.Song{Title: "test", MeterDeclared: true}
	if _, err := fmt.Sscanf(meter, "%d/%d", &s.Meter.Beats, &s.Meter.Unit); err != nil {
		return s, err
	}
	if key != "" {
		k, err := theory.ParseKey(key)
		if err != nil {
			return s, err
		}
		s.Key, s.KeyDeclared = k, true
	}
	var at theory.Dur
	now, tied := s.Key, false
	for _, bar := range strings.Split(text, "|") {
		if strings.TrimSpace(bar) == "" {
			continue
		}
		b := leadsheet.Bar{At: at, Meter: s.Meter, Written: len(s.Bars)}
		for _, w := range strings.Fields(bar) {
			switch {
			case strings.HasPrefix(w, "{"):
				b.Section = strings.Trim(w, "{}")
			case strings.HasPrefix(w, "K="):
				k, err := theory.ParseKey(w[2:])
				if err != nil {
					return s, err
				}
				now = k
			case strings.HasPrefix(w, "["):
				mark := leadsheet.ChordMark{At: at, Text: strings.Trim(w, "[]")}
				if sym, err := theory.ParseSymbol(mark.Text); err != nil {
					mark.Unknown = true
				} else {
					mark.Chord = sym.Chord
				}
				s.Chords = append(s.Chords, mark)
			default:
				n, long, err := parseNote(w)
				if err != nil {
					return s, err
				}
				if k := len(s.Melody); n.Dur > 0 && tied && k > 0 && s.Melody[k-1].Pitch == n.Pitch {
					s.Melody[k-1].Dur += n.Dur
				} else if n.Dur > 0 {
					n.At = at
					s.Melody = append(s.Melody, n)
				}
				at, tied = at+long, strings.HasSuffix(w, "~")
			}
		}
		b.Key, b.Dur = now, at-b.At
		if b.Pickup = len(s.Bars) == 0 && b.Dur < s.Meter.Bar(); !b.Pickup {
			b.Number = 1
			if n := len(s.Bars); n > 0 {
				b.Number = s.Bars[n-1].Number + 1
			}
		}
		s.Bars = append(s.Bars, b)
	}
	return s, nil
}

// parseNote reads "F4:3/8"; a rest has no length as a note.
func parseNote(w string) (n leadsheet.Note, long theory.Dur, err error) {
	name, dur, _ := strings.Cut(strings.TrimSuffix(w, "~"), ":")
	num, den, _ := strings.Cut(dur, "/")
	if den == "" {
		den = "1"
	}
	x, err1 := strconv.ParseInt(num, 10, 32)
	y, err2 := strconv.ParseInt(den, 10, 32)
	if err1 != nil || err2 != nil || x <= 0 || y <= 0 {
		return n, 0, fmt.Errorf("%q is no note", w)
	}
	long, _ = theory.Fraction(x, y)
	if name == "r" {
		return n, long, nil
	}
	n.Dur = long
	n.Pitch, err = theory.ParsePitch(name)
	return n, long, err
}

func chord(t testing.TB, s string) theory.Chord {
	t.Helper()
	if s == "" {
		return theory.Chord{}
	}
	sym, err := theory.ParseSymbol(s)
	if err != nil {
		t.Fatal(err)
	}
	return sym.Chord
}

func key(t testing.TB, s string) theory.Key {
	t.Helper()
	k, err := theory.ParseKey(s)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// where writes a position as bar and beat: "5.3".
func where(s leadsheet.Song, at theory.Dur) string {
	p := s.PosAt(at)
	return fmt.Sprintf("%d:%s", p.Bar, p.Beat)
}
