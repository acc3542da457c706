package gradatim_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
)

// example is a file of examples/.
func example(t *testing.T, name string) gradatim.File {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", name))
	if err != nil {
		t.Fatal(err)
	}
	return gradatim.File{Name: name, Data: data}
}

// TestFromOutside builds a program in a module of its own, which sees what is public
// and no more, and has it make every kind of file.
func TestFromOutside(t *testing.T) {
	if testing.Short() {
		t.Skip("builds a program")
	}
	dir := t.TempDir()
	root := sharedtest.Root()
	for _, f := range []struct{ from, to string }{{"testdata/outside/main.go.txt", "main.go"}, {"go.mod", "go.mod"}, {"go.sum", "go.sum"}} {
		data, err := os.ReadFile(filepath.Join(root, f.from))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, f.to), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	goTool := func(args ...string) {
		t.Helper()
		cmd := exec.CommandContext(t.Context(), sharedtest.Tool(t, "go"), args...)
		cmd.Dir = dir
		cmd.Env = append(os.Environ(), "GOFLAGS=-mod=mod", "GOPROXY=off", "GOWORK=off")
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("go %v: %v\n%s", args, err, out)
		}
	}
	goTool("mod", "edit", "-module=example.com/outside", "-require=gradatim@v0.0.0", "-replace=gradatim="+root)
	goTool("build", "-o", "outside", ".")
	run := exec.CommandContext(t.Context(), filepath.Join(dir, "outside"), filepath.Join(root, "examples", "thistle.abc"))
	run.Dir = dir
	out, err := run.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	const want = `level 2, late elementary: hymn
MusicXML <?xml
PDF %PDF-
MIDI MThd
audio RIFF
the chord of bar 2 is hers: true
the file breaks 0 rules, and is rated: true
two bars PNG
lesson: index.html is there, nothing is missing
`
	if string(out) != want {
		t.Errorf("got\n%swant\n%s", out, want)
	}
}
