package sharedtest

import (
	"bytes"
	"encoding/json"
	"errors"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Package is a package of the program with its types, without its tests.
type Package struct {
	Path  string
	Fset  *token.FileSet // of all packages
	Files []*ast.File
	Info  *types.Info // types and selections
}

// Program type-checks the packages of the program.
func Program(t testing.TB) []Package {
	t.Helper()
	cmd := exec.Command(Tool(t, "go"), "list", "-export", "-deps", "-json=ImportPath,Export,Dir,GoFiles", "gradatim/...")
	cmd.Dir, cmd.Stderr = Root(), os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	type listed struct {
		ImportPath, Export, Dir string
		GoFiles                 []string
	}
	export := map[string]string{}
	var ours []listed
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var l listed
		if err := d.Decode(&l); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		export[l.ImportPath] = l.Export
		if l.ImportPath == "gradatim" || strings.HasPrefix(l.ImportPath, "gradatim/") {
			ours = append(ours, l)
		}
	}
	fset := token.NewFileSet()
	conf := types.Config{Importer: importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(export[path]) })}
	var all []Package
	for _, l := range ours {
		p := Package{Path: l.ImportPath, Fset: fset, Info: &types.Info{Selections: map[*ast.SelectorExpr]*types.Selection{}, Types: map[ast.Expr]types.TypeAndValue{}}}
		for _, name := range l.GoFiles {
			f, err := parser.ParseFile(fset, filepath.Join(l.Dir, name), nil, parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			p.Files = append(p.Files, f)
		}
		if _, err := conf.Check(l.ImportPath, fset, p.Files, p.Info); err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	return all
}
