package main

import (
	"bytes"
	"cmp"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// What is changed. a < b becomes a <= b (boundary) and a >= b (negation); a == b
// becomes a != b; a + b, a − b; a * b, a / b; i++, i−−; −a, a. In the source each such
// operator becomes a call of a function that has the operator and its changes (meet.txt),
// which evaluates its operands as the operator would. Constant declarations and lengths
// of arrays stay as they are.
//
// Rejected: a build for each change, which costs ten times its run.

//go:embed meet.txt
var meet string

var comparisons = map[token.Token]string{token.LSS: "mutantLss", token.LEQ: "mutantLeq", token.GTR: "mutantGtr", token.GEQ: "mutantGeq"}

var arithmetic = map[token.Token]string{token.ADD: "mutantAdd", token.SUB: "mutantSub", token.MUL: "mutantMul", token.QUO: "mutantQuo", token.REM: "mutantRem"}

// edit puts text at an offset of a file in place of as many bytes as cut.
type edit struct {
	at, cut int
	text    string
	order   int // among edits at one place
}

// changer walks over one file.
type changer struct {
	dir, name string
	source    []byte
	lines     []string
	fset      *token.FileSet
	info      *types.Info
	names     types.Qualifier
	spoilt    map[string]bool
	next      *int
	edits     []edit
	mutants   []mutant
	depth     int
}

// changed returns the files of a package with every change in them, and the changes.
func changed(dir string, spoilt map[string]bool) (map[string][]byte, []mutant, error) {
	fset := token.NewFileSet()
	paths, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		return nil, nil, err
	}
	var files []*ast.File
	var names []string
	for _, p := range paths {
		if strings.HasSuffix(p, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(fset, p, nil, parser.ParseComments)
		if err != nil {
			return nil, nil, err
		}
		files, names = append(files, f), append(names, filepath.Base(p))
	}
	info, err := typesOf(dir, fset, files)
	if err != nil {
		return nil, nil, err
	}
	out := map[string][]byte{}
	var ms []mutant
	next := 0
	for i, f := range files {
		source, err := os.ReadFile(filepath.Join(dir, names[i]))
		if err != nil {
			return nil, nil, err
		}
		c := changer{dir: dir, name: names[i], source: source, lines: strings.Split(string(source), "\n"), fset: fset,
			info: info, spoilt: spoilt, next: &next, names: func(p *types.Package) string {
				if p.Name() == f.Name.Name {
					return ""
				}
				return p.Name()
			}}
		ast.Walk(&c, f)
		out[names[i]] = c.text()
		ms = append(ms, c.mutants...)
	}
	out["mutants_meet.go"] = fmt.Appendf(nil, meet, files[0].Name.Name, next+1)
	return out, ms, nil
}

// typesOf checks the types of a package against what the build has of its imports.
func typesOf(dir string, fset *token.FileSet, files []*ast.File) (*types.Info, error) {
	list, err := exec.Command("go", "list", "-export", "-deps", "-json=ImportPath,Export", "./"+dir).Output()
	if err != nil {
		return nil, err
	}
	exports := map[string]string{}
	for d := json.NewDecoder(bytes.NewReader(list)); ; {
		var p struct{ ImportPath, Export string }
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, err
		}
		exports[p.ImportPath] = p.Export
	}
	imports := importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}}
	_, err = (&types.Config{Importer: imports}).Check("gradatim/"+dir, fset, files, info)
	return info, err
}

// text is the file with its edits.
func (c *changer) text() []byte {
	slices.SortStableFunc(c.edits, func(a, b edit) int { return cmp.Or(a.at-b.at, a.order-b.order) })
	var out []byte
	at := 0
	for _, e := range c.edits {
		out = append(append(out, c.source[at:e.at]...), e.text...)
		at = e.at + e.cut
	}
	return append(out, c.source[at:]...)
}

