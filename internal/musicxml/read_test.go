package musicxml

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/rand"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// bars makes a one-part score of measures.
func bars(measures ...string) []byte {
	return []byte(scoreHead + strings.Join(measures, "") + scoreTail)
}

const start = `<attributes><divisions>4</divisions><key><fifths>0</fifths><mode>major</mode></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`

// whole is a measure with one whole note and what else is given.
func whole(extra ...string) string {
	return "<measure>" + strings.Join(extra, "") + `<note><pitch><step>C</step><octave>4</octave></pitch><duration>16</duration></note></measure>`
}

func mustSong(t *testing.T, data []byte) leadsheet.Song {
	t.Helper()
	s, err := ReadSong(data, Options{File: "test.xml"})
	if err != nil {
		t.Fatal(err)
	}
	checkSong(t, s)
	return s
}

func TestEncodings(t *testing.T) {
	const title = "Küß mich – später"
	text := `<?xml version="1.0" encoding="ENC"?>` + "\n" + `<score-partwise><movement-title>TITLE</movement-title><part id="P1">` + firstBar + `</part></score-partwise>`
	latin := strings.NewReplacer("–", "-").Replace(title)
	as := func(enc, title string) string {
		return strings.NewReplacer("ENC", enc, "TITLE", title).Replace(text)
	}
	oneByte := func(s string, dash byte) []byte {
		var b []byte
		for _, r := range s {
			if r == '–' {
				b = append(b, dash)
			} else {
				b = append(b, byte(r))
			}
		}
		return b
	}
	put := func(order binary.AppendByteOrder, bom bool, s string) []byte {
		var b []byte
		if bom {
			b = order.AppendUint16(b, 0xFEFF)
		}
		for _, u := range utf16.Encode([]rune(s)) {
			b = order.AppendUint16(b, u)
		}
		return b
	}
	for _, tt := range []struct {
		name string
		data []byte
		want string
		code string
	}{
		{"UTF-8", []byte(as("UTF-8", title)), title, ""},
		{"UTF-8 with mark", append([]byte{0xEF, 0xBB, 0xBF}, as("UTF-8", title)...), title, ""},
		{"UTF-16 little", put(binary.LittleEndian, true, as("UTF-16", title)), title, ""},
		{"UTF-16 big", put(binary.BigEndian, true, as("UTF-16", title)), title, ""},
		{"UTF-16 without mark", put(binary.LittleEndian, false, as("UTF-16", title)), title, ""},
		{"Latin-1", oneByte(as("ISO-8859-1", latin), 0), latin, ""},
		{"Windows-1252", oneByte(as("windows-1252", title), 0x96), title, ""},
		{"Latin-1 that says UTF-8", oneByte(as("UTF-8", latin), 0), latin, "encoding-guessed"},
		{"HTML entities of the DTD", []byte(as("UTF-8", "K&uuml;&szlig; mich &amp; dich")), "Küß mich & dich", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := mustSong(t, tt.data)
			if s.Title != tt.want {
				t.Errorf("title %q, want %q", s.Title, tt.want)
			}
			if got := codes(s.Problems); (got["encoding-guessed"] > 0) != (tt.code != "") {
				t.Errorf("problems %v", s.Problems)
			}
		})
	}
}

func TestContainer(t *testing.T) {
	good := `<?xml version="1.0"?><container><rootfiles><rootfile full-path="a/tune.musicxml" media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>`
	tune := func() *strings.Reader { return strings.NewReader(scoreHead + firstBar + scoreTail) }
	for _, tt := range []struct {
		name, file, container string
		warns                 bool
	}{
		{"well formed", "a/tune.musicxml", good, false},
		{"apostrophe", "It's.xml", `<container><rootfiles><rootfile full-path='It's.xml'/></rootfiles></container>`, true},
		{"names another file", "b.xml", good, true},
		{"picture first", "a/tune.musicxml", strings.Replace(good, "<rootfiles>", `<rootfiles><rootfile full-path="cover.png" media-type="image/png"/>`, 1), false},
		{"missing", "b.xml", "", true},
		{"names nothing", "b.xml", "<container/>", true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := mustSong(t, zipped(t, tt.file, tt.container, tune()))
			if got := codes(s.Problems)["mxl-container"] > 0; got != tt.warns {
				t.Errorf("%v", s.Problems)
			}
		})
	}
}

