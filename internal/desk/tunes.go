package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
)

// tunesView is the list of the shelf, and the form by which tunes come there.
type tunesView struct {
	frame
	Query    string // as typed
	Only     string // id of the filter beside it
	Filters  []filter
	Fields   []field // of the query, for who does not know its language
	Precise  bool    // some of them are asked for
	Tunes    []tuneRow
	Count    string
	Empty    bool // nothing is on the shelf at all
	Before   string
	After    string // addresses of the pages of the list before and after; "": there is none
	Problems []problem
	Taken    []takenRow
	Pasted   string // what was pasted and could not be read
}

// filter is a state by which the list can be narrowed.
type filter struct {
	ID, Text string
	On       bool
}

// tuneRow is a tune in the list, with its state in words.
type tuneRow struct {
	Href, Title, Makers, Facts string
	States                     []string
}

// takenRow tells what became of a tune that was handed in.
type takenRow struct {
	Name, State, Href string
	Problems          []problem
}

// filters by what they add to a query.
var filters = []struct{ id, query string }{
	{"all", ""}, {"warned", "warned:yes"}, {"built", "built:yes"}, {"unbuilt", "built:no"}, {"clear", "rights:world"}, {"unclear", "status:unknown"},
}

// queryFields are the fields of a query that stand in the form by themselves.
var queryFields = []string{"composer", "key", "metre", "bars", "incipit"}

// shown is how many tunes stand on a page of the list.
const shown = 50

func (d *Desk) showTunes(w http.ResponseWriter, r *http.Request) error {
	v := &tunesView{}
	status, err := d.list(r.Context(), r.URL.Query(), v)
	if err != nil {
		return err
	}
	return d.render(w, r, status, "tunes", v)
}

// list fills in what stands on the shelf. A query that cannot be read is told on the page.
func (d *Desk) list(ctx context.Context, q url.Values, v *tunesView) (int, error) {
	v.Title, v.Query, v.Only = d.say("tunes.title"), q.Get("q"), q.Get("only")
	text := v.Query
	for _, name := range queryFields {
		x := field{Name: name, Label: d.say("tunes.field-" + name), Value: strings.Join(strings.Fields(strings.ReplaceAll(q.Get(name), `"`, "")), " ")}
		if key := "tunes.field-" + name + "-help"; d.words.Has("desk." + key) {
			x.Help = d.say(key)
		}
		if x.Value != "" {
			v.Precise = true
			text += fmt.Sprintf(` %s:"%s"`, name, x.Value)
		}
		v.Fields = append(v.Fields, x)
	}
	for _, f := range filters {
		on := f.id == v.Only || v.Only == "" && f.id == "all"
		v.Filters = append(v.Filters, filter{f.id, d.say("tunes.only-" + f.id), on})
		if on {
			text += " " + f.query
		}
	}
	query, err := gradatim.ParseShelfQuery(text)
	var ps leadsheet.Problems
	if errors.As(err, &ps) {
		v.Problems = d.problems(ps)
		return http.StatusUnprocessableEntity, nil
	} else if err != nil {
		return 0, err
	}
	count, err := d.shelf.Count(ctx, query)
	if err != nil {
		return 0, err
	}
	v.Count = d.say("tunes.count", "n", count)
	v.Empty = count == 0 && strings.TrimSpace(text) == ""
	page, _ := strconv.Atoi(q.Get("page"))
	page = max(0, min(page, (count-1)/shown))
	query.Offset, query.Limit, query.Of = page*shown, shown, count
	at := func(n int) string {
		u := url.Values{"q": {v.Query}, "only": {v.Only}, "page": {strconv.Itoa(n)}}
		for _, f := range v.Fields {
			if f.Value != "" {
				u.Set(f.Name, f.Value)
			}
		}
		return "/?" + u.Encode()
	}
	if page > 0 {
		v.Before = at(page - 1)
	}
	if (page+1)*shown < count {
		v.After = at(page + 1)
	}
	tunes, err := d.shelf.Find(ctx, query)
	if err != nil {
		return 0, err
	}
	for _, t := range tunes {
		row := tuneRow{Href: "/tunes/" + t.ID, Title: d.titleOf(t), Makers: t.Composer, Facts: d.facts(t)}
		if row.States, err = d.states(ctx, t); err != nil {
			return 0, err
		}
		v.Tunes = append(v.Tunes, row)
	}
	return http.StatusOK, nil
}

func (d *Desk) titleOf(t gradatim.ShelfTune) string {
	if t.Title == "" {
		return d.say("untitled")
	}
	return t.Title
}

// facts is a line of what a tune is.
func (d *Desk) facts(t gradatim.ShelfTune) string {
	parts := []string{t.Key, t.Metre, d.say("tunes.bars", "n", t.Bars)}
	if t.Chords == 0 {
		parts = append(parts, d.say("tunes.bare"))
	}
	return strings.Join(parts, " · ")
}

