package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"sort"
	"strings"
	"testing"

	"gradatim/internal/account"
	"gradatim/internal/audit"
	"gradatim/internal/pack"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// formats is what docs/formats.md says of JSON: for each shape, its fields by
// path.
type formats map[string]map[string]field

type field struct {
	kind     string   // "string", "list of Problem", …
	optional bool     // may be absent
	null     bool     // may be null
	oneOf    []string // the values that there are; nil: any
}

func formatsFile() string { return filepath.Join(sharedtest.Root(), "docs", "formats.md") }

var (
	heading = regexp.MustCompile(`^### (\w+)$`)
	row     = regexp.MustCompile("^\\| `([\\w.\\[\\]]+)` \\| ([^|]+) \\| ([^|]+) \\|$")
	quoted  = regexp.MustCompile("`([^`]+)`")
)

// readFormats reads the tables under the heading "JSON".
func readFormats() (formats, error) {
	data, err := os.ReadFile(formatsFile())
	if err != nil {
		return nil, err
	}
	doc := formats{}
	var shape map[string]field
	inside := false
	for _, line := range strings.Split(string(data), "\n") {
		if strings.HasPrefix(line, "## ") {
			inside = line == "## JSON"
		}
		if !inside {
			continue
		}
		if m := heading.FindStringSubmatch(line); m != nil {
			shape = map[string]field{}
			doc[m[1]] = shape
		}
		m := row.FindStringSubmatch(line)
		if m == nil {
			if strings.HasPrefix(line, "| `") {
				return nil, fmt.Errorf("docs/formats.md: the row cannot be read: %s", line)
			}
			continue
		}
		var f field
		f.kind, f.optional = strings.CutSuffix(strings.TrimSpace(m[2]), "?")
		f.kind, f.null = strings.CutSuffix(f.kind, " or null")
		if values, ok := strings.CutPrefix(m[3], "one of "); ok {
			values, _, _ = strings.Cut(values, ":")
			values, _, _ = strings.Cut(values, ";")
			for _, q := range quoted.FindAllStringSubmatch(values, -1) {
				f.oneOf = append(f.oneOf, q[1])
			}
		}
		shape[m[1]] = f
	}
	if len(doc) < 5 {
		return nil, fmt.Errorf("docs/formats.md: only %d shapes found", len(doc))
	}
	return doc, nil
}

// check compares a value with a documented shape and says what differs.
func (doc formats) check(shape string, v any) []string {
	c := checker{doc: doc, seen: map[string]bool{}}
	c.object(shape, "", v)
	return c.wrong
}

type checker struct {
	doc   formats
	seen  map[string]bool // "Shape path"
	wrong []string
}

func (c *checker) bad(path, format string, args ...any) {
	if len(c.wrong) < 20 {
		c.wrong = append(c.wrong, path+": "+fmt.Sprintf(format, args...))
	}
}

// object checks an object whose fields are documented as path.NAME.
func (c *checker) object(shape, path string, v any) {
	fields := c.doc[shape]
	if fields == nil {
		c.bad(shape, "no such shape in docs/formats.md")
		return
	}
	o, ok := v.(map[string]any)
	if !ok {
		c.bad(shape+path, "not an object: %v", v)
		return
	}
	prefix := path
	if prefix != "" {
		prefix += "."
	}
	for name, value := range o {
		f, ok := fields[prefix+name]
		if !ok {
			c.bad(shape+" "+prefix+name, "not documented")
			continue
		}
		c.seen[shape+" "+prefix+name] = true
		if value == nil {
			if !f.null {
				c.bad(shape+" "+prefix+name, "null")
			}
			continue
		}
		c.value(shape, prefix+name, f, f.kind, value)
	}
	for name, f := range fields {
		rest, ok := strings.CutPrefix(name, prefix)
		if !ok || strings.Contains(rest, ".") || f.optional {
			continue
		}
		if _, ok := o[rest]; !ok {
			c.bad(shape+" "+name, "missing")
		}
	}
}

