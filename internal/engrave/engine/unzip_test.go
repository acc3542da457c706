package engine

import (
	"archive/zip"
	"io"
	"strings"
	"testing"
)

// unzip returns the score in a packed file: the entry outside META-INF.
func unzip(t *testing.T, file string) string {
	t.Helper()
	z, err := zip.OpenReader(file)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	for _, f := range z.File {
		if strings.HasPrefix(f.Name, "META-INF") || !strings.HasSuffix(f.Name, "xml") {
			continue
		}
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		defer r.Close()
		b, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	t.Fatalf("%s: no score", file)
	return ""
}
