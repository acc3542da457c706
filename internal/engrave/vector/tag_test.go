package vector

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

// What a screen reader walks, as poppler reads it: headings, a paragraph over two
// pages, a list, a figure with its text; nothing of what has no tag.
func TestTags(t *testing.T) {
	line := func(y float64, s string, tag *Tag) *Group {
		return &Group{Tag: tag, Kids: []Node{&Text{X: 10, Y: y, Spans: []Span{{Text: s, Size: 4, Fill: Ink}}}}}
	}
	list, over := &Tag{Role: "L"}, &Tag{Role: "P"}
	point := func() *Tag { return &Tag{Role: "LBody", Within: &Tag{Role: "LI", Within: list}} }
	p := &Path{}
	p.Rectangle(10, 60, 20, 10)
	one := &Drawing{W: 100, H: 100, Root: Group{Kids: []Node{
		line(10, "Head", &Tag{Role: "H1"}), line(20, "First", point()), line(30, "Second", point()),
		&Group{Tag: &Tag{Role: "Figure", Alt: "A box (♭)"}, Kids: []Node{&Shape{Path: p, Stroke: Ink, Width: 1}}},
		line(80, "begun", over), line(95, "page 1", nil)}}}
	two := &Drawing{W: 100, H: 100, Root: Group{Kids: []Node{line(10, "and ended", over)}}}
	b, err := PDF(context.Background(), []*Drawing{one, two}, PDFMeta{Title: "Tags", Lang: "en"})
	if err != nil {
		t.Fatal(err)
	}
	again, _ := PDF(context.Background(), []*Drawing{one, two}, PDFMeta{Title: "Tags", Lang: "en"})
	if !bytes.Equal(b, again) {
		t.Error("not the same bytes twice")
	}
	file := filepath.Join(t.TempDir(), "tags.pdf")
	if err := os.WriteFile(file, b, 0o644); err != nil {
		t.Fatal(err)
	}
	run := func(name string, args ...string) string {
		t.Helper()
		out, err := exec.Command(sharedtest.Tool(t, name), args...).CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, out)
		}
		return string(out)
	}
	run("qpdf", "--check", file)
	got := strings.Join(strings.Fields(run("pdfinfo", "-struct-text", file)), " ")
	want := `Document H1 (block) "Head" L (block) LI (block) LBody (block) "First" LI (block) LBody (block) "Second" Figure "" P (block) "begun" "and ended"`
	if got != want {
		t.Errorf("the structure is\n%s\nwant\n%s", got, want)
	}
	if json := run("qpdf", "--json", file); !strings.Contains(json, "A box (♭)") || !strings.Contains(json, `"/Marked": true`) {
		t.Error("no text for the figure, or the file does not say that it is tagged")
	}
	for _, bad := range []string{"", "startxref\n5", string(b[:len(b)/2])} {
		tg := newTagged([]*Drawing{one})
		if _, err := tg.finish([]byte(bad)); err == nil {
			t.Errorf("structure added to %d bytes that are no file", len(bad))
		}
	}
}
