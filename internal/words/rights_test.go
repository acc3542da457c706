package words_test

import (
	"testing"

	"gradatim/internal/words"
	"gradatim/leadsheet"
)

func TestRightsLine(t *testing.T) {
	for _, tt := range []struct {
		text, want string
	}{
		{"original, written for this project", "Original, written for this project. Rights unknown: for private practice only."},
		{"Copied by Ada Example <ada@example.org> in 1999.", "Copied by Ada Example in 1999. Rights unknown: for private practice only."},
		{"Ada Example (ada@example.org)", "Ada Example. Rights unknown: for private practice only."},
		{"étude", "Étude. Rights unknown: for private practice only."},
		{"", "Rights unknown: for private practice only."},
	} {
		if got := words.Must("en").Rights(leadsheet.Rights{Text: tt.text}); got != tt.want {
			t.Errorf("%q: %q, want %q", tt.text, got, tt.want)
		}
	}
}
