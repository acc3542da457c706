package studio_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"gradatim/internal/perform"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sound/codec"
	"gradatim/internal/studio"
)

// ffprobe reads from a file what it is.
func TestTags(t *testing.T) {
	r, err := studio.NewRecorder()
	if err != nil {
		sharedtest.Absent(t, err.Error())
	}
	s := signed("")
	s.Subtitle, s.Composer, s.Rights = "Level 4, late intermediate", "A. Nobody", "In the public domain."
	var b bytes.Buffer
	if _, err := r.Record(context.Background(), &b, s, perform.Options{Hands: perform.LeftAlone, From: 1, To: 1}, codec.FLAC, "left hand alone", nil); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "take.flac")
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(sharedtest.Tool(t, "ffprobe"), "-v", "error", "-show_entries", "format_tags", "-of", "json", file).Output()
	if err != nil {
		t.Fatal(err)
	}
	var read struct {
		Format struct{ Tags map[string]string }
	}
	if err := json.Unmarshal(out, &read); err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]string{
		"TITLE": "Signs – Level 4, late intermediate – left hand alone", "ALBUM": "Signs", "COMPOSER": "A. Nobody",
	} {
		if got := read.Format.Tags[key]; got != want {
			t.Errorf("%s is %q, want %q", key, got, want)
		}
	}
}
