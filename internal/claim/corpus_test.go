package claim_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"gradatim/internal/claim"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/ladders"
	"gradatim/internal/words"
	"gradatim/reason"
)

// kindOf names a clause by its kind, without its parts.
func kindOf(r reason.Reason) string {
	switch r := r.(type) {
	case reason.Fact:
		return "fact " + string(r)
	case reason.Figure:
		return "figure " + string(r)
	case reason.Then:
		return "figure " + string(r.Figure)
	case reason.PlaysRole:
		return "role " + string(r.Role)
	case reason.Approach:
		return "approach " + string(r.From)
	}
	return reflect.TypeOf(r).Name()
}

func clauses(r reason.Reason) []reason.Reason {
	switch r := r.(type) {
	case nil:
		return nil
	case reason.And:
		return append(clauses(r.First), clauses(r.Then)...)
	case reason.With:
		return append(clauses(r.First), clauses(r.Then)...)
	case reason.Because:
		return append(clauses(r.What), clauses(r.Why)...)
	}
	return []reason.Reason{r}
}

// count is how often a kind of clause was said and denied, with examples.
type count struct {
	said, denied int
	examples     []string
}

// TestReasonsHold: of the shared sheets (their README names sources and licences), at all
// levels, no note and no chord has a reason that the page denies. CI takes every
// twentieth; all 160 with SOAK=1.
func TestReasonsHold(t *testing.T) {
	var paths []string
	for i, path := range sharedtest.Sheets(t) {
		if i%sharedtest.Every(40, 20) == 0 {
			paths = append(paths, path)
		}
	}
	w := words.Must("en")
	counts := map[string]*count{}
	for name, as := range ladders.Each(t, paths) {
		for _, a := range as {
			p := claim.Of(a.Score)
			tell := func(r reason.Reason, at claim.Place, where string) {
				for _, c := range clauses(r) {
					k := counts[kindOf(c)]
					if k == nil {
						k = &count{}
						counts[kindOf(c)] = k
					}
					k.said++
					p.True(c, at, func(x reason.Reason) {
						k.denied++
						if len(k.examples) < 6 {
							k.examples = append(k.examples, fmt.Sprintf("%s %d %s: %s [%s]", name, a.Level.Number, where, w.Reason(x), at.Chord))
						}
					})
				}
			}
			for _, n := range a.Score.Notes {
				tell(n.Origin.Why, p.NotePlace(n), fmt.Sprintf("bar %d %s %s", a.Score.Bars[a.Score.BarAt(n.At)].Number, n.ID, n.Pitch))
			}
			for _, d := range a.Decisions {
				for _, c := range d.Chords {
					tell(c.Why, p.ChordPlace(c.At, c.End, c.Chord), fmt.Sprintf("bar %d", a.Score.Bars[max(0, a.Score.BarAt(c.At))].Number))
				}
			}
		}
	}
	said := 0
	for kind, c := range counts {
		said += c.said
		if c.denied > 0 {
			t.Errorf("%d of %d %s are denied by their notes:\n\t%s", c.denied, c.said, kind, strings.Join(c.examples, "\n\t"))
		}
	}
	t.Logf("%d clauses of %d kinds", said, len(counts))
	if len(counts) < 60 {
		t.Errorf("only %d kinds of clause were said", len(counts))
	}
}
