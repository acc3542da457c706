package plan_test

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/plan"
	"gradatim/leadsheet"
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
			"A 1-8 statement mp; A 9-16 restatement mp; B 17-24 contrast mf; A 25-32 return mf"},
		{"climax in the bridge", partA + partA + high + partA, ladder.ClimaxDynamics,
			"A 1-8 statement mp; A 9-16 restatement mp; B 17-24 contrast mf; A 25-32 return mf; grows 17-19 f, after it mf"},
		{"swells", partA + partA + high + partA, ladder.PhraseDynamics,
			"A 1-8 statement mp; A 9-16 restatement mp; B 17-24 contrast mf; A 25-32 return mf; grows 17-19 f, after it mf; swells 1-2-4; swells 9-10-12; swells 25-26-28"},
		{"the section begins at the top", partA + partA + `"F"f4|"C"e4|"G"d4|"C"c4|"F"A4|"C"G4|"G"G4|"G"G4|` + partA, ladder.ClimaxDynamics,
			"A 1-8 statement mp; A 9-16 restatement mp; B 17-24 contrast f; A 25-32 return mf; grows 13-17 f, after it f"},
	} {
		s := read(t, tt.body)
		got := show(s, plan.Make(s, harmony.Analyse(s), kind, ladder.Level{Dynamics: tt.signs}))
		if got != tt.want {
			t.Errorf("%s:\n got %s\nwant %s", tt.name, got, tt.want)
		}
	}
}
