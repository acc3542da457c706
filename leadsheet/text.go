package leadsheet

import (
	"fmt"
	"strings"
)

// Text writes the song out for reading and comparing: a head of "name: value"
// lines (only those that are known), then one line for each bar with what begins
// in it, in order: "@beat [chord]" for chord marks, "@beat pitch length" for
// notes, with grace notes in braces and the syllable in quotes. It shows all of
// the music and none of the Problems; two songs of the same music have the same
// text whatever format they were read from.
func (s Song) Text() string {
	var b strings.Builder
	head := func(name, value string) {
		if value != "" {
			fmt.Fprintf(&b, "%s: %s\n", name, value)
		}
	}
	head("title", s.Title)
	head("rhythm", s.Rhythm)
	for _, p := range s.Rights.Composers {
		head("composer", p.String())
	}
	for _, p := range s.Rights.Lyricists {
		head("lyricist", p.String())
	}
	head("arranger", s.Rights.Arranger)
	if s.Rights.Year > 0 {
		head("year", fmt.Sprint(s.Rights.Year))
	}
	head("source", s.Rights.Source)
	head("licence", s.Rights.Licence)
	head("rights", s.Rights.Text)
	head("status", s.Rights.Status.String())
	for _, n := range s.Notes {
		head("note", n)
	}
	head("key", s.Key.String()+guessed(s.KeyDeclared))
	head("metre", s.Meter.String()+guessed(s.MeterDeclared))
	if s.Tempo.Set() {
		head("tempo", fmt.Sprintf("%s=%d", s.Tempo.Beat, s.Tempo.PerMinute))
	}
	head("tempo words", s.Tempo.Words)
	if s.Feel != Unstated {
		head("feel", s.Feel.String())
	}
	head("form", s.Form)

	key, meter := s.Key, s.Meter
	note, chord := 0, 0
	for _, bar := range s.Bars {
		fmt.Fprintf(&b, "%3d", bar.Number)
		if bar.Section != "" {
			fmt.Fprintf(&b, " <%s>", bar.Section)
		}
		if bar.Key != key {
			key = bar.Key
			fmt.Fprintf(&b, " key %s", key)
		}
		if bar.Meter.Beats != meter.Beats || bar.Meter.Unit != meter.Unit {
			meter = bar.Meter
			fmt.Fprintf(&b, " metre %s", meter)
		}
		if bar.Dur != bar.Meter.Bar() {
			fmt.Fprintf(&b, " (%s)", bar.Dur)
		}
		b.WriteString(" |")
		for {
			switch {
			case chord < len(s.Chords) && s.Chords[chord].At < bar.End() &&
				(note >= len(s.Melody) || s.Chords[chord].At <= s.Melody[note].At):
				c := s.Chords[chord]
				fmt.Fprintf(&b, " @%s [%s]", s.PosAt(c.At).Beat, c.symbol())
				chord++
				continue
			case note < len(s.Melody) && s.Melody[note].At < bar.End():
				n := s.Melody[note]
				fmt.Fprintf(&b, " @%s", s.PosAt(n.At).Beat)
				if len(n.Graces) > 0 {
					b.WriteString(" {")
					for i, g := range n.Graces {
						if i > 0 {
							b.WriteByte(' ')
						}
						b.WriteString(g.String())
					}
					b.WriteByte('}')
				}
				fmt.Fprintf(&b, " %s %s", n.Pitch, n.Dur)
				for _, y := range n.Sung {
					fmt.Fprintf(&b, " %q", y.String())
				}
				note++
				continue
			}
			break
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func guessed(declared bool) string {
	if declared {
		return ""
	}
	return " (guessed)"
}

// symbol writes the mark's chord in the house style, or what it stands for.
func (c ChordMark) symbol() string {
	switch {
	case c.Unknown:
		return "? " + c.Text
	case c.Optional:
		return "(" + c.Chord.String() + ")"
	}
	return c.Chord.String()
}

// String writes the name, with the year of death where it is known.
func (p Person) String() string {
	if p.Died == 0 {
		return p.Name
	}
	return fmt.Sprintf("%s (died %d)", p.Name, p.Died)
}
