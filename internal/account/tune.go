package account

import (
	"encoding/json"
	"fmt"

	"gradatim/score"
)

// MarkTune tells a score that was read from a file which notes are the tune, by
// the account that was written beside it. An account that is no JSON, or of
// another FormatVersion, is an error; then the score is as it was.
func MarkTune(s score.Score, account []byte) (score.Score, error) {
	var a struct {
		Version int    `json:"version"`
		Notes   []note `json:"notes"`
	}
	if err := json.Unmarshal(account, &a); err != nil {
		return s, fmt.Errorf("the account is no JSON: %w", err)
	}
	if a.Version != FormatVersion {
		return s, fmt.Errorf("the account has version %d; version %d is read", a.Version, FormatVersion)
	}
	tune := map[string]int{}
	for _, n := range a.Notes {
		if n.Origin.Melody != nil {
			tune[n.ID] = *n.Origin.Melody + 1
		}
	}
	notes := make([]score.Note, len(s.Notes))
	for i, n := range s.Notes {
		if k := tune[n.ID]; k > 0 {
			n.Origin = score.Origin{Kind: score.Melody, Melody: k}
		}
		notes[i] = n
	}
	s.Notes = notes
	return s, nil
}