func (c *checker) value(shape, path string, f field, kind string, v any) {
	fits := true
	switch kind {
	case "string":
		var s string
		if s, fits = v.(string); fits && f.oneOf != nil && !slices.Contains(f.oneOf, s) {
			c.bad(shape+" "+path, "%q is not one of %q", s, f.oneOf)
		}
	case "boolean":
		_, fits = v.(bool)
	case "number":
		_, fits = v.(float64)
	case "integer":
		var n float64
		n, fits = v.(float64)
		fits = fits && n == math.Trunc(n)
	case "object":
		c.object(shape, path, v)
	default:
		item, list := strings.CutPrefix(kind, "list of ")
		if !list {
			if item, list = strings.CutPrefix(kind, "pair of "); list {
				l, _ := v.([]any)
				fits = len(l) == 2
			}
		}
		if !list {
			c.object(kind, "", v)
			return
		}
		l, ok := v.([]any)
		if !ok {
			fits = false
		}
		for _, x := range l {
			switch item {
			case "objects":
				c.object(shape, path+"[]", x)
			case "strings", "integers", "numbers":
				c.value(shape, path, field{oneOf: f.oneOf}, strings.TrimSuffix(item, "s"), x)
			default:
				c.object(item, "", x)
			}
		}
	}
	if !fits {
		c.bad(shape+" "+path, "is no %s: %v", kind, v)
	}
}

