package reason_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"gradatim/reason"
	"gradatim/theory"
)

// TestKindsAreAll holds that Kinds lists every kind that the package declares.
func TestKindsAreAll(t *testing.T) {
	var listed []string
	for _, r := range reason.Kinds() {
		listed = append(listed, reflect.TypeOf(r).Name())
	}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	declared := 0
	for _, name := range files {
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if spec, ok := n.(*ast.TypeSpec); ok && marked(spec) {
				declared++
				if !slices.Contains(listed, spec.Name.Name) {
					t.Errorf("Kinds leaves out %s", spec.Name.Name)
				}
			}
			return true
		})
	}
	if declared < 40 || declared > len(listed) {
		t.Errorf("%d kinds declared, %d listed", declared, len(listed))
	}
}

// marked tells whether a struct embeds the mark of a kind.
func marked(spec *ast.TypeSpec) bool {
	s, ok := spec.Type.(*ast.StructType)
	if !ok || len(s.Fields.List) == 0 || len(s.Fields.List[0].Names) > 0 {
		return false
	}
	id, ok := s.Fields.List[0].Type.(*ast.Ident)
	return ok && id.Name == "kind"
}

// TestKindsAreComparable holds that no kind has a part that == cannot compare.
func TestKindsAreComparable(t *testing.T) {
	for _, r := range reason.Kinds() {
		if !reflect.TypeOf(r).Comparable() {
			t.Errorf("%T is not comparable", r)
		}
	}
	c, d := theory.Name{Letter: theory.C}, theory.Name{Letter: theory.D}
	one := func(to theory.Name) reason.Reason {
		return reason.Clauses(reason.Fact("turnaround.six"), reason.Together(reason.LeadsTo{From: c, To: to}, nil))
	}
	if one(d) != one(d) || one(d) == one(c) {
		t.Error("equal reasons are not equal, or different ones are")
	}
}

func TestSplit(t *testing.T) {
	a, b, c := reason.Fact("a"), reason.Fact("b"), reason.Fact("c")
	all := reason.Clauses(a, nil, reason.Clauses(b, reason.Together(b, c)))
	want := []reason.Reason{a, b, reason.With{First: b, Then: c}}
	if got := reason.Split(all); !slices.Equal(got, want) {
		t.Errorf("%v, not %v", got, want)
	}
	if reason.Clauses() != nil || reason.Clauses(nil, a) != a || reason.Split(nil) != nil {
		t.Error("none is not none, or one not one")
	}
}
