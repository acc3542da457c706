package plan_test

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/plan"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

func read(t *testing.T, body string) leadsheet.Song {
	t.Helper()
	s, err := abc.Read([]byte("X:1\nT:t\nM:4/4\nL:1/4\nK:C\n"+body+"\n"), abc.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// show writes a plan in one line: sections with roles and signs, then where the music
// grows, in bars.
func show(s leadsheet.Song, p plan.Plan) string {
	var out []string
	for _, sec := range p.Sections {
		out = append(out, fmt.Sprintf("%s %d-%d %s %s", sec.Name, s.Bars[sec.First].Number, s.Bars[sec.Last].Number, sec.Role, sec.Dynamic))
	}
	if c := p.Climax; c.To > 0 {
		out = append(out, fmt.Sprintf("grows %d-%d %s, after it %s", s.PosAt(c.From).Bar, s.PosAt(c.To).Bar, c.Top, c.After))
	}
	for _, w := range p.Swells {
		out = append(out, fmt.Sprintf("swells %d-%d-%d", s.PosAt(w.From).Bar, s.PosAt(w.Peak).Bar, s.PosAt(w.To).Bar))
	}
	for _, t := range p.Turns {
		out = append(out, fmt.Sprintf("turns %d-%d %s", s.PosAt(t.From).Bar, s.PosAt(t.At).Bar, t.Sign))
	}
	return strings.Join(out, "; ")
}

const (
	partA = `"C"CDEG|"F"AGFE|"C"EDCE|"G"D4|"C"CDEG|"F"AGFE|"G"DEDB,|"C"C4|`
	high  = `"F"FGAc|"C"GEGc|"F"Acef|"C"e4|"F"FGAc|"C"GEGc|"G"dBGB|"G"G4|`
)

func TestPlan(t *testing.T) {
	kind := idiom.Idiom{Dynamics: idiom.Dynamics{Rest: "mp", Contrast: "mf", Return: "mf", Climax: "f", Close: "p", Swells: 1}}
	for _, tt := range []struct {
		name, body string
		signs      ladder.Dynamics
		want       string
	}{
		{"one sign", partA + partA + high + partA, ladder.OneDynamic,
			"A 1-8 statement mp; A 9-16 restatement mp; B 17-24 contrast mp; A 25-32 return mp"},
		{"sections", partA + partA + high + partA, ladder.SectionDynamics,
			"A 1-8 statement mp; A 9-16 restatement mp; B 17-24 contrast mf; A 25-32 return mf; turns 9-9 p; turns 21-21 mp; turns 29-29 mp"},
		{"climax in the bridge", partA + partA + high + partA, ladder.ClimaxDynamics,
			"A 1-8 statement mp; A 9-16 restatement mp; B 17-24 contrast mf; A 25-32 return mf; grows 17-19 f, after it mf; swells 1-2-4; swells 9-10-12; swells 25-26-28"},
		{"swells", partA + partA + high + partA, ladder.PhraseDynamics,
			"A 1-8 statement mp; A 9-16 restatement mp; B 17-24 contrast mf; A 25-32 return mf; grows 17-19 f, after it mf; swells 1-2-4; swells 9-10-12; swells 25-26-28"},
		{"the section begins at the top", partA + partA + `"F"f4|"C"e4|"G"d4|"C"c4|"F"A4|"C"G4|"G"G4|"G"G4|` + partA, ladder.ClimaxDynamics,
			"A 1-8 statement mp; A 9-16 restatement mp; B 17-24 contrast f; A 25-32 return mf; grows 13-17 f, after it f; swells 1-2-4; swells 9-10-12; swells 25-26-28"},
	} {
		s := read(t, tt.body)
		got := show(s, plan.Make(s, harmony.Analyse(s), kind, ladder.Level{Dynamics: tt.signs}))
		if got != tt.want {
			t.Errorf("%s:\n got %s\nwant %s", tt.name, got, tt.want)
		}
	}
}

// Whatever the form, no page is bare for more than two phrases and an ending: at every
// level something is said of loudness, and what has become louder is taken back or lies
// in the last phrases. (Common practice, no source.)
func TestNothingIsBare(t *testing.T) {
	for form, body := range map[string]string{"AABA": partA + partA + high + partA, "AB": partA + high, "ABA": partA + high + partA,
		"one section": partA, "AABB": partA + partA + high + high, "loud at last": "[P:A]" + partA + "[P:B]" + high + partA + "[P:B]" + high + partA, "long": high + partA + partA + partA + high} {
		for _, kind := range idiom.All() {
			for signs := ladder.SectionDynamics; signs <= ladder.PhraseDynamics; signs++ {
				s := read(t, body)
				arc := ladder.NoArc
				if kind.InTime { // its last strain is the loudest to the end, but for a phrase where it is long
					arc = ladder.ToClimax
				}
				p := plan.Make(s, harmony.Analyse(s), kind, ladder.Level{Dynamics: signs, Arc: arc})
				type said struct {
					from, to theory.Dur
					sign     string
				}
				var all []said
				for _, sec := range p.Sections {
					at := s.Bars[sec.First].At
					all = append(all, said{at, at, sec.Dynamic})
				}
				for _, x := range p.Turns {
					all = append(all, said{x.From, x.At, x.Sign})
				}
				for _, w := range p.Swells {
					all = append(all, said{w.From, w.To, ""})
				}
				if c := p.Climax; c.To > 0 {
					all = append(all, said{c.From, c.To, c.Top})
					if c.Until > c.Fade {
						all = append(all, said{c.Fade, c.Until, c.After})
					}
				}
				slices.SortStableFunc(all, func(a, b said) int { return cmp.Compare(a.from, b.from) })
				now, last := "", theory.Dur(0)
				bare := func(until theory.Dur) {
					if bars := (until - last) / theory.Whole; bars > 9 && p.Close == "" {
						t.Errorf("%s, %s, signs %d: nothing in %d bars from bar %d: %s", form, kind.ID, signs, bars, s.PosAt(last).Bar, show(s, p))
					}
				}
				for _, x := range all {
					if x.from == x.to && x.sign == now {
						continue
					}
					bare(x.from)
					if last = max(last, x.to); x.sign != "" {
						now = x.sign
					}
				}
				bare(s.End())
				first, _ := score.StepOf(p.Sections[0].Dynamic)
				if step, _ := score.StepOf(now); step > first && s.End()-last > 6*theory.Whole && p.Close == "" && arc == ladder.NoArc {
					t.Errorf("%s, %s, signs %d: %s from bar %d to the end: %s", form, kind.ID, signs, now, s.PosAt(last).Bar, show(s, p))
				}
			}
		}
	}
}
