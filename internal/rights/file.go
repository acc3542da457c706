package rights

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"gradatim/internal/settings"
	"gradatim/leadsheet"
)

// longest is the most characters of one text: far above what a page can show.
const longest = 2000

// Years that a file may name.
const (
	firstYear = 1000
	lastYear  = 2100
)

var form = settings.Form{Encoding: "rights-syntax.encoding", Syntax: "rights-syntax"}

// Read returns the song with what a rights file (docs/formats.md) says of it.
// The file goes before the sheet, key by key; what it does not mention stays as
// the sheet has it. name is the file's, for messages. The error is a
// leadsheet.Problems with every wrong key and value; then the song is as it was.
func Read(name string, data []byte, song leadsheet.Song) (leadsheet.Song, error) {
	r := &reader{name: name, data: data}
	var table map[string]any
	var ok bool
	if r.ps, ok = form.Decode(name, data, &table); !ok {
		return song, r.ps
	}
	out := song
	out.Rights.Filed = name
	for _, key := range sortedKeys(table) {
		r.key = key
		read, ok := keys[key]
		if !ok {
			fix := "the keys are in docs/formats.md"
			if like := similar(key); like != "" {
				fix = "did you mean " + like + "?"
			}
			r.bad("rights-key", fmt.Sprintf("unknown key %q", key), fix)
			continue
		}
		read(r, table[key], &out)
	}
	r.ps.Sort()
	if err := r.ps.Err(); err != nil {
		return song, err
	}
	return out, nil
}

// keys are the keys of the file; each function reads its value into the song.
var keys = map[string]func(*reader, any, *leadsheet.Song){
	"title":              func(r *reader, v any, s *leadsheet.Song) { r.text(v, &s.Title) },
	"alternative_titles": func(r *reader, v any, s *leadsheet.Song) { r.texts(v, &s.Rights.OtherTitles) },
	"composers":          func(r *reader, v any, s *leadsheet.Song) { r.people(v, &s.Rights.Composers) },
	"lyricists":          func(r *reader, v any, s *leadsheet.Song) { r.people(v, &s.Rights.Lyricists) },
	"year":               func(r *reader, v any, s *leadsheet.Song) { r.year(v, &s.Rights.Year) },
	"country":            func(r *reader, v any, s *leadsheet.Song) { r.text(v, &s.Rights.Country) },
	"source":             func(r *reader, v any, s *leadsheet.Song) { r.text(v, &s.Rights.Source) },
	"arranger":           func(r *reader, v any, s *leadsheet.Song) { r.text(v, &s.Rights.Arranger) },
	"status":             func(r *reader, v any, s *leadsheet.Song) { r.status(v, &s.Rights.Status) },
	"licence":            func(r *reader, v any, s *leadsheet.Song) { r.text(v, &s.Rights.Licence) },
	"permission":         func(r *reader, v any, s *leadsheet.Song) { r.text(v, &s.Rights.Reference) },
	"permission_date":    func(r *reader, v any, s *leadsheet.Song) { r.date(v, &s.Rights.ReferenceDate) },
	"territories":        func(r *reader, v any, s *leadsheet.Song) { r.texts(v, &s.Rights.Territories) },
	"lyrics_cleared":     func(r *reader, v any, s *leadsheet.Song) { r.yes(v, &s.Rights.LyricsCleared) },
	"note":               func(r *reader, v any, s *leadsheet.Song) { r.text(v, &s.Rights.Note) },
}

type reader struct {
	name string
	data []byte
	key  string // being read
	ps   leadsheet.Problems
}

// bad reports something about the key that is being read.
func (r *reader) bad(code, text, fix string) {
	pos := leadsheet.Pos{File: r.name}
	pos.Line, pos.Col = settings.Place(r.data, r.key)
	r.ps.Add(leadsheet.Error, pos, code, text, fix)
}

func (r *reader) value(v any, want, fix string) {
	r.bad("rights-value", fmt.Sprintf("%s is %s: %s is wanted", r.key, describe(v), want), fix)
}

func (r *reader) text(v any, to *string) {
	s, ok := v.(string)
	if !ok {
		r.value(v, "text", fmt.Sprintf(`write %s = "…"`, r.key))
		return
	}
	if s, ok = r.clean(s); ok {
		*to = s
	}
}

// clean brings a text onto one line, and refuses what cannot be printed.
func (r *reader) clean(s string) (string, bool) {
	s = strings.Join(strings.Fields(s), " ")
	switch {
	case s == "":
		r.bad("rights-value", r.key+" has an empty text", "leave the key out where nothing is known")
	case utf8.RuneCountInString(s) > longest:
		r.bad("rights-value", fmt.Sprintf("%s has a text of more than %d characters", r.key, longest), "say it more shortly")
	case strings.ContainsFunc(s, unicode.IsControl):
		r.bad("rights-value", r.key+" has a control character in it", "write letters, digits and signs only")
	default:
		return s, true
	}
	return "", false
}

