package abc

import (
	"bytes"
	"iter"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"gradatim/leadsheet"
)

// decode turns the bytes of a file into text. ABC 2.1 (section 2.2) is UTF-8
// unless the file says otherwise; a file that says nothing and is not valid
// UTF-8 is read as Latin-1 (with the few signs that Windows adds to it), which
// is what older collections are written in.
func decode(data []byte, file string, ps *leadsheet.Problems) (string, bool) {
	pos := leadsheet.Pos{File: file, Line: 1, Col: 1}
	if len(data) > MaxBytes {
		ps.Tell(leadsheet.Error, pos, "file-too-large", "Bytes", len(data), "Most", MaxBytes)
		return "", false
	}
	if bytes.HasPrefix(data, []byte{0xFE, 0xFF}) || bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || unmarkedUTF16(data) {
		ps.Tell(leadsheet.Error, pos, "charset-unknown.utf16")
		return "", false
	}
	data = bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))
	if utf8.Valid(data) {
		return string(data), true
	}
	out, err := charmap.Windows1252.NewDecoder().Bytes(data)
	if err != nil {
		ps.Tell(leadsheet.Error, pos, "charset-unknown.neither")
		return "", false
	}
	if !declaresLatin1(data) {
		line := 1 + bytes.Count(data[:firstInvalid(data)], []byte("\n"))
		ps.Tell(leadsheet.Warning, leadsheet.Pos{File: file, Line: line}, "charset-guessed")
	}
	return string(out), true
}

// unmarkedUTF16 tells UTF-16 without its mark: a file of fields has every other byte zero
// at its head, and ABC has no NUL.
func unmarkedUTF16(data []byte) bool {
	head := data[:min(len(data), 64)&^1]
	var zeros [2]int
	for i, b := range head {
		if b == 0 {
			zeros[i%2]++
		}
	}
	return len(head) >= 4 && zeros[0]+zeros[1] >= len(head)/3 && min(zeros[0], zeros[1]) == 0
}

func declaresLatin1(data []byte) bool {
	head := bytes.ToLower(data[:min(len(data), 4096)])
	_, rest, ok := bytes.Cut(head, []byte("abc-charset"))
	return ok && bytes.HasPrefix(bytes.TrimLeft(rest, " \t"), []byte("iso-8859-1"))
}

func firstInvalid(data []byte) int {
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return len(data)
}

// source is a stretch of a file: its text and the number of its first line.
type source struct {
	text string
	line int
}

// lines yields line numbers and lines without their ends, whatever ends them
// (LF, CR LF or CR).
func (s source) lines() iter.Seq2[int, string] {
	return func(yield func(int, string) bool) {
		n, rest := s.line, s.text
		for len(rest) > 0 {
			i := strings.IndexAny(rest, "\r\n")
			line := rest
			if i < 0 {
				rest = ""
			} else {
				line = rest[:i]
				if strings.HasPrefix(rest[i:], "\r\n") {
					i++
				}
				rest = rest[i+1:]
			}
			if !yield(n, line) {
				return
			}
			n++
		}
	}
}

// tune is one tune of a file: its own text and where it stands.
type tune struct {
	number int // of its X: field; 0: none
	source
}

// split finds the file header (the fields before the first tune, which hold for
// every tune) and the tunes. A tune starts at its X: field and ends before the
// next one; what follows its closing blank line is found out in reading it. A
// file without any X: is one tune.
func split(text string) (header source, tunes []tune, all bool) {
	whole := source{text, 1}
	at := 0 // byte offset of the current line
	headerEnd := -1
	for n, line := range whole.lines() {
		start := at
		at += len(line)
		switch { // one line end
		case strings.HasPrefix(text[at:], "\r\n"):
			at += 2
		case strings.HasPrefix(text[at:], "\r"), strings.HasPrefix(text[at:], "\n"):
			at++
		}
		if !strings.HasPrefix(line, "X:") {
			if headerEnd < 0 && strings.TrimSpace(line) == "" {
				headerEnd = start
			}
			continue
		}
		if headerEnd < 0 {
			headerEnd = start
		}
		if len(tunes) == MaxTunes {
			return header, tunes, false
		}
		if k := len(tunes); k > 0 {
			tunes[k-1].text = text[tuneStart(tunes[k-1], text):start]
		}
		tunes = append(tunes, tune{number: tuneNumber(line), source: source{text[start:], n}})
	}
	if len(tunes) == 0 {
		return source{}, []tune{{source: whole}}, true
	}
	return source{text[:headerEnd], 1}, tunes, true
}

// tuneStart is the offset of a tune whose text still runs to the end of the file.
func tuneStart(t tune, text string) int { return len(text) - len(t.text) }

func tuneNumber(line string) int {
	n := 0
	for _, r := range strings.TrimSpace(line[2:]) {
		if r < '0' || r > '9' || n > 99_999_999 {
			break
		}
		n = 10*n + int(r-'0')
	}
	return n
}

// Heading says which tune of a file is which.
type Heading struct {
	Number int    // of its X: field; 0 where there is none
	Title  string // its first T: field
	Line   int    // where it starts
}

func (t tune) heading() Heading {
	h := Heading{Number: t.number, Line: t.line}
	for _, line := range t.lines() {
		if strings.HasPrefix(line, "T:") {
			h.Title = spoken(plain(line[2:]))
			break
		}
		if strings.HasPrefix(line, "K:") {
			break
		}
	}
	return h
}

// Tunes lists the tunes of a file in the order in which they stand there,
// without reading their music.
func Tunes(data []byte) []Heading {
	var ps leadsheet.Problems
	text, ok := decode(data, "", &ps)
	if !ok {
		return nil
	}
	_, tunes, _ := split(text)
	return headings(tunes)
}

func headings(tunes []tune) []Heading {
	out := make([]Heading, 0, len(tunes))
	for _, t := range tunes {
		out = append(out, t.heading())
	}
	return out
}

// Entry is a tune of a book, as Read has it: either its Song or what stopped it.
type Entry struct {
	Heading
	Song leadsheet.Song
	Err  error // a leadsheet.Problems
}

// Book reads the tunes of a file one after the other, and hands each on until told to
// stop. What is wrong with the file as a whole is the error.
func Book(data []byte, file string, each func(Entry) bool) error {
	var ps leadsheet.Problems
	text, ok := decode(data, file, &ps)
	if !ok {
		return ps
	}
	head, tunes, all := split(text)
	if !all {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: file, Line: tunes[MaxTunes-1].line}, "too-many-tunes", "Most", MaxTunes)
		return ps
	}
	for _, t := range tunes {
		e := Entry{Heading: t.heading()}
		e.Song, e.Err = readTune(head, t, len(tunes) > 1, slices.Clone(ps), Options{File: file}, false)
		if !each(e) {
			break
		}
	}
	return nil
}
