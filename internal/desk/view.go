package desk

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"strings"

	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

//go:embed tmpl/*.html
var tmplFiles embed.FS

// pages are the templates, by the name of their view. Files named part-… are shared.
type pages struct {
	by map[string]*template.Template
}

func newPages(d *Desk) (*pages, error) {
	names, err := fs.Glob(tmplFiles, "tmpl/*.html")
	if err != nil {
		return nil, err
	}
	funcs := template.FuncMap{"say": d.say, "static": func(name string) string { return d.files.root + name }, "add": func(a, b int) int { return a + b }}
	p := &pages{by: map[string]*template.Template{}}
	for _, file := range names {
		name := strings.TrimSuffix(path.Base(file), ".html")
		if name == "layout" || strings.HasPrefix(name, "part-") {
			continue
		}
		t, err := template.New("layout.html").Funcs(funcs).ParseFS(tmplFiles, "tmpl/layout.html", "tmpl/part-*.html", file)
		if err != nil {
			return nil, err
		}
		p.by[name] = t
	}
	return p, nil
}

// say words a message of the desk.
func (d *Desk) say(key string, parts ...any) string { return d.words.Say("desk."+key, parts...) }

// frame is what every page has around its own matter. Each view begins with one.
type frame struct {
	Lang   string
	Title  string    // of the document; "": the desk's alone
	View   string    // name of the template
	Inside bool      // the reader was let in
	Tune   *tuneHead // whose page it is; nil: none
	Told   string    // what was done just now
	Wrong  string    // what was not, and why: an alert
	Keys   []keyHelp
	Locked string // why nothing can be changed; "": it can
	Stops  bool   // a button ends the program
	Undoes bool   // what was chosen can be taken back and had again here
}

func (f *frame) base() *frame { return f }

// view is a page: a struct that begins with a frame.
type view interface{ base() *frame }

// tuneHead is what the pages of a tune share: its name, and where its other pages are.
type tuneHead struct {
	ID, Title string
	Version   int // newest entry of its choices; forms bring it back
	Undo      string
	Redo      string // notes of what can be taken back, and had again; "": nothing
	Places    []place
	Here      string // address of the page, for forms that come back to it
}

// place is a page of a tune; Here is the one that is shown.
type place struct {
	Path, Text string
	Here       bool
}

// Now is what the page that is shown is called; "": it is none of Places.
func (h tuneHead) Now() string {
	if i := slices.IndexFunc(h.Places, func(p place) bool { return p.Here }); i >= 0 {
		return h.Places[i].Text
	}
	return ""
}

// Href is where a page of the tune stands.
func (h tuneHead) Href(page string) string {
	if page == "" {
		return "/tunes/" + h.ID
	}
	return "/tunes/" + h.ID + "/" + page
}

// page makes a handler of a function whose error becomes a page of trouble.
func (d *Desk) page(f func(http.ResponseWriter, *http.Request) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := f(w, r); err != nil {
			d.trouble(w, r, err)
		}
	})
}

// render writes a page whole, or nothing of it.
func (d *Desk) render(w http.ResponseWriter, r *http.Request, status int, name string, v view) error {
	t, ok := d.pages.by[name]
	if !ok {
		return fmt.Errorf("no view %q", name)
	}
	f := v.base()
	f.Lang, f.View, f.Inside, f.Keys, f.Stops = d.words.ID(), name, d.gate.knows(r), d.keys(), d.stop != nil && name != "ended"
	if d.only != "" {
		f.Locked = d.say("readonly", "Why", d.only)
	}
	if f.Told == "" {
		f.Told = d.told(r)
	}
	if f.Tune != nil && r.Method == http.MethodGet {
		f.Tune.Here = r.URL.RequestURI()
	}
	if n := levelAsked(r); f.Tune != nil && n > 0 { // the level goes along to the pages that show one
		for i, p := range f.Tune.Places {
			if slices.Contains(ofLevel, strings.TrimPrefix(p.Path, "/tunes/"+f.Tune.ID+"/")) {
				f.Tune.Places[i].Path = fmt.Sprintf("%s?level=%d", p.Path, n)
			}
		}
	}
	var b bytes.Buffer
	if err := t.Execute(&b, v); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(b.Bytes())
	return nil
}

// ofLevel are the pages of a tune that show one level.
var ofLevel = []string{"plan", "other", "listen"}

// told words what the answer before this one has done. An address can say only what there
// is a message for, and cannot fill it.
func (d *Desk) told(r *http.Request) string {
	if key := "desk.told." + r.URL.Query().Get("told"); d.words.Has(key) {
		return d.words.Say(key)
	}
	return ""
}

// troubleView is the page of what went wrong.
type troubleView struct {
	frame
	Heading  string
	Problems []problem
	Back     string
}

