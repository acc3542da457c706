package score

import (
	"fmt"
	"strings"

	"gradatim/theory"
)

// Text writes the score as lines a person can read and a diff can show: a line a
// bar with its chords, then a line for each hand and voice, each note as
// pitch:length, chords joined with "+", rests as "r", slurs from ⌊ to ⌋. Beats are
// counted in quarters from the bar's start.
func Text(s Score) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s · %s\n", s.Title, s.Subtitle)
	fmt.Fprintf(&b, "tempo %s=%d, %s\n", s.Tempo.Beat, s.Tempo.PerMinute, s.Feel)
	for i, bar := range s.Bars {
		fmt.Fprintf(&b, "bar %d", bar.Number)
		if bar.Section != "" {
			fmt.Fprintf(&b, " [%s]", bar.Section)
		}
		if i == 0 || bar.Meter != s.Bars[i-1].Meter || bar.Key != s.Bars[i-1].Key {
			fmt.Fprintf(&b, " %s %s", bar.Meter, bar.Key)
		}
		if t := signsText(bar); t != "" {
			b.WriteString(" " + t)
		}
		for _, c := range s.Chords {
			if c.At >= bar.At && c.At < bar.End() {
				fmt.Fprintf(&b, "  %s %s", at(c.At-bar.At), c.Chord)
			}
		}
		for _, d := range s.Directions {
			if d.At < bar.At || d.At >= bar.End() {
				continue
			}
			switch d.Kind {
			case Dynamic:
				fmt.Fprintf(&b, "  %s %s %s", at(d.At-bar.At), d.Hand, d.Text)
			case Crescendo:
				fmt.Fprintf(&b, "  %s %s <", at(d.At-bar.At), d.Hand)
			case Diminuendo:
				fmt.Fprintf(&b, "  %s %s >", at(d.At-bar.At), d.Hand)
			case HairpinEnd:
				fmt.Fprintf(&b, "  %s %s end", at(d.At-bar.At), d.Hand)
			}
		}
		b.WriteByte('\n')
		for _, h := range []Hand{Right, Left} {
			for v := uint8(1); v <= 2; v++ {
				if line := s.voiceText(bar, h, v); line != "" {
					fmt.Fprintf(&b, "  %c%d %s\n", strings.ToUpper(h.String())[0], v, line)
				}
			}
		}
	}
	return b.String()
}

// signsText draws the signs of a bar: "|: [1 :|".
func signsText(b Bar) string {
	var out []string
	s := b.Signs
	for _, x := range []struct {
		is   bool
		text string
	}{{s.Start, "|:"}, {s.Segno, "segno"}, {s.Coda, "coda"}, {s.EndingOpens, "[" + s.Ending.String()}, {s.Times > 0, strings.Repeat(":", max(0, s.Times-1)) + "|"},
		{s.ToCoda, "to coda"}, {s.Fine, "fine"}, {s.DaCapo, "D.C."}, {s.DalSegno, "D.S."}} {
		if x.is {
			out = append(out, x.text)
		}
	}
	return strings.Join(out, " ")
}

func (s Score) voiceText(bar Bar, h Hand, v uint8) string {
	var parts []string
	now := bar.At
	for i := 0; i < len(s.Notes); i++ {
		n := s.Notes[i]
		if n.Hand != h || n.Voice != v || n.At < bar.At || n.At >= bar.End() {
			continue
		}
		if n.At > now {
			parts = append(parts, "r:"+n.lengthText(n.At-now))
		}
		text := noteText(n)
		last := len(parts) - 1
		if i > 0 && last >= 0 && now == n.End() && s.sameStrike(i) {
			cut := strings.LastIndex(parts[last], ":")
			parts[last] = parts[last][:cut] + "+" + text + parts[last][cut:]
		} else if n.Grace > 0 {
			parts = append(parts, "("+text+")")
			continue
		} else {
			parts = append(parts, text+":"+n.lengthText(n.Dur))
		}
		now = max(now, n.End())
	}
	return strings.Join(parts, " ")
}

// sameStrike tells whether note i is struck together with the note before it in
// its voice, for the same length.
func (s Score) sameStrike(i int) bool {
	a, b := s.Notes[i-1], s.Notes[i]
	return a.At == b.At && a.Dur == b.Dur && a.Hand == b.Hand && a.Voice == b.Voice && a.Grace == 0 && b.Grace == 0
}

func (n Note) lengthText(d theory.Dur) string { return at(d) }

// at writes a duration in quarters: "1", "0.5", "2/3".
func at(d theory.Dur) string {
	q := theory.Quarter
	switch {
	case d%q == 0:
		return fmt.Sprint(int(d / q))
	case d*4%q == 0:
		return strings.TrimRight(fmt.Sprintf("%d.%02d", d/q, d%q*100/q), "0")
	case d*3%q == 0:
		return fmt.Sprintf("%d/3", d*3/q)
	case d*6%q == 0:
		return fmt.Sprintf("%d/6", d*6/q)
	}
	return fmt.Sprintf("%d/%d", d, q)
}

func noteText(n Note) string {
	t := n.Pitch.String()
	if n.Marks.Has(Rolled) {
		t += "~"
	}
	if n.Marks.Has(Ghost) {
		t = "{" + t + "}"
	}
	if n.Ornament != NoOrnament {
		t += [...]string{"", "m", "M", "t", "tr", "%"}[n.Ornament]
	}
	if n.Marks.Has(SlurTo) {
		t += "⌋"
	}
	if n.Marks.Has(SlurFrom) {
		t += "⌊"
	}
	if n.Finger > 0 {
		t += fmt.Sprintf("'%d", n.Finger)
	}
	return t
}