func TestFrac(t *testing.T) {
	for _, tt := range []struct {
		f, divisions frac
		want         theory.Dur
		exact        bool
	}{
		{frac{1, 3}, frac{3, 1}, theory.Quarter / 3, true},
		{frac{85, 256}, frac{256, 1}, theory.Quarter / 3, false}, // a triplet in 256ths
		{frac{171, 256}, frac{256, 1}, theory.Quarter * 2 / 3, false},
		{frac{1, 480}, frac{480, 1}, 11, false}, // 10.5 rounds up
		{frac{1, 11}, frac{11, 1}, 458, false},
		{frac{7, 2}, frac{2, 1}, theory.Whole - theory.Eighth, true},
	} {
		if d, exact := tt.f.snap(tt.divisions); d != tt.want || exact != tt.exact {
			t.Errorf("%v at %v: %d %v, want %d %v", tt.f, tt.divisions, d, exact, tt.want, tt.exact)
		}
	}
	rnd := rand.New(rand.NewSource(1))
	for range 10000 {
		a, b := reduced(rnd.Int63n(1<<20)-1<<19, 1+rnd.Int63n(4000)), reduced(rnd.Int63n(1<<20), 1+rnd.Int63n(4000))
		if c := a.add(b).sub(b); c != a {
			t.Fatalf("%v + %v − %v = %v", a, b, b, c)
		}
	}
	for s, want := range map[string]frac{"4": {4, 1}, "1.5": {3, 2}, "-0.5": {-1, 2}, " 10 ": {10, 1}, ".25": {1, 4}} {
		if f, ok := parseDecimal(s); !ok || f != want {
			t.Errorf("%q: %v %v", s, f, ok)
		}
	}
	for _, s := range []string{"", "x", "1.x", "1e9", "99999999999999999999"} {
		if f, ok := parseDecimal(s); ok {
			t.Errorf("%q: %v", s, f)
		}
	}
}

// MusicXML 4.0, type ending-number: numbers between commas. The other ways are met in
// files.
func TestEndingNumbers(t *testing.T) {
	for s, want := range map[string][]int{
		"1": {1}, "1, 2": {1, 2}, "1,2,3": {1, 2, 3}, "1.": {1}, "1.-3.": {1, 2, 3}, "1 & 2": {1, 2}, "2 1": {1, 2}, "": nil, "x": nil, "0": nil, "99": nil,
	} {
		if got := endingNumbers(s); !slices.Equal(got, want) {
			t.Errorf("%q: %v, want %v", s, got, want)
		}
	}
}

func TestGuide(t *testing.T) {
	for words, want := range map[string]guide{
		"D.C. al Fine":                  {daCapo: true, alFine: true},
		"<b>Da Capo al Fine.</b>":       {daCapo: true, alFine: true},
		"D.S. al Coda":                  {dalSegno: true, alCoda: true},
		"Dal segno":                     {dalSegno: true},
		"D. C.":                         {daCapo: true},
		"To Coda":                       {toCoda: true},
		"Coda":                          {coda: true},
		"Fine":                          {fine: true},
		"FINE.":                         {fine: true},
		"4x Fine":                       {fine: true, times: 4},
		"3 repeats then D.C.al fine":    {daCapo: true, alFine: true, times: 3},
		"play 3 times":                  {times: 3},
		"finely":                        {},
		"a fine tune for an old friend": {},
		"( To B)":                       {},
		"Decoda":                        {},
	} {
		d := &direction{words: []string{tags.ReplaceAllString(words, " ")}}
		if got := d.guidance(); got != want {
			t.Errorf("%q: %+v, want %+v", words, got, want)
		}
	}
}

