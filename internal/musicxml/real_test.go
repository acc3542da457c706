package musicxml

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/musicxml/markup"
	"gradatim/internal/notate"
	"gradatim/internal/sharedtest"
)

// engraved is how a note is written in a published file.
type engraved struct {
	accidental, value, beam string
}

// TestRealPages writes 21 published piano accompaniments anew from their sound
// alone and compares with their engraving. Source: OpenScore Lieder Corpus (CC0),
// composers who died before 1951. Engravers differ from one another: in beams
// most of all, and these follow old prints. So the floors are what was measured,
// a guard against getting worse; but no accidental that they print may be missing.
func TestRealPages(t *testing.T) {
	lint, xsd, dir := sharedtest.Tool(t, "xmllint"), schema(t), t.TempDir()
	args := []string{"--noout", "--nonet", "--schema", xsd}
	type tally struct{ same, all int }
	var accidentals, values, beams tally
	count := func(c *tally, same bool) {
		c.all++
		if same {
			c.same++
		}
	}
	for _, f := range sharedtest.Accompaniments(t) {
		data, marks := label(readPacked(t, f))
		s, _, err := ReadScore(data, Options{File: filepath.Base(f)})
		if err != nil {
			t.Errorf("%s: %v", f, err)
			continue
		}
		page, problems := notate.Of(s)
		if err := problems.Err(); err != nil {
			t.Errorf("%s: %v", f, err)
			continue
		}
		out := filepath.Join(dir, filepath.Base(f)+".musicxml")
		if err := os.WriteFile(out, WritePage(page), 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, out)
		for _, b := range page.Bars {
			for _, v := range b.Voices {
				for _, e := range v.Events {
					for i, h := range e.Heads {
						m, ok := marks[h.ID]
						if !ok || !h.First {
							continue
						}
						if m.accidental != "" && h.Accidental == notate.Unneeded {
							t.Errorf("%s bar %d: %s has no %s", filepath.Base(f), b.Number, h.Pitch, m.accidental)
						}
						count(&accidentals, (h.Accidental == notate.Needed) == (m.accidental != ""))
						count(&values, typeNames[e.Value.Base]+strings.Repeat(".", e.Value.Dots) == m.value)
						if i == 0 {
							beam := ""
							if len(e.Beams) > 0 {
								beam = beamNames[e.Beams[0]]
							}
							count(&beams, beam == m.beam)
						}
					}
				}
			}
		}
	}
	for _, c := range []struct {
		what  string
		floor int // per mille
		tally
	}{{"accidentals", 998, accidentals}, {"note values", 995, values}, {"beams", 910, beams}} {
		t.Logf("%s: %d of %d the same", c.what, c.same, c.all)
		if c.all < 5000 || c.same*1000 < c.floor*c.all {
			t.Errorf("%s: only %d of %d are as published", c.what, c.same, c.all)
		}
	}
	if out, err := exec.Command(lint, args...).CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}

func readPacked(t *testing.T, file string) []byte {
	t.Helper()
	z, err := zip.OpenReader(file)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	i := slices.IndexFunc(z.File, func(e *zip.File) bool {
		return !strings.HasPrefix(e.Name, "META-INF") && (strings.HasSuffix(e.Name, ".xml") || strings.HasSuffix(e.Name, ".musicxml"))
	})
	if i < 0 {
		t.Fatal("no score in", file)
	}
	r, err := z.File[i].Open()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	b, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// label gives every note an id and returns how each is engraved.
func label(data []byte) ([]byte, map[string]engraved) {
	var out bytes.Buffer
	n := 0
	for {
		i := bytes.Index(data, []byte("<note"))
		if i < 0 || i+5 >= len(data) {
			break
		}
		out.Write(data[:i+5])
		data = data[i+5:]
		if data[0] == ' ' || data[0] == '>' {
			n++
			fmt.Fprintf(&out, ` id="x%d"`, n)
		}
	}
	out.Write(data)
	marks := map[string]engraved{}
	d := xml.NewDecoder(bytes.NewReader(out.Bytes()))
	var id, field string
	var m engraved
	for {
		tok, err := d.Token()
		if err != nil {
			return out.Bytes(), marks
		}
		switch e := tok.(type) {
		case xml.StartElement:
			field = e.Name.Local
			switch {
			case field == "note":
				m, id = engraved{}, markup.Attr(e, "id")
			case field == "dot":
				m.value += "."
			case field == "accidental" && (markup.Attr(e, "cautionary") == "yes" || markup.Attr(e, "parentheses") == "yes" || markup.Attr(e, "editorial") == "yes"),
				field == "beam" && markup.Attr(e, "number") != "1":
				field = ""
			}
		case xml.CharData:
			switch field {
			case "accidental":
				m.accidental = string(e)
			case "type":
				m.value = string(e)
			case "beam":
				m.beam = string(e)
			}
		case xml.EndElement:
			field = ""
			if e.Name.Local == "note" {
				marks[id] = m
			}
		}
	}
}
