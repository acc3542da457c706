package workbook_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/engrave"
	"gradatim/internal/hand"
	"gradatim/internal/pack/workbook"
	"gradatim/internal/sharedtest"
	"gradatim/internal/teach"
	"gradatim/leadsheet"
)

var (
	once sync.Once
	eng  *engrave.Engraver
	fail error
)

func engraver(t testing.TB) *engrave.Engraver {
	t.Helper()
	if testing.Short() {
		t.Skip("makes a workbook")
	}
	once.Do(func() { eng, fail = engrave.New(engrave.Config{}) })
	if fail != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(fail)
		}
		t.Skip(fail)
	}
	return eng
}

func example(t testing.TB, name string) leadsheet.Song {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", name+".abc"))
	if err != nil {
		t.Fatal(err)
	}
	return read(t, name+".abc", string(data))
}

func read(t testing.TB, name, abc string) leadsheet.Song {
	t.Helper()
	s, err := gradatim.Read(name, []byte(abc), 0)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// input makes the ladder of a song and its lesson.
func input(t testing.TB, s leadsheet.Song) workbook.Input {
	t.Helper()
	as, err := edition.Make(context.Background(), s, edition.Options{})
	if err != nil {
		t.Fatal(err)
	}
	lesson, err := teach.Prepare(context.Background(), edition.Lesson(context.Background(), as, hand.Default()))
	if err != nil {
		t.Fatal(err)
	}
	in := workbook.Input{Lesson: lesson, Rights: s.Rights, Program: "made for the tests"}
	for _, a := range as {
		if !a.Failed {
			in.Scores = append(in.Scores, hand.Print(a.Score, a.Level.Fingers))
		}
	}
	return in
}

// run runs a program of others and returns what it prints.
func run(t testing.TB, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(sharedtest.Tool(t, name), args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}

func makeBook(t testing.TB, in workbook.Input, o workbook.Options) ([]byte, leadsheet.Problems) {
	t.Helper()
	b, ps, err := workbook.Make(context.Background(), engraver(t), in, o)
	if err != nil {
		t.Fatal(err)
	}
	if dir := os.Getenv("WORKBOOKS"); dir != "" { // to be looked at
		name := strings.NewReplacer("/", "-", " ", "-").Replace(t.Name()) + ".pdf"
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return b, ps
}

func save(t testing.TB, b []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "workbook.pdf")
	if err := os.WriteFile(file, b, 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

// words is a text as a reader searches it, whatever its lines.
func words(s string) string { return strings.Join(strings.Fields(s), " ") }

// inOrder tells which of some texts does not come after the ones before it.
func inOrder(t *testing.T, text string, wants ...string) {
	t.Helper()
	at := 0
	for _, w := range wants {
		w = words(w)
		i := strings.Index(text[at:], w)
		if i < 0 {
			t.Errorf("%q is missing, or stands before what it should follow", w)
			continue
		}
		at += i + len(w)
	}
}

// upTo keeps the first levels of a lesson, to save time.
func upTo(in workbook.Input, n int) workbook.Input {
	in.Lesson.Levels, in.Scores = in.Lesson.Levels[:n], in.Scores[:n]
	return in
}

// A whole workbook, read by poppler and qpdf.
func TestWorkbook(t *testing.T) {
	song := example(t, "ferry")
	song.Rights.Status, song.Rights.Territories = leadsheet.Licensed, []string{"Norway"}
	song.Rights.Licence = "for one class"
	in := input(t, song)
	in.Own = workbook.Own{Studio: "Studio Lindenhof", Dedication: []string{"For Anna."}, Introduction: []string{"We learn this tune together."},
		Levels: [][]string{{"Begin with the left hand, she said."}}}
	b, ps := makeBook(t, in, workbook.Options{})
	if len(ps) > 0 {
		t.Error(ps)
	}
	file := save(t, b)
	run(t, "qpdf", "--check", file)
	for _, f := range strings.Split(strings.TrimSpace(run(t, "pdffonts", file)), "\n")[2:] {
		if !strings.Contains(f, "+LiberationSerif") || !strings.Contains(f, "yes yes yes") {
			t.Errorf("not an embedded subset with Unicode: %s", f)
		}
	}
	info := run(t, "pdfinfo", "-box", file)
	for _, want := range []string{"Title:           " + in.Lesson.Title, "Tagged:          yes", "595.28 x 841.89 pts (A4)", "Author:"} {
		if !strings.Contains(info, want) {
			t.Errorf("no %q in\n%s", want, info)
		}
	}
	text := words(run(t, "pdftotext", file, "-"))
	inOrder(t, text, in.Lesson.Title, "Studio Lindenhof", "For Anna.", "Workbook for piano in 5 levels", "Licensed: for one class", "For Norway.", "Before you play", "We learn this tune together.",
		"How to use this book", "Begin with the left hand, she said.", "Bring with you")
	at := strings.Index(text, "How to use this book")
	text = text[at:]
	behind := strings.LastIndex(text, "Glossary") // after the levels
	if behind < 0 {
		t.Fatal("no glossary")
	}
	for i, l := range in.Lesson.Levels {
		start := strings.Index(text, l.Title)
		head := text[start:]
		next := behind - start
		if i+1 < len(in.Lesson.Levels) {
			next = strings.Index(head, in.Lesson.Levels[i+1].Title)
		}
		if start < 0 || next < 0 {
			t.Fatalf("level %d is not there, or not followed by the next", l.Number)
		}
		level := head[:next]
		inOrder(t, level, l.Title, "Bring with you", "Chords", "New here", "Drills", "Practice plan", "The steps", "When to go on, and when to stop", "Chords", "My practice", "Tempo reached")
		for _, n := range l.New {
			if w := n.Name + ". " + strings.ToUpper(n.Stage[:1]) + n.Stage[1:]; !strings.Contains(level, words(w)) {
				t.Errorf("level %d: no %q", l.Number, w)
			}
		}
		for _, a := range l.Also {
			if !strings.Contains(level, words(a.What+" "+a.How)) {
				t.Errorf("level %d: nothing of %s", l.Number, a.Name)
			}
		}
		// Each technique has its example, here.
		for _, n := range l.New {
			for _, s := range n.Practise {
				if !strings.Contains(level, words(s)) {
					t.Errorf("level %d: %s lacks %q", l.Number, n.Name, s)
				}
			}
		}
		for _, d := range l.Drills {
			if !strings.Contains(level, words(d.Name)) {
				t.Errorf("level %d: no drill %q", l.Number, d.Name)
			}
		}
		// Every chord card with all that it says.
		for _, c := range l.Chords {
			if !strings.Contains(level, c.Symbol) {
				t.Errorf("level %d: no chord symbol %s", l.Number, c.Symbol)
			}
			for _, tone := range c.Tones { // here, or at the first level that has the chord
				if w := words(tone.Degree + " " + strings.ReplaceAll(tone.Note, "𝄫", "♭♭") + " (" + tone.Name + ")"); !strings.Contains(strings.ReplaceAll(text[:start+next], " ", ""), strings.ReplaceAll(w, " ", "")) {
					t.Errorf("level %d, %s: no %q", l.Number, c.Symbol, w)
				}
			}
		}
	}
	inOrder(t, text, "Glossary", "Credits", "Rights.")

	// Pages are numbered, and the contents name the pages where sections begin.
	pages := strings.Split(strings.TrimSuffix(run(t, "pdftotext", file, "-"), "\f"), "\f")
	for i, p := range pages[1:] {
		if want := fmt.Sprintf("page %d of %d", i+2, len(pages)); !strings.Contains(words(p), want) {
			t.Errorf("no %q", want)
		}
	}
	for i, p := range pages[1:] { // nothing stands alone on a page
		if n := len(strings.Fields(p)); n < 20 {
			t.Errorf("page %d has only %d words: %q", i+2, n, p)
		}
	}
	found := 0
	for _, line := range strings.Split(pages[0], "\n") {
		m := regexp.MustCompile(`^(\d+) +(Level \d.*|Glossary|Credits|Before you play)$`).FindStringSubmatch(line)
		if m == nil {
			continue
		}
		found++
		n, _ := strconv.Atoi(m[1])
		if n < 1 || n > len(pages) || !strings.Contains(words(pages[n-1]), m[2]) {
			t.Errorf("the contents say that %q is on page %s", m[2], m[1])
		}
	}
	// So do the references to examples and chords.
	referred := 0
	for i, p := range pages {
		for _, m := range regexp.MustCompile(`Example: page (\d+)|why it is there: page (\d+)`).FindAllStringSubmatch(words(p), -1) {
			referred++
			n, _ := strconv.Atoi(m[1] + m[2])
			if n <= i+1 || n > len(pages) || m[1] != "" && !strings.Contains(words(pages[n-1]), "Why here, ") || m[2] != "" && !strings.Contains(words(pages[n-1]), "Chords") {
				t.Errorf("page %d refers to page %d", i+1, n)
			}
		}
	}
	if referred < 6 { // too few to tell
		t.Errorf("only %d references to pages", referred)
	}
	if found != len(in.Lesson.Levels)+3 {
		t.Errorf("%d entries in the contents", found)
	}

	// The structure that a screen reader walks.
	structure := run(t, "pdfinfo", "-struct-text", file)
	inOrder(t, structure, "Document", "H1", in.Lesson.Title, "H1", "Before you play", "H2", "How to use this book", "H1", "Level 1", "H2", "Bring with you", "H3", in.Lesson.Levels[0].New[0].Name, "Figure")
	if n := strings.Count(structure, "Figure"); n < 50 {
		t.Errorf("%d figures", n)
	}
	if strings.Contains(structure, "page 2 of") {
		t.Error("the foot is part of the text")
	}

	outline := outlineOf(t, file)
	inOrder(t, outline, in.Lesson.Title, "Before you play", "Level 1", "Bring with you", "New here", "Examples", in.Lesson.Levels[0].New[0].Name, "Score", "Drills", "Practice plan", "Chords", "My practice", "Level 2", "Level 5", "Glossary", "Credits")

	// What names a page is a link to it (ISO 32000-1, 12.5.6.5).
	if n := strings.Count(run(t, "qpdf", "--json", "--json-key=qpdf", file), `"/Subtype": "/Link"`); n < referred+found {
		t.Errorf("%d links for %d references and %d entries of the contents", n, referred, found)
	}
	emptyPages(t, file, len(in.Lesson.Levels))

	again, _ := makeBook(t, in, workbook.Options{Workers: 1})
	if !bytes.Equal(b, again) {
		t.Error("not the same bytes on a second run with one worker")
	}
	sizes(t, file, 11)
}

// emptyPages checks that few pages end in their upper half: before and after a level's
// score, and the book's last one. Rows to write in are no words, but they fill a page.
func emptyPages(t *testing.T, file string, levels int) {
	t.Helper()
	word := regexp.MustCompile(`<word [^>]*yMax="([\d.]+)">`)
	empty := []int{}
	for i, page := range strings.Split(run(t, "pdftotext", "-bbox", file, "-"), "<page ")[1:] {
		low := 0.0
		for _, m := range word.FindAllStringSubmatch(page, -1) {
			if y, _ := strconv.ParseFloat(m[1], 64); y < 780 { // above the foot of A4
				low = max(low, y)
			}
		}
		if i > 0 && low < 842/2 && !strings.Contains(page, ">practice</word>") {
			empty = append(empty, i+1)
		}
	}
	if len(empty) > levels+1 {
		t.Errorf("pages %v are half empty", empty)
	}
}

// A level opens with a few pages of words and pictures, however much is new; then
// comes its score, on a left-hand page. CI looks at one of two tunes.
func TestOpenings(t *testing.T) {
	for _, name := range []string{"lantern", "thistle"}[:2/sharedtest.Every(2, 2)] {
		in := input(t, example(t, name))
		b, _ := makeBook(t, in, workbook.Options{})
		file := save(t, b)
		level, opened := "", 0
		var starts []outlineItem
		var walk func(items []outlineItem)
		walk = func(items []outlineItem) {
			for _, it := range items {
				starts = append(starts, it)
				walk(it.Kids)
			}
		}
		walk(outlineItems(t, file))
		for i, it := range starts {
			switch {
			case strings.HasPrefix(it.Title, "Level ") && level == "":
				level, opened = it.Title, it.Page
			case it.Title == "Score":
				if n := it.Page - opened; n < 1 || n > 4 {
					t.Errorf("%s, %s: %d pages before the score", name, level, n)
				}
				next := i + 1 + len(it.Kids)
				one := next < len(starts) && starts[next].Page == it.Page+1
				if it.Page%2 == 1 && !one { // of two pages: none is turned in the middle
					t.Errorf("%s, %s: the score begins on page %d", name, level, it.Page)
				}
				level = ""
			}
		}
		if opened == 0 {
			t.Errorf("%s: no level in the outline", name)
		}
	}
}

func outlineItems(t *testing.T, file string) []outlineItem {
	t.Helper()
	var doc struct {
		Outlines []outlineItem `json:"outlines"`
	}
	if err := json.Unmarshal([]byte(run(t, "qpdf", "--json", "--json-key=outlines", file)), &doc); err != nil {
		t.Fatal(err)
	}
	return doc.Outlines
}

// outlineOf returns the titles of the outline in order.
func outlineOf(t *testing.T, file string) string {
	t.Helper()
	var b strings.Builder
	var walk func([]outlineItem)
	walk = func(items []outlineItem) {
		for _, it := range items {
			if it.Page <= 0 {
				t.Errorf("the entry %q leads nowhere", it.Title)
			}
			b.WriteString(it.Title + " ")
			walk(it.Kids)
		}
	}
	walk(outlineItems(t, file))
	return words(b.String())
}

type outlineItem struct {
	Title string        `json:"title"`
	Page  int           `json:"destpageposfrom1"`
	Kids  []outlineItem `json:"kids"`
}

// sizes checks that no running text is smaller than so many points: the height of
// a line's box in pdftotext is that of ascent and descent, 1.107 em in Liberation
// Serif and a little more in Sans (their hhea tables). Music has smaller letters.
// tempoWords and the labels of what stands around the tune are part of the music and
// shrink with it.
var tempoWords = strings.Fields("Swing Blues Slowly Andante Andantino Allegro Allegretto Moderato Vivace cantabile Tempo marcia valse habanera Introduction Tag")

func sizes(t *testing.T, file string, least float64) {
	t.Helper()
	reFingers := regexp.MustCompile(`^[1-5]–[1-5]$`)
	reWord := regexp.MustCompile(`<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]*)</word>`)
	checked := 0
	for _, m := range reWord.FindAllStringSubmatch(run(t, "pdftotext", "-bbox", file, "-"), -1) {
		if len(m[5]) < 5 || strings.ContainsAny(m[5], "♭♯°(") || slices.Contains(tempoWords, m[5]) || reFingers.MatchString(m[5]) {
			continue // figures and chord symbols in the music
		}
		y0, _ := strconv.ParseFloat(m[2], 64)
		y1, _ := strconv.ParseFloat(m[4], 64)
		checked++
		if h := (y1 - y0) / 1.107; h < least-0.15 {
			t.Errorf("%q is set in %.1f points", m[5], h)
			break
		}
	}
	if checked < 200 {
		t.Errorf("only %d words found", checked)
	}
}

func TestPapers(t *testing.T) {
	in := input(t, example(t, "lantern"))
	for i, l := range in.Lesson.Levels { // all entries in the contents, and the pages of level 1 for each
		same := in.Lesson.Levels[0]
		same.Number, same.Name, same.Title = l.Number, l.Name, l.Title
		in.Lesson.Levels[i], in.Scores[i] = same, in.Scores[0]
	}
	for _, tt := range []struct {
		name string
		o    workbook.Options
		size string
		font string
		pt   float64
	}{
		{"letter", workbook.Options{Paper: engrave.Letter}, "612 x 792 pts (letter)", "LiberationSerif", 11},
		{"large print", workbook.Options{LargePrint: true}, "595.28 x 841.89 pts (A4)", "LiberationSans", 16},
		{"large print on letter", workbook.Options{LargePrint: true, Paper: engrave.Letter}, "612 x 792 pts (letter)", "LiberationSans", 16},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b, ps := makeBook(t, in, tt.o)
			if len(ps) > 0 {
				t.Error(ps)
			}
			file := save(t, b)
			run(t, "qpdf", "--check", file)
			if info := run(t, "pdfinfo", "-f", "1", "-l", "99", file); strings.Count(info, tt.size) != strings.Count(info, " rot: ") {
				t.Errorf("pages are not %s:\n%s", tt.size, info)
			}
			if !strings.Contains(run(t, "pdffonts", file), "+"+tt.font) {
				t.Error("no " + tt.font)
			}
			sizes(t, file, tt.pt)
			if second := words(run(t, "pdftotext", "-f", "2", "-l", "2", file, "-")); !strings.HasPrefix(second, "Before you play") {
				t.Errorf("the title page has run over: %q", second)
			}
		})
	}
}

// Songs that are short, plain, or hard to name.
func TestOddSongs(t *testing.T) {
	greek := strings.TrimSpace(strings.Repeat("Τραγούδι του βραδινού δρόμου ", 7))
	chinese := strings.Repeat("山中夜雨聞鐘聲", 29)[:200*3]
	head := func(title string) string { return "X:1\nT:" + title + "\nC:made for the tests\nL:1/4\nM:4/4\nK:C\n" }
	tests := []struct {
		name, abc string
		rights    string
		want      []string // in the text
		told      string   // code
	}{
		{"four bars", head("Four Bars") + `"C"CEGE|"F"FAcA|"G7"GBdB|"C"c4|]` + "\n", "", []string{"Four Bars", "4 bars"}, ""},
		{"one chord", head("One Chord") + `"Am"A2cB|A2GE|A2cd|e4|]` + "\n", "", []string{"One Chord", "Am"}, ""},
		{"no title", "X:1\nT:\nL:1/4\nM:4/4\nK:Cb\n" + `"Cb"CEGE|"Gb7"GBdB|"Cb"CEGE|"Cb"c4|]` + "\n", "", []string{"Untitled", "C♭ major"}, ""},
		{"Greek", head(greek) + `"C"CEGE|"C"c4|]` + "\n", "", []string{greek}, ""},
		{"Chinese", head(chinese) + `"C"CEGE|"C"c4|]` + "\n", "", []string{"Title in other letters"}, "title-letters"},
		{"Chinese with another title", head(chinese) + `"C"CEGE|"C"c4|]` + "\n", `alternative_titles = ["Night Rain in the Hills"]`, []string{"Night Rain in the Hills"}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			song := read(t, "t.abc", tt.abc)
			if tt.rights != "" {
				var err error
				if song, err = gradatim.ReadRights("t.rights.toml", []byte(tt.rights), song); err != nil {
					t.Fatal(err)
				}
			}
			in := upTo(input(t, song), 1)
			b, ps := makeBook(t, in, workbook.Options{})
			file := save(t, b)
			run(t, "qpdf", "--check", file)
			text := words(run(t, "pdftotext", file, "-"))
			for _, w := range append(tt.want, "Rights unknown: for private practice only.", "Practice plan", "Credits") {
				if !strings.Contains(text, words(w)) {
					t.Errorf("no %q in the text", w)
				}
			}
			if strings.Contains(text, "□") {
				t.Error("squares in the text")
			}
			if info := run(t, "pdfinfo", file); !strings.Contains(words(info), "Title: "+words(in.Lesson.Title)) {
				t.Errorf("the file's title is not the tune's:\n%s", info)
			}
			told := ""
			for _, p := range ps {
				told = p.Code
			}
			if told != tt.told {
				t.Errorf("told %q, want %q: %v", told, tt.told, ps)
			}
			if pages := strings.Split(strings.TrimSuffix(run(t, "pdftotext", file, "-"), "\f"), "\f"); len(pages) > 1 {
				for i, p := range pages {
					if !strings.Contains(p, "for private practice only") {
						t.Errorf("page %d does not say that the rights are unknown", i+1)
					}
				}
			}
		})
	}
}

func TestRefused(t *testing.T) {
	if _, _, err := workbook.Make(context.Background(), engraver(t), workbook.Input{}, workbook.Options{}); err == nil {
		t.Error("a lesson without levels: no error")
	}
	in := upTo(input(t, example(t, "ferry")), 1)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := workbook.Make(ctx, engraver(t), in, workbook.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	in.Scores = nil
	if _, _, err := workbook.Make(context.Background(), engraver(t), in, workbook.Options{}); err == nil {
		t.Error("a level without its score: no error")
	}
}

func BenchmarkWorkbook(b *testing.B) {
	in := input(b, example(b, "lantern"))
	g := engraver(b)
	b.Run("bars=32/levels=5", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			pdf, _, err := workbook.Make(context.Background(), g, in, workbook.Options{})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(len(pdf)), "bytes")
		}
	})
}
