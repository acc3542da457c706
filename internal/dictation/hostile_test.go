package dictation_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"gradatim"
	"gradatim/leadsheet"
)

// midiFile is a file of one track; events are written as they stand in the file.
func midiFile(division int, events ...string) []byte {
	body := strings.Join(events, "") + "\x00\xff\x2f\x00"
	n := len(body)
	return []byte("MThd\x00\x00\x00\x06\x00\x01\x00\x01" + string([]byte{byte(division >> 8), byte(division)}) +
		"MTrk" + string([]byte{byte(n >> 24), byte(n >> 16), byte(n >> 8), byte(n)}) + body)
}

// TestHostile: files that claim or hold too much end soon, with a reason.
func TestHostile(t *testing.T) {
	note := "\x00\x90\x3c\x40\x01\x3c\x00"
	for _, tt := range []struct {
		name string
		data []byte
		code string // "": it is read
	}{
		{"nothing behind the head", midiFile(480)[:14], "no-music"},
		{"no notes", midiFile(480), "no-music"},
		{"a length of 256 megabytes", midiFile(480, "\x00\xff\x01\xff\xff\xff\x7f", note), "no-music"},
		{"a track of 4 gigabytes", append([]byte("MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0MTrk\xff\xff\xff\xff"), note...), ""},
		{"a note after a thousand hours", midiFile(1, "\xff\xff\xff\x7f\x90\x3c\x40\x01\x3c\x00"), "too-long"},
		{"one tick a quarter", midiFile(1, strings.Repeat("\x00\x90\x3c\x40\x7f\x3c\x00", 2000)), "too-long"},
		{"a million notes", midiFile(32767, strings.Repeat("\x00\x90\x3c\x40\x00\x3c\x00", 140_000)), "midi-too-long"},
		{"keys that never come up", midiFile(480, strings.Repeat("\x00\x90\x3c\x40", 60_000)), ""},
		{"all at once", midiFile(480, strings.Repeat("\x00\x90\x3c\x40\x00\x40\x40\x01\x3c\x00\x00\x40\x00", 20_000)), ""},
		{"format 2", bytes.Replace(midiFile(480, note), []byte("\x00\x06\x00\x01"), []byte("\x00\x06\x00\x02"), 1), "midi-format"},
		{"far notes played freely", midiFile(0xE728, "\x00\x90\x3c\x40\x01\x3c\x00", strings.Repeat("\xff\xff\x7f\x90\x3c\x40\x01\x3c\x00", 12)), ""},
		{"four megabytes and more", make([]byte, 5<<20), "midi-syntax"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			start := time.Now()
			data := tt.data
			if tt.code == "midi-syntax" {
				copy(data, "MThd")
			}
			_, err := gradatim.Read("x.mid", data, 0)
			if took := time.Since(start); took > 2*time.Second {
				t.Errorf("took %v", took)
			}
			got := ""
			var ps leadsheet.Problems
			if err != nil {
				ps, _ = err.(leadsheet.Problems)
				for _, p := range ps {
					if p.Severity == leadsheet.Error {
						got = p.Code
					}
				}
			}
			if tt.name == "four megabytes and more" {
				tt.code = "file-too-large"
			}
			if got != tt.code && !(tt.code == "" && err == nil) {
				t.Errorf("%v (%s), want %s", err, got, tt.code)
			}
		})
	}
}
