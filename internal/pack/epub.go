package pack

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"embed"
	"encoding/hex"
	"encoding/xml"
	"fmt"
	"hash/crc32"
	"html/template"
	"regexp"
	"slices"
	"strings"

	"gradatim/internal/engrave"
	"gradatim/internal/musicxml"
)

// The lesson as a reflowable book.
//
// Problem: a lesson to read on a device for books, in any size of letters. Source: EPUB 3.3
// (W3C Recommendation, 2023): a zip file whose first entry is its kind, stored (4.2.2), a
// container that names the package (4.2.6.3), a package with metadata, a manifest of every
// resource and a spine (5), XHTML documents (6.1), one of them the navigation (7).
// Objective: the words of the site and its pictures for narrow pages, as drawings in the
// text, which any size of screen scales. Cost: the engraving of the level pages once more.
// Rejected: pictures of whole pages in a fixed layout, which no reader can enlarge; sound
// in the book, which the site has.

//go:embed epub
var epubFiles embed.FS

// epubName names the book of an edition.
func epubName(in Input, edition int) string {
	if edition == 0 {
		return "lesson.epub"
	}
	return "lesson-in-" + slug(in.Editions[edition].Key.Pretty()) + ".epub"
}

// epubLevel is a level as a chapter.
type epubLevel struct {
	levelView
	Own   []string // her words, as paragraphs
	terms linker
}

// epubFront is what comes first, and what the navigation lists.
type epubFront struct {
	Tune, By, Mark, Studio string
	Own, Credits           []string
	Levels                 []epubChapter
}

type epubChapter struct {
	Href, Text string
	Parts      []epubSection
}

type epubSection struct{ ID, Text string }

// epub is the part that makes the book of an edition.
func (s *site) epub(e int) (part, error) {
	ed := s.in.Editions[e]
	own := s.in.Own.paper(ed.Lesson)
	front := epubFront{Tune: title(s.in, s.words), By: strings.Join(ed.Lesson.Composers, ", "), Mark: s.mark(), Studio: own.Studio,
		Own: slices.Concat(own.Dedication, own.Introduction), Credits: s.credits()}
	var views []epubLevel
	var sources [][]byte
	var d digest
	d.text(s.code)
	for _, name := range []string{"level.xhtml", "front.xhtml", "glossary.xhtml", "nav.xhtml", "book.css"} {
		b, err := epubFiles.ReadFile("epub/" + name)
		if err != nil {
			return part{}, err
		}
		d.bytes(b)
	}
	for i, p := range ed.Pages {
		l := pupils(ed.Lesson.Levels[i])
		v := epubLevel{levelView: levelView{Label: s.label(l), L: l, Cautions: append(slices.Clone(l.Cautions), ed.Lesson.Cautions...),
			Head: []fact{{s.say("key"), ed.Lesson.Key}, {s.say("metre"), ed.Lesson.Meter}, {s.say("player.tempo"), s.tempo(l.Tempo)}}}}
		v.terms = s.linkerOf(l, ed.Lesson.Glossary, "glossary.xhtml")
		if i < len(own.Levels) {
			v.Own = own.Levels[i]
		}
		var err error
		if v.Player, err = s.player(p.Score, l.Tempo.Beat, nil, names{}); err != nil {
			return part{}, err
		}
		src, err := musicxml.Write(p.Printed)
		if err != nil {
			return part{}, err
		}
		views, sources = append(views, v), append(sources, src)
		ch := epubChapter{Href: fmt.Sprintf("level-%d.xhtml", l.Number), Text: v.Label}
		for _, x := range []struct {
			there    bool
			id, text string
		}{{len(l.Bring) > 0, "bring", s.say("level.bring")}, {true, "score", s.words.Say("sheet.score")}, {len(l.New)+len(l.Also) > 0, "new", s.say("level.new")},
			{len(l.Chords) > 0, "chords", s.say("level.chords")}, {len(l.Drills) > 0, "drills", s.say("level.drills")}, {true, "practice", s.say("level.practice")}} {
			if x.there {
				ch.Parts = append(ch.Parts, epubSection{x.id, x.text})
			}
		}
		front.Levels = append(front.Levels, ch)
		d.bytes(src)
	}
	for _, v := range []any{ed.Lesson, front, s.in.Song.Rights} {
		if err := d.value(v); err != nil {
			return part{}, err
		}
	}
	sum := d.sum()
	name, file := "book for readers", epubName(s.in, e)
	if len(s.in.Editions) > 1 {
		name += " in " + ed.Key.Pretty()
	}
	return part{name: name, files: []string{file}, inputs: sum, make: func(ctx context.Context, w *workshop, progress func(float64)) ([]made, error) {
		docs := map[string]any{"front": front, "glossary": glossaryView{Terms: ed.Lesson.Glossary, Signs: ed.Lesson.Signs}, "nav": front}
		order := []string{"front"}
		for i := range views {
			v := views[i] // what is engraved into it belongs to this run
			if err := s.chapterPictures(ctx, w, &v.levelView, sources[i], func(p float64) {
				progress((float64(i) + p) / float64(len(views)))
			}); err != nil {
				return nil, err
			}
			id := fmt.Sprintf("level-%d", v.L.Number)
			docs[id] = v
			order = append(order, id)
		}
		b, err := s.bindEPUB(front, sum, docs, append(order, "glossary"))
		return []made{{file, b}}, err
	}}, nil
}

