package settings_test

import (
	"strings"
	"testing"

	"gradatim/internal/settings"
	"gradatim/internal/words"
)

// form is that of a level, of whose files the words are told.
var form = settings.Form{Encoding: "level-syntax.encoding", Syntax: "level-syntax", Key: "level-key"}

type value struct {
	Name  string `toml:"name"`
	Tempo []struct {
		Metres string `toml:"metres"`
	} `toml:"tempo"`
	Facts struct {
		Words []string       `toml:"words"`
		Of    map[string]int `toml:"of"`
	} `toml:"facts"`
}

func TestDecode(t *testing.T) {
	for _, tt := range []struct{ in, want string }{
		{"name = \"a\"\n[[tempo]]\nmetres = \"common\"\n", ""},
		{"", ""},
		{"name = \n", "f.toml:1:"},
		{"name = \"a\"\nname = \"b\"\n", "f.toml:2:"},
		{"name = \"\xff\"", "f.toml: error: the file is not UTF-8 text [level-syntax]; save it as UTF-8"},
		{"name = \"a\"\n[[tempo]]\nmetres = [\"common\"]\n", `f.toml:3: error: not readable as TOML: tempo.metres: incompatible types`},
		{"name = \"a\"\n  nmae = 3\n", `f.toml:2:3: error: unknown key "nmae" [level-key]; the form of a level file is in docs/formats.md`},
		{"name = \"a\"\n[facts]\nwords = []\nvalues = []\n", `f.toml:4:1: error: unknown key "facts.values"`},
		{"[[tempo]]\nmetres = \"x\"\n[[tempo]]\nmeters = \"x\"\n", `f.toml:4:1: error: unknown key "tempo.meters"`},
		{"[other]\na = 1\n", `f.toml:1:2: error: unknown key "other"`},
	} {
		var v value
		ps, _ := form.Decode("f.toml", []byte(tt.in), &v)
		if got := words.Must(words.Default).Problems(ps).Error(); tt.want == "" && len(ps) > 0 || !strings.Contains(got, tt.want) {
			t.Errorf("%q: %s, want %s", tt.in, got, tt.want)
		}
	}
}

func TestDecodeTellsAll(t *testing.T) {
	var v value
	ps, ok := form.Decode("f.toml", []byte("a = 1\nb = 2\n[facts]\nc = 3\n"), &v)
	if !ok || len(ps) != 3 {
		t.Errorf("%v", ps)
	}
}

func TestPlace(t *testing.T) {
	text := []byte("# name = 0\nname = 1\n\n  [facts]\n\"words\" = 2\nof = { common = 3 }\n[[tempo]]\nname = 4\n[a.b]\nc.d = 5\n")
	for _, tt := range []struct {
		key       string
		line, col int
	}{
		{"name", 2, 1}, {"facts", 4, 4}, {"facts.words", 5, 1}, {"facts.of", 6, 1}, {"facts.of.common", 6, 1}, {"tempo", 7, 3}, {"tempo.name", 8, 1},
		{"a", 9, 2}, {"a.b", 9, 2}, {"a.b.c.d", 10, 1}, {"words", 0, 0}, {"nothing", 0, 0}, {"facts.name", 0, 0},
	} {
		if line, col := settings.Place(text, strings.Split(tt.key, ".")...); line != tt.line || col != tt.col {
			t.Errorf("%s is at %d:%d, want %d:%d", tt.key, line, col, tt.line, tt.col)
		}
	}
}
