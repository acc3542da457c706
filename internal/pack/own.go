package pack

import (
	"context"
	"fmt"
	"html/template"
	"maps"
	"path"
	"slices"
	"strings"

	"rsc.io/qr"

	"gradatim/internal/imprint"
	"gradatim/internal/pack/workbook"
	"gradatim/internal/teach"
)

// Own is what a teacher gives to a lesson: her file, and the files that it names, by
// name.
type Own struct {
	Imprint imprint.Imprint
	Files   map[string][]byte
}

// Ordered is the edition with the levels that are named, in this order; none: as it is.
func (ed Edition) Ordered(levels []int) Edition {
	if len(levels) == 0 {
		return ed
	}
	out := ed
	out.Pages, out.Lesson.Levels = nil, nil
	for _, n := range levels {
		for i, l := range ed.Lesson.Levels {
			if l.Number == n {
				out.Lesson.Levels = append(out.Lesson.Levels, l)
				out.Pages = append(out.Pages, ed.Pages[i])
			}
		}
	}
	out.Refused = slices.DeleteFunc(slices.Clone(ed.Refused), func(r Refusal) bool { return !slices.Contains(levels, r.Level.Number) })
	return out
}

// without leaves out of a lesson what she passes over.
func (o Own) without(l teach.Lesson) teach.Lesson {
	l.Levels = slices.Clone(l.Levels)
	gone := func(id string) bool { return slices.Contains(o.Imprint.Without, id) }
	all := func(ids []string) bool {
		return len(ids) > 0 && !slices.ContainsFunc(ids, func(id string) bool { return !gone(id) })
	}
	for i := range l.Levels {
		v := &l.Levels[i]
		v.New = slices.DeleteFunc(slices.Clone(v.New), func(n teach.New) bool { return gone(n.Technique) })
		v.Also = slices.DeleteFunc(slices.Clone(v.Also), func(a teach.Also) bool { return gone(a.Technique) })
		v.Given = slices.DeleteFunc(slices.Clone(v.Given), func(k teach.Known) bool { return gone(k.Technique) })
		v.Mistakes = slices.DeleteFunc(slices.Clone(v.Mistakes), func(p teach.Point) bool { return all(p.For) })
		v.Listen = slices.DeleteFunc(slices.Clone(v.Listen), func(p teach.Point) bool { return all(p.For) })
		v.Drills = slices.DeleteFunc(slices.Clone(v.Drills), func(d teach.Drill) bool {
			return o.Imprint.Drills == imprint.None || all(d.For)
		})
	}
	return l
}

// text is one of her texts, as HTML that is safe in a page.
func text(markdown string) (template.HTML, error) {
	s, err := imprint.HTML(markdown)
	return template.HTML(s), err //nolint:gosec // imprint.HTML has left nothing in it but what is allowed
}

// paper is what of hers stands in the workbook.
func (o Own) paper(l teach.Lesson) workbook.Own {
	out := workbook.Own{Studio: o.Imprint.Studio, Dedication: imprint.Plain(o.Imprint.Dedication), Introduction: imprint.Plain(o.Imprint.Introduction)}
	for _, v := range l.Levels {
		out.Levels = append(out.Levels, imprint.Plain(o.Imprint.Level(v.Number).Words))
	}
	return out
}

// named is a text with a name.
type named struct {
	Name string
	Text template.HTML
}

// mediumView is one of her recordings or films.
type mediumView struct {
	Title, Link, Src string
	Film             bool
}

// ownView is what of hers stands on a page.
type ownView struct {
	Studio, Contact string
	Logo            string
	Words           template.HTML
	Dedication      template.HTML
	Facts           []fact
	Sections        []named
	Media           []mediumView
	Code            template.HTML // to scan
	Address         string
}

