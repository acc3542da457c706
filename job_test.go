package gradatim_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// jobs are the seeds of the fuzz target, too.
var jobs = []struct {
	name string
	job  gradatim.Job
}{
	{"nothing but a sheet", gradatim.Job{Sheet: gradatim.File{Name: "a.abc", Data: []byte("X:1\nK:C\nCDEF|\n")}}},
	{"nothing", gradatim.Job{}},
	{"everything", gradatim.Job{
		Sheet: gradatim.File{Name: "book.abc", Data: []byte("X:1\nK:C\nCDEF|\n\nX:2\nK:G\nGABc|")}, Tune: 2, Mend: []string{"chord-b5-1_4", gradatim.SureMends},
		Rights: gradatim.File{Name: "book-t2.rights.toml", Data: []byte("status = \"own\"\n")},
		Levels: []int{1, 3, 6}, OwnLevels: []gradatim.File{{Name: "six.toml", Data: []byte("number = 6\n")}},
		Keys: []gradatim.Key{"Bb", gradatim.EasyKey, gradatim.OwnKey}, Feel: leadsheet.Swing, Tempo: 92,
		Style: "swing", OwnStyles: []gradatim.File{{Name: "polka.toml", Data: []byte("name = \"polka\"\n")}}, Manner: gradatim.Stay, Repeats: gradatim.Fold, Lyrics: gradatim.LyricsEverywhere, WrittenRhythm: true, Outline: []int{1}, Introduction: gradatim.Brief, Ending: gradatim.Full,
		Hand: gradatim.Hand{Right: 21550, Left: 17555}, Choices: gradatim.File{Name: "c.toml", Data: []byte("version = 2\n")},
		Lesson:  gradatim.File{Name: "book-t2.lesson.toml", Data: []byte("studio = \"S\"\n")},
		Beside:  []gradatim.File{{Name: "bars.txt", Data: []byte("bar 5\n")}, {Name: "more.txt"}},
		Fingers: gradatim.NoFingers, Paper: gradatim.Letter, LargePrint: true, Teacher: true, Audio: gradatim.AllAudio, Language: "de"}},
	{"no text", gradatim.Job{Sheet: gradatim.File{Name: "tune.mxl", Data: []byte("PK\x03\x04\x00\xff" + strings.Repeat("\x01", 100))}}},
	{"an odd name", gradatim.Job{Sheet: gradatim.File{Name: "a \"b\"\n\xff.abc", Data: []byte("K:C\n\r\n\t")}}},
	{"a file that looks like the job", gradatim.Job{Sheet: gradatim.File{Name: "a", Data: []byte("large-print\nrights \"x\" 4\n")}}},
}

func TestJobText(t *testing.T) {
	seen := map[string]string{}
	for _, tt := range jobs {
		text := tt.job.Text()
		got, err := gradatim.ParseJob(text)
		if err != nil {
			t.Errorf("%s: %v\n%s", tt.name, err, text)
			continue
		}
		if !reflect.DeepEqual(got, tt.job) {
			t.Errorf("%s: read back as\n%#v\nwant\n%#v", tt.name, got, tt.job)
		}
		if other := seen[tt.job.Hash()]; other != "" {
			t.Errorf("%s has the hash of %s", tt.name, other)
		}
		seen[tt.job.Hash()] = tt.name
	}
	if n := reflect.TypeFor[gradatim.Job]().NumField(); n != 28 {
		t.Errorf("a job has %d fields: write the new one in Text, and here", n)
	}
	// Every field says something.
	full := jobs[2].job
	for i := range reflect.TypeFor[gradatim.Job]().NumField() {
		less := full
		f := reflect.ValueOf(&less).Elem().Field(i)
		f.SetZero()
		if name := reflect.TypeFor[gradatim.Job]().Field(i).Name; less.Hash() == full.Hash() {
			t.Errorf("%s is not in the text", name)
		}
	}
}

