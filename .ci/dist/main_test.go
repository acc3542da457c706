package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"io"
	"testing"
)

// TestPacked: a program travels as a file that its system can start, with the same bytes
// each time.
func TestPacked(t *testing.T) {
	t.Chdir("../..")
	for _, system := range []string{"darwin", "windows", "linux"} {
		name, data, err := packed("gradatim-0-x", system, []byte("program"))
		_, again, _ := packed("gradatim-0-x", system, []byte("program"))
		if err != nil || !bytes.Equal(data, again) {
			t.Errorf("%s: %v, or other bytes", name, err)
		}
		switch system {
		case "windows":
			if name != "gradatim-0-x.exe" || string(data) != "program" {
				t.Error(name)
			}
		case "darwin":
			z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
			if err != nil {
				t.Fatal(err)
			}
			f, err := z.Open("Gradatim.app/Contents/MacOS/gradatim")
			if err != nil {
				t.Fatal(err)
			}
			if st, _ := f.Stat(); st.Mode()&0o111 == 0 {
				t.Error("it cannot be run")
			}
		case "linux":
			g, err := gzip.NewReader(bytes.NewReader(data))
			if err != nil {
				t.Fatal(err)
			}
			n, runs := 0, 0
			for r := tar.NewReader(g); ; n++ {
				h, err := r.Next()
				if err == io.EOF {
					break
				}
				if err != nil {
					t.Fatal(err)
				}
				if h.Mode&0o111 != 0 {
					runs++
				}
			}
			if n != 3 || runs != 1 {
				t.Errorf("%d files, %d to run", n, runs)
			}
		}
	}
}
