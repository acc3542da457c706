package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gradatim/assets"
	"gradatim/internal/sharedtest"
)

// others are the libraries that files are made with: they could sign one.
var others = []string{"verovio", "fpdf", "libopus", "gopus", "libflac", "mewkiz", "gomidi"}

// signed returns the names of others in a file.
func signed(data []byte) []string {
	var out []string
	low := bytes.ToLower(data)
	for _, n := range others {
		if bytes.Contains(low, []byte(n)) {
			out = append(out, n)
		}
	}
	return out
}

// mp3Signs returns what an MP3 file says of what made it: the frames of its tag for that
// (ID3 version 2.4.0, section 4.2: TSSE, TENC), and letters in its Info frame behind
// the table of contents, where players look for the name of an encoder (common practice,
// no standard).
func mp3Signs(data []byte) []string {
	var out []string
	size := int(data[6])<<21 | int(data[7])<<14 | int(data[8])<<7 | int(data[9])
	for _, frame := range []string{"TSSE", "TENC"} {
		if bytes.Contains(data[:10+size], []byte(frame)) {
			out = append(out, frame)
		}
	}
	at := bytes.Index(data, []byte("Info"))
	if at < 0 {
		return append(out, "no Info frame")
	}
	rest := data[at+len("Info")+4+4+4+100:]
	if n := bytes.Index(rest, []byte{0xff, 0xfb}); n > 0 { // the next frame
		out = append(out, strings.Fields(string(bytes.ReplaceAll(rest[:n], []byte{0}, []byte(" "))))...)
	}
	return out
}

// credits are the foot of a page of the site. It names the engraver, as its licence
// asks; that is no claim to have made the page.
var credits = regexp.MustCompile(`(?s)<footer>.*</footer>`)

// TestFilesNameNoOtherProgram: whatever is written says of itself at most that
// gradatim wrote it.
func TestFilesNameNoOtherProgram(t *testing.T) {
	if testing.Short() {
		t.Skip("makes a lesson")
	}
	_, engraver := assets.Engraver()
	_, piano := assets.Piano()
	if err := errors.Join(engraver, piano); err != nil {
		sharedtest.Absent(t, err.Error())
	}
	if got := signed([]byte("Encoded by libopus and Fpdf")); len(got) != 2 {
		t.Fatalf("of two names %v are found", got)
	}
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	sheet := in("t.abc")
	if err := os.WriteFile(sheet, []byte("X:1\nT:Two Bars\nC:nobody\nM:4/4\nL:1/4\nQ:1/4=160\nK:C\n\"C\"CEGE|\"G7\"D2 \"C\"C2|]\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	page := filepath.Join(in("out"), "t.1.musicxml")
	for _, args := range [][]string{
		{"ladder", sheet, "-o", in("out"), "--levels", "1", "--pdf", "--lead"},
		{"engrave", page, "-o", in("out/page.svg")}, {"engrave", page, "-o", in("out/page.png")},
		{"record", page, "-o", in("out/take.mp3")}, {"record", page, "-o", in("out/take.wav")},
		{"record", page, "-o", in("out/take.flac")}, {"record", page, "-o", in("out/take.opus")},
		{"lesson", sheet, "-o", in("lesson"), "--levels", "1", "--audio", "none", "--zip"},
	} {
		var errw bytes.Buffer
		if code := run(context.Background(), args, strings.NewReader(""), io.Discard, &errw); code != 0 {
			t.Fatalf("%v: %d\n%s", args, code, errw.String())
		}
	}
	seen := map[string]bool{}
	err := filepath.Walk(dir, func(p string, st os.FileInfo, err error) error {
		if err != nil || st.IsDir() {
			return err
		}
		data, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		ext := filepath.Ext(p)
		seen[ext] = true
		switch ext {
		case ".woff", ".ttf": // fonts are their makers'
			return nil
		case ".html":
			if len(credits.FindAll(data, -1)) != 1 {
				t.Errorf("%s has not one foot", filepath.Base(p))
			}
			data = credits.ReplaceAll(data, nil)
			if bytes.Contains(data, []byte(`name="generator"`)) || bytes.Contains(data, []byte("<!--")) {
				t.Errorf("%s has a generator or a comment", filepath.Base(p))
			}
		case ".zip":
			r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
			if err != nil || len(r.File) == 0 {
				t.Fatal(len(r.File), err)
			}
			for _, f := range r.File {
				if r.Comment != "" || f.Comment != "" || len(signed(f.Extra)) > 0 {
					t.Errorf("%s: %s has a comment", filepath.Base(p), f.Name)
				}
			}
		}
		if got := signed(data); len(got) > 0 {
			t.Errorf("%s names %v", filepath.Base(p), got)
		}
		switch ext {
		case ".pdf":
			for _, key := range []string{"Producer", "Creator"} {
				m := regexp.MustCompile(`/` + key + ` \(((?s:.*?))\)\n`).FindSubmatch(data)
				if m == nil || strings.ReplaceAll(string(m[1][2:]), "\x00", "") != "gradatim" {
					t.Errorf("%s: %s is %q", filepath.Base(p), key, m)
				}
			}
		case ".mp3":
			if got := mp3Signs(data); len(got) > 0 {
				t.Errorf("%s is signed %q", filepath.Base(p), got)
			}
			if got := mp3Signs(bytes.Replace(data, make([]byte, 40), append([]byte("Other1.0"), make([]byte, 32)...), 1)); len(got) != 1 {
				t.Fatalf("of one name %q are found", got)
			}
		case ".flac", ".opus":
			vendor := binary.LittleEndian.AppendUint32(nil, uint32(len("gradatim")))
			if !bytes.Contains(data[:min(len(data), 2048)], append(vendor, "gradatim"...)) {
				t.Errorf("%s does not say that gradatim wrote it", filepath.Base(p))
			}
		case ".musicxml":
			if !bytes.Contains(data, []byte("<software>gradatim</software>")) || bytes.Count(data, []byte("<software>")) != 1 {
				t.Errorf("%s has another software", filepath.Base(p))
			}
		case ".png":
			for _, chunk := range []string{"tEXt", "iTXt", "zTXt"} {
				if bytes.Contains(data, []byte(chunk)) {
					t.Errorf("%s has a chunk %s", filepath.Base(p), chunk)
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, ext := range strings.Fields(".musicxml .mid .json .pdf .svg .png .mp3 .wav .flac .opus .html .css .zip") {
		if !seen[ext] {
			t.Errorf("no %s was written", ext)
		}
	}
}
