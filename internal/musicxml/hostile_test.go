package musicxml

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"time"

	"gradatim/internal/musicxml/markup"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

const (
	scoreHead = `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Tune</part-name></score-part></part-list><part id="P1">`
	scoreTail = `</part></score-partwise>`
	oneNote   = `<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration></note>`
	firstBar  = `<measure number="1"><attributes><divisions>1</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>` + oneNote + `</measure>`
)

// zipped packs a score; name is its place in the archive.
func zipped(t testing.TB, name string, container string, data io.Reader) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	put := func(name string, r io.Reader) {
		w, err := z.Create(name)
		if err == nil {
			_, err = io.Copy(w, r)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if container != "" {
		put("META-INF/container.xml", strings.NewReader(container))
	}
	put(name, data)
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// manyFiles packs n empty files and a score.
func manyFiles(t testing.TB, n int) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := range n {
		if _, err := z.Create(fmt.Sprintf("f%d.txt", i)); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

// hostile are files that try to cost more than they may, with the code of the
// answer. They are made when they are needed.
var hostile = []struct {
	name, code string
	make       func(t testing.TB) []byte
}{
	{"nothing", "file-empty", func(testing.TB) []byte { return nil }},
	{"blank", "file-empty", func(testing.TB) []byte { return bytes.Repeat([]byte(" \n"), 1<<20) }},
	{"ten megabytes of brackets", "not-musicxml", func(testing.TB) []byte { return bytes.Repeat([]byte("["), 10<<20) }},
	{"ten megabytes of brackets inside", "xml-text-too-long", func(testing.TB) []byte {
		return []byte(scoreHead + strings.Repeat("[", 10<<20) + scoreTail)
	}},
	{"binary", "not-musicxml", func(testing.TB) []byte { return []byte{0x89, 'P', 'N', 'G', 0, 1, 2, 3} }},
	{"a million bars", "bars-too-many", func(testing.TB) []byte {
		return []byte(scoreHead + firstBar + strings.Repeat("<measure/>", 1_000_000) + scoreTail)
	}},
	{"a million notes", "notes-too-many", func(testing.TB) []byte {
		return []byte(scoreHead + firstBar + "<measure>" + strings.Repeat("<note><rest/></note>", 1_000_000) + "</measure>" + scoreTail)
	}},
	{"a million parts", "parts-too-many", func(testing.TB) []byte {
		var b strings.Builder
		b.WriteString("<score-partwise><part-list>")
		for i := range 1_000_000 {
			fmt.Fprintf(&b, `<score-part id="P%d"/>`, i)
		}
		return []byte(b.String() + "</part-list></score-partwise>")
	}},
	{"too large", "file-too-large", func(testing.TB) []byte { return bytes.Repeat([]byte("<a/>"), markup.MaxInput/4+1) }},
	{"elements without end", "not-musicxml", func(testing.TB) []byte { return bytes.Repeat([]byte("<a/>"), markup.MaxInput/4-1) }},
	{"unknown elements", "xml-too-large", func(testing.TB) []byte {
		return []byte(scoreHead + "<measure>" + strings.Repeat("<a/>", markup.MaxInput/4-200) + "</measure>" + scoreTail)
	}},
	{"deep nesting", "xml-too-deep", func(testing.TB) []byte {
		return []byte(scoreHead + "<measure>" + strings.Repeat("<a>", 1<<20) + scoreTail)
	}},
	{"an element with a million attributes", "xml-tag-too-long", func(testing.TB) []byte {
		return []byte("<score-partwise " + strings.Repeat(`a="" `, 1_000_000) + "/>")
	}},
	{"an endless attribute", "xml-tag-too-long", func(testing.TB) []byte {
		return []byte(`<score-partwise a="` + strings.Repeat(`>`, 10<<20) + `"/>`)
	}},
	{"an endless comment", "xml-tag-too-long", func(testing.TB) []byte { return []byte("<!--" + strings.Repeat("-", 10<<20)) }},
	{"entity expansion", "xml-entities", func(testing.TB) []byte {
		dtd := `<!DOCTYPE score-partwise [<!ENTITY a "aaaaaaaaaa">`
		for c := 'b'; c <= 'j'; c++ {
			dtd += fmt.Sprintf(`<!ENTITY %c "%s">`, c, strings.Repeat(fmt.Sprintf("&%c;", c-1), 10))
		}
		return []byte(`<?xml version="1.0"?>` + dtd + `]><score-partwise><movement-title>&j;</movement-title></score-partwise>`)
	}},
	{"external entity", "xml-entities", func(testing.TB) []byte {
		return []byte(`<!DOCTYPE score-partwise [<!ENTITY x SYSTEM "file:///etc/hostname">]><score-partwise><movement-title>&x;</movement-title></score-partwise>`)
	}},
	{"unknown entity", "xml-syntax", func(testing.TB) []byte {
		return []byte(`<score-partwise><movement-title>&bomb;</movement-title></score-partwise>`)
	}},
	{"zip bomb", "file-too-large", func(t testing.TB) []byte {
		return zipped(t, "score.xml", "", io.LimitReader(zeros{}, markup.MaxInput+1))
	}},
	{"tightly packed", "mxl-ratio", func(t testing.TB) []byte {
		return zipped(t, "score.xml", "", io.LimitReader(zeros{}, 20<<20))
	}},
	{"many files", "mxl-entries", func(t testing.TB) []byte { return manyFiles(t, 1001) }},
	{"cut-off archive", "mxl-damaged", func(t testing.TB) []byte {
		b := zipped(t, "score.xml", "", strings.NewReader(scoreHead+firstBar+scoreTail))
		return b[:len(b)-30]
	}},
	{"archive without a score", "mxl-no-score", func(t testing.TB) []byte { return zipped(t, "readme.txt", "", strings.NewReader("hello")) }},
	{"archive that lies about its size", "mxl-damaged", func(t testing.TB) []byte {
		b := zipped(t, "score.xml", "", strings.NewReader(strings.Repeat(scoreHead, 100)))
		i := bytes.Index(b, []byte("PK\x01\x02"))
		copy(b[i+24:], []byte{10, 0, 0, 0}) // uncompressed size in the directory
		return b
	}},
	{"cut off", "xml-truncated", func(testing.TB) []byte { return []byte(scoreHead + firstBar + `<measure number="2"><note><pitch><st`) }},
	{"cut off between elements", "xml-truncated", func(testing.TB) []byte { return []byte(scoreHead + firstBar) }},
	{"crossed tags", "xml-syntax", func(testing.TB) []byte { return []byte(scoreHead + "<measure><note></measure></note>" + scoreTail) }},
	{"another format", "not-musicxml", func(testing.TB) []byte { return []byte("<html><body/></html>") }},
	{"an empty score", "no-bars", func(testing.TB) []byte { return []byte("<score-partwise/>") }},
	{"unknown encoding", "encoding-unknown", func(testing.TB) []byte { return []byte(`<?xml version="1.0" encoding="klingon"?><score-partwise/>`) }},
	{"no divisions at all", "divisions-invalid", func(testing.TB) []byte {
		return []byte(scoreHead + `<measure><attributes><divisions>0</divisions></attributes>` + oneNote + `</measure>` + scoreTail)
	}},
	{"an endless bar", "bar-too-long", func(testing.TB) []byte {
		return []byte(scoreHead + firstBar + "<measure>" + strings.Repeat(oneNote, 2000) + "</measure>" + scoreTail)
	}},
	{"repeats that multiply", "too-long", func(testing.TB) []byte {
		var b strings.Builder
		b.WriteString(scoreHead + firstBar)
		for range 3000 {
			b.WriteString(`<measure><barline location="left"><repeat direction="forward"/></barline>` + oneNote +
				`<barline location="right"><repeat direction="backward" times="1000000000"/></barline></measure>`)
		}
		return []byte(b.String() + scoreTail)
	}},
	{"notes that multiply", "too-long", func(testing.TB) []byte {
		bar := strings.Repeat(strings.Replace(oneNote, "<duration>4", "<duration>1", 1), 4)
		return []byte(scoreHead + strings.Replace(firstBar, "<divisions>1", "<divisions>1000", 1) +
			`<measure><barline location="left"><repeat direction="forward"/></barline>` + strings.Repeat(bar, 2500) +
			`<barline location="right"><repeat direction="backward" times="32"/></barline></measure>` + scoreTail)
	}},
}

// Every hostile file ends in a placed Error, within 2 seconds and 256 MB.
func TestHostile(t *testing.T) {
	for _, h := range hostile {
		if !sharedtest.Takes(h.name, 4, 1) {
			continue
		}
		t.Run(h.name, func(t *testing.T) {
			data := h.make(t)
			for _, read := range []struct {
				name string
				do   func() error
			}{
				{"song", func() error { _, err := ReadSong(data, Options{File: "x.xml"}); return err }},
				{"score", func() error { _, _, err := ReadScore(data, Options{File: "x.xml"}); return err }},
			} {
				start := sharedtest.Spent()
				err := read.do()
				took := sharedtest.Spent() - start
				if read.name == "score" && (strings.HasSuffix(h.name, "multiply") || h.code == "bar-too-long") {
					continue // a score has two staves and does not play repeats out
				}
				var ps leadsheet.Problems
				if !errors.As(err, &ps) || ps.Err() == nil {
					t.Fatalf("%s: no Problems: %v", read.name, err)
				}
				last := leadsheet.Problem{}
				for _, p := range ps {
					if p.Severity == leadsheet.Error {
						last = p
					}
				}
				if last.Code != h.code {
					t.Errorf("%s: %s; want %s", read.name, last, h.code)
				}
				if last.Pos.File != "x.xml" {
					t.Errorf("%s: not placed: %s", read.name, last)
				}
				if took > 2*time.Second && !raceEnabled {
					t.Errorf("%s: took %v", read.name, took)
				}
				t.Logf("%s: %v: %s", read.name, took.Round(time.Millisecond), last)
			}
		})
	}
	// What the heap took from the system at its largest, with the files made here
	// and all of the above.
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	t.Logf("heap at its largest: %d MB", m.HeapSys>>20)
	if m.HeapSys > 256<<20 && !raceEnabled {
		t.Errorf("the heap grew to %d MB", m.HeapSys>>20)
	}
}

// raceEnabled would make timing meaningless; it is set by a build tag.
var raceEnabled = false
