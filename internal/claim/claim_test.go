package claim_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"gradatim/internal/claim"
	"gradatim/internal/scoretest"
	"gradatim/internal/words"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// under lists the keys of a table of the messages, with a dot between.
func under(t *testing.T, table string) []string {
	t.Helper()
	var all map[string]any
	if err := toml.Unmarshal(words.Must("en").Source(), &all); err != nil {
		t.Fatal(err)
	}
	for _, k := range strings.Split(table, ".") {
		all, _ = all[k].(map[string]any)
	}
	return slices.Sorted(maps.Keys(all))
}

// TestEveryKindHasAPredicate: every reason, fact, figure and way that there are words
// for can be tested. One without a predicate panics.
func TestEveryKindHasAPredicate(t *testing.T) {
	p := page(t, "chord 0 C; R1 C5:1; L1 C3:1")
	rs := reason.Kinds()
	rs = slices.DeleteFunc(rs, func(r reason.Reason) bool { // those have their own below
		switch r.(type) {
		case reason.Fact, reason.Figure, reason.Then, reason.Approach:
			return true
		}
		return false
	})
	for _, id := range under(t, "fact") {
		rs = append(rs, reason.Fact(id))
	}
	for _, way := range under(t, "reason.Approach") {
		rs = append(rs, reason.Approach{From: reason.Way(way), Goal: theory.Name{Letter: theory.C}})
	}
	figures := 0
	for _, id := range under(t, "technique") {
		for _, form := range under(t, "technique."+id+".figure") {
			figures++
			rs = append(rs, reason.Figure(id+"."+form), reason.Then{Figure: reason.Figure(id + "." + form)})
		}
	}
	if figures < 60 {
		t.Fatalf("%d figures", figures)
	}
	for _, r := range rs {
		func() {
			defer func() {
				if x := recover(); x != nil {
					t.Errorf("%#v: %v", r, x)
				}
			}()
			for _, n := range p.score.Notes {
				p.True(r, p.NotePlace(n), nil)
			}
			p.True(r, p.ChordPlace(0, theory.Whole, p.score.Chords[0].Chord), nil)
		}()
	}
}

type small struct {
	*claim.Page
	score score.Score
}

// page reads a small score; the right hand is the tune but for notes of a technique.
func page(t *testing.T, text string) small {
	t.Helper()
	s, err := scoretest.Parse(strings.ReplaceAll(text, ";", "\n"))
	if err != nil {
		t.Fatal(err)
	}
	for i := range s.Notes {
		o := &s.Notes[i].Origin
		*o = score.Origin{Kind: score.Chord, Technique: "x"}
		if s.Notes[i].Hand == score.Right {
			*o = score.Origin{Kind: score.Melody, Melody: i + 1}
		}
	}
	return small{claim.Of(s), s}
}

func name(t *testing.T, s string) theory.Name {
	t.Helper()
	p, err := theory.ParsePitch(s + "4")
	if err != nil {
		t.Fatal(err)
	}
	return p.Name
}

func chord(t *testing.T, s string) theory.Chord {
	t.Helper()
	c, err := theory.ParseSymbol(s)
	if err != nil {
		t.Fatal(err)
	}
	return c.Chord
}

// TestRoles: what a note of the tune is called over a chord, by how it is come to and
// left (the usual list of any harmony course, from memory).
func TestRoles(t *testing.T) {
	p := page(t, "chord 0 C; R1 E5:1/4 F5:1/4 G5:1/4 A5:1/4 G5:1/4 D5:1/4 C5:1/2; L1 C3:1 C3:1")
	roles := []reason.Role{"chord tone", "passing tone", "neighbour", "suspension", "appoggiatura", "escape tone", "unharmonised"}
	want := map[string]string{"E5": "", "F5": "passing tone neighbour appoggiatura escape tone", "G5": "", "A5": "neighbour appoggiatura escape tone", "D5": "neighbour appoggiatura"}
	for _, n := range p.score.Notes {
		if w, ok := want[n.Pitch.String()]; ok && n.Hand == score.Right {
			var got []string
			for _, r := range roles {
				said := reason.PlaysRole{Note: n.Pitch.Name, Role: r, Chord: chord(t, "C")}
				if p.True(said, p.NotePlace(n), nil) == said {
					got = append(got, string(r))
				}
			}
			if strings.Join(got, " ") != w {
				t.Errorf("%s: %v, want %s", n.Pitch, got, w)
			}
		}
	}
	// What it is not called is told as it is: F over a printed G is no chord tone.
	q := page(t, "chord 0 G; R1 G5:1/4 F5:1/4 E5:1/2; L1 G2:1")
	n := q.score.Notes[1]
	if n.Pitch.Name != name(t, "F") {
		n = q.score.Notes[2]
	}
	got := q.True(reason.PlaysRole{Note: name(t, "F"), Role: "chord tone", Chord: chord(t, "G")}, q.NotePlace(n), nil)
	if got != (reason.PlaysRole{Note: name(t, "F"), Role: "passing tone", Chord: chord(t, "G")}) {
		t.Errorf("F over G: %v", got)
	}
}