// TestFormatsTrue holds docs/formats.md to what the commands print: nothing
// undocumented, nothing documented that never comes.
func TestFormatsTrue(t *testing.T) {
	doc, err := readFormats()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	write := func(name, text string) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return p
	}
	c := checker{doc: doc, seen: map[string]bool{}}
	check := func(shape string, data []byte) {
		t.Helper()
		var v any
		if err := json.Unmarshal(data, &v); err != nil {
			t.Fatalf("%s: %v\n%.300s", shape, err, data)
		}
		c.object(shape, "", v)
	}
	do := func(want int, args ...string) []byte {
		t.Helper()
		var out, errw bytes.Buffer
		if code := run(context.Background(), args, strings.NewReader(""), &out, &errw); code != want {
			t.Fatalf("gradatim %q: exit code %d, want %d\n%s", args, code, want, &errw)
		}
		return out.Bytes()
	}

	full := write("full.abc", fullSheet)
	lantern := filepath.Join(sharedtest.Root(), "examples", "lantern.abc")
	check("Sheet", do(0, "read", full, "--json"))
	check("Sheet", do(0, "read", lantern, "--json"))
	wrong := write("wrong.abc", wrongSheet)
	check("Sheet", do(0, "read", wrong, "--json"))
	check("Ladder", do(0, "ladder", wrong, "-o", filepath.Join(dir, "mended"), "--levels", "2", "--mend", "--json"))
	mended, err := os.ReadFile(filepath.Join(dir, "mended", "wrong.2.json"))
	if err != nil {
		t.Fatal(err)
	}
	check("Account", mended)
	check("Book", do(0, "book", full, "--json"))
	check("Chord", do(0, "chord", "C13/E", "Db7", "--json"))
	check("Harmony", do(0, "harmonize", lantern, "--replace", "-o", filepath.Join(dir, "again.abc"), "--json"))
	check("Stopped", do(1, "read", write("broken.abc", "X:1\nT:Broken\nK:C\n"), "--json"))
	for i, sheet := range []string{full, lantern} {
		pages := filepath.Join(dir, fmt.Sprint("pages", i))
		around := []string{"none", "short"}[i]
		check("Ladder", do(0, "ladder", sheet, "-o", pages, "--introduction", around, "--ending", around, "--json"))
		accounts, err := filepath.Glob(filepath.Join(pages, "*.[0-9].json"))
		if err != nil || len(accounts) == 0 {
			t.Fatal("no accounts were written", err)
		}
		for _, a := range accounts {
			data, err := os.ReadFile(a)
			if err != nil {
				t.Fatal(err)
			}
			check("Account", data)
		}
	}
	// A folder in which an earlier run and a teacher have been at work.
	chosen := write("chosen.toml", "version = 2\n")
	mixed := filepath.Join(dir, "pages1")
	write(filepath.Join("pages1", "lantern.2.mid"), "hers")
	check("Ladder", do(0, "ladder", lantern, "-o", mixed, "--levels", "2", "--choices", chosen, "--json"))
	check("Ladder", do(0, "ladder", full, "-o", mixed, "--levels", "2", "--json"))
	// A shelf with tunes on it that have a history.
	t.Setenv("GRADATIM_AUTHOR", "Ada")
	t.Setenv("GRADATIM_SHELF", filepath.Join(dir, "shelf"))
	do(0, "shelf", "init")
	alike := write("alike.abc", strings.Replace(fullSheet, "T:Of Everything", "T:The Same", 1))
	check("Taken", do(1, "shelf", "add", full, lantern, alike, filepath.Join(dir, "broken.abc"), "--json"))
	check("Taken", do(0, "shelf", "add", lantern, "--json"))
	do(0, "shelf", "set", "lantern on the ninth stair", "--choices", chosen, "--note", "for the recital")
	do(0, "shelf", "rights", "lantern on the ninth stair", "--in", "DE", "--status", "licensed", "--basis", "a letter", "--evidence", "letter.pdf", "--holder", "Ada",
		"--year", "1890", "--died", "1901", "--since", "2020-01-01", "--until", "2199-12-31", "--note", "ask again")
	check("PressPlan", do(0, "press", "lantern", "--make", "scores", "--levels", "1", "--plan", "--json"))
	check("PressRun", do(0, "press", "lantern", "--make", "scores", "--levels", "1", "--territory", "DE", "--json"))
	check("Tunes", do(0, "shelf", "list", "--json"))
	check("Known", do(0, "shelf", "show", "lantern on the ninth stair", "--json"))
	check("Known", do(0, "shelf", "show", "the same", "--json"))
	do(0, "shelf", "add", write("poison.abc", "X:1\nT:Poison\nM:4/4\nL:1/4\nK:C\n\"C\"CEGE|\"G7\"DFBG|[K:C#]\"C#\"CEGE|\"G#7\"DFBG|\"C#\"C4|]\n"))
	check("PressRun", do(1, "press", "poison", "--make", "scores", "--levels", "1", "--keys", "D", "--json"))
	check("ShelfChecked", do(0, "shelf", "check", "--json"))
	page := filepath.Join(dir, "pages1", "lantern.1.musicxml")
	check("Judgement", do(0, "audit", page, "--sheet", lantern, "--json"))
	check("Judgement", do(1, "audit", page, "--sheet", full, "--json"))                                                                      // another tune
	check("Judgement", do(1, "audit", filepath.Join(dir, "pages1", "lantern.5.musicxml"), "--sheet", lantern, "--hand", "octave", "--json")) // a small hand
	check("Rating", do(0, "rate", filepath.Join(dir, "pages1", "lantern.5.musicxml"), "--hand", "octave", "--json"))
	check("Rating", do(0, "rate", write("bare.musicxml", bareScore), "--json"))
	// A real one is held to its shape in testdata/script/lesson.txtar, where there
	// is an engraver.
	manifest, err := json.Marshal(pack.Manifest{Rights: "own", Job: "0", Files: []pack.File{{}}})
	if err != nil {
		t.Fatal(err)
	}
	check("Manifest", manifest)
	set, err := account.Recordings{Takes: []account.Recording{{}}}.Encode()
	if err != nil {
		t.Fatal(err)
	}
	check("Recordings", set)
	elsewhere, err := json.Marshal(leadsheet.Problem{Severity: leadsheet.Info, Code: "bar-simplified", Text: "plainer",
		Pos: leadsheet.Pos{Bar: 1, Beat: leadsheet.BeatUnit, Part: leadsheet.Introduction}})
	if err != nil {
		t.Fatal(err)
	}
	check("Problem", elsewhere)
	for _, w := range c.wrong {
		t.Error(w)
	}
	var unseen []string
	for shape, fields := range doc {
		for path := range fields {
			if !c.seen[shape+" "+path] {
				unseen = append(unseen, shape+" "+path)
			}
		}
	}
	sort.Strings(unseen)
	for _, u := range unseen {
		t.Errorf("%s: documented, but no output has it", u)
	}
}

