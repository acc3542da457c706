package gradatim

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// A job as text: a head that names the version, a line for each option that says
// anything, then the files, each after a line with its name and its length. Files that
// are no text stand in base64 (RFC 4648). Every job has one text and every text is one
// job's, so the hash of the text stands for what is made of it.

// JobVersion is the version of the text of a job.
const JobVersion = 1

const jobHead = "gradatim job "

// option is how a line of the head is written and read.
type option struct {
	word  string
	write func(Job) string // "": no line; where there is no value, the word again
	read  func(*Job, string) error
}

func options() []option {
	number := func(n int) string {
		if n == 0 {
			return ""
		}
		return strconv.Itoa(n)
	}
	flag := func(word string, at func(*Job) *bool) option {
		return option{word,
			func(j Job) string {
				if *at(&j) {
					return word
				}
				return ""
			},
			func(j *Job, s string) error {
				*at(j) = s == word
				return nil
			}}
	}
	return []option{
		{"tune", func(j Job) string { return number(j.Tune) }, readTo(strconv.Atoi, func(j *Job) *int { return &j.Tune })},
		{"mend", func(j Job) string { return strings.Join(j.Mend, " ") }, func(j *Job, s string) error {
			j.Mend = strings.Fields(s)
			return nil
		}},
		{"levels", numbers(func(j Job) []int { return j.Levels }), readNumbers(func(j *Job) *[]int { return &j.Levels })},
		{"keys", func(j Job) string {
			words := make([]string, len(j.Keys))
			for i, k := range j.Keys {
				words[i] = k.String()
			}
			return strings.Join(words, " ")
		}, func(j *Job, s string) error {
			for w := range strings.FieldsSeq(s) {
				k, err := ParseKey(w)
				if err != nil {
					return err
				}
				j.Keys = append(j.Keys, k)
			}
			return nil
		}},
		{"feel", said(func(j Job) leadsheet.Feel { return j.Feel }), readTo(leadsheet.ParseFeel, func(j *Job) *leadsheet.Feel { return &j.Feel })},
		{"tempo", func(j Job) string { return number(j.Tempo) }, readTo(strconv.Atoi, func(j *Job) *int { return &j.Tempo })},
		{"style", func(j Job) string { return quoted(string(j.Style)) }, func(j *Job, s string) error {
			text, err := strconv.Unquote(s)
			j.Style = Style(text)
			return err
		}},
		{"manner", said(func(j Job) Manner { return j.Manner }), readTo(ParseManner, func(j *Job) *Manner { return &j.Manner })},
		{"repeats", said(func(j Job) Repeats { return j.Repeats }), readTo(ParseRepeats, func(j *Job) *Repeats { return &j.Repeats })},
		{"lyrics", said(func(j Job) Lyrics { return j.Lyrics }), readTo(ParseLyrics, func(j *Job) *Lyrics { return &j.Lyrics })},
		{"outline", numbers(func(j Job) []int { return j.Outline }), readNumbers(func(j *Job) *[]int { return &j.Outline })},
		flag("written-rhythm", func(j *Job) *bool { return &j.WrittenRhythm }),
		{"introduction", said(func(j Job) Around { return j.Introduction }), readTo(ParseAround, func(j *Job) *Around { return &j.Introduction })},
		{"ending", said(func(j Job) Around { return j.Ending }), readTo(ParseAround, func(j *Job) *Around { return &j.Ending })},
		{"hand", said(func(j Job) Hand { return j.Hand }), readTo(func(s string) (Hand, error) { return ParseHand(s) }, func(j *Job) *Hand { return &j.Hand })},
		{"language", func(j Job) string { return quoted(j.Language) }, readTo(strconv.Unquote, func(j *Job) *string { return &j.Language })},
		{"fingers", said(func(j Job) Fingers { return j.Fingers }), readTo(ParseFingers, func(j *Job) *Fingers { return &j.Fingers })},
		{"paper", said(func(j Job) Paper { return j.Paper }), readTo(ParsePaper, func(j *Job) *Paper { return &j.Paper })},
		flag("large-print", func(j *Job) *bool { return &j.LargePrint }),
		flag("teacher", func(j *Job) *bool { return &j.Teacher }),
		{"audio", said(func(j Job) Audio { return j.Audio }), readTo(ParseAudio, func(j *Job) *Audio { return &j.Audio })},
	}
}

