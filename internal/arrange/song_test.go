package arrange

import (
	"gradatim/internal/idiom"
	"strconv"
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// tune builds a song from a compact text: bars are separated by "|", a token
// with a colon is a note and its length in eighths ("A4:3", "r:2" a rest), any
// other token a chord symbol at the moment it stands.
func tune(t testing.TB, meter leadsheet.Meter, key, text string) leadsheet.Song {
	t.Helper()
	k, err := theory.ParseKey(key)
	if err != nil {
		t.Fatal(err)
	}
	s := leadsheet.Song{Title: "Test", Key: k, KeyDeclared: true, Meter: meter, MeterDeclared: true,
		Tempo: leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 120}}
	at := theory.Dur(0)
	for i, barText := range strings.Split(text, "|") {
		bar := leadsheet.Bar{At: at, Meter: meter, Key: k, Number: i + 1, Written: i, Sheet: i + 1, Pass: 1}
		for _, tok := range strings.Fields(barText) {
			name, length, isNote := strings.Cut(tok, ":")
			if !isNote {
				sym, err := theory.ParseSymbol(tok)
				if err != nil {
					t.Fatal(err)
				}
				s.Chords = append(s.Chords, leadsheet.ChordMark{At: at, Chord: sym.Chord, Text: tok})
				continue
			}
			n, err := strconv.Atoi(length)
			if err != nil {
				t.Fatal(err)
			}
			d := theory.Dur(n) * theory.Eighth
			if name != "r" {
				p, err := theory.ParsePitch(name)
				if err != nil {
					t.Fatal(err)
				}
				s.Melody = append(s.Melody, leadsheet.Note{At: at, Dur: d, Pitch: p})
			}
			at += d
		}
		bar.Dur = at - bar.At
		bar.Pickup = bar.Dur < meter.Bar() && i == 0
		if bar.Pickup {
			bar.Number, bar.Sheet = 0, 0
		}
		s.Bars = append(s.Bars, bar)
	}
	if len(s.Bars) > 0 && s.Bars[0].Pickup {
		for i := range s.Bars {
			s.Bars[i].Number, s.Bars[i].Sheet = i, i
		}
	}
	return s
}

var fourFour = leadsheet.Meter{Beats: 4, Unit: 4}

func kindOf(id string) idiom.Idiom {
	k, ok := idiom.Named(id, idiom.All())
	if !ok {
		panic(id)
	}
	return k
}