func TestWords(t *testing.T) {
	for w, want := range map[string]string{"Tempo di Valse": "tempo di valse", "Slow Blues": "blues", "Jigsaw puzzle": "", "Swing!": "swing",
		"Bossa Nova": "bossa nova", "march of the very small elephants at night": ""} {
		if got := rhythmOf(w); got != want {
			t.Errorf("rhythm %q: %q, want %q", w, got, want)
		}
	}
	for w, want := range map[string]string{"Verse 1:": "Verse", "CHORUS": "Chorus", "(Refrain)": "Refrain", "Bridge": "Bridge", "verse and worse": "", "Solo": "Solo"} {
		if got := sectionOf(w); got != want {
			t.Errorf("section %q: %q, want %q", w, got, want)
		}
	}
	for w, want := range map[string]leadsheet.Feel{"Medium swing": leadsheet.Swing, "Straight eighths": leadsheet.Straight, "Shuffle": leadsheet.Swing, "Andante": leadsheet.Unstated} {
		if got := feelOf(w); got != want {
			t.Errorf("feel %q: %v", w, got)
		}
	}
}

// MusicXML 4.0, element transpose: diatonic, chromatic, octave-change. What instruments
// sound is common practice, no source.
func TestTransposition(t *testing.T) {
	for _, tt := range []struct {
		name string
		t    transposition
		want string // what a written C5 sounds
	}{
		{"clarinet in B flat", transposition{diatonic: -1, chromatic: -2, hasDiatonic: true}, "Bb4"},
		{"the same without steps", transposition{chromatic: -2}, "Bb4"},
		{"tenor saxophone", transposition{diatonic: -1, chromatic: -2, octaves: -1, hasDiatonic: true}, "Bb3"},
		{"alto saxophone", transposition{diatonic: -5, chromatic: -9, hasDiatonic: true}, "Eb4"},
		{"alto saxophone without steps", transposition{chromatic: -9}, "Eb4"},
		{"guitar", transposition{octaves: -1}, "C4"},
		{"clarinet in A", transposition{chromatic: -3}, "A4"},
	} {
		p := theory.Name{Letter: theory.C}.At(5)
		if got := p.Up(tt.t.interval()).String(); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
}

// Bars that one would write by hand, and what becomes of them.
func TestRouteOfSheets(t *testing.T) {
	left := func(s string) string { return `<barline location="left">` + s + `</barline>` }
	right := func(s string) string { return `<barline location="right">` + s + `</barline>` }
	words := func(s string) string {
		return `<direction><direction-type><words>` + s + `</words></direction-type></direction>`
	}
	sign := func(s string) string { return `<direction><direction-type><` + s + `/></direction-type></direction>` }
	after := func(s string) string { // a measure with something behind its note
		return strings.Replace(whole(), "</measure>", s+"</measure>", 1)
	}
	forward, backward := `<repeat direction="forward"/>`, `<repeat direction="backward"/>`
	one, two := `<ending number="1" type="start"/>`, `<ending number="2" type="start"/>`
	stop := func(n string) string { return `<ending number="` + n + `" type="stop"/>` }
	for _, tt := range []struct {
		name     string
		measures []string
		want     string
		code     string
	}{
		{"an ending that stops too early", []string{whole(start), whole(left(one), right(stop("1"))), after(right(backward)), whole(left(two), right(stop("2")))}, "0 1 2 0 3", "ending-extended"},
		{"endings 1 and 3", []string{whole(start), after(left(one) + right(stop("1")+backward)), whole(left(strings.Replace(two, "2", "3", 1)))}, "0 1 0 1 0 2", "ending-missing"},
		{"endings without numbers", []string{whole(start), after(left(`<ending number="" type="start"/>`) + right(stop("")+backward)), whole(left(`<ending number=" " type="start"/>`))}, "0 1 0 2", "ending-unnumbered"},
		{"the same ending twice", []string{whole(start), after(left(one) + right(stop("1")+backward)), after(left(one) + right(stop("1")+backward)), whole(left(two))}, "0 1 0 2 0 3", "ending-number"},
		{"two sets of endings", []string{whole(start), after(left(one) + right(stop("1")+backward)), whole(left(two), right(stop("2"))), after(left(one) + right(stop("1")+backward)), whole(left(two))}, "0 1 0 2 3 4", ""},
		{"Fine without D.C.", []string{whole(start), after(words("Fine")), after(right(backward))}, "0 1 2 0 1", "fine-by-repeat"},
		{"Fine that nothing leads to", []string{whole(start), after(words("Fine")), whole()}, "0 1 2", "fine-unused"},
		{"coda signs alone", []string{whole(start), after(sign("coda")), after(words("D.C. al Coda")), whole(sign("coda"))}, "0 1 2 0 1 3", ""},
		{"one coda sign", []string{whole(start), after(words("D.C. al Coda")), whole(sign("coda"))}, "0 1 0 1 2", "to-coda-missing"},
		{"no coda", []string{whole(start), after(words("D.C. al Coda")), whole()}, "0 1 0 1 2", "coda-missing"},
		{"a sign at the end belongs to the next bar", []string{whole(start), after(sign("segno")), after(words("D.S."))}, "0 1 2 2", ""},
		{"how often, in words", []string{whole(start), after(words("3x") + right(backward))}, "0 1 0 1 0 1", "repeat-count"},
		{"how often, by number", []string{whole(start), after(right(`<repeat direction="backward" times="3"/>`))}, "0 1 0 1 0 1", ""},
		{"repeat sign at the start of the next bar", []string{whole(start, left(forward)), whole(), whole(left(backward))}, "0 1 0 1 2", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := mustSong(t, bars(tt.measures...))
			var got []string
			ids := map[int]int{} // lines are all 1: find bars by first playing
			for _, b := range s.Bars {
				got = append(got, fmt.Sprint(b.Written))
				ids[b.Written]++
			}
			if g := strings.Join(got, " "); g != tt.want {
				t.Errorf("played %s, want %s", g, tt.want)
			}
			if n := codes(s.Problems)[tt.code]; tt.code != "" && n == 0 || tt.code == "" && len(s.Problems) > 0 {
				t.Errorf("problems %v, want %q", s.Problems, tt.code)
			}
		})
	}
}