// TestJobOptionsAreDocumented holds the lists of docs/formats.md to the text of a job that
// says everything, in its order.
func TestJobOptionsAreDocumented(t *testing.T) {
	doc, err := os.ReadFile(filepath.Join(sharedtest.Root(), "docs", "formats.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, part, _ := strings.Cut(string(doc), "\n## Job\n")
	part, _, _ = strings.Cut(part, "\n## ")
	quoted := regexp.MustCompile("`([a-z-]+)`")
	listed := func(from, to string) []string {
		t.Helper()
		_, list, ok := strings.Cut(part, from)
		list, _, ends := strings.Cut(list, to)
		if !ok || !ends {
			t.Fatalf("docs/formats.md has no list from %q to %q", from, to)
		}
		var out []string
		for _, m := range quoted.FindAllStringSubmatch(list, -1) {
			out = append(out, m[1])
		}
		return out
	}
	var options, files []string
	for line := range strings.Lines(string(jobs[2].job.Text())) {
		word, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		if strings.HasPrefix(rest, `"`) && word != "style" && word != "language" {
			if len(files) == 0 || files[len(files)-1] != word {
				files = append(files, word)
			}
		} else if len(files) == 0 && word != "gradatim" {
			options = append(options, word)
		}
	}
	if want := listed("in this order:", "; they mean"); !slices.Equal(options, want) {
		t.Errorf("the options of a job are\n%v\ndocs/formats.md has\n%v", options, want)
	}
	if want := listed("line end:", "(files of locked"); !slices.Equal(files, want) {
		t.Errorf("the files of a job are\n%v\ndocs/formats.md has\n%v", files, want)
	}
}

// TestJobHash: the hash stands in other people's books; it changes with the version of
// the text and with nothing else.
func TestJobHash(t *testing.T) {
	for _, tt := range []struct {
		job  gradatim.Job
		hash string
	}{
		{gradatim.Job{}, "1c3504ab030de19d"}, // as sha256sum has it of the one line
	} {
		if got := tt.job.Hash(); len(got) != 64 || !strings.HasPrefix(got, tt.hash) {
			t.Errorf("hash %s of\n%s", got, tt.job.Text())
		}
	}
	// What is said in two ways is one job.
	a := gradatim.Job{Levels: []int{3, 1, 3}, Keys: []gradatim.Key{gradatim.OwnKey}, Hand: gradatim.Hand{Right: 19200, Left: 0}, Language: "en"}
	b := gradatim.Job{Levels: []int{1, 3}}
	if a.Hash() != b.Hash() {
		t.Errorf("two texts of one job:\n%s\n%s", a.Text(), b.Text())
	}
}

func TestParseJobRefuses(t *testing.T) {
	for _, tt := range []struct{ name, text, code string }{
		{"nothing", "", "job-syntax"},
		{"something else", "hello\n", "job-syntax"},
		{"another version", "gradatim job 2\n", "job-version"},
		{"an unknown option", "gradatim job 1\nloud\n", "job-option"},
		{"an option of before", "gradatim job 1\nzip\n", "job-option"},
		{"a wrong value", "gradatim job 1\npaper a0\n", "job-option"},
		{"a value out of range", "gradatim job 1\ntempo 4000\n", "job-option"},
		{"another order", "gradatim job 1\nlarge-print\ntempo 90\n", "job-order"},
		{"a default", "gradatim job 1\npaper a4\n", "job-order"},
		{"twice", "gradatim job 1\nlarge-print\nlarge-print\n", "job-order"},
		{"another spelling", "gradatim job 1\nlevels 2 1\n", "job-order"},
		{"a line without its end", "gradatim job 1\nlarge-print", "job-syntax"},
		{"a file without its end", "gradatim job 1\nsheet \"a\" 9\nK:C\n", "job-syntax"},
		{"a file without a length", "gradatim job 1\nsheet \"a\"\n", "job-syntax"},
		{"base64 of text", "gradatim job 1\nsheet \"a\" 3 base64\nSzpD\n", "job-order"},
		{"no base64", "gradatim job 1\nsheet \"a\" 3 base64\n????\n", "job-syntax"},
		{"a huge length", "gradatim job 1\nsheet \"a\" 9223372036854775807 base64\nAAAA\n", "job-syntax"},
	} {
		_, err := gradatim.ParseJob([]byte(tt.text))
		var ps leadsheet.Problems
		if !errors.As(err, &ps) || ps[0].Code != tt.code {
			t.Errorf("%s: %v, want %s", tt.name, err, tt.code)
		}
	}
}

// FuzzJob: what is read is printed as it stood, and what is printed is read.
func FuzzJob(f *testing.F) {
	for _, tt := range jobs {
		f.Add(tt.job.Text(), tt.job.Sheet.Name, tt.job.Sheet.Data, tt.job.Choices.Data, tt.job.Tempo, uint8(tt.job.Paper), tt.job.Hand.Right)
	}
	f.Fuzz(func(t *testing.T, text []byte, name string, sheet, choices []byte, tempo int, option uint8, span int) {
		if j, err := gradatim.ParseJob(text); err == nil && !bytes.Equal(j.Text(), text) {
			t.Fatalf("read from\n%s\nprinted as\n%s", text, j.Text())
		}
		j := gradatim.Job{Sheet: gradatim.File{Name: name, Data: sheet}, Choices: gradatim.File{Name: name, Data: choices}, Tempo: tempo,
			Levels: []int{int(option), tempo}, Paper: gradatim.Paper(option % 4), Manner: gradatim.Manner(option / 4 % 4), Audio: gradatim.Audio(option / 16 % 4),
			LargePrint: option > 99, Hand: gradatim.Hand{Right: span}, Beside: []gradatim.File{{Name: name, Data: choices}}}
		again, err := gradatim.ParseJob(j.Text())
		if (err == nil) != (j.Check() == nil) {
			t.Fatalf("Check says %v, ParseJob says %v of\n%s", j.Check(), err, j.Text())
		}
		if err == nil && again.Hash() != j.Hash() {
			t.Fatalf("read back as another job:\n%s\n%s", j.Text(), again.Text())
		}
	})
}

func TestOptionsPrintAndParse(t *testing.T) {
	check := func(what, text string, again func(string) (string, error)) {
		t.Helper()
		if got, err := again(text); err != nil || got != text {
			t.Errorf("%s %q is read as %q, %v", what, text, got, err)
		}
	}
	for i := range uint8(3) {
		check("fingers", gradatim.Fingers(i).String(), func(s string) (string, error) { v, err := gradatim.ParseFingers(s); return v.String(), err })
		check("paper", gradatim.Paper(i).String(), func(s string) (string, error) { v, err := gradatim.ParsePaper(s); return v.String(), err })
		check("audio", gradatim.Audio(i).String(), func(s string) (string, error) { v, err := gradatim.ParseAudio(s); return v.String(), err })
		check("manner", gradatim.Manner(i).String(), func(s string) (string, error) { v, err := gradatim.ParseManner(s); return v.String(), err })
		check("lyrics", gradatim.Lyrics(i).String(), func(s string) (string, error) { v, err := gradatim.ParseLyrics(s); return v.String(), err })
		check("repeats", gradatim.Repeats(i).String(), func(s string) (string, error) { v, err := gradatim.ParseRepeats(s); return v.String(), err })
		check("around", gradatim.Around(i+1).String(), func(s string) (string, error) { v, err := gradatim.ParseAround(s); return v.String(), err })
		check("format", gradatim.Format(i).String(), func(s string) (string, error) { v, err := gradatim.ParseFormat(s); return v.String(), err })
		check("hands", gradatim.Hands(i).String(), func(s string) (string, error) { v, err := gradatim.ParseHands(s); return v.String(), err })
		check("feel", leadsheet.Feel(i).String(), func(s string) (string, error) { v, err := leadsheet.ParseFeel(s); return v.String(), err })
	}
	for _, k := range []gradatim.Key{gradatim.OwnKey, gradatim.EasyKey, "Bb", "F#"} {
		check("key", k.String(), func(s string) (string, error) { v, err := gradatim.ParseKey(s); return v.String(), err })
	}
	for _, s := range append(gradatim.Styles(), "") {
		check("style", s.String(), func(s string) (string, error) { v, err := gradatim.ParseStyle(s); return v.String(), err })
	}
	for _, h := range []string{"ninth", "octave", "tenth", "8.5in", "left octave, right ninth", "215.55mm"} {
		p, err := gradatim.ParseHand(h)
		if err != nil {
			t.Fatal(err)
		}
		check("hand", p.String(), func(s string) (string, error) { v, err := gradatim.ParseHand(s); return v.String(), err })
	}
	for _, bad := range []func(string) error{
		func(s string) error { _, err := gradatim.ParseFingers(s); return err },
		func(s string) error { _, err := gradatim.ParseKey(s); return err },
		func(s string) error { _, err := gradatim.ParseStyle(s); return err },
		func(s string) error { _, err := gradatim.ParseHand(s); return err },
		func(s string) error { _, err := gradatim.ParseLevels(s); return err },
	} {
		if err := bad("claw"); err == nil || !strings.Contains(err.Error(), "claw") {
			t.Errorf("claw: %v", err)
		}
	}
}
