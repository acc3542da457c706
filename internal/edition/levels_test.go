package edition_test

import (
	"context"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"gradatim/internal/account"
	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/internal/musicxml"
	"gradatim/internal/perform"
	"gradatim/internal/sharedtest"
	"gradatim/internal/teach"
)

// TestLevelIsData: what a level is stands in its file. The same file under another
// number gives the same page, performance, account and lesson but for the label;
// so a level can stand anywhere, between the second and the third too.
func TestLevelIsData(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(sharedtest.Root(), "internal", "ladder", "levels", "*.toml"))
	if err != nil || len(files) != len(ladder.Levels()) {
		t.Fatalf("%d files of levels, %v", len(files), err)
	}
	number := regexp.MustCompile(`(?m)^number = \d+$`)
	for i, name := range originals {
		if testing.Short() && i > 0 {
			break
		}
		song := load(t, filepath.Join("examples", name+".abc"))
		for _, file := range files {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if n := len(number.FindAll(text, -1)); n != 1 {
				t.Fatalf("%s has %d numbers", file, n)
			}
			var first map[string]string
			for _, n := range []int{1, 3, 99} {
				l, err := ladder.Parse(file, number.ReplaceAll(text, fmt.Appendf(nil, "number = %d", n)))
				if err != nil {
					t.Fatal(err)
				}
				as, err := edition.Make(context.Background(), song, edition.Options{Levels: []ladder.Level{l}})
				if err != nil {
					t.Fatal(err)
				}
				got := unlabelled(t, as[0])
				if first == nil {
					first = got
				}
				for what := range got {
					if got[what] != first[what] {
						t.Errorf("%s, %s as level %d: another %s than as level 1", name, filepath.Base(file), n, what)
					}
				}
			}
		}
	}
}

// TestLevelBetween: a level of a teacher's own that stands between two others, or above
// all, leaves them as they are.
func TestLevelBetween(t *testing.T) {
	file := filepath.Join(sharedtest.Root(), "examples", "own-level.toml")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	own, err := ladder.Parse(file, text)
	if err != nil {
		t.Fatal(err)
	}
	for i, name := range originals {
		if testing.Short() && i > 0 {
			break
		}
		song := load(t, filepath.Join("examples", name+".abc"))
		without, err := edition.Make(t.Context(), song, edition.Options{})
		if err != nil {
			t.Fatal(err)
		}
		high := own
		high.After, high.Number = 0, 7
		with, err := edition.Make(t.Context(), song, edition.Options{Levels: ladder.With(ladder.With(ladder.Levels(), own), high)})
		if err != nil {
			t.Fatal(err)
		}
		if n := len(with); n != 7 || with[2].Level.Number != own.Number || with[6].Level.Number != high.Number {
			t.Fatalf("%d levels, not in order", n)
		}
		for _, p := range with {
			for _, q := range without {
				if p.Level.Number == q.Level.Number && !slices.Equal(p.Score.Notes, q.Score.Notes) {
					t.Errorf("%s: level %d is another with a level above level 2", name, p.Level.Number)
				}
			}
		}
	}
}

// unlabelled is all that an arrangement gives, by what it is, with its level's
// number taken out where it stands as a label.
func unlabelled(t *testing.T, a edition.Page) map[string]string {
	t.Helper()
	a.Level.Number, a.Score.Level, a.Score.Subtitle = 1, 1, ""
	page, err := musicxml.Write(hand.Print(a.Score, a.Level.Fingers))
	if err != nil {
		t.Fatal(err)
	}
	sound, _, err := perform.File(a.Score, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	why, err := account.Of(a)
	if err != nil {
		t.Fatal(err)
	}
	written, err := teach.Prepare(t.Context(), edition.Lesson(t.Context(), []edition.Page{a}, hand.Default()))
	if err != nil {
		t.Fatal(err)
	}
	lesson, err := json.Marshal(written)
	if err != nil {
		t.Fatal(err)
	}
	return map[string]string{"page": string(page), "performance": string(sound), "account": string(why), "lesson": string(lesson)}
}

// TestLevelNumber: the number of a level orders and labels. Nobody but the ladder
// reckons with it or asks whether it is more or less than something; whether a
// score has one at all, and whether two labels are the same, may be asked.
func TestLevelNumber(t *testing.T) {
	labels := map[string]string{ // fields that hold the number, by type
		"gradatim/internal/ladder.Level": "Number", "gradatim/internal/ladder.Choice": "Level", "gradatim/score.Score": "Level",
		"gradatim/internal/teach.LevelLesson": "Number",
	}
	seen := map[string]int{}
	for _, p := range sharedtest.Program(t) {
		if p.Path == "gradatim/internal/ladder" {
			continue
		}
		isLabel := func(e ast.Expr) bool {
			for {
				switch x := e.(type) {
				case *ast.ParenExpr:
					e = x.X
					continue
				case *ast.CallExpr: // a conversion
					if len(x.Args) == 1 && p.Info.Types[x.Fun].IsType() {
						e = x.Args[0]
						continue
					}
				case *ast.SelectorExpr:
					s := p.Info.Selections[x]
					if s == nil || s.Kind() != types.FieldVal {
						return false
					}
					of := s.Recv()
					if ptr, ok := of.Underlying().(*types.Pointer); ok {
						of = ptr.Elem()
					}
					field := labels[of.String()]
					if field != "" && field == x.Sel.Name {
						seen[of.String()]++
						return true
					}
				}
				return false
			}
		}
		// asked tells whether an operator and what stands on its other side ask for
		// more than a label can say.
		asked := func(op token.Token, other ast.Expr) bool {
			v := p.Info.Types[other].Value
			if op == token.EQL || op == token.NEQ {
				return v != nil && v.ExactString() != "0"
			}
			return v == nil || v.ExactString() != "0"
		}
		for _, f := range p.Files {
			ast.Inspect(f, func(n ast.Node) bool {
				switch x := n.(type) {
				case *ast.BinaryExpr:
					if isLabel(x.X) && asked(x.Op, x.Y) || isLabel(x.Y) && asked(x.Op, x.X) {
						t.Errorf("%s: the number of a level orders and labels; name in the level's file what is asked here", p.Fset.Position(x.Pos()))
					}
				case *ast.SwitchStmt:
					if x.Tag != nil && isLabel(x.Tag) {
						t.Errorf("%s: a switch over the number of a level; name in the level's file what is asked here", p.Fset.Position(x.Pos()))
					}
				case *ast.IndexExpr:
					if isLabel(x.Index) {
						t.Errorf("%s: a table by the number of a level; name in the level's file what is asked here", p.Fset.Position(x.Pos()))
					}
				case *ast.Ident, *ast.SelectorExpr:
					if e, ok := n.(ast.Expr); ok {
						isLabel(e)
					}
				}
				return true
			})
		}
	}
	for of := range labels {
		if seen[of] == 0 && of != "gradatim/internal/ladder.Choice" {
			t.Errorf("%s.%s is used nowhere: has it another name now?", of, labels[of])
		}
	}
}