// retired are options that texts of version 1 may have, with the way out. None of them
// changed a page.
var retired = map[string]leadsheet.Saying{
	"zip": "job-option.zip",
}

// numbers writes a list of whole numbers.
func numbers(get func(Job) []int) func(Job) string {
	return func(j Job) string {
		words := make([]string, len(get(j)))
		for i, n := range get(j) {
			words[i] = strconv.Itoa(n)
		}
		return strings.Join(words, " ")
	}
}

// readNumbers reads what numbers writes.
func readNumbers(at func(*Job) *[]int) func(*Job, string) error {
	return func(j *Job, s string) error {
		for w := range strings.FieldsSeq(s) {
			n, err := strconv.Atoi(w)
			if err != nil {
				return err
			}
			*at(j) = append(*at(j), n)
		}
		return nil
	}
}

// said writes an option that is not its zero value.
func said[T interface {
	comparable
	String() string
}](get func(Job) T) func(Job) string {
	return func(j Job) string {
		var zero T
		if v := get(j); v != zero {
			return v.String()
		}
		return ""
	}
}

// readTo reads an option into its field.
func readTo[T any](parse func(string) (T, error), at func(*Job) *T) func(*Job, string) error {
	return func(j *Job, s string) error {
		v, err := parse(s)
		*at(j) = v
		return err
	}
}

func quoted(s string) string {
	if s == "" {
		return ""
	}
	return strconv.Quote(s)
}

// place is where a job has a file, or several of a kind.
type place struct {
	word string
	one  *File
	many *[]File
}

// files lists the places of files in the order in which they are written.
func (j *Job) files() []place {
	return []place{{"sheet", &j.Sheet, nil}, {"rights", &j.Rights, nil}, {"level", nil, &j.OwnLevels}, {"style-file", nil, &j.OwnStyles}, {"choices", &j.Choices, nil}, {"lesson", &j.Lesson, nil}, {"beside", nil, &j.Beside}}
}

// Text writes the job. ParseJob reads it back as the same job, options that can be
// said in several ways being said in one: levels ascending, keys once. A job that
// Check refuses has no text that is read.
func (j Job) Text() []byte {
	j = j.normal()
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s%d\n", jobHead, JobVersion)
	for _, o := range options() {
		switch text := o.write(j); text {
		case "":
		case o.word:
			b.WriteString(o.word + "\n")
		default:
			b.WriteString(o.word + " " + text + "\n")
		}
	}
	for _, f := range j.files() {
		if f.many != nil {
			for _, x := range *f.many {
				writeFile(&b, f.word, x)
			}
		} else if !f.one.none() {
			writeFile(&b, f.word, *f.one)
		}
	}
	return b.Bytes()
}

func writeFile(b *bytes.Buffer, word string, f File) {
	fmt.Fprintf(b, "%s %q %d", word, f.Name, len(f.Data))
	if plain(f.Data) {
		fmt.Fprintf(b, "\n%s\n", f.Data)
		return
	}
	b.WriteString(" base64\n")
	text := base64.StdEncoding.EncodeToString(f.Data)
	for len(text) > base64Line {
		b.WriteString(text[:base64Line] + "\n")
		text = text[base64Line:]
	}
	b.WriteString(text + "\n")
}

// base64Line is the length of a line of base64, as in mail (RFC 2045, 6.8).
const base64Line = 76

// plain tells whether the bytes are text.
func plain(data []byte) bool {
	return utf8.Valid(data) && bytes.IndexFunc(data, func(r rune) bool {
		return r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0x7f
	}) < 0
}

// Hash is the SHA-256 of the job's Text, in hexadecimal.
func (j Job) Hash() string {
	sum := sha256.Sum256(j.Text())
	return hex.EncodeToString(sum[:])
}

