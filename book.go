package gradatim

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"gradatim/internal/abc"
	"gradatim/internal/account"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// BookTune is one tune of a book, as far as a table tells it.
type BookTune struct {
	File     string             `json:"file"`
	Number   int                `json:"number"` // in its file; 0: the only one
	Line     int                `json:"line,omitempty"`
	Title    string             `json:"title"`
	Rhythm   string             `json:"rhythm,omitempty"`
	Key      string             `json:"key,omitempty"`
	Meter    string             `json:"meter,omitempty"`
	Form     string             `json:"form,omitempty"`
	Bars     int                `json:"bars"`   // as played
	Chords   int                `json:"chords"` // symbols on the sheet; 0: a bare tune
	Read     bool               `json:"read"`   // false: its Problems say what stopped it
	Problems leadsheet.Problems `json:"problems"`
}

// Book is what was found in files of tunes.
type Book struct {
	Tunes    []BookTune
	Problems leadsheet.Problems // of files that are none
}

// ReadBook reads all tunes of files, ABC or others that Read reads, in their order. What
// cannot be read is in its place with what stopped it. Problems are told in one of
// Languages ("": English). The error is the context's, or of the language.
func ReadBook(ctx context.Context, language string, files ...File) (Book, error) {
	b := Book{Tunes: []BookTune{}, Problems: leadsheet.Problems{}}
	w, err := words.In(language)
	if err != nil {
		return b, err
	}
	add := func(file string, h abc.Heading, song leadsheet.Song, err error) {
		t := BookTune{File: file, Number: h.Number, Line: h.Line, Title: h.Title}
		if err != nil {
			var ps leadsheet.Problems
			errors.As(err, &ps)
			t.Problems = w.Problems(ps)
		} else {
			t.Title, t.Rhythm, t.Key, t.Meter, t.Form = song.Title, song.Rhythm, song.Key.String(), song.Meter.String(), song.Form
			t.Bars, t.Chords, t.Read, t.Problems = len(song.Bars), len(song.Chords), true, w.Problems(song.Problems)
		}
		if t.Problems == nil {
			t.Problems = leadsheet.Problems{}
		}
		b.Tunes = append(b.Tunes, t)
	}
	for _, f := range files {
		if err := context.Cause(ctx); err != nil {
			return b, err
		}
		if midi(f.Data) || musical(f.Data) {
			song, err := read(f.Name, f.Data, 0)
			add(f.Name, abc.Heading{}, song, err)
			continue
		}
		err := abc.Book(f.Data, f.Name, func(e abc.Entry) bool {
			add(f.Name, e.Heading, proofread(e.Song), e.Err)
			return context.Cause(ctx) == nil
		})
		var ps leadsheet.Problems
		if errors.As(err, &ps) {
			b.Problems = append(b.Problems, w.Problems(ps)...)
		}
	}
	return b, context.Cause(ctx)
}

// JSON is the book in the shape of docs/formats.md.
func (b Book) JSON() ([]byte, error) {
	out := struct {
		Version  int                `json:"version"`
		Tunes    []BookTune         `json:"tunes"`
		Problems leadsheet.Problems `json:"problems"`
	}{account.FormatVersion, b.Tunes, b.Problems}
	data, err := json.MarshalIndent(out, "", " ")
	return append(data, '\n'), err
}

