//go:build linux && !race

package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// What a hostile file may cost: processor time, which unlike the clock does not
// depend on what else the machine does, and memory.
const (
	mostTime    = 2 * time.Second
	mostMemory  = 256 << 20
	longestPage = 8 * time.Second // for as long a tune as is arranged, at all levels
)

// TestHostile hands files that are made to hurt to the whole program, in a
// process of its own: each ends in placed problems, or in success where it is
// music after all, within the bounds, and leaves nothing half-written.
func TestHostile(t *testing.T) {
	if testing.Short() {
		t.Skip("takes long")
	}
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Repeat
	for _, tt := range []struct {
		name string
		make func(t *testing.T) []byte
		read bool // it can be read: it is music, if strange
		page bool // and arranged
	}{
		{"brackets.abc", func(*testing.T) []byte { return abcTune(text("[", 10<<20)) }, false, false},
		{"braces.abc", func(*testing.T) []byte { return abcTune(text("{", 3<<20)) }, false, false},
		{"quotes.abc", func(*testing.T) []byte { return abcTune(text(`"`, 3<<20)) }, false, false},
		{"line.abc", func(*testing.T) []byte { return abcTune(text("C", 3<<20)) }, false, false},
		{"tuplets.abc", func(*testing.T) []byte { return abcTune(text("(3", 1<<20) + "CDE|]") }, false, false},
		{"tunes.abc", func(*testing.T) []byte { return []byte(text("X:1\nK:C\n", 400_000)) }, false, false},
		{"words.abc", func(*testing.T) []byte {
			return []byte("X:1\nT:Words\nM:4/4\nK:C\nC4|\nw:" + text("la-", 1<<20) + "\n")
		}, false, false},
		{"title.abc", func(*testing.T) []byte {
			return []byte("X:1\nT:" + text("long ", 700_000) + "\nM:4/4\nL:1/4\nK:C\n\"C\"C4|]\n")
		}, false, false},
		{"million-bars.abc", func(*testing.T) []byte { return abcTune(text("C4|", 1_000_000)) }, false, false},
		{"bars.abc", func(*testing.T) []byte { return abcTune(text(`"C"CDEF|"G7"GFED|`, 9_000)) }, true, false},
		{"dense.abc", func(*testing.T) []byte {
			return abcTune(text(`"C"`+text("C/16D/16E/16F/16", 16)+`|"G7"`+text("G/16A/16B/16c/16", 16)+"|", 300))
		}, true, false},
		{"chords.abc", func(*testing.T) []byte { return abcTune(text(text(`"C"C/8"G7"D/8`, 16)+"|", 590)) }, true, false},
		{"most-bars.abc", func(*testing.T) []byte { return abcTune(text(`"C"CDEF|"Am"EDCE|"Dm"DEFA|"G7"GFED|`, 150)) }, true, true},
		{"most-notes.abc", func(*testing.T) []byte {
			return abcTune(text(`"C"`+text("C/4D/4E/4F/4", 4)+`|"G7"`+text("G/4A/4B/4c/4", 4)+"|", 187))
		}, true, true},
		{"most-chords.abc", func(*testing.T) []byte { return abcTune(text(text(`"C"C/2"G7"D/2`, 4)+"|", 300)) }, true, true},
		{"symbol.abc", func(*testing.T) []byte { return abcTune(`"C` + text("(b9)", 1<<19) + `"C4|]`) }, true, true},
		{"thin-bars.abc", func(*testing.T) []byte { return abcTune(text("|", 3<<20)) }, false, false},
		{"repeats.abc", func(*testing.T) []byte {
			return abcTune(text(`|:"C"CDEF`, 5000) + text(":|", 5000) + text(`|:"G"GABc::`, 50_000))
		}, false, false},
		{"parts.abc", func(*testing.T) []byte {
			return []byte("X:1\nT:Parts\nP:" + text("(", 12) + "A" + text("9)9", 12) + "\nM:4/4\nL:1/4\nK:C\nP:A\n\"C\"CDEF|]\n")
		}, false, false},
		{"macros.abc", func(*testing.T) []byte {
			return []byte("X:1\nm: ~a = ~a~a\nm: a = ~a~a\nM:4/4\nK:C\n~aaaa|]\n")
		}, true, true},
		{"numbers.abc", func(*testing.T) []byte {
			return abcTune(`"C"C99999999999999999999/77777777777777777 D0/0 E4/3/3/3/3/3/3/3|]`)
		}, true, false},
		{"octaves.abc", func(*testing.T) []byte { return abcTune(`"C"c` + text("'", 1<<20) + "|]") }, false, false},
		{"zeros.abc", func(*testing.T) []byte { return make([]byte, 3<<20) }, false, false},
		{"metre.abc", func(*testing.T) []byte { return []byte("X:1\nM:99999999/1\nL:1/99999999\nK:C\nC|]\n") }, true, true},
		{"deep.musicxml", func(*testing.T) []byte { return []byte(xmlHead + text("<part>", 2<<20)) }, false, false},
		{"attributes.musicxml", func(*testing.T) []byte {
			return []byte(xmlHead + "<part-list " + text("a='1' ", 2<<20) + "/>")
		}, false, false},
		{"tag.musicxml", func(*testing.T) []byte { return []byte("<" + text("a", 10<<20)) }, false, false},
		{"comment.musicxml", func(*testing.T) []byte { return []byte("<!--" + text("- ", 5<<20)) }, false, false},
		{"entities.musicxml", func(*testing.T) []byte { return entities() }, false, false},
		{"million-bars.musicxml", func(*testing.T) []byte { return xmlBars(300_000) }, false, false},
		{"repeats.musicxml", func(*testing.T) []byte { return xmlRepeats() }, true, false},
		{"divisions.musicxml", func(*testing.T) []byte {
			return xmlScore(`<attributes><divisions>2147483647</divisions></attributes><note><pitch><step>C</step><octave>4</octave></pitch><duration>1e308</duration></note>`)
		}, false, false},
		{"bomb.mxl", func(t *testing.T) []byte { return bomb(t, 256<<20) }, false, false},
		{"bombs.mxl", func(t *testing.T) []byte { return bombs(t) }, false, false},
		{"names.mxl", func(t *testing.T) []byte { return manyNames(t) }, false, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, tt.name), tt.make(t), 0o666); err != nil {
				t.Fatal(err)
			}
			cost(t, program, dir, tt.read, "read", tt.name, "--json")
			cost(t, program, dir, tt.page, "ladder", tt.name, "-o", "out", "--json")
			_, err := os.Stat(filepath.Join(dir, "out"))
			if written := err == nil; written != tt.page {
				t.Errorf("output written: %t", written)
			}
		})
	}
}

