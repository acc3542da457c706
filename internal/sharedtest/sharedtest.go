// Package sharedtest finds what tests borrow from outside the project: the
// shared folder beside it (corpora, schema, tables) and programs of the
// system. What is absent skips the test on a developer's machine and fails it
// where CI=true, so that a check can never vanish unnoticed.
package sharedtest

import (
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
)

// Path returns the place of a file or folder inside the shared folder, for
// example Path(t, "data/leadsheets").
func Path(t testing.TB, rel string) string {
	t.Helper()
	p := filepath.Join(Root(), "..", "shared", filepath.FromSlash(rel))
	if _, err := os.Stat(p); err != nil {
		Absent(t, "shared/"+rel+" is not beside the project")
	}
	return p
}

// Tool returns the path of a program that a check needs. Under -short a test that
// starts another program than the Go tool is skipped.
func Tool(t testing.TB, name string) string {
	t.Helper()
	if testing.Short() && name != "go" {
		t.Skip("starts " + name)
	}
	p, err := exec.LookPath(name)
	if err != nil {
		Absent(t, name+" is not installed: run make tools")
	}
	return p
}

// Module makes sure that an npm package is installed in the project, for checks
// that run a library under node or in a browser. Under -short it skips the test.
func Module(t testing.TB, name string) {
	t.Helper()
	if testing.Short() {
		t.Skip("starts node")
	}
	if _, err := os.Stat(filepath.Join(Root(), "node_modules", filepath.FromSlash(name), "package.json")); err != nil {
		Absent(t, "the npm package "+name+" is not installed: run make tools")
	}
}

// Root returns the project's top folder.
func Root() string {
	_, file, _, ok := runtime.Caller(0)
	if !ok {
		panic("sharedtest: no caller information")
	}
	return filepath.Dir(filepath.Dir(filepath.Dir(file)))
}

// Absent ends a test for want of something, as what says: the test is skipped,
// and fails where CI=true. A test of a material that may not be prepared calls it
// with the error.
func Absent(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatal(what)
	}
	t.Skip(what)
}
