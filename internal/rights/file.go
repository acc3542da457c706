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

// personForm is how a file tells of one person.
const personForm = `{ name = "…", died = 1901 }`

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
			if like := similar(key); like != "" {
				r.bad("rights-key.near", "Key", leadsheet.Quoted(key), "Near", like)
			} else {
				r.bad("rights-key", "Key", leadsheet.Quoted(key))
			}
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
func (r *reader) bad(says leadsheet.Saying, parts ...any) {
	pos := leadsheet.Pos{File: r.name}
	pos.Line, pos.Col = settings.Place(r.data, r.key)
	r.ps.Tell(leadsheet.Error, pos, says, parts...)
}

func (r *reader) text(v any, to *string) {
	s, ok := v.(string)
	if !ok {
		r.bad("rights-value.string", "Key", r.key, "Value", describe(v))
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
		r.bad("rights-value.empty", "Key", r.key)
	case utf8.RuneCountInString(s) > longest:
		r.bad("rights-value.long", "Key", r.key, "Most", longest)
	case strings.ContainsFunc(s, unicode.IsControl):
		r.bad("rights-value.control", "Key", r.key)
	default:
		return s, true
	}
	return "", false
}

func (r *reader) texts(v any, to *[]string) {
	list, ok := v.([]any)
	if !ok {
		r.bad("rights-value.texts", "Key", r.key, "Value", describe(v))
		return
	}
	out := []string{}
	for _, e := range list {
		s, ok := e.(string)
		if !ok {
			r.bad("rights-value.texts", "Key", r.key, "Value", describe(e))
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
	list, ok := v.([]any)
	if tables, isTables := v.([]map[string]any); isTables { // [[composers]]
		ok = true
		for _, t := range tables {
			list = append(list, t)
		}
	}
	if !ok {
		r.bad("rights-value.people", "Key", r.key, "Value", describe(v), "Form", personForm)
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
					r.bad("rights-key.person", "Key", leadsheet.Quoted(k), "Of", r.key)
				}
			}
			if _, named := e["name"]; !named {
				r.bad("rights-value.nameless", "Key", r.key, "Form", personForm)
			}
		default:
			r.bad("rights-value.people", "Key", r.key, "Value", describe(e), "Form", personForm)
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
		r.bad("rights-value.year", "Key", r.key, "Value", describe(v), "First", firstYear, "Last", lastYear)
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
	r.bad("rights-value.status", "Key", r.key, "Value", describe(v), "Statuses", strings.Join(names, ", "))
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
	r.bad("rights-value.date", "Key", r.key, "Value", describe(v))
}

func (r *reader) yes(v any, to *bool) {
	b, ok := v.(bool)
	if !ok {
		r.bad("rights-value.yes", "Key", r.key, "Value", describe(v))
		return
	}
	*to = b
}

// describe is what a value is called in a message.
func describe(v any) any {
	is := leadsheet.Saying("rights-given.other")
	switch v := v.(type) {
	case string:
		if r := []rune(v); len(r) > 40 {
			return leadsheet.Quoted(string(r[:39]) + "…")
		}
		return leadsheet.Quoted(v)
	case int64, float64, bool:
		return fmt.Sprint(v)
	case time.Time:
		is = "rights-given.date"
	case []any, []map[string]any:
		is = "rights-given.list"
	case map[string]any:
		is = "rights-given.table"
	}
	return leadsheet.Tell(leadsheet.Info, leadsheet.Pos{}, is)
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
