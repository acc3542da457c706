package assets

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"gradatim/internal/sharedtest"
)

func TestPianoSaysWhatToRun(t *testing.T) {
	_, err := piano(fstest.MapFS{"data/PLACEHOLDER": {}})
	var missing *MissingError
	if !errors.As(err, &missing) || !strings.Contains(err.Error(), "npm ci") || !strings.Contains(err.Error(), "go generate ./assets") {
		t.Errorf("without the piano: %v", err)
	}
}

func TestPianoIsEmbedded(t *testing.T) {
	r, err := Piano()
	if err != nil {
		sharedtest.Absent(t, err.Error())
	}
	if n := r.Size(); n < 8e6 || n > 14e6 {
		t.Errorf("the piano has %d bytes", n)
	}
}