// Visit adds the changes of a node.
func (c *changer) Visit(n ast.Node) ast.Visitor {
	switch n := n.(type) {
	case nil:
		c.depth--
		return nil
	case *ast.GenDecl:
		if n.Tok == token.CONST {
			return nil
		}
	case *ast.ArrayType:
		return nil
	case *ast.BinaryExpr:
		c.binary(n)
	case *ast.UnaryExpr:
		if at := c.offset(n.OpPos); n.Op == token.SUB && c.free(n.OpPos) {
			c.put(at, 1, c.call("mutantNeg", n, n.X, c.add(n.OpPos, "INVERT_NEGATIVES")), false)
			c.put(c.offset(n.End()), 0, ")", true)
		}
	case *ast.IncDecStmt:
		if c.free(n.TokPos) {
			one := "mutantInc"
			if n.Tok == token.DEC {
				one = "mutantDec"
			}
			x := c.source[c.offset(n.X.Pos()):c.offset(n.X.End())]
			c.put(c.offset(n.TokPos), 2, fmt.Sprintf(" += %s(%d, %s)", one, c.add(n.TokPos, "INCREMENT_DECREMENT"), x), false)
		}
	}
	c.depth++
	return c
}

func (c *changer) binary(n *ast.BinaryExpr) {
	if !c.free(n.OpPos) {
		return
	}
	at, width := c.offset(n.OpPos), len(n.Op.String())
	from, to := c.offset(n.Pos()), c.offset(n.End())
	switch {
	case n.Op == token.EQL || n.Op == token.NEQ:
		c.put(from, 0, "((", false)
		c.put(to, 0, fmt.Sprintf(") != mutantOn(%d))", c.add(n.OpPos, "CONDITIONALS_NEGATION")), true)
	case comparisons[n.Op] != "":
		c.put(from, 0, c.call(comparisons[n.Op], nil, n.X, c.add(n.OpPos, "CONDITIONALS_BOUNDARY"), c.add(n.OpPos, "CONDITIONALS_NEGATION")), false)
		c.put(at, width, ", ", false)
		c.put(to, 0, ")", true)
	case arithmetic[n.Op] != "" && c.number(n):
		var whole ast.Expr
		if c.untyped(n.X) && c.untyped(n.Y) {
			whole = n
		}
		c.put(from, 0, c.call(arithmetic[n.Op], whole, n.X, c.add(n.OpPos, "ARITHMETIC_BASE")), false)
		c.put(at, width, ", ", false)
		c.put(to, 0, ")", true)
	}
}

// call begins the call that stands for an operator; whole, where the operands have no
// type of their own, is the expression that has one.
func (c *changer) call(function string, whole, operand ast.Expr, ids ...int) string {
	if whole != nil && c.untyped(operand) {
		function += "[" + types.TypeString(types.Default(c.info.TypeOf(whole)), c.names) + "]"
	}
	function += "("
	for _, id := range ids {
		function += fmt.Sprintf("%d, ", id)
	}
	return function
}

// untyped tells whether an expression is a constant without a type of its own: a
// literal or what is made of such.
func (c *changer) untyped(x ast.Expr) bool {
	if c.info.Types[x].Value == nil {
		return false
	}
	free := true
	ast.Inspect(x, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CallExpr, *ast.SelectorExpr:
			free = false
		case *ast.Ident:
			free = free && c.info.Types[n].Value != nil && strings.HasPrefix(types.TypeString(c.info.TypeOf(n), c.names), "untyped")
		}
		return free
	})
	return free
}

func (c *changer) number(x ast.Expr) bool {
	b, ok := c.info.TypeOf(x).Underlying().(*types.Basic)
	return ok && b.Info()&types.IsNumeric != 0
}

func (c *changer) offset(p token.Pos) int { return c.fset.Position(p).Offset }

// free tells whether the line may be changed.
func (c *changer) free(p token.Pos) bool {
	return !c.spoilt[fmt.Sprintf("%s:%d", c.name, c.fset.Position(p).Line)]
}

// put adds an edit. What opens earlier in the walk stands outside: before others that
// open at its place, and behind others that close there.
func (c *changer) put(at, cut int, text string, closes bool) {
	order := c.depth
	if closes {
		order = -c.depth - 1
	}
	c.edits = append(c.edits, edit{at, cut, text, order})
}

func (c *changer) add(p token.Pos, kind string) int {
	*c.next++
	where := c.fset.Position(p)
	c.mutants = append(c.mutants, mutant{dir: c.dir, file: c.name, kind: kind, id: *c.next, line: where.Line,
		column: where.Column, was: strings.TrimSpace(c.lines[where.Line-1])})
	return *c.next
}
