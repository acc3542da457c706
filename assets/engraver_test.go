package assets

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

func TestEngraver(t *testing.T) {
	b, err := Engraver()
	var missing *MissingError
	if errors.As(err, &missing) {
		sharedtest.Absent(t, err.Error())
	}
	if err != nil || !bytes.HasPrefix(b, []byte("\x00asm")) {
		t.Errorf("%.8q, %v", b, err)
	}
}

// Who lacks a material is told what to run.
func TestMissing(t *testing.T) {
	_, err := read("the organ", "organ.bank")
	var missing *MissingError
	if !errors.As(err, &missing) || missing.Name != "the organ" {
		t.Fatalf("got %v", err)
	}
	for _, want := range []string{"the organ", "assets/data/organ.bank", "npm ci", "go generate ./assets"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("no %q in %q", want, err)
		}
	}
}
