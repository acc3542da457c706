package smf_test

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/dictation"
	"gradatim/internal/smf"
)

// midiFile is a file of one track; events are written as they stand in the file.
func midiFile(division int, events ...string) []byte {
	body := strings.Join(events, "") + "\x00\xff\x2f\x00"
	n := len(body)
	return []byte("MThd\x00\x00\x00\x06\x00\x01\x00\x01" + string([]byte{byte(division >> 8), byte(division)}) +
		"MTrk" + string([]byte{byte(n >> 24), byte(n >> 16), byte(n >> 8), byte(n)}) + body)
}

// FuzzFile: what is read stands in its bars, in order, each note as long as something;
// reading twice gives the same; and what is refused says why.
func FuzzFile(f *testing.F) {
	f.Add(midiFile(480, "\x00\x90\x3c\x40", "\x83\x60\x80\x3c\x40", "\x00\x90\x3e\x40", "\x83\x60\x3e\x00"))
	f.Add(midiFile(96, "\x00\xff\x58\x04\x06\x03\x24\x08", "\x00\xff\x51\x03\x07\xa1\x20", "\x00\x91\x3c\x40\x10\x40\x40\x20\x3c\x00\x00\x40\x00"))
	f.Add(midiFile(0xE728, "\x00\x90\x3c\x40\x40\x3c\x00"))
	f.Add([]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\xff\xff\xff\xff\x00\x90\x3c"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<14 {
			t.Skip()
		}
		file, err := smf.Read(data, "x.mid")
		if err != nil {
			if !strings.Contains(err.Error(), "[") {
				t.Fatalf("refused without a code: %v", err)
			}
			return
		}
		s, _, err := dictation.Of(file, dictation.Options{})
		if err != nil {
			return
		}
		for i, b := range s.Bars {
			if b.Dur <= 0 || i > 0 && s.Bars[i-1].End() != b.At || !b.Meter.Valid() || !b.Key.Valid() {
				t.Fatalf("bar %d: %+v", i, b)
			}
		}
		for i, n := range s.Notes {
			if n.Dur <= 0 || n.At < 0 || n.End() > s.End() && n.At >= s.End() || i > 0 && s.Notes[i-1].At > n.At {
				t.Fatalf("note %d: %+v of %s", i, n, s.End())
			}
		}
		again, _, _ := dictation.Of(file, dictation.Options{})
		if fmt.Sprint(s) != fmt.Sprint(again) {
			t.Fatal("the second reading differs")
		}
	})
}
