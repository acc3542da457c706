package hand

import (
	"strings"
	"testing"

	"gradatim/score"
)

func TestParseProfile(t *testing.T) {
	for _, tt := range []struct {
		in          string
		right, left Length
	}{
		{"octave", 16850, 16850},
		{"ninth", 19200, 19200},
		{"tenth", 21550, 21550},
		{" Ninth ", 19200, 19200},
		{"215", 21500, 21500},
		{"215mm", 21500, 21500},
		{"215.25 mm", 21525, 21525},
		{"21.5cm", 21500, 21500},
		{"8.5in", 21590, 21590},
		{`8.5"`, 21590, 21590},
		{"8.5 inches", 21590, 21590},
		{"left octave, right ninth", 19200, 16850},
		{"right: 8.5in; left = 200mm", 21590, 20000},
		{"left octave", 16850, 16850},
	} {
		p, err := ParseProfile(tt.in)
		if err != nil {
			t.Errorf("%q: %v", tt.in, err)
			continue
		}
		if r, l := p.Span(score.Right), p.Span(score.Left); r != tt.right || l != tt.left {
			t.Errorf("%q: right %d left %d, want %d and %d", tt.in, r, l, tt.right, tt.left)
		}
	}
	for _, in := range []string{"", "big", "12", "9000mm", "-215", "8.5ft", "8.", ".5in", "1e3", "left octave, left ninth", "octave, right ninth", "NaN", "99999999999999"} {
		if p, err := ParseProfile(in); err == nil {
			t.Errorf("%q was read as %v", in, p)
		}
	}
}

func TestZeroProfileIsTheDefault(t *testing.T) {
	for _, h := range []score.Hand{score.Right, score.Left} {
		if got, want := (Profile{}).Span(h), Default().Span(h); got != want {
			t.Errorf("%s: %s, want %s", h, got, want)
		}
	}
}

func FuzzParseProfile(f *testing.F) {
	for _, s := range []string{"octave", "215mm", "8.5in", "left octave, right ninth", "21.5cm", "left 215; right 8.5\""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := ParseProfile(s)
		if err != nil {
			return
		}
		for _, h := range []score.Hand{score.Right, score.Left} {
			if p.Span(h) < smallestSpan || p.Span(h) > largestSpan {
				t.Fatalf("%q: span %s", s, p.Span(h))
			}
			// The reach in millimetres says the same hand again.
			q, err := ParseProfile(strings.TrimSuffix(p.Span(h).String(), " mm"))
			if err != nil || q.Span(h)-p.Span(h) > 5 || p.Span(h)-q.Span(h) > 5 {
				t.Fatalf("%q: %s read back as %v, %v", s, p.Span(h), q, err)
			}
		}
	})
}

func TestReadProfiles(t *testing.T) {
	ps, problems := ReadProfiles("hands.toml", []byte(`
[tom]
left = "8.5in"   # measured
right = 221

[mia]
span = "octave"
`))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if len(ps) != 2 || ps[0].Name != "mia" || ps[1].Name != "tom" {
		t.Fatalf("%v", ps)
	}
	if ps[0].Left != OctaveSpan || ps[0].Right != OctaveSpan || ps[1].Left != 21590 || ps[1].Right != 22100 {
		t.Errorf("%v", ps)
	}
	p, err := Choose("tom", ps)
	if err != nil || p != ps[1] {
		t.Errorf("%v %v", p, err)
	}
	if p, err := Choose("tenth", ps); err != nil || p.Left != TenthSpan {
		t.Errorf("%v %v", p, err)
	}
	if p, err := Choose("", ps); err != nil || p != Default() {
		t.Errorf("%v %v", p, err)
	}
	if _, err := Choose("anna", ps); err == nil || !strings.Contains(err.Error(), "mia, tom") {
		t.Errorf("%v", err)
	}
}