// chapterPictures engraves what a level has, in the widths of narrow pages.
func (s *site) chapterPictures(ctx context.Context, w *workshop, v *levelView, xml []byte, progress func(float64)) error {
	var small []excerpt
	for k, nw := range v.L.New {
		small = append(small, excerpt{fmt.Sprintf("ex%da", k+1), nw.Example.Before}, excerpt{fmt.Sprintf("ex%db", k+1), nw.Example.After})
	}
	for k, d := range v.L.Drills {
		small = append(small, excerpt{fmt.Sprintf("drill%d", k+1), d.Music})
	}
	var whole *engrave.Document
	docs := make([]*engrave.Document, len(small))
	jobs := newJobs(ctx, w, shares(len(small)+1, progress))
	jobs.engrave(&whole, xml, engrave.Layout{Paper: narrow, StaffHeight: narrowStaff, Title: engrave.Title{Hide: true}, HideFoot: true, IDPrefix: "n", Lang: s.in.Language})
	for k, x := range small {
		source, err := x.source()
		if err != nil {
			jobs.stop(fmt.Errorf("%s: %s: %w", v.Label, x.music.Caption, err))
			break
		}
		if source != "" {
			jobs.engrave(&docs[k], []byte(source), engrave.Layout{Paper: smallPaper, StaffHeight: 6, Title: engrave.Title{Hide: true}, HideFoot: true, IDPrefix: x.id, Lang: s.in.Language})
		}
	}
	if err := jobs.wait(); err != nil {
		return err
	}
	g := newGlyphs()
	v.Narrow = s.scorePictures(g, whole, "n", v)
	pics := map[string]picture{}
	for k, x := range small {
		if docs[k] != nil {
			pics[x.id] = s.excerptPicture(g, docs[k], x)
		}
	}
	for k, nw := range v.L.New {
		v.New = append(v.New, newView{nw, "", pics[fmt.Sprintf("ex%da", k+1)], pics[fmt.Sprintf("ex%db", k+1)], s.leadTo(v.L.New, k)})
	}
	for k, d := range v.L.Drills {
		v.Drills = append(v.Drills, drillView{d, "", pics[fmt.Sprintf("drill%d", k+1)]})
	}
	var err error
	if v.Chords, err = s.chordCards(g, v.L.Chords); err != nil {
		return err
	}
	v.Glyphs = g.svg()
	return nil
}

// epubFile is a file of the book.
type epubFile struct {
	path, kind, properties string
	data                   []byte
}

