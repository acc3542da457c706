package markup_test

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/musicxml/markup"
)

// packed makes an archive of files, in order.
func packed(t *testing.T, files ...[2]string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range files {
		w, err := z.Create(f[0])
		if err != nil {
			t.Fatal(err)
		}
		w.Write([]byte(f[1]))
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestText(t *testing.T) {
	utf16 := []byte{0xFF, 0xFE}
	for _, r := range `<?xml version="1.0" encoding="UTF-16"?><a>é</a>` {
		utf16 = append(utf16, byte(r), byte(r>>8))
	}
	container := func(path string) [2]string {
		return [2]string{"META-INF/container.xml", `<container><rootfiles><rootfile full-path='` + path + `'/></rootfiles></container>`}
	}
	score := [2]string{"x/score.xml", "<a>é</a>"}
	for _, tt := range []struct {
		name string
		in   []byte
		told string // code of what is told
	}{
		{"UTF-8", []byte("<a>é</a>"), ""},
		{"byte order mark", []byte("\xEF\xBB\xBF<a>é</a>"), ""},
		{"Latin-1", []byte("<?xml version='1.0' encoding='ISO-8859-1'?><a>\xE9</a>"), ""},
		{"UTF-16", utf16, ""},
		{"not what it says", []byte("<a>\xE9</a>"), "encoding-guessed"},
		{"packed", packed(t, [2]string{"other.xml", "<b/>"}, score, container("x/score.xml")), ""},
		{"packed, the container malformed", packed(t, score, container("x/it's.xml")), "mxl-container"},
		{"packed, no container", packed(t, score), "mxl-container"},
		{"document type", []byte(`<!DOCTYPE a PUBLIC "x" "y"><!-- c --><a>&#233;</a>`), ""},
	} {
		text, told := markup.Text(tt.in)
		if told.Err() != nil {
			t.Errorf("%s: %v", tt.name, told)
			continue
		}
		c := markup.NewCursor(text)
		if _, ok := c.Next().(xml.StartElement); !ok {
			t.Errorf("%s: no element (%v)", tt.name, c.Err())
		}
		if got := c.Text(); got != "é" {
			t.Errorf("%s: %q", tt.name, got)
		}
		if code := strings.Join(codes(told), " "); code != tt.told {
			t.Errorf("%s: told %q, want %q", tt.name, code, tt.told)
		}
	}
}

func codes[P ~[]E, E interface{ String() string }](ps P) (out []string) {
	for _, p := range ps {
		_, s, _ := strings.Cut(p.String(), "[")
		s, _, _ = strings.Cut(s, "]")
		out = append(out, s)
	}
	return out
}

// A score that holds its bars in parts and one that holds its parts in bars are
// told alike, but for the order: part by part, bar by bar.
func TestWalk(t *testing.T) {
	visit := func(score string) (out []string) {
		c := markup.NewCursor([]byte(score))
		say := func(what string) func(xml.StartElement) {
			return func(e xml.StartElement) { out = append(out, what+" "+e.Name.Local+markup.Attr(e, "id")) }
		}
		c.Walk(markup.Visitor{Root: say("root"), Head: say("head"), Part: say("part"), Measure: func(id string, m xml.StartElement) {
			c.Each(func(e xml.StartElement) {
				out = append(out, fmt.Sprintf("%s %s: %s", id, markup.Attr(m, "number"), e.Name.Local))
			})
		}})
		if c.Err() != nil {
			t.Fatal(c.Err())
		}
		return out
	}
	part := visit(`<score-partwise><work><x/></work><part id="P"><measure number="1"><note><rest/></note></measure><measure number="2"><backup/></measure></part><part id="Q"><measure number="1"/><measure number="2"><sound/></measure></part></score-partwise>`)
	bar := visit(`<score-timewise><work><x/></work><measure number="1"><part id="P"><note><rest/></note></part><part id="Q"/></measure><measure number="2"><part id="P"><backup/></part><part id="Q"><sound/></part></measure></score-timewise>`)
	if want := []string{"root score-partwise", "head work", "part partP", "P 1: note", "P 2: backup", "part partQ", "Q 2: sound"}; !slices.Equal(part, want) {
		t.Errorf("part by part: %q", part)
	}
	if want := []string{"root score-timewise", "head work", "part partP", "P 1: note", "part partQ", "P 2: backup", "Q 2: sound"}; !slices.Equal(bar, want) {
		t.Errorf("bar by bar: %q", bar)
	}
}

func TestWalkRefuses(t *testing.T) {
	for in, want := range map[string]string{
		"<!-- nothing -->":                                "not-musicxml",
		"<opus/>":                                         "not-musicxml",
		"<score-partwise/><score-partwise/>":              "xml-syntax",
		"<score-partwise><part></score-partwise>":         "xml-syntax",
		"<score-partwise><part><measure>":                 "xml-truncated",
		"<score-partwise>&bomb;</score-partwise>":         "xml-syntax",
		"<!DOCTYPE a [<!ENTITY b 'c'>]><score-partwise/>": "xml-entities",
	} {
		c := markup.NewCursor([]byte(in))
		c.Walk(markup.Visitor{})
		if c.Err() == nil || c.Err().Code != want || c.Err().Pos.Line != 1 {
			t.Errorf("%s: %v, want %s in line 1", in, c.Err(), want)
		}
	}
}
