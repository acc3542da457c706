package choice

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Format writes choices as a file that Parse reads as the same choices: by level, then
// in the order of playing. The choices are in the key of the song.
func Format(song leadsheet.Song, cs []Choice) []byte {
	cs = slices.Clone(cs)
	slices.SortStableFunc(cs, func(a, b Choice) int {
		_, la := a.Fix.(Lock)
		_, lb := b.Fix.(Lock)
		return cmp.Or(cmp.Compare(btoi(la), btoi(lb)), cmp.Compare(a.Level, b.Level), cmp.Compare(a.At, b.At))
	})
	var w strings.Builder
	fmt.Fprintf(&w, "version = %d\n", Version)
	for i := 0; i < len(cs); i++ {
		c := cs[i]
		if _, ok := c.Fix.(Lock); !ok {
			w.WriteString("\n" + Write(song, c).String())
			continue
		}
		fmt.Fprintf(&w, "\n[[lock]]\nlevel = %d\nnotes = '''\n", c.Level)
		for i < len(cs) && cs[i].Level == c.Level {
			w.WriteString(cs[i].Fix.(Lock).Bar.Text(song))
			i++
		}
		w.WriteString("'''\n")
		i--
	}
	return []byte(w.String())
}

// FormatBars writes bars as a file of locked bars.
func FormatBars(song leadsheet.Song, bars []Bar) []byte {
	var w strings.Builder
	for i, b := range bars {
		if i > 0 {
			w.WriteByte('\n')
		}
		w.WriteString(b.Text(song))
	}
	return []byte(w.String())
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// Written is a choice as it stands in a file: one table. What is zero is not written.
type Written struct {
	Level                       int
	Bar, Pass                   int
	Beat                        string
	Bars                        int
	Length                      string
	Chord, Technique, Avoid     string
	Hand                        score.Hand
	Figure, Add, Take, Move, To string
	Note                        string
	Finger                      int
	Octave                      int
	Dynamic                     string
}

// Write is a choice, in the key of the song, as it stands in a file. A Lock stands in a
// table of its own.
func Write(song leadsheet.Song, c Choice) Written {
	i := song.BarAt(c.At)
	bar := song.Bars[i]
	w := Written{Level: c.Level, Bar: bar.Sheet}
	if passes(song, bar.Sheet) > 1 {
		w.Pass = bar.Pass
	}
	if c.At > bar.At {
		w.Beat = beat(bar, c.At)
	}
	if c.Until != bar.End() {
		j := song.BarAt(c.Until - 1)
		if last := song.Bars[j]; c.Until == last.End() && j-i == last.Sheet-bar.Sheet {
			w.Bars = j - i + 1
			for _, b := range song.Bars[i : j+1] { // a later bar may be played again without the first
				if passes(song, b.Sheet) > 1 {
					w.Pass = bar.Pass
				}
			}
		} else {
			w.Length = (c.Until - c.At).String()
		}
	}
	switch f := c.Fix.(type) {
	case Chord:
		w.Chord = f.Chord.String()
	case Use:
		w.Technique = f.Technique
	case Avoid:
		w.Avoid = f.Technique
	case Figure:
		w.Hand, w.Figure = f.Hand, f.Text(bar)
	case Added:
		w.Hand, w.Add = f.Hand, loose(bar, c.At, Tone{Tone: f.Tone})
	case TakenAway:
		w.Hand, w.Take = f.Hand, f.Pitch.String()
	case Moved:
		w.Hand, w.Move, w.To = f.Hand, f.From.String(), loose(bar, c.At, Tone{Tone: f.To})
	case Finger:
		w.Hand, w.Note, w.Finger = f.Hand, f.Pitch.String(), int(f.Finger)
	case Octave:
		w.Octave = f.By
	case Loud:
		w.Dynamic = f.Sign
	default:
		panic(fmt.Sprintf("choice: %T", c.Fix))
	}
	return w
}

// String writes the table.
func (w Written) String() string {
	var b strings.Builder
	b.WriteString("[[choice]]\n")
	number := func(key string, n int) {
		if n != 0 {
			fmt.Fprintf(&b, "%s = %d\n", key, n)
		}
	}
	text := func(key, s string) {
		if s != "" {
			fmt.Fprintf(&b, "%s = %q\n", key, s)
		}
	}
	number("level", w.Level)
	fmt.Fprintf(&b, "bar = %d\n", w.Bar) // a pick-up is bar 0
	number("pass", w.Pass)
	text("beat", w.Beat)
	number("bars", w.Bars)
	text("length", w.Length)
	if w.Hand != 0 {
		text("hand", w.Hand.String())
	}
	text("chord", w.Chord)
	text("technique", w.Technique)
	text("avoid", w.Avoid)
	text("figure", w.Figure)
	text("add", w.Add)
	text("take", w.Take)
	text("move", w.Move)
	text("to", w.To)
	text("note", w.Note)
	number("finger", w.Finger)
	number("octave", w.Octave)
	text("dynamic", w.Dynamic)
	return b.String()
}

// loose writes a tone without the place and the length that it need not say.
func loose(b leadsheet.Bar, at theory.Dur, t Tone) string {
	text := t.text(b)
	if t.Dur == 0 && t.Grace == 0 {
		text = strings.Replace(text, ":0", "", 1)
	}
	if t.At == at {
		text = strings.Replace(text, "@"+beat(b, at), "", 1)
	}
	return text
}