func (r *reader) texts(v any, to *[]string) {
	list, ok := v.([]any)
	if !ok {
		r.value(v, "a list of texts", fmt.Sprintf(`write %s = ["…"]`, r.key))
		return
	}
	out := []string{}
	for _, e := range list {
		s, ok := e.(string)
		if !ok {
			r.value(e, "a list of texts", fmt.Sprintf(`write %s = ["…"]`, r.key))
			continue
		}
		if s, ok = r.clean(s); ok {
			out = append(out, s)
		}
	}
	*to = out
}

// people reads a list of names, or of tables with name and died.
func (r *reader) people(v any, to *[]leadsheet.Person) {
	fix := fmt.Sprintf(`write %s = [{ name = "…", died = 1901 }]; leave died out where it is unknown`, r.key)
	list, ok := v.([]any)
	if tables, isTables := v.([]map[string]any); isTables { // [[composers]]
		ok = true
		for _, t := range tables {
			list = append(list, t)
		}
	}
	if !ok {
		r.value(v, "a list of people", fix)
		return
	}
	out := []leadsheet.Person{}
	for _, e := range list {
		var p leadsheet.Person
		switch e := e.(type) {
		case string:
			if s, ok := r.clean(e); ok {
				p.Name = s
			}
		case map[string]any:
			for _, k := range sortedKeys(e) {
				switch k {
				case "name":
					r.text(e[k], &p.Name)
				case "died":
					r.year(e[k], &p.Died)
				default:
					r.bad("rights-key", fmt.Sprintf("unknown key %q in %s", k, r.key), "a person has name and died")
				}
			}
			if _, named := e["name"]; !named {
				r.bad("rights-value", "somebody in "+r.key+" has no name", fix)
			}
		default:
			r.value(e, "a list of people", fix)
		}
		if p.Name != "" {
			out = append(out, p)
		}
	}
	*to = out
}

func (r *reader) year(v any, to *int) {
	n, ok := v.(int64)
	if !ok || n < firstYear || n > lastYear {
		r.value(v, fmt.Sprintf("a year from %d to %d, without quotes,", firstYear, lastYear), "leave it out where it is unknown")
		return
	}
	*to = int(n)
}

func (r *reader) status(v any, to *leadsheet.Status) {
	var names []string
	for _, s := range []leadsheet.Status{leadsheet.PublicDomain, leadsheet.Own, leadsheet.Licensed, leadsheet.Unknown} {
		if v == s.String() {
			*to = s
			return
		}
		names = append(names, fmt.Sprintf("%q", s))
	}
	r.value(v, "a status", "it is one of "+strings.Join(names, ", "))
}

// date reads a local date, quoted or not, and writes it as year-month-day.
func (r *reader) date(v any, to *string) {
	switch v := v.(type) {
	case time.Time:
		*to = v.Format(time.DateOnly)
		return
	case string:
		if d, err := time.Parse(time.DateOnly, v); err == nil {
			*to = d.Format(time.DateOnly)
			return
		}
	}
	r.value(v, "a date", "write year-month-day: "+r.key+" = 2024-05-31")
}

func (r *reader) yes(v any, to *bool) {
	b, ok := v.(bool)
	if !ok {
		r.value(v, "true or false", "write it without quotes")
		return
	}
	*to = b
}

// describe names a value in a message.
func describe(v any) string {
	switch v := v.(type) {
	case string:
		if r := []rune(v); len(r) > 40 {
			return fmt.Sprintf("%q", string(r[:39])+"…")
		}
		return fmt.Sprintf("%q", v)
	case int64, float64, bool:
		return fmt.Sprint(v)
	case time.Time:
		return "a date"
	case []any, []map[string]any:
		return "a list"
	case map[string]any:
		return "a table"
	}
	return "something else"
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// similar finds the key that somebody may have meant: at most two letters away.
func similar(key string) string {
	best, name := 3, ""
	for _, k := range sortedKeys(keys) {
		if d := distance(strings.ToLower(key), k); d < best {
			best, name = d, k
		}
	}
	return name
}

// distance is the least number of letters to add, drop or change: Levenshtein,
// "Binary codes capable of correcting deletions, insertions, and reversals"
// (1966), in the row by row form of Wagner and Fischer (1974).
func distance(a, b string) int {
	if len(a) > 40 {
		return len(a)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		corner := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := corner
			if a[i-1] != b[j-1] {
				change++
			}
			corner = row[j]
			row[j] = min(change, corner+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}
