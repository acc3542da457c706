package gradatim_test

import (
	"go/ast"
	"go/constant"
	"go/types"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"gradatim/internal/sharedtest"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// isLeadsheet tells whether a type is one of leadsheet's, by its name.
func isLeadsheet(t types.Type, name string) bool {
	n, ok := t.(*types.Named)
	return ok && n.Obj().Name() == name && n.Obj().Pkg() != nil && n.Obj().Pkg().Path() == "gradatim/leadsheet"
}

var gap = regexp.MustCompile(`\{(\w+)`)

// sayable are the types of parts that package words can say.
var sayable = strings.Fields(`any string int float64 []any []string []gradatim/theory.Pitch []int
	gradatim/theory.Key gradatim/theory.Name gradatim/theory.Pitch gradatim/theory.Chord gradatim/theory.Dur gradatim/theory.Caution
	gradatim/leadsheet.Meter gradatim/leadsheet.Feel gradatim/leadsheet.Quoted gradatim/leadsheet.BarNumbers gradatim/leadsheet.Problem
	gradatim/score.Hand gradatim/reason.Fact gradatim/reason.Signature gradatim/internal/hand.Length gradatim/internal/words.Bars`)

// TestProblemsAreSaid: whatever a Problem can say, found by its type wherever a Saying is
// written down, has its message in each language; where its parts stand beside it they
// fill the message's gaps. No message of a Problem is left over.
func TestProblemsAreSaid(t *testing.T) {
	all := sharedtest.Program(t)
	fset := all[0].Fset
	said, codes := map[leadsheet.Saying]bool{}, map[string]bool{}
	saying := func(c sharedtest.Package, e ast.Expr) (leadsheet.Saying, bool) {
		tv := c.Info.Types[e]
		if tv.Value == nil || tv.Value.Kind() != constant.String || !isLeadsheet(tv.Type, "Saying") {
			return "", false
		}
		return leadsheet.Saying(constant.StringVal(tv.Value)), true
	}
	for _, c := range all {
		for _, f := range c.Files {
			ast.Inspect(f, func(n ast.Node) bool {
				if call, ok := n.(*ast.CallExpr); ok && !call.Ellipsis.IsValid() {
					for i, a := range call.Args {
						s, ok := saying(c, a)
						sig, isFunc := c.Info.Types[call.Fun].Type.(*types.Signature)
						if !ok || !isFunc || !sig.Variadic() {
							continue
						}
						first := sig.Params().Len() - 1 // of the parts
						if i >= first || sig.Params().At(first).Type().String() != "[]any" {
							continue
						}
						var names []string
						for k := first; k < len(call.Args); k += 2 {
							v := c.Info.Types[call.Args[k]].Value
							if v == nil || v.Kind() != constant.String || k+1 == len(call.Args) {
								t.Errorf("%s: parts of %s are names and values by turns", fset.Position(call.Pos()), s)
								continue
							}
							names = append(names, constant.StringVal(v))
							if typ := types.TypeString(types.Default(c.Info.Types[call.Args[k+1]].Type), nil); !slices.Contains(sayable, typ) || names[len(names)-1] == "n" && typ != "int" {
								t.Errorf("%s: the part %s of %s is a %s", fset.Position(call.Pos()), names[len(names)-1], s, typ)
							}
						}
						for _, id := range words.Languages() {
							w := words.Must(id)
							text := w.Text("problem." + string(s) + ".text")
							for _, key := range []string{string(s) + ".fix", s.Code() + ".fix"} {
								if w.Has("problem." + key) {
									text += w.Text("problem." + key)
									break
								}
							}
							for _, m := range gap.FindAllStringSubmatch(text, -1) {
								if !slices.Contains(names, m[1]) {
									t.Errorf("%s: %s has the gap %s, and no such part is given", fset.Position(call.Pos()), s, m[1])
								}
							}
						}
					}
				}
				e, ok := n.(ast.Expr)
				if !ok {
					return true
				}
				if tv := c.Info.Types[e]; tv.Value != nil && types.TypeString(tv.Type, nil) == "gradatim/theory.Usage" {
					for _, id := range words.Languages() {
						if key := "caution." + constant.StringVal(tv.Value); !words.Must(id).Has(key) {
							t.Errorf("%s: %s: no message %s", fset.Position(e.Pos()), id, key)
						}
					}
				}
				s, ok := saying(c, e)
				if !ok {
					return true
				}
				if s == "" {
					return false
				}
				said[s], codes[s.Code()] = true, true
				for _, id := range words.Languages() {
					if !words.Must(id).Has("problem." + string(s) + ".text") {
						t.Errorf("%s: %s: no message for %s", fset.Position(e.Pos()), id, s)
					}
				}
				return false
			})
		}
	}
	if len(said) < 50 {
		t.Fatalf("only %d things are told", len(said))
	}
	for key, parts := range messages(t) {
		if slices.Contains(parts, "text") && !said[leadsheet.Saying(key)] || !slices.Contains(parts, "text") && !codes[key] {
			t.Errorf("nobody says %s", key)
		}
	}
}

// wording is the package that writes the texts of Problems.
const wording = "internal/words"

// TestProblemsAreWordedLast: nobody but package words writes the text of a Problem, or its
// way out; and it does.
func TestProblemsAreWordedLast(t *testing.T) {
	all := sharedtest.Program(t)
	fset := all[0].Fset
	writes := false
	for _, c := range all {
		pkg := strings.TrimPrefix(c.Path, "gradatim/")
		tell := func(n ast.Node, what string) {
			if pkg == wording {
				writes = true
			} else {
				t.Errorf("%s: %s of a Problem is written outside the message files", fset.Position(n.Pos()), what)
			}
		}
		problem := func(e ast.Expr) bool {
			typ := c.Info.Types[e].Type
			if p, ok := typ.(*types.Pointer); ok {
				typ = p.Elem()
			}
			return typ != nil && isLeadsheet(typ, "Problem")
		}
		for _, f := range c.Files {
			ast.Inspect(f, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.CompositeLit:
					for _, e := range n.Elts {
						if kv, ok := e.(*ast.KeyValueExpr); ok && problem(n) {
							if k, ok := kv.Key.(*ast.Ident); ok && (k.Name == "Text" || k.Name == "Fix") {
								tell(n, k.Name)
							}
						}
					}
				case *ast.AssignStmt:
					for _, l := range n.Lhs {
						if s, ok := l.(*ast.SelectorExpr); ok && (s.Sel.Name == "Text" || s.Sel.Name == "Fix") && problem(s.X) {
							tell(n, s.Sel.Name)
						}
					}
				}
				return true
			})
		}
	}
	if !writes {
		t.Errorf("%s writes no texts of Problems: the test sees nothing", wording)
	}
}

// messages lists the messages of Problems in English, with whether there is a text and a
// way out.
func messages(t *testing.T) map[string][]string {
	var tree struct{ Problem map[string]any }
	if err := toml.Unmarshal(words.Must(words.Default).Source(), &tree); err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	var walk func(key string, node map[string]any)
	walk = func(key string, node map[string]any) {
		for _, k := range slices.Sorted(maps.Keys(node)) {
			if sub, ok := node[k].(map[string]any); ok && k != "text" && k != "fix" {
				walk(strings.TrimPrefix(key+"."+k, "."), sub)
			} else {
				out[key] = append(out[key], k)
			}
		}
	}
	walk("", tree.Problem)
	return out
}
