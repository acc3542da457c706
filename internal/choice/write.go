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
			writeEntry(&w, song, c)
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

func writeEntry(w *strings.Builder, song leadsheet.Song, c Choice) {
	i := song.BarAt(c.At)
	bar := song.Bars[i]
	fmt.Fprintf(w, "\n[[choice]]\nlevel = %d\nbar = %d\n", c.Level, bar.Sheet)
	if passes(song, bar.Sheet) > 1 {
		fmt.Fprintf(w, "pass = %d\n", bar.Pass)
	}
	if c.At > bar.At {
		fmt.Fprintf(w, "beat = %q\n", beat(bar, c.At))
	}
	if c.Until != bar.End() {
		j := song.BarAt(c.Until - 1)
		if last := song.Bars[j]; c.Until == last.End() && j-i == last.Sheet-bar.Sheet {
			fmt.Fprintf(w, "bars = %d\n", j-i+1)
		} else {
			fmt.Fprintf(w, "length = %q\n", c.Until-c.At)
		}
	}
	hand := func(h score.Hand) {
		if h != 0 {
			fmt.Fprintf(w, "hand = %q\n", h)
		}
	}
	key := func(name string, v any) { fmt.Fprintf(w, "%s = %q\n", name, fmt.Sprint(v)) }
	switch f := c.Fix.(type) {
	case Chord:
		key("chord", f.Chord)
	case Use:
		key("technique", f.Technique)
	case Avoid:
		key("avoid", f.Technique)
	case Figure:
		hand(f.Hand)
		key("figure", f.Text(bar))
	case Added:
		hand(f.Hand)
		key("add", loose(bar, c.At, tone{Tone: f.Tone}))
	case TakenAway:
		hand(f.Hand)
		key("take", f.Pitch)
	case Moved:
		hand(f.Hand)
		key("move", f.From)
		key("to", loose(bar, c.At, tone{Tone: f.To}))
	case Finger:
		hand(f.Hand)
		key("note", f.Pitch)
		fmt.Fprintf(w, "finger = %d\n", f.Finger)
	case Octave:
		fmt.Fprintf(w, "octave = %d\n", f.By)
	default:
		panic(fmt.Sprintf("choice: %T", c.Fix))
	}
}

// loose writes a tone without the place and the length that it need not say.
func loose(b leadsheet.Bar, at theory.Dur, t tone) string {
	text := t.text(b)
	if t.Dur == 0 && t.Grace == 0 {
		text = strings.Replace(text, ":0", "", 1)
	}
	if t.At == at {
		text = strings.Replace(text, "@"+beat(b, at), "", 1)
	}
	return text
}
