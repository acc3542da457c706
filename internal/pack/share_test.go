package pack_test

import (
	"bytes"
	"image"
	"image/png"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gradatim/internal/pack"
)

// Whoever shows a link to a lesson finds the four properties that the Open Graph protocol
// asks for, with whole addresses; the picture has words above and five-line staves below.
// A lesson without an address has the picture alone.
func TestShare(t *testing.T) {
	in := inputOf(t, read(t, ferryLamp), "1")
	in.Own.Imprint.Address = "https://example.org/ferry/"
	dir := filepath.Join(t.TempDir(), "lesson")
	build(t, dir, in, pack.Options{})
	files := tree(t, dir)
	said := map[string]string{}
	for _, m := range regexp.MustCompile(`<meta property="og:([a-z:]+)" content="([^"]*)">`).FindAllStringSubmatch(files["index.html"], -1) {
		said[m[1]] = m[2]
	}
	for key, want := range map[string]string{"title": "Ferry Lamp", "type": "website", "url": "https://example.org/ferry/", "image": "https://example.org/ferry/preview.png",
		"image:width": "1200", "image:height": "630", "description": "Piano lesson: Level 1, elementary."} {
		if said[key] != want {
			t.Errorf("og:%s is %q, not %q", key, said[key], want)
		}
	}
	img, err := png.Decode(bytes.NewReader([]byte(files["preview.png"])))
	if err != nil || img.Bounds() != image.Rect(0, 0, 1200, 630) {
		t.Fatalf("the picture: %v, %v", img.Bounds(), err)
	}
	dark := func(x, y int) bool { r, _, _, _ := img.At(x, y).RGBA(); return r < 0xd000 }
	ink, lines := 0, 0
	for y := range 630 {
		row := 0
		for x := range 1200 {
			if dark(x, y) {
				row++
				if x < 20 || x >= 1180 || y < 20 || y >= 610 {
					t.Fatalf("ink at the edge: %d, %d", x, y)
				}
			}
		}
		if y < 230 {
			ink += row
		}
		above := 0
		for x := range 1200 {
			if dark(x, y-1) {
				above++
			}
		}
		if row > 600 && above <= 600 {
			lines++
		}
	}
	if ink < 2000 || lines != 10 {
		t.Errorf("%d dark points of words, %d lines across, not ten", ink, lines)
	}
	in.Own.Imprint.Address = ""
	build(t, dir, in, pack.Options{})
	if after := tree(t, dir); strings.Contains(after["index.html"], "og:image") || after["preview.png"] != files["preview.png"] {
		t.Error("without an address a picture is named, or it is another one")
	}
}
