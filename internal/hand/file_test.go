package hand_test

import (
	"strings"
	"testing"

	"gradatim/internal/hand"
	"gradatim/internal/words"
)

func TestReadProfilesBad(t *testing.T) {
	for _, tt := range []struct{ in, want string }{
		{"[mia]\nspan = \"huge\"\n", "hands.toml:1: error:"},
		{"x = 3\n", "not a table"},
		{"\n[mia]\nspan = \"octave\"\nfoot = 3\n", "hands.toml:2: error: profile \"mia\": unknown entry \"foot\""},
		{"[mia]\nspan = \"octave\"\nleft = \"ninth\"\n", "both hands"},
		{"[mia]\n", "gives no span"},
		{"[mia\n", "not readable as TOML"},
		{"[mia]\nspan = true\n", "neither text nor a number"},
	} {
		ps, problems := hand.ReadProfiles("hands.toml", []byte(tt.in))
		if len(problems) == 0 || !strings.Contains(words.Must(words.Default).Problems(problems).Error(), tt.want) {
			t.Errorf("%q: %v, want %q", tt.in, problems, tt.want)
		}
		if len(ps) != 0 {
			t.Errorf("%q: profiles %v", tt.in, ps)
		}
	}
}