// Text is the book as a table, and its sum.
func (b Book) Text() string {
	rows := [][]string{{"tune", "title", "key", "metre", "bars", "chords", "problems"}}
	file := ""
	several := slices.ContainsFunc(b.Tunes, func(t BookTune) bool { return t.File != b.Tunes[0].File })
	read, bare := 0, 0
	for _, t := range b.Tunes {
		if several && t.File != file {
			rows = append(rows, []string{t.File})
		}
		file = t.File
		number, chords := "", "none"
		if t.Number > 0 {
			number = strconv.Itoa(t.Number)
		}
		switch {
		case !t.Read:
			chords = ""
		case t.Chords > 0:
			chords = strconv.Itoa(t.Chords)
		default:
			bare++
		}
		bars := ""
		if t.Read {
			read++
			bars = strconv.Itoa(t.Bars)
		}
		rows = append(rows, []string{number, clipped(t.Title, 36), t.Key, t.Meter, bars, chords, problemsIn(t)})
	}
	var widths [7]int
	for _, r := range rows {
		for i, cell := range r {
			if len(r) > 1 {
				widths[i] = max(widths[i], utf8.RuneCountInString(cell))
			}
		}
	}
	var out strings.Builder
	for _, r := range rows {
		line := ""
		for i, cell := range r {
			line += cell + strings.Repeat(" ", max(0, widths[i]-utf8.RuneCountInString(cell))+2)
		}
		out.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	fmt.Fprintf(&out, "\n%d tunes, %d read, %d of them without chords\n", len(b.Tunes), read, bare)
	return out.String()
}

func clipped(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

// problemsIn counts what is wrong with a tune, and names what stopped it.
func problemsIn(t BookTune) string {
	warnings := 0
	for _, p := range t.Problems {
		switch p.Severity {
		case leadsheet.Error:
			return p.Code
		case leadsheet.Warning:
			warnings++
		}
	}
	switch warnings {
	case 0:
		return ""
	case 1:
		return "1 warning"
	}
	return fmt.Sprintf("%d warnings", warnings)
}

// FindTune returns the number of a tune in a file of several, by its number or its
// title: as written but for capitals, accents of punctuation and a leading article, or a
// part of it that no other title has. "" is 0, the first. The error is a
// leadsheet.Problems.
func FindTune(f File, which string) (int, error) {
	if n, err := strconv.Atoi(which); which == "" || err == nil {
		return n, nil
	}
	w := words.Must(words.Default)
	tell := func(says leadsheet.Saying, parts ...any) error {
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: f.Name}, says, parts...)
		return w.Problems(ps)
	}
	if midi(f.Data) {
		n, names := findLine(f, which)
		if n == 0 && names != nil {
			return 0, tell("midi-line", "Number", leadsheet.Quoted(clipped(which, 60)), "Lines", strings.Join(names, ", "))
		}
		return n, nil
	}
	if musical(f.Data) {
		return 0, tell("tune-title-single", "Title", leadsheet.Quoted(clipped(which, 60)))
	}
	tunes := abc.Tunes(f.Data)
	asked := titleKey(which)
	var whole, part []abc.Heading
	for _, t := range tunes {
		switch title := titleKey(t.Title); {
		case asked == "":
		case title == asked:
			whole = append(whole, t)
		case strings.Contains(" "+title+" ", " "+asked+" ") || strings.HasPrefix(title, asked):
			part = append(part, t)
		}
	}
	found := whole
	if len(found) == 0 {
		found = part
	}
	switch len(found) {
	case 0:
		near := slices.Clone(tunes)
		slices.SortStableFunc(near, func(a, b abc.Heading) int {
			return cmp.Compare(alike(titleKey(b.Title), asked), alike(titleKey(a.Title), asked))
		})
		return 0, tell("tune-title-missing", "Title", leadsheet.Quoted(clipped(which, 60)), "Titles", listed(near, 3))
	case 1:
		n := found[0].Number
		if n > 0 && slices.ContainsFunc(tunes, func(t abc.Heading) bool { return t.Number == n && t.Line < found[0].Line }) {
			return 0, tell("tune-title-number", "Number", n)
		}
		return n, nil
	}
	return 0, tell("tune-title-several", "n", len(found), "Titles", listed(found, 6))
}

// titleKey is a title without what readers leave out: capitals, punctuation, "The" in
// front or behind.
func titleKey(s string) string {
	fields := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '\'' && r != '’' })
	for i := range fields {
		fields[i] = strings.NewReplacer("'", "", "’", "").Replace(fields[i])
	}
	if n := len(fields); n > 1 && fields[n-1] == "the" {
		fields = fields[:n-1]
	}
	if len(fields) > 1 && (fields[0] == "the" || fields[0] == "a" || fields[0] == "an") {
		fields = fields[1:]
	}
	return strings.Join(fields, " ")
}

// alike counts the pairs of letters that two titles share.
func alike(a, b string) (n int) {
	pairs := map[string]bool{}
	for i := 0; i+1 < len(a); i++ {
		pairs[a[i:i+2]] = true
	}
	for i := 0; i+1 < len(b); i++ {
		if pairs[b[i:i+2]] {
			n++
		}
	}
	return n
}

// listed names some tunes.
func listed(tunes []abc.Heading, most int) string {
	var out []string
	for i, t := range tunes {
		if i == most {
			out = append(out, "…")
			break
		}
		out = append(out, fmt.Sprintf("%d %s", t.Number, clipped(t.Title, 40)))
	}
	return strings.Join(out, ", ")
}
