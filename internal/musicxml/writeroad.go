package musicxml

import (
	"strconv"

	"gradatim/internal/notate"
	"gradatim/score"
	"gradatim/theory"
)

// The signs of a bar for the order of playing: repeats and endings in the bar lines
// (MusicXML 4.0, barline: bar style, ending, repeat, in this order), jumps in words
// with a sound that says the same.

// roadBefore writes what stands before a bar.
func (w *scoreWriter) roadBefore(b *notate.Bar) {
	s := b.Bar.Signs
	if s.Start || s.EndingOpens {
		w.open("barline", "location", "left")
		if s.Start {
			w.leaf("bar-style", "heavy-light")
		}
		if s.EndingOpens {
			w.empty("ending", "number", s.Ending.String(), "type", "start")
		}
		if s.Start {
			w.empty("repeat", "direction", "forward")
		}
		w.close()
	}
	if s.Segno {
		w.road(0, "segno", "", "segno", "1")
	}
	if s.Coda {
		w.road(0, "coda", "", "coda", "1")
	}
	// Words about the end of a bar stand in its middle, where there is room for them.
	middle := b.Dur / 2 / theory.SixtyFourth * theory.SixtyFourth
	if s.ToCoda {
		w.road(middle, "words", "To Coda", "tocoda", "1")
	}
	if s.Fine {
		w.road(middle, "words", "Fine", "fine", "yes")
	}
	if s.DaCapo || s.DalSegno {
		words, kind, mark := "D.C.", "dacapo", "yes"
		if s.DalSegno {
			words, kind, mark = "D.S.", "dalsegno", "1"
		}
		for _, o := range w.src.Bars {
			switch {
			case o.Signs.Fine:
				words += " al Fine"
			case o.Signs.ToCoda:
				words += " al Coda"
			default:
				continue
			}
			break
		}
		w.road(middle, "words", words, kind, mark)
	}
}

// roadAfter writes what stands after the i-th bar, its bar line with it.
func (w *scoreWriter) roadAfter(b *notate.Bar, i int) {
	s := b.Bar.Signs
	closes := s.Ending != 0 && (i+1 == len(w.src.Bars) || w.src.Bars[i+1].Signs.Ending != s.Ending || w.src.Bars[i+1].Signs.EndingOpens)
	if b.Line == notate.Plain && s.Times == 0 && !closes {
		return
	}
	w.open("barline", "location", "right")
	switch {
	case s.Times > 0:
		w.leaf("bar-style", "light-heavy")
	case b.Line == notate.Double:
		w.leaf("bar-style", "light-light")
	case b.Line == notate.Final:
		w.leaf("bar-style", "light-heavy")
	}
	if closes {
		kind := "discontinue" // the last ending stays open below
		if s.Times > 0 || b.Line == notate.Final {
			kind = "stop"
		}
		w.empty("ending", "number", s.Ending.String(), "type", kind)
	}
	if s.Times > 2 {
		w.empty("repeat", "direction", "backward", "times", strconv.Itoa(s.Times))
	} else if s.Times > 0 {
		w.empty("repeat", "direction", "backward")
	}
	w.close()
}

// road writes a sign or word for the order of playing, so long after the cursor.
func (w *scoreWriter) road(off theory.Dur, element, words, sound, value string) {
	w.open("direction", "placement", "above")
	w.open("direction-type")
	if words == "" {
		w.empty(element)
	} else {
		w.leaf(element, words)
	}
	w.close()
	if off > 0 {
		w.leaf("offset", w.duration(off))
	}
	w.staff(score.Right)
	w.empty("sound", sound, value)
	w.close()
}
