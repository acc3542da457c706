package gradatim_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
)

const someTunes = "X:3\nT:The Lantern\nM:4/4\nL:1/4\nK:C\n\"C\"CDEF|G4|]\n\n" +
	"X:7\nT:Paper Lantern, The\nM:7/8\nL:1/8\nK:Dm\nd2c2BAG|d4d3|]\n\n" +
	"X:9\nT:Ferry's Rest\nM:3/4\nL:1/4\nK:G\nz3|\n\n" +
	"X:9\nT:Second Nine\nM:3/4\nL:1/4\nK:G\nGAB|\n"

// TestBook: each tune has its row; what cannot be read says why, and stops nothing.
func TestBook(t *testing.T) {
	b, err := gradatim.ReadBook(context.Background(), "", gradatim.File{Name: "some.abc", Data: []byte(someTunes)},
		gradatim.File{Name: "wide.abc", Data: []byte("\xff\xfeX\x00")})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range b.Tunes {
		code := ""
		if !r.Read {
			code = r.Problems[0].Code
		}
		got = append(got, fmt.Sprintf("%d %s, %s %s %d %d %s", r.Number, r.Title, r.Key, r.Meter, r.Bars, r.Chords, code))
	}
	want := []string{"3 The Lantern, C major 4/4 2 1 ", "7 The Paper Lantern, D minor 7/8 2 0 ", "9 Ferry's Rest,   0 0 no-music", "9 Second Nine, G major 3/4 1 0 "}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if len(b.Problems) != 1 || b.Problems[0].Code != "charset-unknown" || b.Problems[0].Text == "" {
		t.Errorf("of the files: %v", b.Problems)
	}
	if text := b.Text(); !strings.Contains(text, "4 tunes, 3 read, 2 of them without chords") {
		t.Errorf("%s", text)
	}
}

func TestFindTune(t *testing.T) {
	f := gradatim.File{Name: "some.abc", Data: []byte(someTunes)}
	for which, want := range map[string]string{
		"": "0", "7": "7", "99": "99", "The Lantern": "3", "lantern": "3", "Lantern, The": "3", "paper lantern": "7", "paper": "7", "FERRYS REST": "9", "rest": "9",
		"lanterns": "tune-title-missing", "e": "tune-title-missing", "second nine": "tune-title-number", "-": "tune-title-missing",
	} {
		n, err := gradatim.FindTune(f, which)
		got := fmt.Sprint(n)
		if err != nil {
			got = err.Error()
		}
		if got != want && !strings.Contains(got, "["+want+"]") {
			t.Errorf("%q: %s, want %s", which, got, want)
		}
	}
}

// bookOf is a book of n tunes, those of the shared sheets in turn.
func bookOf(tb testing.TB, n int) gradatim.File {
	tb.Helper()
	files, _ := filepath.Glob(filepath.Join(sharedtest.Path(tb, "data/leadsheets"), "*", "*.abc"))
	if len(files) == 0 {
		tb.Fatal("no sheets")
	}
	var out strings.Builder
	for i := range n {
		data, err := os.ReadFile(files[i%len(files)])
		if err != nil {
			tb.Fatal(err)
		}
		_, text, _ := strings.Cut("\n"+string(data), "\nX:")
		_, text, _ = strings.Cut(text, "\n")
		fmt.Fprintf(&out, "X:%d\n%s\n\n", i+1, strings.TrimSpace(text))
	}
	return gradatim.File{Name: "book.abc", Data: []byte(out.String())}
}

// A book of 500 tunes is to be read within a second.
func BenchmarkBook(b *testing.B) {
	f := bookOf(b, 500)
	for b.Loop() {
		if book, err := gradatim.ReadBook(context.Background(), "", f); err != nil || len(book.Tunes) != 500 {
			b.Fatal(len(book.Tunes), err)
		}
	}
}
