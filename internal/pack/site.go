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
	"gradatim/internal/imprint"
	"gradatim/internal/perform"
	"gradatim/internal/teach"
	"gradatim/internal/words"
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
	words *words.Words
	o     Options
	takes []perform.Take
	tmpl  map[string]*template.Template
	fonts []assets.Font
	code  string // of templates, script, style and messages: part of every page's inputs
}

// pages of the site, by template.
var pageNames = []string{"index", "level", "learn", "chords", "drills", "practice", "glossary", "teacher", "homework"}

func newSite(in Input, o Options, takes []perform.Take) (*site, error) {
	w, err := words.In(in.Language)
	if err != nil {
		return nil, err
	}
	s := &site{in: in, words: w, o: o, takes: takes, tmpl: map[string]*template.Template{}}
	funcs := template.FuncMap{"say": s.say, "lang": w.ID, "tempo": s.tempo, "bars": s.bars,
		"span":   func(from, to int) string { return words.Upper(w.Value(words.Span(from, to))) },
		"letter": func(does string) string { return w.Say("desk.letter." + does) }, "press": func(key string) string { return w.Say("desk.press." + key) },
		"hear": s.hearButton, "hearAt": s.hearStep, "runs": s.runs, "termID": termID, "list": func(bars []int) words.Bars { return bars }, "score": func() string { return w.Say("sheet.score") }}
	for _, name := range pageNames {
		t, err := template.New("layout.html").Funcs(funcs).ParseFS(tmplFiles, "tmpl/layout.html", "tmpl/part-*.html", "tmpl/"+name+".html")
		if err != nil {
			return nil, err
		}
		s.tmpl[name] = t
	}
	if s.fonts, err = assets.Fonts(); err != nil {
		return nil, err
	}
	var d digest
	d.bytes(w.Source())
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

// say words a message of the site.
func (s *site) say(key string, parts ...any) string { return s.words.Say("site."+key, parts...) }

// bars names bars by their printed numbers.
func (s *site) bars(bars []int) string { return s.words.Value(words.Bars(bars)) }

// frame is what every page has around its own matter.
type frame struct {
	Title   string // of the document
	Tune    string
	Mark    string // "private practice only …", "" where the rights are stated
	Levels  []link // of this edition
	Also    []link // what belongs to the lesson as a whole: workbook, homework, words
	Within  []link // the pages of the level that the page belongs to
	Kind    string // which of them it is
	Credits []string
	Page    string // for the style sheet
	Script  bool   // it has the player
	Ticks   bool   // it has boxes to tick, which stay
	Hear    bool   // it has music that sounds where it stands
	Heard   heard
	Share   *shareView // of the first page
	Plain   bool       // it sounds as plain tones: there are no recordings
	Look    bool       // she has colours of her own
	Studio  string
	Apart   bool // no page leads here, nor should a search
}

// link leads to another page of the site; Here is the page itself.
type link struct {
	Href, Text string
	Word       string // before the text, where there is room
	Number     int    // of the level
	Here       bool
}

func (s *site) frame(page, heading string, edition int, here int) frame {
	f := frame{Title: title(s.in, s.words), Tune: title(s.in, s.words), Mark: s.mark(), Page: page, Credits: s.credits(), Plain: !s.sounds(),
		Look: s.in.Own.Imprint.Look != (imprint.Look{}), Studio: s.in.Own.Imprint.Studio}
	if heading != "" {
		f.Title = heading + " · " + f.Title
	}
	for _, l := range s.in.Editions[edition].Lesson.Levels {
		number := fmt.Sprint(l.Number)
		f.Levels = append(f.Levels, link{Href: namesOf(s.in, edition, l.Number).page(), Text: number,
			Word: strings.TrimSuffix(s.words.Say("level.number", "n", l.Number), number), Number: l.Number, Here: l.Number == here})
	}
	if here > 0 {
		f.Also = append(f.Also, link{Href: namesOf(s.in, edition, here).pdf(), Text: s.say("also-print")})
	}
	f.Also = append(f.Also, link{Href: book(s.in, edition), Text: s.say("also-workbook")},
		link{Href: "glossary.html", Text: s.say("glossary"), Here: page == "glossary"})
	return f
}

// mark is the line that stands on every page of a tune whose rights are not stated.
func (s *site) mark() string {
	if s.in.Song.Rights.Status == leadsheet.Unknown {
		return s.say("private")
	}
	return ""
}

// foot is the line at the foot of engraved pages.
func (s *site) foot() string {
	return s.words.Rights(s.in.Song.Rights)
}

// credits are those of the tune and of the parts made by others.
func (s *site) credits() []string {
	var out []string
	out = append(out, s.words.Rights(s.in.Song.Rights))
	if s.in.Program != "" {
		out = append(out, s.say("credit.program", "Program", s.in.Program))
	}
	out = append(out, s.say("credit.letters"), s.say("credit.engraver"))
	if len(s.takes) > 0 {
		out = append(out, s.say("credit.piano"))
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
	for _, name := range []string{"lesson.css", "lesson.js", "clock.js", "tonight.js", "diary.js", "homework.js", "hear.js", "tone.js", "offline.js"} {
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
	Which     string // how to find one's level
	Facts     []fact
	Rights    []fact
	Editions  []editionView
	Cautions  []teach.Caution
	Downloads []download
	Own       ownView
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
	Href, Label, Title, Tempo, Feel, New string

	Bring string // where it says what to bring
	Sound string // its recording
	Print string // its pages
	Sheet string // its homework
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
	v := indexView{frame: s.frame("index", "", 0, 0), Composers: s.people(s.in.Song.Rights.Composers)}
	first := s.in.Editions[0].Lesson
	if v.Composers == "" {
		v.Composers = strings.Join(first.Composers, ", ")
	}
	v.Share = s.share(v.Title)
	v.Hear, v.Heard = s.sounds(), s.newHeard()
	v.Which = s.words.Lines("book.how-texts")[0]
	v.Facts = []fact{{s.say("key"), first.Key}, {s.say("metre"), first.Meter}, {s.say("length"), s.say("bars", "n", first.Bars)}}
	v.Rights = s.rightsFacts(s.in.Song.Rights)
	v.Cautions = first.Cautions
	for e, ed := range s.in.Editions {
		ev := editionView{Key: ed.Lesson.Key}
		text := s.say("workbook")
		if len(s.in.Editions) > 1 {
			text = s.say("workbook-in", "Key", ed.Lesson.Key)
		}
		v.Downloads = append(v.Downloads, download{book(s.in, e), text, "PDF"})
		for _, l := range ed.Lesson.Levels {
			ll := levelLink{Href: namesOf(s.in, e, l.Number).page(), Label: s.label(l), Title: l.Title, Tempo: s.tempo(l.Tempo), Feel: l.Feel}
			var names []string
			for _, n := range l.New {
				names = append(names, s.words.Technique(n.Technique).Name)
			}
			ll.New = words.Upper(strings.Join(names, ", "))
			if k := slices.IndexFunc(l.New, func(n teach.New) bool { return n.Main }); k >= 0 && len(names) > 1 {
				ll.New = s.say("new-and", "n", len(names)-1, "Main", words.Upper(names[k]))
			}
			n := namesOf(s.in, e, l.Number)
			ll.Print = n.pdf()
			if slices.Contains(kindsOf(pupils(l)), homeworkPage) {
				ll.Sheet = n.pageOf(homeworkPage)
			}
			if slices.Contains(kindsOf(pupils(l)), learnPage) {
				ll.Bring = n.pageOf(learnPage)
			}
			for _, t := range s.takes {
				if t.Name == "full" {
					ll.Sound = n.take(t)
				}
			}
			if repeats(l.Title, names) {
				ll.Title, ll.Tempo = "", words.Upper(ll.Tempo)
			}
			ev.Levels = append(ev.Levels, ll)
		}
		for _, r := range ed.Refused {
			rv := refusedView{Name: s.words.Level(r.Level.Number, r.Level.Name)}
			for _, p := range r.Problems {
				if p.Severity == leadsheet.Error {
					rv.Why = append(rv.Why, p.String())
				}
			}
			ev.Refused = append(ev.Refused, rv)
		}
		v.Editions = append(v.Editions, ev)
	}
	own, wrong := s.ofLesson()
	v.Own = own
	in, err := s.inputs(v)
	if wrong != nil {
		err = wrong
	}
	return part{name: "first page", files: []string{"index.html"}, inputs: in, make: func(context.Context, *workshop, func(float64)) ([]made, error) {
		if err != nil {
			return nil, err
		}
		b, err := s.render("index", v)
		return []made{{"index.html", b}}, err
	}}
}

// repeats tells whether a title names nothing but what is listed below it.
func repeats(title string, names []string) bool {
	for _, part := range strings.Split(title, "; ") {
		if !slices.ContainsFunc(names, func(n string) bool { return words.Upper(n) == words.Upper(part) }) {
			return false
		}
	}
	return true
}

type glossaryView struct {
	frame
	Terms []teach.Term
	Signs []teach.Sign
}

func (s *site) glossary() part {
	v := glossaryView{frame: s.frame("glossary", s.say("glossary"), 0, 0)}
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
func (s *site) rightsFacts(r leadsheet.Rights) []fact {
	var out []fact
	add := func(name, text string) {
		if text = strings.TrimSpace(text); text != "" {
			out = append(out, fact{s.say("rights-of." + name), text})
		}
	}
	add("status", s.words.Say("rights.status."+r.Status.String()))
	add("music", s.people(r.Composers))
	add("words", s.people(r.Lyricists))
	if r.Year > 0 {
		add("first", strings.TrimSpace(fmt.Sprintf("%d %s", r.Year, r.Country)))
	}
	add("source", r.Source)
	add("licence", r.Licence)
	add("permission", strings.TrimSpace(r.Reference+" "+r.ReferenceDate))
	add("territories", strings.Join(r.Territories, ", "))
	add("sheet", r.Text)
	add("titles", strings.Join(r.OtherTitles, ", "))
	return out
}

func (s *site) people(ps []leadsheet.Person) string {
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

func (s *site) tempo(t teach.Tempo) string {
	if t.PerMinute == 0 {
		return ""
	}
	return s.say("tempo", "Beat", t.Beat, "PerMinute", t.PerMinute)
}

// take names a recording; one that the language has no words for has its own.
func (s *site) take(t perform.Take) string { return s.words.Word("take", t.Name, "", t.What) }

// label names a level.
func (s *site) label(l teach.LevelLesson) string {
	return s.words.Form("level.label", "", "n", l.Number, "name", l.Name)
}
