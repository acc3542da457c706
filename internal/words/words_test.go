package words

import (
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/reason"
	"gradatim/theory"
)

// TestEveryKindIsSaid holds that each kind of reason has a sentence in each language,
// with gaps for its own parts and for no others.
func TestEveryKindIsSaid(t *testing.T) {
	for _, id := range Languages() {
		w := Must(id)
		for _, r := range reason.Kinds() {
			typ := reflect.TypeOf(r)
			if typ.Kind() != reflect.Struct || typ.Name() == "Then" { // they bring their own keys
				continue
			}
			var fields []string
			for i := range typ.NumField() {
				if f := typ.Field(i); f.IsExported() {
					fields = append(fields, f.Name)
				}
			}
			keys := []string{"reason." + typ.Name()}
			switch r.(type) {
			case reason.Approach:
				keys, fields = keys[:0], []string{"Goal"}
				for _, way := range []reason.Way{reason.HalfAbove, reason.HalfBelow, reason.ScaleUp, reason.ScaleDown, reason.Fifth} {
					keys = append(keys, "reason.Approach."+string(way))
				}
			}
			for _, key := range keys {
				m, ok := w.messages[key]
				if !ok {
					t.Errorf("%s: no message %s", id, key)
				}
				got := m.names()
				slices.Sort(got)
				slices.Sort(fields)
				if !slices.Equal(slices.Compact(got), fields) {
					t.Errorf("%s: %s asks for %v, its parts are %v", id, key, got, fields)
				}
			}
		}
	}
}

// TestMessagesAreUsed holds that each reason without parts that the sources name has
// a message, and that no message of that sort is left over.
func TestMessagesAreUsed(t *testing.T) {
	text := sources(t)
	w := Must("en")
	for _, m := range regexp.MustCompile(`reason\.(Fact|Figure)\("([^"]+)"\)|Then\{(Figure): "([^"]+)"`).FindAllStringSubmatch(text, -1) {
		key := "fact." + m[2]
		if m[1] == "Figure" {
			key = figure(reason.Figure(m[2]))
		} else if m[3] != "" {
			key = figure(reason.Figure(m[4]))
		}
		if !w.Has(key) {
			t.Errorf("no message %s", key)
		}
	}
	for key := range w.messages {
		name, isFact := strings.CutPrefix(key, "fact.")
		if rest, ok := strings.CutPrefix(key, "technique."); ok && strings.Contains(rest, ".figure.") {
			name = strings.TrimSuffix(strings.Replace(rest, ".figure.", ".", 1), ".plain")
		} else if !isFact {
			continue
		}
		seen := strings.TrimPrefix(name, "tune-") // what is seen on a sheet has a name of its own
		if !strings.Contains(text, `"`+name+`"`) && !strings.Contains(text, `"`+seen+`"`) {
			t.Errorf("nobody says %s", key)
		}
	}
}

// sources is all of the program's own Go.
func sources(t *testing.T) string {
	var b strings.Builder
	err := filepath.WalkDir(sharedtest.Root(), func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || strings.HasPrefix(d.Name(), ".") && d.Name() != "." && path != sharedtest.Root()) {
			return filepath.SkipDir
		}
		if strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
			data, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			b.Write(data)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestTemplates(t *testing.T) {
	for _, bad := range []string{"{", "a } b", "{}", "{a b}", "{a", "{{a}}"} {
		if _, err := parseTemplate(bad); err == nil {
			t.Errorf("%q is read", bad)
		}
	}
	w, err := parse("en", []byte(`
[bars]
one = "{n} bar of {Chord}"
other = "{n} bars of {Chord}"
[list]
and = "{before} & {last}"
`))
	if err != nil {
		t.Fatal(err)
	}
	c := theory.Chord{Root: theory.Name{Letter: theory.B, Alter: -1}, Tones: theory.DegreesOf(theory.Degree{Number: 1}, theory.Degree{Number: 3}, theory.Degree{Number: 5})}
	for n, want := range map[int]string{0: "0 bars of B♭", 1: "1 bar of B♭", 2: "2 bars of B♭"} {
		if got := w.Say("bars", "n", n, "Chord", c); got != want {
			t.Errorf("%q, not %q", got, want)
		}
	}
	if got := w.List([]string{"a", "b", "c"}); got != "a, b & c" {
		t.Error(got)
	}
	if got := w.Say("bars", "n", 1) + w.Say("none"); got != "1 bar of ‹Chord›‹none›" {
		t.Error(got)
	}
}