// Voices are told apart whichever way a file numbers them.
func TestHands(t *testing.T) {
	n := func(voice string, staff int, step string) string {
		return fmt.Sprintf(`<note><pitch><step>%s</step><octave>4</octave></pitch><duration>4</duration><voice>%s</voice><staff>%d</staff></note>`, step, voice, staff)
	}
	back := `<backup><duration>16</duration></backup>`
	two := strings.Replace(start, "</attributes>", "<staves>2</staves></attributes>", 1)
	for _, tt := range []struct{ name, body, want string }{
		{"1 to 4 and 5 to 8", n("1", 1, "C") + n("1", 1, "D") + n("1", 1, "E") + n("1", 1, "F") + back +
			n("5", 2, "C") + n("5", 2, "D") + n("5", 2, "E") + n("5", 1, "F"), "right1 4, left1 3, left1 on right 1"},
		{"anew on each staff", n("1", 1, "C") + n("1", 1, "D") + n("1", 1, "E") + n("1", 1, "F") + back +
			n("1", 2, "C") + n("1", 2, "D") + n("1", 2, "E") + n("1", 2, "F"), "right1 4, left1 4"},
		{"freely", n("1", 1, "C") + n("1", 1, "D") + n("1", 1, "E") + n("1", 1, "F") + back +
			n("2", 2, "C") + n("2", 2, "D") + n("2", 2, "E") + n("2", 2, "F") + back + n("3", 2, "G") + n("3", 2, "G") + n("3", 2, "G") + n("3", 2, "G"), "right1 4, left1 4, left2 4"},
		{"by names", n("top", 1, "C") + n("top", 1, "D") + n("top", 1, "E") + n("top", 1, "F") + back +
			n("low", 2, "C") + n("low", 2, "D") + n("low", 2, "E") + n("low", 2, "F"), "right1 4, left1 4"},
		{"four voices on a staff", n("1", 1, "C") + n("1", 1, "D") + n("1", 1, "E") + n("1", 1, "F") + back + n("2", 1, "C") + n("2", 1, "C") + n("2", 1, "C") + n("2", 1, "C") +
			back + n("3", 1, "E") + n("3", 1, "E") + n("3", 1, "E") + n("3", 1, "E") + back + n("4", 1, "G") + n("4", 1, "G") + n("4", 1, "G") + n("4", 1, "G") +
			back + n("5", 2, "C") + n("5", 2, "C") + n("5", 2, "C") + n("5", 2, "C"), "right1 4, right2 4, right3 4, right4 4, left1 4"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, _, err := ReadScore(bars("<measure>"+two+tt.body+"</measure>"), Options{})
			if err != nil {
				t.Fatal(err)
			}
			checkScore(t, s)
			count := map[string]int{}
			var order []string
			notes := slices.Clone(s.Notes)
			slices.SortStableFunc(notes, func(a, b score.Note) int {
				return int(a.Hand)*100 + int(a.Voice)*10 + int(a.Staff) - int(b.Hand)*100 - int(b.Voice)*10 - int(b.Staff)
			})
			for _, x := range notes {
				k := fmt.Sprintf("%s%d", x.Hand, x.Voice)
				if x.Staff != 0 {
					k += " on " + x.Staff.String()
				}
				if count[k]++; count[k] == 1 {
					order = append(order, k)
				}
			}
			for i, k := range order {
				order[i] = fmt.Sprintf("%s %d", k, count[k])
			}
			if g := strings.Join(order, ", "); g != tt.want {
				t.Errorf("%s, want %s", g, tt.want)
			}
		})
	}
}

