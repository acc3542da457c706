package assets

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"gradatim/internal/sharedtest"
)

func TestFonts(t *testing.T) {
	_, err := fonts(fstest.MapFS{"data/fonts/text.woff": {Data: []byte("wOFF")}})
	var missing *MissingError
	if !errors.As(err, &missing) || !strings.Contains(err.Error(), "go generate ./assets") {
		t.Errorf("without fonts: %v", err)
	}
	fs, err := Fonts()
	if errors.As(err, &missing) {
		sharedtest.Absent(t, err.Error())
	}
	if err != nil {
		t.Fatal(err)
	}
	sum := 0
	for _, f := range fs {
		if head := string(f.Data[:4]); head != "wOFF" && head != "\x00\x01\x00\x00" {
			t.Errorf("%s begins with %q", f.Name, head)
		}
		sum += len(f.Data)
	}
	// A page fetches three to seven of them; all together weigh less than a drawing.
	if sum > 200_000 {
		t.Errorf("the letters weigh %d bytes", sum)
	}
}
