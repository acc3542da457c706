package pack

import (
	"bytes"
	"context"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"slices"
	"strings"

	"gradatim/assets"
	"gradatim/internal/sound"
	"gradatim/internal/teach"
	"gradatim/leadsheet"
)

//go:embed tmpl/*.html
var tmplFiles embed.FS

//go:embed static
var staticFiles embed.FS

// site makes the pages of the lesson. Every page has a typed view; templates are
// parsed once.
type site struct {
	in    Input
	o     Options
	takes []Take
	tmpl  map[string]*template.Template
	fonts []assets.Font
	code  string // of templates, script and style: part of every page's inputs
}

// pages of the site, by template.
var pageNames = []string{"index", "level", "glossary"}

func newSite(in Input, o Options, takes []Take) (*site, error) {
	s := &site{in: in, o: o, takes: takes, tmpl: map[string]*template.Template{}}
	funcs := template.FuncMap{"bars": barsText, "lower": lowerFirst, "capital": capital, "pretty": pretty}
	for _, name := range pageNames {
		t, err := template.New("layout.html").Funcs(funcs).ParseFS(tmplFiles, "tmpl/layout.html", "tmpl/part-*.html", "tmpl/"+name+".html")
		if err != nil {
			return nil, err
		}
		s.tmpl[name] = t
	}
	var err error
	if s.fonts, err = assets.Fonts(); err != nil {
		return nil, err
	}
	var d digest
	for _, root := range []fs.FS{tmplFiles, staticFiles} {
		err := fs.WalkDir(root, ".", func(p string, e fs.DirEntry, err error) error {
			if err != nil || e.IsDir() {
				return err
			}
			b, err := fs.ReadFile(root, p)
			d.text(p)
			d.bytes(b)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	s.code = d.sum()
	return s, nil
}

// frame is what every page has around its own matter.
type frame struct {
	Title   string // of the document
	Tune    string
	Mark    string // "private practice only …", "" where the rights are stated
	Levels  []link // of this edition
	Credits []string
	Page    string // for the style sheet
	Script  bool
}

// link leads to another page of the site; Here is the page itself.
type link struct {
	Href, Text string
	Here       bool
}

func (s *site) frame(page, heading string, edition int, here int) frame {
	f := frame{Title: title(s.in.Song), Tune: title(s.in.Song), Mark: s.mark(), Page: page, Credits: s.credits()}
	if heading != "" {
		f.Title = heading + " · " + f.Title
	}
	for _, l := range s.in.Editions[edition].Lesson.Levels {
		f.Levels = append(f.Levels, link{namesOf(s.in, edition, l.Number).page(), fmt.Sprintf("Level %d", l.Number), l.Number == here})
	}
	return f
}

// Private is what is written on every page of a tune whose rights are not stated.
const Private = "Private practice only; rights not stated"

// mark is the line that stands on every page.
func (s *site) mark() string {
	if s.in.Song.Rights.Status == leadsheet.Unknown {
		return Private
	}
	return ""
}

// foot is the line at the foot of engraved pages.
func (s *site) foot() string {
	return s.in.Song.Rights.Line()
}

// credits are those of the tune and of the parts made by others.
func (s *site) credits() []string {
	var out []string
	out = append(out, s.in.Song.Rights.Line())
	if s.in.Program != "" {
		out = append(out, "Arranged, explained and laid out by "+s.in.Program+".")
	}
	out = append(out, "Letters of these pages: Source Serif 4, © 2014–2021 Adobe Systems Incorporated; signs from STIX Two Math, © 2001–2021 The STIX Fonts Project Authors; SIL Open Font License 1.1.")
	out = append(out, "Engraver: Verovio 6.3.0, LGPL-3.0-or-later. Letters and signs in the scores: Liberation Serif, STIX Two Math, Leipzig, SIL Open Font License 1.1.")
	if len(s.takes) > 0 {
		out = append(out, sound.Credit)
	}
	return out
}

// render fills a template.
func (s *site) render(name string, view any) ([]byte, error) {
	var b bytes.Buffer
	if err := s.tmpl[name].ExecuteTemplate(&b, "layout.html", view); err != nil {
		return nil, err
	}
	return []byte(doubled.Replace(b.String())), nil
}

// doubled writes double accidentals as two signs: few text fonts have one.
var doubled = strings.NewReplacer("𝄫", "♭♭", "𝄪", "♯♯")

// inputs hashes what a page is made of.
func (s *site) inputs(values ...any) (string, error) {
	var d digest
	d.text(s.code)
	for _, v := range values {
		if err := d.value(v); err != nil {
			return "", err
		}
	}
	return d.sum(), nil
}

// static are the files that are the same in every pack.
func (s *site) static() part {
	p := part{name: "style, script and letters"}
	var out []made
	var d digest
	d.text(s.code)
	for _, f := range s.fonts {
		p.files = append(p.files, "static/"+f.Name)
		out = append(out, made{"static/" + f.Name, f.Data})
		d.bytes(f.Data)
	}
	p.inputs = d.sum()
	for _, name := range []string{"lesson.css", "lesson.js"} {
		b, err := staticFiles.ReadFile("static/" + name)
		if err != nil {
			panic(err) // it is embedded
		}
		p.files = append(p.files, "static/"+name)
		out = append(out, made{"static/" + name, b})
	}
	p.make = func(context.Context, *workshop, func(float64)) ([]made, error) { return out, nil }
	return p
}

// indexView is the first page.
type indexView struct {
	frame
	Composers string
	Facts     []fact
	Rights    []fact
	Editions  []editionView
	Cautions  []teach.Caution
	Downloads []download
}

// fact is a line of a description list.
type fact struct{ Name, Text string }

// editionView is the ladder in one key.
type editionView struct {
	Key     string
	Levels  []levelLink
	Refused []refusedView
}

type levelLink struct {
	Href, Name, Title, Tempo, Feel string
	Number                         int
	New                            []string
}

type refusedView struct {
	Name string
	Why  []string
}

type download struct{ Href, Text, Kind string }

// book names the workbook of an edition.
func book(in Input, edition int) string {
	if edition == 0 {
		return "workbook.pdf"
	}
	return "workbook-in-" + slug(in.Editions[edition].Key.Pretty()) + ".pdf"
}

func (s *site) index() part {
	v := indexView{frame: s.frame("index", "", 0, 0), Composers: people(s.in.Song.Rights.Composers)}
	first := s.in.Editions[0].Lesson
	if v.Composers == "" {
		v.Composers = strings.Join(first.Composers, ", ")
	}
	v.Facts = []fact{{"Key", first.Key}, {"Metre", first.Meter}, {"Length", count(first.Bars, "bar")}}
	v.Rights = rightsFacts(s.in.Song.Rights)
	v.Cautions = first.Cautions
	for e, ed := range s.in.Editions {
		ev := editionView{Key: ed.Lesson.Key}
		text := "Workbook: the whole lesson on paper"
		if len(s.in.Editions) > 1 {
			text += ", in " + ed.Lesson.Key
		}
		v.Downloads = append(v.Downloads, download{book(s.in, e), text, "PDF"})
		for _, l := range ed.Lesson.Levels {
			ll := levelLink{Href: namesOf(s.in, e, l.Number).page(), Name: l.Name, Title: l.Title, Number: l.Number, Tempo: tempo(l.Tempo), Feel: l.Feel}
			for _, n := range l.New {
				ll.New = append(ll.New, n.Name)
			}
			ev.Levels = append(ev.Levels, ll)
		}
		for _, r := range ed.Refused {
			rv := refusedView{Name: r.Level.Label()}
			for _, p := range r.Problems {
				if p.Severity == leadsheet.Error {
					rv.Why = append(rv.Why, p.String())
				}
			}
			ev.Refused = append(ev.Refused, rv)
		}
		v.Editions = append(v.Editions, ev)
	}
	in, err := s.inputs(v)
	return part{name: "first page", files: []string{"index.html"}, inputs: in, make: func(context.Context, *workshop, func(float64)) ([]made, error) {
		if err != nil {
			return nil, err
		}
		b, err := s.render("index", v)
		return []made{{"index.html", b}}, err
	}}
}

type glossaryView struct {
	frame
	Terms []teach.Term
	Signs []teach.Sign
}

func (s *site) glossary() part {
	v := glossaryView{frame: s.frame("glossary", "Glossary", 0, 0)}
	seen := map[string]bool{}
	for _, ed := range s.in.Editions {
		for _, t := range ed.Lesson.Glossary {
			if !seen[t.Term] {
				seen[t.Term] = true
				v.Terms = append(v.Terms, t)
			}
		}
		for _, g := range ed.Lesson.Signs {
			if !slices.Contains(v.Signs, g) {
				v.Signs = append(v.Signs, g)
			}
		}
	}
	in, err := s.inputs(v)
	return part{name: "glossary", files: []string{"glossary.html"}, inputs: in, make: func(context.Context, *workshop, func(float64)) ([]made, error) {
		if err != nil {
			return nil, err
		}
		b, err := s.render("glossary", v)
		return []made{{"glossary.html", b}}, err
	}}
}

// rightsFacts puts what is known of the rights in lines.
func rightsFacts(r leadsheet.Rights) []fact {
	var out []fact
	add := func(name, text string) {
		if text = strings.TrimSpace(text); text != "" {
			out = append(out, fact{name, text})
		}
	}
	add("Status", r.Status.String())
	add("Music", people(r.Composers))
	add("Words", people(r.Lyricists))
	if r.Year > 0 {
		add("First published", strings.TrimSpace(fmt.Sprintf("%d %s", r.Year, r.Country)))
	}
	add("Source", r.Source)
	add("Licence", r.Licence)
	add("Permission", strings.TrimSpace(r.Reference+" "+r.ReferenceDate))
	add("Territories", strings.Join(r.Territories, ", "))
	add("On the sheet", r.Text)
	add("Other titles", strings.Join(r.OtherTitles, ", "))
	return out
}

func people(ps []leadsheet.Person) string {
	var out []string
	for _, p := range ps {
		if p.Died > 0 {
			out = append(out, fmt.Sprintf("%s († %d)", p.Name, p.Died))
		} else {
			out = append(out, p.Name)
		}
	}
	return strings.Join(out, ", ")
}

func tempo(t teach.Tempo) string {
	if t.PerMinute == 0 {
		return ""
	}
	return fmt.Sprintf("%s note = %d", t.Beat, t.PerMinute)
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// pretty prints the accidentals of a word of ours as signs.
func pretty(s string) string { return strings.NewReplacer("#", "♯").Replace(s) }
