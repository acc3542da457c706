package choice

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// A tone is written as pitch, beat and length, as gradatim read prints the tune, and
// then in any order what it is for and how it is played:
//
//	C3@1:1/4  E3@2.5:1/8:chord  G3@1:1/2:chord:rolled  B4@3:0:ornament:grace1:slashed
//
// A figure is its technique and its tones in the order of time, low before high:
//
//	walking-bass: F2@1:1/4:bass A2@2:1/4:chord C3@3:1/4:chord E3@4:1/4:approach

var marks = []struct {
	word string
	mark score.Marks
}{
	{"rolled", score.Rolled}, {"quiet", score.Ghost}, {"staccato", score.Staccato}, {"tenuto", score.Tenuto}, {"accent", score.Accent},
	{"fermata", score.Fermata}, {"slashed", score.Slashed},
}

var ornaments = []struct {
	word string
	sign score.Ornament
}{
	{"mordent", score.Mordent}, {"upper-mordent", score.UpperMordent}, {"turn", score.Turn}, {"trill", score.Trill}, {"tremolo", score.Tremolo},
}

// Tone is a tone of a page with its finger.
type Tone struct {
	technique.Tone
	Finger uint8 // 0: none
}

// text writes a tone of a bar.
func (t Tone) text(b leadsheet.Bar) string {
	var w strings.Builder
	fmt.Fprintf(&w, "%s@%s:%s", t.Pitch, beat(b, t.At), t.Dur)
	if t.Kind != 0 {
		w.WriteString(":" + t.Kind.String())
	}
	for _, m := range marks {
		if t.Marks.Has(m.mark) {
			w.WriteString(":" + m.word)
		}
	}
	for _, o := range ornaments {
		if t.Ornament == o.sign {
			w.WriteString(":" + o.word)
		}
	}
	if t.Grace > 0 {
		fmt.Fprintf(&w, ":grace%d", t.Grace)
	}
	if t.Velocity != 0 {
		fmt.Fprintf(&w, ":loud%+d", t.Velocity)
	}
	if t.Finger > 0 {
		fmt.Fprintf(&w, ":finger%d", t.Finger)
	}
	return w.String()
}

// parseTone reads a tone of a bar. Without a beat it stands at the given moment,
// without a length it has none.
func parseTone(b leadsheet.Bar, at theory.Dur, text string) (t Tone, err error) {
	bad := func(what string) (Tone, error) {
		return Tone{}, fmt.Errorf("%s in %q", what, text)
	}
	fields := strings.Split(text, ":")
	pitch, when, placed := strings.Cut(fields[0], "@")
	if t.Pitch, err = theory.ParsePitch(pitch); err != nil {
		return bad("no pitch such as C#3")
	}
	t.At = at
	if placed {
		off, ok := offset(b, when)
		if !ok || off == b.Dur {
			return bad("no beat of the bar")
		}
		t.At = b.At + off
	}
	fields = fields[1:]
	if len(fields) > 0 {
		if d, ok := length(fields[0]); ok {
			t.Dur, fields = d, fields[1:]
		}
	}
	for _, f := range fields {
		if !t.word(f) {
			return bad(fmt.Sprintf("nothing is called %q", f))
		}
	}
	if t.Grace > 0 && t.Dur > 0 {
		return bad("a grace note has the length 0: another")
	}
	return t, nil
}

// word takes in what a tone is for or how it is played.
func (t *Tone) word(w string) bool {
	for _, m := range marks {
		if m.word == w {
			t.Marks |= m.mark
			return true
		}
	}
	for _, o := range ornaments {
		if o.word == w && t.Ornament == score.NoOrnament {
			t.Ornament = o.sign
			return true
		}
	}
	for _, n := range []struct {
		word     string
		from, to int64
		set      func(int64)
	}{
		{"grace", 1, 99, func(v int64) { t.Grace = uint8(v) }},
		{"finger", 1, 5, func(v int64) { t.Finger = uint8(v) }},
		{"loud", -99, 99, func(v int64) { t.Velocity = int8(v) }},
	} {
		rest, ok := strings.CutPrefix(w, n.word)
		if !ok {
			continue
		}
		v, err := strconv.ParseInt(rest, 10, 8)
		if err != nil || v < n.from || v > n.to {
			return false
		}
		n.set(v)
		return true
	}
	var k score.Kind
	if w == "" || k.UnmarshalText([]byte(w)) != nil || t.Kind != 0 {
		return false
	}
	t.Kind = k
	return true
}

// order puts tones in order: by time, grace notes before what they lead to, low before
// high.
func order(a, b Tone) int {
	grace := func(t Tone) int {
		if t.Grace == 0 {
			return 1 << 8
		}
		return int(t.Grace)
	}
	return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(grace(a), grace(b)), theory.ComparePitch(a.Pitch, b.Pitch))
}

// Text writes the figure, which lies in the given bar: a stable name for what it is.
func (f Figure) Text(b leadsheet.Bar) string {
	ts := make([]Tone, len(f.Tones))
	for i, t := range f.Tones {
		ts[i].Tone = t
	}
	return line(b, f.By, ts)
}

// ParseFigure reads what Text wrote, for a bar. The errors quote what cannot be read.
func ParseFigure(b leadsheet.Bar, h score.Hand, text string) (Figure, error) {
	by, ts, err := parseLine(b, text)
	f := Figure{Hand: h, By: by}
	for _, t := range ts {
		f.Tones = append(f.Tones, t.Tone)
	}
	return f, err
}

// line writes a technique and its tones.
func line(b leadsheet.Bar, by string, ts []Tone) string {
	words := make([]string, 0, len(ts)+1)
	if by != "" {
		words = append(words, by+":")
	}
	for _, t := range slices.SortedStableFunc(slices.Values(ts), order) {
		words = append(words, t.text(b))
	}
	if len(ts) == 0 {
		words = append(words, "rest")
	}
	return strings.Join(words, " ")
}

func parseLine(b leadsheet.Bar, text string) (by string, ts []Tone, err error) {
	words := strings.Fields(text)
	if len(words) > 0 && strings.HasSuffix(words[0], ":") {
		by = strings.TrimSuffix(words[0], ":")
		if _, ok := technique.ByID(by); !ok {
			return "", nil, fmt.Errorf("unknown technique %q", by)
		}
		words = words[1:]
	}
	if len(words) == 0 {
		return "", nil, fmt.Errorf("no notes in %q: write rest for silence", text)
	}
	if len(words) == 1 && words[0] == "rest" {
		return by, nil, nil
	}
	for _, w := range words {
		t, err := parseTone(b, b.At, w)
		if err != nil {
			return "", nil, err
		}
		if t.Grace == 0 && t.Dur <= 0 {
			return "", nil, fmt.Errorf("no length such as 1/4 in %q", w)
		}
		ts = append(ts, t)
	}
	slices.SortStableFunc(ts, order)
	return by, ts, nil
}