// bindEPUB writes the documents as a book, in an order of reading.
func (s *site) bindEPUB(front epubFront, sum string, docs map[string]any, order []string) ([]byte, error) {
	funcs := template.FuncMap{"say": s.say, "termID": termID, "tempo": s.tempo, "bars": s.bars, "score": func() string { return s.words.Say("sheet.score") }}
	t, err := template.New("book").Funcs(funcs).ParseFS(epubFiles, "epub/*.xhtml")
	if err != nil {
		return nil, err
	}
	css, err := epubFiles.ReadFile("epub/book.css")
	if err != nil {
		return nil, err
	}
	files := []epubFile{{"book.css", "text/css", "", css}}
	for _, id := range append(slices.Clone(order), "nav") {
		kind, properties := id, ""
		if strings.HasPrefix(id, "level-") {
			kind, properties = "level", "svg"
		}
		if id == "nav" {
			properties = "nav"
		}
		var body bytes.Buffer
		if err := t.ExecuteTemplate(&body, kind, docs[id]); err != nil {
			return nil, err
		}
		text := body.String()
		if l, ok := docs[id].(epubLevel); ok {
			text = l.terms.link(text)
		}
		files = append(files, epubFile{id + ".xhtml", "application/xhtml+xml", properties, s.xhtml(front.Tune, text)})
	}
	opf, err := s.opf(front, sum, files, order)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	kind := []byte("application/epub+zip")
	h := &zip.FileHeader{Name: "mimetype", Method: zip.Store, CRC32: crc32.ChecksumIEEE(kind), CompressedSize64: uint64(len(kind)), UncompressedSize64: uint64(len(kind))}
	first, err := z.CreateRaw(h) // nothing stands between its name and its bytes
	if err != nil {
		return nil, err
	}
	if _, err := first.Write(kind); err != nil {
		return nil, err
	}
	files = append([]epubFile{{"../META-INF/container.xml", "", "", []byte(container)}, {"package.opf", "", "", opf}}, files...)
	for _, f := range files {
		path := strings.TrimPrefix("book/"+f.path, "book/../")
		w, err := z.CreateHeader(&zip.FileHeader{Name: path, Method: zip.Deflate, Modified: zipTime})
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(f.data); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

const container = `<?xml version="1.0" encoding="UTF-8"?>
<container version="1.0" xmlns="urn:oasis:names:tc:opendocument:xmlns:container"><rootfiles><rootfile full-path="book/package.opf" media-type="application/oebps-package+xml"/></rootfiles></container>
`

var (
	bareSVG = regexp.MustCompile(`<svg (class=)`)
	bareUse = regexp.MustCompile(`<use href=`)
	styled  = regexp.MustCompile(` style="--w:[^"]*"`)
)

// xhtml puts the frame of a document round its body. Drawings name their namespaces, and
// their shapes in the older way too, which all readers know.
func (s *site) xhtml(title, body string) []byte {
	body = bareSVG.ReplaceAllString(body, `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" $1`)
	body = styled.ReplaceAllString(bareUse.ReplaceAllString(body, `<use xlink:href=`), "")
	body = strings.ReplaceAll(body, ` focusable="false"`, "")
	return []byte(doubled.Replace(`<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE html>
<html xmlns="http://www.w3.org/1999/xhtml" xmlns:epub="http://www.idpf.org/2007/ops" lang="` + s.words.ID() + `" xml:lang="` + s.words.ID() + `">
<head><title>` + template.HTMLEscapeString(title) + `</title><link rel="stylesheet" type="text/css" href="book.css"/></head>
<body>
` + body + `</body>
</html>
`))
}

// opf is the package document. The book is known by what it is made of, and has no day of
// making: the same lesson is the same book.
func (s *site) opf(front epubFront, sum string, files []epubFile, order []string) ([]byte, error) {
	raw, err := hex.DecodeString(sum)
	if err != nil || len(raw) < 16 {
		return nil, fmt.Errorf("epub: %q is no hash: %w", sum, err)
	}
	raw[6], raw[8] = raw[6]&0x0f|0x80, raw[8]&0x3f|0x80 // a UUID of a kind of our own (RFC 9562, 5.8)
	var b bytes.Buffer
	text := func(v string) string {
		var out bytes.Buffer
		_ = xml.EscapeText(&out, []byte(v)) // a buffer takes all
		return out.String()
	}
	fmt.Fprintf(&b, `<?xml version="1.0" encoding="UTF-8"?>
<package xmlns="http://www.idpf.org/2007/opf" version="3.0" unique-identifier="id" xml:lang="%s">
<metadata xmlns:dc="http://purl.org/dc/elements/1.1/">
<dc:identifier id="id">urn:uuid:%x-%x-%x-%x-%x</dc:identifier>
<dc:title>%s</dc:title>
<dc:language>%s</dc:language>
<meta property="dcterms:modified">2000-01-01T00:00:00Z</meta>
<meta property="schema:accessMode">textual</meta>
<meta property="schema:accessMode">visual</meta>
<meta property="schema:accessModeSufficient">textual,visual</meta>
<meta property="schema:accessibilityFeature">alternativeText</meta>
<meta property="schema:accessibilityFeature">structuralNavigation</meta>
<meta property="schema:accessibilityFeature">tableOfContents</meta>
<meta property="schema:accessibilityHazard">none</meta>
`, s.words.ID(), raw[:4], raw[4:6], raw[6:8], raw[8:10], raw[10:16], text(front.Tune), s.words.ID())
	if front.By != "" {
		fmt.Fprintf(&b, "<dc:creator>%s</dc:creator>\n", text(front.By))
	}
	fmt.Fprintf(&b, "<dc:rights>%s</dc:rights>\n</metadata>\n<manifest>\n", text(cmp.Or(front.Mark, s.foot())))
	for _, f := range files {
		id := strings.NewReplacer(".xhtml", "", ".", "-").Replace(f.path)
		properties := ""
		if f.properties != "" {
			properties = ` properties="` + f.properties + `"`
		}
		fmt.Fprintf(&b, `<item id="%s" href="%s" media-type="%s"%s/>`+"\n", id, f.path, f.kind, properties)
	}
	b.WriteString("</manifest>\n<spine>\n")
	for _, id := range order {
		fmt.Fprintf(&b, `<itemref idref="%s"/>`+"\n", id)
	}
	b.WriteString("</spine>\n</package>\n")
	return b.Bytes(), nil
}