// TestHostileScores does the same with scores for the audit, which may be long.
func TestHostileScores(t *testing.T) {
	if testing.Short() {
		t.Skip("takes long")
	}
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name string
		data []byte
	}{
		{"deep.musicxml", []byte(xmlHead + strings.Repeat("<measure>", 1<<20))},
		{"million-bars.musicxml", xmlBars(300_000)},
		{"clusters.musicxml", pianoScore(200, 88)},
		{"long.musicxml", pianoScore(10_000, 2)},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, tt.name), tt.data, 0o666); err != nil {
				t.Fatal(err)
			}
			cost(t, program, dir, false, "audit", tt.name, "--json")
		})
	}
}

// cost runs the program and holds it to the bounds.
func cost(t *testing.T, program, dir string, ok bool, args ...string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	var out, errw bytes.Buffer
	cmd := exec.CommandContext(ctx, program, args...)
	cmd.Args[0], cmd.Dir, cmd.Stdout, cmd.Stderr = "gradatim", dir, &out, &errw
	peak := filepath.Join(t.TempDir(), "peak")
	cmd.Env = append(os.Environ(), peakFile+"="+peak)
	err := cmd.Run()
	if cmd.ProcessState == nil {
		t.Fatal(err)
	}
	if code := cmd.ProcessState.ExitCode(); ok && code != done || !ok && code != failed {
		t.Errorf("gradatim %q: exit code %d\n%.500s%.500s", args, code, &errw, &out)
		return
	}
	if errw.Len() > 0 {
		t.Errorf("gradatim %q: stderr: %.500s", args, &errw)
	}
	if !ok {
		placed(t, args, out.Bytes())
	}
	used := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	memory := readPeak(t, peak)
	t.Logf("%-6s %5d ms %4d MB", args[0], used.Milliseconds(), memory>>20)
	limit := mostTime
	if ok && args[0] == "ladder" {
		limit = longestPage
	}
	if used > limit {
		t.Errorf("gradatim %q: %v of processor time, more than %v", args, used, limit)
	}
	if memory > mostMemory {
		t.Errorf("gradatim %q: %d MB, more than %d", args, memory>>20, mostMemory>>20)
	}
}

// placed checks that what was printed says what is wrong with the file, and does
// not go on for ever.
func placed(t *testing.T, args []string, out []byte) {
	t.Helper()
	type problem struct{ Severity, Code, File string }
	var told struct{ Problems, Violations []problem }
	if err := json.Unmarshal(out, &told); err != nil {
		t.Fatalf("gradatim %q: %v\n%.300s", args, err, out)
	}
	errors := 0
	for _, p := range append(told.Problems, told.Violations...) {
		if p.Severity == "error" && p.Code != "" && p.File == args[1] {
			errors++
		}
	}
	if errors == 0 || len(told.Problems) > 1000 {
		t.Errorf("gradatim %q: %d problems, %d errors in the file\n%.500s", args, len(told.Problems), errors, out)
	}
}