// Scores that are none for piano are refused with a reason.
func TestRefusals(t *testing.T) {
	part := func(id, name, clef, body string) string {
		return `<part id="` + id + `"><measure>` + strings.Replace(start, "</attributes>", clef+"</attributes>", 1) + body + `</measure></part>`
	}
	file := func(parts ...string) []byte {
		return []byte("<score-partwise>" + strings.Join(parts, "") + "</score-partwise>")
	}
	onStaff := func(n int) string {
		return strings.Replace(oneNote, "</note>", fmt.Sprintf("<staff>%d</staff></note>", n), 1)
	}
	for _, tt := range []struct {
		code string
		data []byte
	}{
		{"score-one-staff", file(part("P1", "", "", oneNote))},
		{"score-staves", file(part("P1", "", "<staves>3</staves>", onStaff(1)+onStaff(2)+onStaff(3)))},
		{"score-tablature", file(part("P1", "", `<staves>2</staves><clef number="1"><sign>G</sign></clef><clef number="2"><sign>TAB</sign></clef>`, onStaff(1)+onStaff(2)))},
		{"no-pitch", file(part("P1", "", "<staves>2</staves>", "<note><unpitched/><duration>4</duration></note>"))},
		{"no-notes", file(part("P1", "", "<staves>2</staves>", "<note><rest/><duration>4</duration></note>"))},
		{"no-bars", []byte("<score-partwise><part-list/></score-partwise>")},
		{"score-no-piano", file(part("P1", "", "", oneNote), part("P2", "", "", oneNote))},
	} {
		_, _, err := ReadScore(tt.data, Options{File: "x.xml"})
		ps, ok := err.(leadsheet.Problems)
		if !ok || codes(ps)[tt.code] == 0 || ps[len(ps)-1].Pos.Line == 0 {
			t.Errorf("%s: %v", tt.code, err)
		}
	}
}

