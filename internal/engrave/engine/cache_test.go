package engine

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// tiny is a module with one function that returns 42 (WebAssembly core specification,
// chapter 5, written out by hand).
var tiny = []byte{0, 'a', 's', 'm', 1, 0, 0, 0,
	1, 5, 1, 0x60, 0, 1, 0x7f, // type: no parameter, an i32
	3, 2, 1, 0, // function 0 of type 0
	7, 5, 1, 1, 'f', 0, 0, // exported as f
	10, 6, 1, 4, 0, 0x41, 42, 0x0b} // i32.const 42

// cached is the one file in a cache.
func cached(t *testing.T, dir string) string {
	t.Helper()
	var found []string
	err := filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			found = append(found, p)
		}
		return err
	})
	if err != nil || len(found) != 1 {
		t.Fatalf("in the cache: %v, %v", found, err)
	}
	return found[0]
}

func openTiny(t *testing.T, dir string) {
	t.Helper()
	e, err := Open(context.Background(), Config{Module: tiny, CacheDir: dir})
	if err != nil {
		t.Fatal(err)
	}
	if err := e.Close(); err != nil {
		t.Error(err)
	}
}

// TestCacheRepaired: a damaged file in the cache is written anew.
func TestCacheRepaired(t *testing.T) {
	dir := t.TempDir()
	if err := os.Chmod(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	openTiny(t, dir)
	file := cached(t, dir)
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	flipped := func(at int) []byte {
		b := bytes.Clone(whole)
		b[at] ^= 0x10
		return b
	}
	for name, damaged := range map[string][]byte{"cut": whole[:len(whole)/2], "empty": {}, "head": flipped(1), "end": flipped(len(whole) - 1), "middle": flipped(len(whole) / 2)} {
		if err := os.WriteFile(file, damaged, 0o600); err != nil {
			t.Fatal(err)
		}
		openTiny(t, dir)
		if now, err := os.ReadFile(cached(t, dir)); err != nil || !bytes.Equal(now, whole) {
			t.Errorf("%s: it stays damaged (%v)", name, err)
		}
	}
}

// TestCacheOfOthers: a folder that others may write to is not used.
func TestCacheOfOthers(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "cache")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	st, err := os.Stat(dir)
	if err != nil {
		t.Fatal(err)
	}
	if private(st) && st.Mode().Perm()&0o022 != 0 {
		t.Error("it passes for private")
	}
	if c := openCache(dir); c != nil && st.Mode().Perm()&0o022 != 0 {
		t.Error("it serves as a cache")
	}
}
