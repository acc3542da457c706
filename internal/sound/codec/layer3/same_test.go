package layer3

import (
	"encoding/binary"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"hash/fnv"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

// No product of fractions is open to be fused with a sum: each is an argument of a
// conversion. Products of whole numbers and constants are none of that.
func TestProductsAreRounded(t *testing.T) {
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	fset := token.NewFileSet()
	var files []*ast.File
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(fset, name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, file)
	}
	list, err := exec.Command(sharedtest.Tool(t, "go"), "list", "-export", "-deps", "-f", "{{.ImportPath}} {{.Export}}", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	export := map[string]string{}
	for line := range strings.Lines(string(list)) {
		if path, file, ok := strings.Cut(strings.TrimSpace(line), " "); ok {
			export[path] = file
		}
	}
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}}
	conf := types.Config{Importer: importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(export[path]) })}
	if _, err := conf.Check("layer3", fset, files, info); err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, file := range files {
		var stack []ast.Node
		ast.Inspect(file, func(n ast.Node) bool {
			if n == nil {
				stack = stack[:len(stack)-1]
				return true
			}
			switch e := n.(type) {
			case *ast.BinaryExpr:
				tv := info.Types[e]
				basic, ok := tv.Type.Underlying().(*types.Basic)
				if e.Op == token.MUL && tv.Value == nil && !(ok && basic.Info()&types.IsInteger != 0) {
					found++
					if !rounded(stack) {
						t.Errorf("%v: a product may be fused with a sum", fset.Position(e.OpPos))
					}
				}
			case *ast.AssignStmt:
				if e.Tok == token.MUL_ASSIGN {
					t.Errorf("%v: *= is not rounded", fset.Position(e.Pos()))
				}
			}
			stack = append(stack, n)
			return true
		})
	}
	if found < 80 {
		t.Errorf("only %d products were looked at", found)
	}
}

// rounded tells whether what is inside the nodes is converted before anything is added to it.
func rounded(stack []ast.Node) bool {
	for i := len(stack) - 1; i >= 0; i-- {
		switch n := stack[i].(type) {
		case *ast.ParenExpr:
		case *ast.BinaryExpr:
			if n.Op != token.MUL && n.Op != token.QUO {
				return false
			}
		case *ast.CallExpr:
			f, ok := n.Fun.(*ast.Ident)
			return ok && (f.Name == "float32" || f.Name == "float64")
		default:
			return false
		}
	}
	return false
}

// The tables and a coded second are the same on every architecture. (The sums were written
// down on amd64 and compared on arm64.)
func TestSameBytes(t *testing.T) {
	sum := fnv.New64a()
	for _, table := range []any{taps(), secants(), cosines(), hearings().long.hides, hearings().short.hides,
		hearings().long.quiet, hearings().short.quiet, powers(), nearest()} {
		if err := binary.Write(sum, binary.LittleEndian, table); err != nil {
			t.Fatal(err)
		}
	}
	if got, want := fmt.Sprintf("%x", sum.Sum64()), "3551ae0922cb1b3d"; got != want {
		t.Errorf("tables: %s, want %s", got, want)
	}
	// Whole numbers and one product each, for sines differ.
	x := make([]float32, 4*Frame+2*Rate)
	noise := uint32(1)
	for i := 4 * Frame; i < len(x); i++ {
		n := i / 2
		noise = noise*1664525 + 1013904223
		v := (n*(3+i%2)%218 - 109) * (24000 - n%24000) / 600
		v += int(noise>>24) - 128
		if n%15000 < 30 {
			v += 9000
		}
		x[i] = float32(v) / 32768
	}
	for _, v := range x {
		if math.Abs(float64(v)) > 1 {
			t.Fatal("too loud")
		}
	}
	for _, tt := range []struct {
		kbps int
		want string
	}{{128, "ffa99774d571a6a4"}, {192, "38d572db112c441c"}, {320, "b43a3caa5d4339d"}} {
		sum := fnv.New64a()
		sum.Write(code(t, x, tt.kbps))
		if got := fmt.Sprintf("%x", sum.Sum64()); got != tt.want {
			t.Errorf("%d kbit/s: %s, want %s", tt.kbps, got, tt.want)
		}
	}
}