// Files that stay within the limits but pile up one thing are read, or refused,
// in reasonable time: nothing in the reader grows with the square of its input.
func TestHeavy(t *testing.T) {
	const n = 50_000
	two := strings.Replace(start, "</attributes>", "<staves>2</staves></attributes>", 1)
	left := `<backup><duration>16</duration></backup><note><pitch><step>C</step><octave>3</octave></pitch><duration>16</duration><voice>5</voice><staff>2</staff></note>`
	fill := func(s string, times int) []byte {
		return bars("<measure>" + two + strings.Repeat(s, times) + `<note><pitch><step>C</step><octave>4</octave></pitch><duration>16</duration></note>` + left + "</measure>")
	}
	tied := `<note><pitch><step>C</step><octave>4</octave></pitch><duration>16</duration><tie type="start"/></note><backup><duration>16</duration></backup>`
	stopped := strings.Replace(tied, "start", "stop", 1)
	for name, data := range map[string][]byte{
		"ties from one place": fill(tied, n/3),
		"ties to and fro":     fill(tied+stopped, n/6),
		"chord symbols":       fill(`<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>`, n),
		"different symbols":   fill(`<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony><harmony><root><root-step>D</root-step></root><kind>minor</kind></harmony>`, n/2),
		"silence":             fill(`<harmony><root><root-step>C</root-step></root><kind>none</kind></harmony><direction><direction-type><words>N.C.</words></direction-type></direction>`, n/2),
		"words":               fill(`<direction><direction-type><words>D.C. al Coda</words></direction-type></direction>`, n),
		"codas":               fill(`<direction><direction-type><coda/></direction-type></direction>`, n),
		"grace notes":         fill(`<note><grace/><pitch><step>D</step><octave>4</octave></pitch></note>`, n),
		"chord of one note":   fill(`<note><chord/><pitch><step>D</step><octave>4</octave></pitch><duration>16</duration></note>`, n),
		"voices":              fill(`<note><pitch><step>D</step><octave>4</octave></pitch><duration>1</duration></note><backup><duration>1</duration></backup>`, n/2),
		"tremolos": fill(`<note><pitch><step>D</step><octave>4</octave></pitch><duration>1</duration><notations><ornaments><tremolo type="start">3</tremolo></ornaments></notations></note>`+
			`<note><pitch><step>E</step><octave>4</octave></pitch><duration>1</duration><notations><ornaments><tremolo type="stop">3</tremolo></ornaments></notations></note><backup><duration>2</duration></backup>`, n/4),
		"faults":  fill(`<note><pitch><step>X</step><octave>4</octave></pitch><duration>1</duration></note><backup><duration>9</duration></backup>`, n/2),
		"endings": bars(whole(start) + strings.Repeat(whole(`<barline location="left"><ending number="1" type="start"/></barline>`), 10_000)),
		"repeats": bars(whole(two, left) + strings.Repeat(whole(`<barline location="left"><repeat direction="forward"/></barline>`), 10_000)),
	} {
		if !sharedtest.Takes(name, 5, 2) {
			continue
		}
		begin := sharedtest.Spent()
		s, err1 := ReadSong(data, Options{})
		if err1 == nil {
			checkSong(t, s)
		}
		song := sharedtest.Spent() - begin
		sc, _, err2 := ReadScore(data, Options{})
		if err2 == nil {
			checkScore(t, sc)
		}
		both := sharedtest.Spent() - begin
		t.Logf("%s: song %v, score %v", name, song.Round(time.Millisecond), (both - song).Round(time.Millisecond))
		if both > 2*time.Second && !raceEnabled {
			t.Errorf("%s: %v", name, both)
		}
	}
}

// Reading is a function: the same bytes give the same answer, and the data is
// left alone.
func TestDeterminism(t *testing.T) {
	files, _ := filepath.Glob("testdata/read/*xml")
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		keep := bytes.Clone(data)
		answer := func() string {
			var b strings.Builder
			if s, err := ReadSong(data, Options{}); err == nil {
				dumpSong(&b, s)
			} else {
				fmt.Fprint(&b, err)
			}
			if s, ps, err := ReadScore(data, Options{}); err == nil {
				dumpScore(&b, s, ps)
			} else {
				fmt.Fprint(&b, err)
			}
			return b.String()
		}
		first := answer()
		for range 5 {
			if answer() != first {
				t.Fatalf("%s: another answer", f)
			}
		}
		if !bytes.Equal(data, keep) {
			t.Fatalf("%s: the data was changed", f)
		}
	}
}
