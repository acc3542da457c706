package account

import (
	"encoding/json"
	"fmt"

	"gradatim/internal/delivery"
)

// RecordingsEnd ends the name of the file that lists a practice set.
const RecordingsEnd = ".recordings.json"

const recordingsKind = "gradatim recordings"

// Recordings list the files of a practice set.
type Recordings struct {
	Score string // SHA-256 of the page, in hexadecimal
	Takes []Recording
}

// Recording is one of them.
type Recording struct {
	delivery.Listed
	Take string `json:"take"` // a word: "left"
	What string `json:"what"` // in words
}

type recordings struct {
	Version int         `json:"version"`
	Kind    string      `json:"kind"`
	Score   string      `json:"score"`
	Takes   []Recording `json:"takes"`
}

// Encode writes the list in the shape of docs/formats.md.
func (r Recordings) Encode() ([]byte, error) {
	text, err := json.MarshalIndent(recordings{FormatVersion, recordingsKind, r.Score, r.Takes}, "", " ")
	return append(text, '\n'), err
}

// ReadRecordings reads such a list. The error says why it is none of ours.
func ReadRecordings(data []byte) (Recordings, error) {
	var r recordings
	if err := json.Unmarshal(data, &r); err != nil {
		return Recordings{}, err
	}
	if r.Kind != recordingsKind || r.Version != FormatVersion {
		return Recordings{}, fmt.Errorf("a list of kind %q, version %d, is not read", r.Kind, r.Version)
	}
	return Recordings{r.Score, r.Takes}, nil
}

// Files are all files of the list.
func (r Recordings) Files() []delivery.Listed {
	var out []delivery.Listed
	for _, t := range r.Takes {
		out = append(out, t.Listed)
	}
	return out
}
