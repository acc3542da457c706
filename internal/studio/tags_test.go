package studio_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/perform"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sound/codec"
	"gradatim/internal/studio"
)

// ffprobe reads from a file what it is.
func TestTags(t *testing.T) {
	probe := sharedtest.Tool(t, "ffprobe")
	r, err := studio.NewRecorder()
	if err != nil {
		sharedtest.Absent(t, err.Error())
	}
	s := signed("")
	s.Subtitle, s.Composer, s.Rights = "Level 4, late intermediate", "A. Nobody", "In the public domain."
	s.Bars[1].Section, s.Bars[3].Section = "A", "B"
	dir := t.TempDir()
	for _, f := range []codec.Format{codec.MP3, codec.FLAC, codec.Opus} {
		whole := perform.Take{What: "slowly", Track: 3, Options: perform.Options{CountIn: 1, Tempo: perform.Tempo{Percent: 80}}}
		for name, take := range map[string]perform.Take{"whole": whole, "part": {Options: perform.Options{Hands: perform.LeftAlone, From: 1, To: 1}}} {
			var b bytes.Buffer
			if _, err := r.Record(context.Background(), &b, s, take, f, nil); err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(dir, name+"."+f.String())
			if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			out, err := exec.Command(probe, "-v", "error", "-show_entries", "format=duration:format_tags:stream_tags", "-show_chapters", "-of", "json", file).CombinedOutput()
			if err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			var read struct {
				Format struct {
					Duration string
					Tags     map[string]string
				}
				Streams  []struct{ Tags map[string]string }
				Chapters []struct {
					Start string `json:"start_time"`
					End   string `json:"end_time"`
					Tags  map[string]string
				}
			}
			if err := json.Unmarshal(out, &read); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			got := map[string]string{}
			for k, v := range read.Format.Tags {
				got[strings.ToUpper(k)] = v
			}
			for _, s := range read.Streams { // of Ogg the tags are the stream's
				for k, v := range s.Tags {
					got[strings.ToUpper(k)] = v
				}
			}
			want := map[string]string{"TITLE": "Signs – Level 4, late intermediate – slowly – ♩ = 80", "ALBUM": "Signs", "COMPOSER": "A. Nobody", "TRACK": "3"}
			if name == "part" {
				want["TITLE"], want["TRACK"] = "Signs – Level 4, late intermediate – left hand alone, bar 1 – ♩ = 100", ""
			}
			for key, w := range want {
				if got[key] != w {
					t.Errorf("%v, %s: %s is %q, want %q", f, name, key, got[key], w)
				}
			}
			if !strings.HasPrefix(got["COPYRIGHT"], "In the public domain.") {
				t.Errorf("%v, %s: rights %q", f, name, got["COPYRIGHT"])
			}
			if name == "part" {
				if len(read.Chapters) != 0 {
					t.Errorf("%v: a part has %d chapters", f, len(read.Chapters))
				}
				continue
			}
			p := performed(t, s, take.Options)
			if len(read.Chapters) != 3 {
				t.Fatalf("%v: %d chapters, want 3: %s", f, len(read.Chapters), out)
			}
			for i, w := range []struct {
				bar  int
				name string
			}{{0, "Signs"}, {1, "A"}, {3, "B"}} {
				c := read.Chapters[i]
				start, err := strconv.ParseFloat(c.Start, 64)
				at := p.Timing.Seconds(s.Bars[w.bar].At, 0)
				if w.bar == 0 {
					at = 0
				}
				if err != nil || at-start < 0 || at-start > 0.06 || c.Tags["title"] != w.name {
					t.Errorf("%v: chapter %d is %q from %s s; %q begins at %.3f s", f, i, c.Tags["title"], c.Start, w.name, at)
				}
				next := read.Format.Duration
				if i+1 < len(read.Chapters) {
					next = read.Chapters[i+1].Start
				}
				end, _ := strconv.ParseFloat(c.End, 64)
				if until, _ := strconv.ParseFloat(next, 64); math.Abs(end-until) > 0.03 {
					t.Errorf("%v: chapter %d ends at %s s, the next begins at %s s", f, i, c.End, next)
				}
			}
		}
	}
}