// ofLesson is what stands on the first page, ofLevel what does on a level's.
func (s *site) ofLesson() (ownView, error) {
	own := s.in.Own.Imprint
	v, err := s.ofAll(0)
	if err != nil {
		return v, err
	}
	if v.Words, err = text(own.Introduction); err != nil {
		return v, err
	}
	if v.Dedication, err = text(own.Dedication); err != nil {
		return v, err
	}
	for _, f := range []fact{{s.say("own.price"), own.Price}, {s.say("own.licence"), own.Licence}, {s.say("own.contact"), own.Contact}} {
		if f.Text != "" {
			v.Facts = append(v.Facts, f)
		}
	}
	if own.Address != "" {
		v.Address = own.Address
		if v.Code, err = scanned(own.Address, s.say("own.code", "Address", own.Address)); err != nil {
			return v, err
		}
	}
	return v, nil
}

func (s *site) ofLevel(n int, sections []string) (ownView, error) {
	own := s.in.Own.Imprint
	v, err := s.ofAll(n)
	if err != nil {
		return v, err
	}
	w := own.Level(n)
	if v.Words, err = text(w.Words); err != nil {
		return v, err
	}
	for _, name := range slices.Sorted(maps.Keys(own.Sections)) {
		if !slices.Contains(sections, name) {
			continue
		}
		t, err := text(own.Sections[name])
		if err != nil {
			return v, err
		}
		v.Sections = append(v.Sections, named{s.say("own.section", "Name", name), t})
	}
	return v, nil
}

func (s *site) ofAll(level int) (ownView, error) {
	own := s.in.Own.Imprint
	v := ownView{Studio: own.Studio, Contact: own.Contact}
	if own.Logo != "" {
		v.Logo = ownPath(own.Logo)
	}
	for _, m := range own.Media {
		if m.Level != level {
			continue
		}
		x := mediumView{Title: m.Title, Link: m.Link}
		if m.File != "" {
			x.Src = ownPath(m.File)
			x.Film = slices.Contains([]string{".mp4", ".webm"}, strings.ToLower(path.Ext(m.File)))
		}
		if x.Title == "" {
			x.Title = s.say("own.medium")
		}
		v.Media = append(v.Media, x)
	}
	return v, nil
}

// ownPath is where a file of hers stands in the lesson.
func ownPath(name string) string { return "own/" + path.Base(name) }

// scanned draws an address as a code to scan (ISO/IEC 18004, by a library), with the
// quiet zone of four modules that the standard asks for.
func scanned(address, label string) (template.HTML, error) {
	c, err := qr.Encode(address, qr.M)
	if err != nil {
		return "", err
	}
	const quiet = 4
	var b strings.Builder
	size := c.Size + 2*quiet
	fmt.Fprintf(&b, `<svg class="code" viewBox="0 0 %d %d" role="img" aria-label="%s" shape-rendering="crispEdges"><rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="`,
		size, size, template.HTMLEscapeString(label), size, size)
	for y := range c.Size {
		for x := range c.Size {
			if c.Black(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x+quiet, y+quiet)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return template.HTML(b.String()), nil //nolint:gosec // drawn here, its label escaped
}

// ownFiles are her files and her colours.
func (s *site) ownFiles() (part, bool) {
	p := part{name: "the teacher's own files"}
	var out []made
	var d digest
	for _, name := range slices.Sorted(maps.Keys(s.in.Own.Files)) {
		p.files = append(p.files, ownPath(name))
		out = append(out, made{ownPath(name), s.in.Own.Files[name]})
		d.text(name)
		d.bytes(s.in.Own.Files[name])
	}
	if look := s.in.Own.Imprint.Look; look != (imprint.Look{}) {
		l := look.Light()
		css := fmt.Sprintf("/* The teacher's colours, by day. */\n@layer base {\n  @media not (prefers-color-scheme: dark) {\n    :root { --paper: %s; --ink: %s; --link: %s; }\n  }\n}\n", l.Paper, l.Ink, l.Accent)
		p.files = append(p.files, "static/own.css")
		out = append(out, made{"static/own.css", []byte(css)})
		d.text(css)
	}
	p.inputs = d.sum()
	p.make = func(context.Context, *workshop, func(float64)) ([]made, error) { return out, nil }
	return p, len(out) > 0
}