// TestFiguresAreTold: of each pair the first shows the figure and the second does not.
func TestFiguresAreTold(t *testing.T) {
	for _, tt := range []struct{ figure, chord, yes, no string }{
		{"broken-triad", "C", "C3:1/2 <E3+G3>:1/2", "C3:1/4 E3:1/4 G3:1/2"},
		{"held-root", "C", "C3:1", "C3:1/4 G3:1/4 E4:1/4 G3:1/4"},
		{"alberti", "C", "C3:1/8 G3:1/8 E3:1/8 G3:1/8 C3:1/8 G3:1/8 E3:1/8 G3:1/8", "C3:1/8 E3:1/8 G3:1/8 E3:1/8 C3:1/8 E3:1/8 G3:1/8 E3:1/8"},
		{"shells", "C7", "<C3+Bb3>:1", "<C3+E3>:1"},
		{"open-fifths", "G", "<G2+D3>:1/2 <G2+D3>:1/2", "<G2+D3>:1/2 <B2+D3>:1/2"},
		{"root-then-guides", "G7", "G2:1/2 <F3+B3>:1/2", "G2:1/2 <B3+D4>:1/2"},
		{"octave-bass", "C", "<C2+C3>:1/2 <E3+G3+C4>:1/2", "<C2+G2>:1/2 <E3+G3+C4>:1/2"},
		{"root-seventh", "C7", "", "<C3+Bb3>:1"}, // a whole bar is no single beat
		{"bass-and-chord", "C", "C3:1/2 <E3+G3>:1/2", "<C3+E3+G3>:1"},
	} {
		for k, notes := range []string{tt.yes, tt.no} {
			if notes == "" {
				continue
			}
			p := page(t, fmt.Sprintf("chord 0 %s; R1 C5:1 C5:1; L1 %s G2:1", tt.chord, notes))
			n := p.score.Notes[slices.IndexFunc(p.score.Notes, func(n score.Note) bool { return n.Hand == score.Left })]
			if got := p.True(reason.Figure(tt.figure), p.NotePlace(n), nil) != nil; got != (k == 0) {
				t.Errorf("%s in %s: %v", tt.figure, notes, got)
			}
		}
	}
}

// TestStepsAreTold: a voice that is said to rise or fall does.
func TestStepsAreTold(t *testing.T) {
	p := page(t, "chord 0 G7; chord 1 C; R1 D5:1 C5:1; L1 <G2+B3+F4>:1 <C3+C4+E4>:1")
	at := p.ChordPlace(0, theory.Whole, chord(t, "G7"))
	b, c, f, e := name(t, "B"), name(t, "C"), name(t, "F"), name(t, "E")
	for _, tt := range []struct {
		r    reason.Reason
		true bool
	}{
		{reason.LeadsTo{From: b, To: c}, true}, {reason.LeadsTo{From: f, To: e}, false}, {reason.FallsTo{From: f, To: e}, true},
		{reason.FallsTo{From: b, To: c}, false}, {reason.FallsFifth{From: name(t, "G"), To: c}, true}, {reason.FallsFifth{From: c, To: f}, false},
		{reason.MelodyIs{Note: name(t, "D"), Degree: theory.Degree{Number: 5}}, true}, {reason.MelodyIs{Note: name(t, "D"), Degree: theory.Degree{Number: 9}}, false},
		{reason.MelodyIs{Note: c, Degree: theory.Degree{Number: 4}}, false}, // not in these bars
		{reason.DominantOf{}, true}, {reason.KeysDominant{Root: name(t, "G")}, true}, {reason.StepBelow{Chord: chord(t, "G7"), Tonic: c}, false},
		{reason.ColourIs{Note: f, Degree: theory.Degree{Number: 7, Alter: -1}}, true}, {reason.ColourIs{Note: name(t, "A"), Degree: theory.Degree{Number: 9}}, false},
	} {
		if got := p.True(tt.r, at, nil) != nil; got != tt.true {
			t.Errorf("%T %v: %v", tt.r, tt.r, got)
		}
	}
	// Of several clauses those stay that hold.
	both := reason.Clauses(reason.LeadsTo{From: b, To: c}, reason.LeadsTo{From: f, To: e})
	if got := p.True(both, at, nil); got != (reason.LeadsTo{From: b, To: c}) {
		t.Errorf("%v", got)
	}
}
