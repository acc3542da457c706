package technique

import (
	"fmt"
	"strings"
	"testing"
)

// text writes a form as its pattern is written, one sort for the three names of
// the upper chord.
func (f form) text() string {
	names := map[tokenSort]string{upperToken: "c"}
	for name, sort := range tokens {
		if sort != upperToken {
			names[sort] = name
		}
	}
	steps := make([]string, f.steps)
	for i := range steps {
		steps[i] = "."
	}
	for _, s := range f.strokes {
		var ts []string
		for _, t := range s.tokens {
			if t.sort == degreeToken {
				ts = append(ts, fmt.Sprint(t.degree))
			} else {
				ts = append(ts, names[t.sort])
			}
		}
		steps[s.from] = strings.Join(ts, "+")
		for i := s.from + 1; i < s.end(); i++ {
			steps[i] = "-"
		}
	}
	return strings.Join(steps, " ")
}

func TestParseForms(t *testing.T) {
	for _, p := range []pattern{
		{Beats: 4, Steps: "R - . 5"},
		{Beats: 4, Steps: "R^ c 5_ c"},
		{Beats: 2, Steps: "1+3 - . 5_ - a t x"},
		{Beats: 1, Steps: "y n s . 6 7 8 9", Compound: false},
		{Beats: 1, Steps: "10 1 5", Compound: true},
	} {
		if p.Beats == 1 && !p.Compound { // eight steps in a beat are too short
			p.Beats = 2
		}
		fs, err := parseForms(p)
		if err != nil {
			t.Errorf("%q: %v", p.Steps, err)
			continue
		}
		if got := fs[0].text(); got != p.Steps {
			t.Errorf("%q reads as %q", p.Steps, got)
		}
	}
	for _, tt := range []struct {
		pattern
		want string
	}{
		{pattern{Beats: 4, Steps: "R - - Q"}, `step 4: "Q" is no note`},
		{pattern{Beats: 4, Steps: "R 5 r 5"}, `step 3: "r" is no note`},
		{pattern{Beats: 4, Steps: "R 2 R 4"}, `step 2: "2" is no note`},
		{pattern{Beats: 4, Steps: "R 5+ R 5"}, `step 2: "" is no note`},
		{pattern{Beats: 4, Steps: "R 5+5 R 5"}, `step 2 has "5" twice`},
		{pattern{Beats: 4, Steps: "R _ R 5"}, `step 2: "_" is no note`},
		{pattern{Beats: 4, Steps: "- R 5 R"}, "step 1 prolongs nothing"},
		{pattern{Beats: 4, Steps: "R . - 5"}, "step 3 prolongs nothing"},
		{pattern{Beats: 4, Steps: "R 5 R 5 R 5 R 5 R 5 R"}, "11 steps do not divide it"},
		{pattern{Beats: 1, Steps: "R 5 R 5 R 5 R 5"}, "8 steps do not divide it"},
		{pattern{Beats: 4, Steps: ". . . ."}, "is silent"},
		{pattern{Beats: 4}, "has no steps"},
		{pattern{Steps: "R"}, "has no beats"},
	} {
		_, err := parseForms(pattern{Beats: 1, Steps: "R"}, tt.pattern)
		if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.Contains(err.Error(), fmt.Sprintf("%q of %d beats", tt.Steps, tt.Beats)) {
			t.Errorf("%q: %v, want %q", tt.Steps, err, tt.want)
		}
	}
	_, err := parseForms(pattern{Beats: 1, Steps: "Q"}, pattern{Beats: 1, Steps: "R"}, pattern{Beats: 2, Steps: "R W"})
	if err == nil || !strings.Contains(err.Error(), `"Q"`) || !strings.Contains(err.Error(), `"W"`) {
		t.Errorf("not all that is wrong is told: %v", err)
	}
}