// problem is a Problem in words. Gravity is a word, never a colour alone.
type problem struct {
	Place, Text, Fix, Code, Gravity string
	Quote                           string // the line of the sheet
	Line, Bar                       int    // of the sheet; 0: none
	Fatal                           bool
	Mend                            string // id of the likely reading; "": there is none
	Likely                          int    // how likely it is, in percent
	Make, Instead                   string // what a press would make of it, and the whole text then; "": nothing
	told                            leadsheet.Problem
}

// problems puts Problems into words for a page, worst first within a place.
func (d *Desk) problems(ps leadsheet.Problems) []problem {
	ps = d.words.Problems(ps)
	ps.Sort()
	var out []problem
	for _, p := range ps {
		out = append(out, problem{Place: words.Upper(d.where(p.Pos)), Text: d.offBy(p) + words.Upper(p.Text), Fix: d.fix(p.Fix), Code: p.Code, Gravity: d.say("gravity." + p.Severity.String()), Line: p.Pos.Line, Bar: p.Pos.Bar, Fatal: p.Severity == leadsheet.Error, Mend: p.Mend, Likely: p.Likely, told: p})
	}
	return out
}

// fix says what can be done about a problem. What is told to a terminal is said of the page where
// the same is set, or left out.
func (d *Desk) fix(text string) string {
	for _, o := range options {
		if strings.Contains(text, "--"+o.name) {
			return d.say("fix.plan", "Name", d.say("option."+o.name))
		}
	}
	if strings.Contains(text, "gradatim ") || strings.Contains(text, "--") {
		return ""
	}
	return words.Upper(text)
}

// offBy says first of a bar that does not add up what it has too few or too many of; "": it
// is no single note value, or another problem.
func (d *Desk) offBy(p leadsheet.Problem) string {
	if !strings.HasPrefix(string(p.Says), "bar-doubtful.") {
		return ""
	}
	of := map[string]theory.Dur{}
	for i := 0; i+1 < len(p.Parts); i += 2 {
		name, _ := p.Parts[i].(string)
		if v, ok := p.Parts[i+1].(theory.Dur); ok {
			of[name] = v
		}
	}
	key, by := "sheet.short-by", of["Full"]-of["Length"]
	if by < 0 {
		key, by = "sheet.long-by", -by
	}
	if value := d.words.Value(by); value != "" {
		return d.say(key, "By", value) + " "
	}
	return ""
}

// where says a place to a reader.
func (d *Desk) where(p leadsheet.Pos) string {
	var parts []string
	if p.Line > 0 {
		parts = append(parts, d.say("where.line", "Line", p.Line))
	}
	switch {
	case p.Bar == 0 && p.Beat > 0:
		parts = append(parts, d.say("where.pickup"))
	case p.Bar > 0 && p.Beat > 0:
		parts = append(parts, d.say("where.beat", "Bar", p.Bar, "Beat", p.Beat.String()))
	case p.Bar > 0:
		parts = append(parts, d.say("where.bar", "Bar", p.Bar))
	}
	return strings.Join(parts, ", ")
}

// trouble answers with what went wrong. What a reader can do nothing about is logged, and
// its inside is not shown.
func (d *Desk) trouble(w http.ResponseWriter, r *http.Request, err error) {
	v := &troubleView{Heading: d.say("trouble.inside"), Back: "/"}
	status := http.StatusInternalServerError
	var ps leadsheet.Problems
	var large *http.MaxBytesError
	switch {
	case r.Context().Err() != nil:
		return // nobody waits for it
	case errors.Is(err, errNoPage):
		status, v.Heading = http.StatusNotFound, d.say("trouble.nothing")
	case errors.As(err, &large):
		status, v.Heading = http.StatusRequestEntityTooLarge, d.say("trouble.large")
	case errors.As(err, &ps):
		status, v.Heading, v.Problems = statusOf(ps), d.say("trouble.refused"), d.problems(ps)
	case errors.Is(err, context.Canceled):
		status, v.Heading = http.StatusServiceUnavailable, d.say("trouble.ending")
	default:
		d.log.Error("desk", "path", r.URL.Path, "error", err)
	}
	v.Title = v.Heading
	if err := d.render(w, r, status, "trouble", v); err != nil {
		d.log.Error("desk", "error", err)
		http.Error(w, v.Heading, http.StatusInternalServerError)
	}
}

// statusOf is what a browser is told of Problems: that there is no such thing, that others
// were here meanwhile, or that what was asked cannot be.
func statusOf(ps leadsheet.Problems) int {
	for _, p := range ps {
		switch {
		case p.Code == "shelf-tune":
			return http.StatusNotFound
		case p.Says == "shelf-history.meanwhile", p.Code == "shelf-readonly":
			return http.StatusConflict
		}
	}
	return http.StatusUnprocessableEntity
}