// states says what is known of a tune: problems, choices, what was built, rights.
func (d *Desk) states(ctx context.Context, t gradatim.ShelfTune) ([]string, error) {
	var out []string
	var told []json.RawMessage
	if json.Unmarshal(t.Problems, &told) == nil && len(told) > 0 {
		out = append(out, d.say("tunes.problems", "n", len(told)))
	}
	choices, _, err := d.shelf.Current(ctx, t.ID, gradatim.ChoicesHistory)
	if err != nil {
		return nil, err
	}
	if n := bytes.Count(choices, []byte("[[")); n > 0 {
		out = append(out, d.say("tunes.choices", "n", n))
	}
	builds, err := d.shelf.Builds(ctx, t.ID)
	if err != nil {
		return nil, err
	}
	if len(builds) > 0 {
		out = append(out, d.say("tunes.made", "Day", builds[len(builds)-1].Made.Format("2006-01-02")))
	}
	rights, err := d.shelf.Rights(ctx, t.ID)
	if err != nil {
		return nil, err
	}
	if r := gradatim.RightIn(gradatim.World, rights); r.Status != leadsheet.Unknown {
		out = append(out, d.words.Say("rights.status."+r.Status.String()))
	} else if len(rights) == 0 {
		out = append(out, d.say("tunes.rights-unknown"))
	}
	if t.Alike != "" {
		out = append(out, d.say("tunes.alike"))
	}
	return out, nil
}

// addTunes takes in what was pasted, chosen or dropped. What it can read goes on the shelf,
// what it cannot is told; a single tune is shown at once.
func (d *Desk) addTunes(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseMultipartForm(8 << 20); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		return err
	}
	dir, err := os.MkdirTemp("", "gradatim-desk-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	var names []string
	put := func(name string, data []byte) error {
		// Files with the same name do not meet, and a name is nothing but a name.
		sub := filepath.Join(dir, strconv.Itoa(len(names)))
		if err := os.Mkdir(sub, 0o700); err != nil {
			return err
		}
		file := filepath.Join(sub, plainName(name))
		names = append(names, file)
		return os.WriteFile(file, data, 0o600)
	}
	pasted := strings.TrimSpace(strings.ReplaceAll(r.PostFormValue("text"), "\r\n", "\n"))
	if pasted != "" {
		if err := put("pasted.abc", []byte(pasted+"\n")); err != nil {
			return err
		}
	}
	if r.MultipartForm != nil {
		for _, h := range r.MultipartForm.File["file"] {
			if h.Filename == "" || h.Size == 0 {
				continue
			}
			data, err := readPart(h)
			if err != nil {
				return err
			}
			if err := put(h.Filename, data); err != nil {
				return err
			}
		}
	}
	v := &tunesView{Pasted: pasted}
	if len(names) == 0 {
		v.Wrong = d.say("tunes.nothing-given")
		if _, err := d.list(r.Context(), url.Values{}, v); err != nil {
			return err
		}
		return d.render(w, r, http.StatusUnprocessableEntity, "tunes", v)
	}
	taken, err := d.shelf.Take(r.Context(), names, gradatim.TakeOptions{Language: d.words.ID()})
	if err != nil {
		return err
	}
	if len(taken) == 1 && taken[0].Tune != "" {
		http.Redirect(w, r, "/tunes/"+taken[0].Tune+"?told="+takenHow(taken[0]), http.StatusSeeOther)
		return nil
	}
	refused := 0
	for _, t := range taken {
		row := takenRow{Name: strings.TrimSpace(t.Title), State: d.say("tunes.taken-refused"), Problems: d.problems(t.Problems)}
		if row.Name == "" {
			row.Name = strings.TrimPrefix(filepath.ToSlash(t.Name), filepath.ToSlash(dir)+"/")
			if _, rest, ok := strings.Cut(row.Name, "/"); ok {
				row.Name = rest
			}
		}
		if t.Tune != "" {
			row.State, row.Href = d.say("tunes.taken-"+takenHow(t)), "/tunes/"+t.Tune
		} else {
			refused++
		}
		v.Taken = append(v.Taken, row)
	}
	status := http.StatusOK
	if refused == len(taken) {
		status, v.Wrong = http.StatusUnprocessableEntity, d.say("tunes.none-read")
	} else {
		v.Pasted = ""
	}
	if _, err := d.list(r.Context(), url.Values{}, v); err != nil {
		return err
	}
	return d.render(w, r, status, "tunes", v)
}

// takenHow says in a word what became of a tune that is on the shelf now.
func takenHow(t gradatim.Taken) string {
	switch {
	case t.There:
		return "there"
	case t.Alike != "":
		return "alike"
	}
	return "added"
}

func readPart(h *multipart.FileHeader) ([]byte, error) {
	f, err := h.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(f)
}

// devices are names that a folder of Windows cannot hold, with any ending (Microsoft, Naming
// Files, Paths, and Namespaces).
var devices = regexp.MustCompile(`(?i)^(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(\.|$)`)

// plainName makes of what a browser calls a file a name that any folder can hold, of any
// system.
func plainName(name string) string {
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	name = strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`<>:"/\|?*`, r) || r == 0x7f {
			return '_'
		}
		return r
	}, name)
	if name = strings.TrimLeft(name, "."); name == "" {
		name = "sheet"
	}
	if rs := []rune(name); len(rs) > 100 {
		name = string(rs[len(rs)-100:])
	}
	name = strings.TrimRight(name, ". ") // Windows drops them, and two names would be one
	if name == "" || devices.MatchString(name) {
		name = "sheet-" + name
	}
	return name
}
