package pack_test

import (
	"fmt"
	"html"
	"regexp"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"gradatim/internal/words"
)

// TestGerman: a lesson in German says so, says it in German throughout, and calls
// notes as German does, whatever the symbols are.
func TestGerman(t *testing.T) {
	english := sentences(t, "en")
	for key, s := range sentences(t, "de") {
		if english[key] == s { // signs
			delete(english, key)
		}
	}
	levels := map[string]string{} // all pages of each
	for name, page := range tree(t, german(t)) {
		if !strings.HasSuffix(name, ".html") {
			continue
		}
		if !strings.Contains(page, `<html lang="de">`) {
			t.Errorf("%s does not tell its language", name)
		}
		text := html.UnescapeString(regexp.MustCompile(`(?s)<head>.*?</head>|<script.*?</script>|<[^>]*>`).ReplaceAllString(page, "\n"))
		for key, s := range english {
			if strings.Contains(text, s) {
				t.Errorf("%s says %q, the English of %s", name, s, key)
			}
		}
		if m := regexp.MustCompile(`^level-[0-9]+`).FindString(name); m != "" {
			levels[m] += page
		}
	}
	if len(levels) != 2 {
		t.Errorf("pages of %d levels", len(levels))
	}
	for name, pages := range levels {
		for _, want := range []string{"Was du schon können solltest", "G-Dur", "<td>Fis</td>", `"n":"H"`, `"{bar}, Schlag {beat}"`, ">c¹</text>"} {
			if !strings.Contains(pages, want) {
				t.Errorf("%s has no %q", name, want)
			}
		}
	}
}

// sentences are the messages of a language without gaps, of three words or more.
func sentences(t *testing.T, id string) map[string]string {
	t.Helper()
	var all map[string]any
	if err := toml.Unmarshal(words.Must(id).Source(), &all); err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	var add func(key string, v any)
	add = func(key string, v any) {
		switch v := v.(type) {
		case string:
			if len(strings.Fields(v)) >= 3 && !strings.Contains(v, "{") {
				out[key] = v
			}
		case []any:
			for i, x := range v {
				add(fmt.Sprintf("%s.%d", key, i), x)
			}
		case map[string]any:
			for k, x := range v {
				add(key+"."+k, x)
			}
		}
	}
	add("", all)
	if len(out) < 300 {
		t.Fatalf("only %d sentences of %s", len(out), id)
	}
	return out
}