// fullSheet has something of everything that a sheet can say.
// wrongSheet has an error: B for Bb under a long D.
const wrongSheet = `X:1
T:Of Errors
M:4/4
L:1/4
K:F
"F"FGAc|"Bb"d4|"C7"cBAG|"F"A4|
"F"FGAc|"B"d4|"C7"cBAG|"F"F4|]
`

const fullSheet = `X:1
T:Of Everything
C:A. Maker (1820-1899)
C:words by B. Poet
C:arr. C. Scribe
O:Somewhere, printed 1851
S:an old book
R:waltz
M:3/4
L:1/8
Q:"Slowly" 1/4=90
K:G
P:A
D2|"G"{a}G2B2d2|"(Em)"e6|"Bbm77"d2c2A2|"D7"F6|
w:one two three four five six sev-en eight
w:a b c d e f g h
P:B
"G"G6|"C"z2e2c2|"G"B2A2G2|"N.C."G4|]
W:A verse below.
`

// bareScore has neither tempo nor chord symbols.
const bareScore = `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>
<part id="P1"><measure number="1">
<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves></attributes>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><voice>1</voice><staff>1</staff></note>
<backup><duration>4</duration></backup>
<note><pitch><step>C</step><octave>3</octave></pitch><duration>4</duration><voice>2</voice><staff>2</staff></note>
</measure></part></score-partwise>`

// TestFormatsRules keeps the list of rules in docs/formats.md; -update writes it.
func TestFormatsRules(t *testing.T) {
	data, err := os.ReadFile(formatsFile())
	if err != nil {
		t.Fatal(err)
	}
	_, after, ok := bytes.Cut(data, []byte("\n## Rules\n"))
	_, after, ok2 := bytes.Cut(after, []byte("|---|---|\n"))
	if !ok || !ok2 {
		t.Fatal("docs/formats.md has lost its place for the rules")
	}
	i := len(data) - len(after)
	j := i + bytes.Index(after, []byte("\n## "))
	var b bytes.Buffer
	for _, r := range audit.Rules() {
		fmt.Fprintf(&b, "| `%s` | %s |\n", r.Code, r.Says)
	}
	if bytes.Equal(data[i:j], b.Bytes()) {
		return
	}
	if !*update {
		t.Fatal("the list of rules in docs/formats.md is out of date: run with -update")
	}
	if err := os.WriteFile(formatsFile(), slices.Concat(data[:i], b.Bytes(), data[j:]), 0o666); err != nil {
		t.Fatal(err)
	}
}

// TestFormatsChecker: the check above is worth something only if it finds what it
// looks for.
func TestFormatsChecker(t *testing.T) {
	doc := formats{"A": {
		"n":        {kind: "integer"},
		"s":        {kind: "string", oneOf: []string{"x", "y"}},
		"o":        {kind: "object", optional: true},
		"o.b":      {kind: "boolean"},
		"l":        {kind: "list of objects"},
		"l[].p":    {kind: "pair of integers"},
		"l[].null": {kind: "string", null: true},
	}}
	for _, tt := range []struct {
		json string
		want []string
	}{
		{`{"n":1,"s":"x","l":[]}`, nil},
		{`{"n":1,"s":"y","o":{"b":true},"l":[{"p":[1,2],"null":null}]}`, nil},
		{`{"n":1.5,"s":"x","l":[]}`, []string{"A n: is no integer: 1.5"}},
		{`{"n":1,"s":"z","l":[]}`, []string{`A s: "z" is not one of ["x" "y"]`}},
		{`{"s":"x","l":[]}`, []string{"A n: missing"}},
		{`{"n":1,"s":"x","l":null}`, []string{"A l: null"}},
		{`{"n":1,"s":"x","l":[],"new":1}`, []string{"A new: not documented"}},
		{`{"n":1,"s":"x","l":[{"p":[1],"null":""}]}`, []string{"A l[].p: is no pair of integers: [1]"}},
		{`{"n":1,"s":"x","o":{},"l":[]}`, []string{"A o.b: missing"}},
	} {
		var v any
		if err := json.Unmarshal([]byte(tt.json), &v); err != nil {
			t.Fatal(err)
		}
		if got := doc.check("A", v); !reflect.DeepEqual(got, tt.want) {
			t.Errorf("%s: %q, want %q", tt.json, got, tt.want)
		}
	}
}
