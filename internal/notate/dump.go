package notate

import (
	"fmt"
	"strings"

	"gradatim/score"
	"gradatim/theory"
)

// String writes the page as text, one line for each voice of each bar, for
// tests and for the eye:
//
//	F#4!:4.^~   a dotted quarter with a needed accidental, stem up, tied on
//	<F4?+A4>:8v a chord; ? is a courtesy accidental
//	[ - ]       beam begins, goes on, ends; each sign once per level; > < hooks
//	{3:2 … }    a tuplet, with " where it shows a bracket
//	r4 R s1/4   rest, whole-bar rest, space
//	'E4:8       a grace note, '/ with a slash
//	@L @R       a head on the other staff
func (p Page) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "staves %d: ", p.Staves)
	for i, h := range p.Hands() {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(p.Clefs[h-1].String())
	}
	b.WriteByte('\n')
	for _, bar := range p.Bars {
		fmt.Fprintf(&b, "bar %d", bar.Number)
		if bar.Pickup {
			b.WriteString(" pick-up")
		}
		if bar.NewMeter {
			fmt.Fprintf(&b, " %s", bar.Meter)
		}
		if bar.NewKey {
			fmt.Fprintf(&b, " %s", bar.Key)
		}
		b.WriteString([...]string{"", " ||", " |]"}[bar.Line])
		b.WriteByte('\n')
		for _, c := range bar.Clefs {
			fmt.Fprintf(&b, "  %s: %s staff %s clef\n", c.At-bar.At, staffName(c.Staff), c.Clef)
		}
		for _, s := range bar.Signs {
			fmt.Fprintf(&b, "  %s: %s\n", s.At-bar.At, p.signText(s))
		}
		for _, v := range bar.Voices {
			fmt.Fprintf(&b, "  %s%d", staffName(v.Hand)[:1], v.Lane)
			if v.Hidden {
				b.WriteByte('h')
			}
			for _, e := range v.Events {
				b.WriteByte(' ')
				b.WriteString(p.eventText(v, e))
			}
			b.WriteByte('\n')
		}
	}
	return b.String()
}

func staffName(h score.Hand) string {
	if h == score.Left {
		return "lower"
	}
	return "upper"
}

var signNames = [...]string{SignRehearsal: "rehearsal", SignTempo: "tempo", SignChord: "chord",
	SignPedalUp: "pedal up", SignPedalDown: "pedal down", SignOctaveEnd: "8va ends", SignOctaveUp: "8va",
	SignHairpinEnd: "hairpin ends", SignDynamic: "dynamic", SignCrescendo: "crescendo", SignDiminuendo: "diminuendo", SignWords: "words",
	SignPace: "pace", SignDepth: "depth"}

func (p Page) signText(s Sign) string {
	t := staffName(s.Staff) + " " + signNames[s.Kind]
	switch {
	case s.Kind == SignChord:
		c := p.Source.Chords[s.Chord]
		t += " " + c.Chord.Pretty()
		if c.Text != "" {
			t += fmt.Sprintf(" %q", c.Text)
		}
	case s.Kind == SignPace, s.Kind == SignDepth:
		t += fmt.Sprintf(" %d", s.Value)
	case s.Text != "":
		t += fmt.Sprintf(" %q", s.Text)
		if s.Later != "" {
			t += fmt.Sprintf(" %q", s.Later)
		}
	}
	return t
}

func (p Page) eventText(v Voice, e Event) string {
	var b strings.Builder
	if e.Opens {
		fmt.Fprintf(&b, "{%d:%d", e.Ratio.Actual, e.Ratio.Normal)
		if e.Bracket {
			b.WriteByte('"')
		}
		b.WriteByte(' ')
	}
	for _, g := range e.Graces {
		b.WriteByte('\'')
		if g.Slash {
			b.WriteByte('/')
		}
		b.WriteString(p.headsText(v, g.Heads) + ":" + g.Value.String() + " ")
	}
	switch {
	case e.Kind == Space:
		b.WriteString("s" + e.Dur.String())
	case e.WholeBar:
		b.WriteString("R")
	case e.Kind == Rest:
		b.WriteString("r" + e.Value.String())
	default:
		if e.Arpeggio > 0 {
			b.WriteByte('|')
		}
		if e.Small {
			b.WriteByte('.')
		}
		b.WriteString(p.headsText(v, e.Heads) + ":" + e.Value.String())
		b.WriteString([...]string{"", "tr-", "tr="}[e.Tremolo])
		b.WriteString([...]string{"", "^", "v"}[e.Stem])
		for _, bm := range e.Beams {
			b.WriteString([...]string{"", "[", "-", "]", ">", "<"}[bm])
		}
		for _, h := range e.Heads {
			if !h.Last {
				b.WriteByte('~')
				break
			}
		}
	}
	if e.Closes {
		b.WriteString(" }")
	}
	return b.String()
}

func (p Page) headsText(v Voice, heads []Head) string {
	var parts []string
	for _, h := range heads {
		t := h.Pitch.String() + [...]string{"", "!", "?"}[h.Accidental]
		if h.Staff != v.Hand {
			t += "@" + strings.ToUpper(h.Staff.String()[:1])
		}
		if h.SlurTo > 0 {
			t += ")" + fmt.Sprint(h.SlurTo)
		}
		if h.SlurFrom > 0 {
			t += "(" + fmt.Sprint(h.SlurFrom)
			if h.SlurOver {
				t += "^"
			}
		}
		parts = append(parts, t)
	}
	if len(parts) == 1 {
		return parts[0]
	}
	return "<" + strings.Join(parts, "+") + ">"
}

// String writes a value as "4.", "8", "1"; a breve is "0".
func (v Value) String() string {
	n := "0"
	if v.Base <= theory.Whole && v.Base > 0 {
		n = fmt.Sprint(int(theory.Whole / v.Base))
	}
	return n + strings.Repeat(".", v.Dots)
}