// readPeak returns the most memory that a process had: VmHWM of its status, as
// it wrote it itself. (What wait4 reports counts the parent in.)
func readPeak(t *testing.T, file string) int64 {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	_, after, _ := strings.Cut(string(data), "VmHWM:")
	kb, err := strconv.ParseInt(strings.TrimSpace(strings.SplitN(after, "kB", 2)[0]), 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return kb << 10
}

func abcTune(body string) []byte {
	return []byte("X:1\nT:Hostile\nM:4/4\nL:1/4\nK:C\n" + body + "\n")
}

const xmlHead = `<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0">`

func xmlScore(bar string) []byte {
	return []byte(xmlHead + `<part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1"><measure number="1">` + bar + `</measure></part></score-partwise>`)
}

func xmlBars(n int) []byte {
	var b bytes.Buffer
	b.WriteString(xmlHead + `<part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1">`)
	for i := range n {
		fmt.Fprintf(&b, `<measure number="%d"><note><rest/><duration>4</duration></note></measure>`, i+1)
	}
	b.WriteString(`</part></score-partwise>`)
	return b.Bytes()
}

// xmlRepeats asks for each of a thousand bars to be played 999 times, and then
// from the start again, and again.
func xmlRepeats() []byte {
	var b bytes.Buffer
	b.WriteString(xmlHead + `<part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1">`)
	for i := range 1000 {
		fmt.Fprintf(&b, `<measure number="%d"><barline location="left"><repeat direction="forward"/></barline><direction><sound dacapo="yes" segno="s" dalsegno="s"/></direction>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration></note><barline location="right"><repeat direction="backward" times="999"/></barline></measure>`, i+1)
	}
	b.WriteString(`</part></score-partwise>`)
	return b.Bytes()
}

func entities() []byte {
	var b bytes.Buffer
	b.WriteString("<?xml version=\"1.0\"?><!DOCTYPE score-partwise [\n<!ENTITY a0 \"ha\">\n")
	for i := range 40 {
		fmt.Fprintf(&b, "<!ENTITY a%d \"%s\">\n", i+1, strings.Repeat(fmt.Sprintf("&a%d;", i), 10))
	}
	b.WriteString("]><score-partwise><work><work-title>&a40;</work-title></work></score-partwise>")
	return b.Bytes()
}

// pianoScore is a two-staff score of many bars with the same chord of many notes.
func pianoScore(bars, notes int) []byte {
	var b bytes.Buffer
	b.WriteString(xmlHead + `<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">`)
	for i := range bars {
		fmt.Fprintf(&b, `<measure number="%d">`, i+1)
		if i == 0 {
			b.WriteString(`<attributes><divisions>4</divisions><time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves></attributes>`)
		}
		for staff := range 2 {
			for range 4 {
				for k := range notes {
					chord := ""
					if k > 0 {
						chord = "<chord/>"
					}
					fmt.Fprintf(&b, `<note>%s<pitch><step>%c</step><octave>%d</octave></pitch><duration>4</duration><voice>%d</voice><type>quarter</type><staff>%d</staff></note>`,
						chord, "CDEFGAB"[k%7], 1+k/7%7, staff+1, staff+1)
				}
			}
			b.WriteString(`<backup><duration>16</duration></backup>`)
		}
		b.WriteString(`<forward><duration>16</duration></forward></measure>`)
	}
	b.WriteString(`</part></score-partwise>`)
	return b.Bytes()
}

const container = `<?xml version="1.0"?><container><rootfiles><rootfile full-path="score.xml"/></rootfiles></container>`

// bomb is a small zip whose score swells to n bytes.
func bomb(t *testing.T, n int) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	add(t, z, "META-INF/container.xml", []byte(container), 1)
	add(t, z, "score.xml", bytes.Repeat([]byte(" "), 1<<20), n>>20)
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// bombs holds many files that swell, all of which might be the score.
func bombs(t *testing.T) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := range 100 {
		add(t, z, fmt.Sprintf("score%d.xml", i), bytes.Repeat([]byte("<a>"), 1<<18), 4)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// manyNames has a directory of 200000 entries and no score.
func manyNames(t *testing.T) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := range 200_000 {
		if _, err := z.CreateHeader(&zip.FileHeader{Name: fmt.Sprint(i), Method: zip.Store}); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func add(t *testing.T, z *zip.Writer, name string, data []byte, times int) {
	w, err := z.Create(name)
	for range times {
		if err == nil {
			_, err = w.Write(data)
		}
	}
	if err != nil {
		t.Fatal(err)
	}
}