// ParseJob reads the text of a job. It takes nothing but what Text writes: another
// spelling of the same would have another hash. The error is a leadsheet.Problems
// that names the line.
func ParseJob(text []byte) (Job, error) {
	r := jobReader{rest: text}
	j, err := r.job()
	if err == nil {
		err = j.Check()
	}
	if err == nil {
		if again := j.Text(); !bytes.Equal(again, text) {
			same := 0
			for same < len(again) && same < len(text) && again[same] == text[same] {
				same++
			}
			r.line = 1 + bytes.Count(text[:same], []byte{'\n'})
			err = r.wrong("job-order")
		}
	}
	if err != nil {
		return Job{}, err
	}
	return j, nil
}

// jobReader goes through a text line by line.
type jobReader struct {
	rest []byte
	line int // that was read last
}

func (r *jobReader) next() (string, bool) {
	line, rest, ok := bytes.Cut(r.rest, []byte{'\n'})
	if ok {
		r.rest = rest
		r.line++
	}
	return string(line), ok
}

func (r *jobReader) wrong(says leadsheet.Saying, parts ...any) error {
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{Line: max(1, r.line)}, says, parts...)
	return words.Must(words.Default).Problems(ps)
}

func (r *jobReader) job() (j Job, err error) {
	head, _ := r.next()
	version, ok := strings.CutPrefix(head, jobHead)
	if !ok {
		return j, r.wrong("job-syntax.head", "Head", leadsheet.Quoted(jobHead+strconv.Itoa(JobVersion)))
	}
	if version != strconv.Itoa(JobVersion) {
		return j, r.wrong("job-version", "Version", leadsheet.Quoted(version), "Known", JobVersion)
	}
	known := map[string]option{}
	for _, o := range options() {
		known[o.word] = o
	}
	for len(r.rest) > 0 {
		line, ok := r.next()
		if !ok {
			r.line++
			return j, r.wrong("job-syntax.end")
		}
		word, value, has := strings.Cut(line, " ")
		if o, ok := known[word]; ok {
			if !has {
				value = word
			}
			if err := o.read(&j, value); err != nil {
				return j, r.wrong("job-option.unread", "Option", word, "Error", err.Error())
			}
			continue
		}
		if err := r.file(&j, word, value); err != nil {
			return j, err
		}
	}
	return j, nil
}

// file reads a file into its place.
func (r *jobReader) file(j *Job, word, head string) error {
	for _, f := range j.files() {
		if f.word != word {
			continue
		}
		x, err := r.contents(head)
		if err != nil {
			return err
		}
		if f.many != nil {
			*f.many = append(*f.many, x)
		} else {
			*f.one = x
		}
		return nil
	}
	if says, ok := retired[word]; ok {
		return r.wrong(says, "Option", leadsheet.Quoted(word))
	}
	return r.wrong("job-option.unknown", "Option", leadsheet.Quoted(word))
}

func (r *jobReader) contents(head string) (File, error) {
	bad := r.wrong("job-syntax.file", "Form", `sheet "NAME" LENGTH`)
	name, err := strconv.QuotedPrefix(head)
	if err != nil {
		return File{}, bad
	}
	length, coded := strings.CutSuffix(strings.TrimPrefix(head[len(name):], " "), " base64")
	n, err := strconv.Atoi(length)
	if err != nil || n < 0 {
		return File{}, bad
	}
	var f File
	if f.Name, err = strconv.Unquote(name); err != nil {
		return File{}, bad
	}
	short := r.wrong("job-syntax.short")
	if !coded {
		if n >= len(r.rest) || r.rest[n] != '\n' {
			return File{}, short
		}
		f.Data = bytes.Clone(r.rest[:n])
		r.line += 1 + bytes.Count(f.Data, []byte{'\n'})
		r.rest = r.rest[n+1:]
		return f.normal(), nil
	}
	var text strings.Builder
	for want := base64.StdEncoding.EncodedLen(n); text.Len() < want; {
		line, ok := r.next()
		if !ok || line == "" {
			return File{}, short
		}
		text.WriteString(line)
	}
	if f.Data, err = base64.StdEncoding.DecodeString(text.String()); err != nil || len(f.Data) != n {
		return File{}, r.wrong("job-syntax.base64")
	}
	return f.normal(), nil
}
