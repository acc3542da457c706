package sharedtest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// figuresBegin stands in a page of docs before what a test writes there.
const figuresBegin = "<!-- figures -->\n"

// WriteFigures writes what was measured into a page of docs, named by its file: behind its
// mark, to its end.
func WriteFigures(t testing.TB, page, text string) {
	t.Helper()
	file := filepath.Join(Root(), "docs", page)
	was, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	head, _, ok := strings.Cut(string(was), figuresBegin)
	if !ok {
		t.Fatalf("%s has no place for figures", file)
	}
	if err := os.WriteFile(file, []byte(head+figuresBegin+text), 0o666); err != nil {
		t.Fatal(err)
	}
}
