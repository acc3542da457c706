package pack

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/engrave"
	"gradatim/internal/imprint"
	"gradatim/internal/musicxml"
	"gradatim/internal/pack/workbook"
	"gradatim/internal/perform"
	"gradatim/internal/sound/codec"
	"gradatim/internal/sound/event"
	"gradatim/internal/words"
	"gradatim/score"
)

// names are the paths of what belongs to one level in one key.
type names struct {
	stem string
	same map[string]string // take by the name of one that sounds the same, see alike
}

func (n names) page() string { return n.stem + ".html" }
func (n names) pageOf(kind string) string {
	if kind == playPage {
		return n.page()
	}
	return n.stem + "-" + kind + ".html"
}
func (n names) musicXML() string { return "scores/" + n.stem + ".musicxml" }
func (n names) account() string  { return "scores/" + n.stem + ".json" }
func (n names) midi() string     { return "sound/" + n.stem + ".mid" }
func (n names) pdf() string      { return "print/" + n.stem + ".pdf" }
func (n names) take(t perform.Take) string {
	return "sound/" + n.stem + "." + cmp.Or(n.same[t.Name], t.Name) + ".mp3"
}

// alike tells of takes which of those before them sounds the same, by name: where the right hand has
// the tune alone, all but the tune is the left hand, and one file is both.
func alike(s score.Score, takes []perform.Take) (map[string]string, error) {
	same := map[string]string{}
	var heard []event.Sequence
	for i, t := range takes {
		o := t.Options
		o.CountIn = CountIn
		p, err := perform.Perform(s, o)
		if err != nil {
			return nil, err
		}
		heard = append(heard, p.Sequence().Sorted())
		if k := slices.IndexFunc(heard[:i], func(h event.Sequence) bool { return reflect.DeepEqual(h, heard[i]) }); k >= 0 {
			same[t.Name] = takes[k].Name
		}
	}
	return same, nil
}

// namesOf names the files of a level: "level-3", and in further keys
// "level-3-in-b-flat".
func namesOf(in Input, edition, level int) names {
	s := fmt.Sprintf("level-%d", level)
	if edition > 0 {
		s += "-in-" + slug(in.Editions[edition].Key.Pretty())
	}
	return names{stem: s}
}

// slug makes a part of a file's name out of a key: "B♭ major" is "b-flat-major".
func slug(s string) string {
	s = strings.NewReplacer("♭", "-flat", "♯", "-sharp", " ", "-").Replace(s)
	return strings.ToLower(s)
}

// title is what a tune is called on its pages.
func title(in Input, w *words.Words) string {
	return cmp.Or(strings.TrimSpace(in.Song.Title), w.Say("site.untitled"))
}

// plan lists the parts of a pack, in the order in which they are told of.
func plan(in Input, o Options, t Tools) ([]part, error) {
	if len(in.Editions) == 0 {
		return nil, fmt.Errorf("pack: no edition")
	}
	if t.Engraver == nil {
		return nil, fmt.Errorf("pack: no engraver")
	}
	in.Editions = slices.Clone(in.Editions)
	for i := range in.Editions {
		in.Editions[i].Lesson = in.Own.without(in.Editions[i].Lesson)
	}
	takes := o.takes(t.Takes)
	if len(takes) > 0 && t.Recorder == nil {
		return nil, fmt.Errorf("pack: no recorder")
	}
	site, err := newSite(in, o, takes)
	if err != nil {
		return nil, err
	}
	parts := []part{site.static(), site.index(), site.glossary()}
	if p, any := site.ownFiles(); any {
		parts = append(parts, p)
	}
	if p, any, err := site.preview(); err != nil {
		return nil, err
	} else if any {
		parts = append(parts, p)
	}
	if site.sounds() {
		parts = append(parts, site.notes())
	}
	for e, ed := range in.Editions {
		if in.Own.Imprint.Teacher == imprint.All {
			p, err := site.teacher(e)
			if err != nil {
				return nil, err
			}
			parts = append(parts, p)
		}
		p, err := workbookPart(in, o, site, e)
		if err != nil {
			return nil, err
		}
		parts = append(parts, p)
		if in.Own.Imprint.EPUB {
			if p, err = site.epub(e); err != nil {
				return nil, err
			}
			parts = append(parts, p)
		}
		for i, p := range ed.Pages {
			more, err := levelParts(in, o, takes, site, e, i, p)
			if err != nil {
				return nil, err
			}
			parts = append(parts, more...)
		}
	}
	for i := range parts {
		d := digest{}
		d.text(in.Program)
		d.text(parts[i].inputs)
		parts[i].inputs = d.sum()
	}
	return parts, nil
}

// workbookPart is the printed workbook in one key.
func workbookPart(in Input, o Options, site *site, e int) (part, error) {
	ed := in.Editions[e]
	book := book(in, e)
	ed.Lesson.Levels = slices.Clone(ed.Lesson.Levels)
	for i, l := range ed.Lesson.Levels {
		ed.Lesson.Levels[i] = pupils(l)
	}
	b := workbook.Input{Lesson: ed.Lesson, Rights: in.Song.Rights, Program: in.Program, Language: in.Language, Own: in.Own.paper(ed.Lesson)}
	var d digest
	d.bytes(site.words.Source())
	for _, v := range []any{ed.Lesson, b.Own, in.Song.Rights, o.Paper, o.LargePrint} {
		if err := d.value(v); err != nil {
			return part{}, err
		}
	}
	for _, p := range ed.Pages {
		b.Scores = append(b.Scores, p.Printed)
		xml, err := musicxml.Write(p.Printed)
		if err != nil {
			return part{}, err
		}
		d.bytes(xml)
	}
	name := "workbook"
	if len(in.Editions) > 1 {
		name += " in " + ed.Key.Pretty()
	}
	return part{name, []string{book}, d.sum(), func(ctx context.Context, w *workshop, _ func(float64)) ([]made, error) {
		pdf, told, err := workbook.Make(ctx, w.tools.Engraver, b, workbook.Options{Paper: o.Paper, LargePrint: o.LargePrint})
		w.tell(told)
		return []made{{book, pdf}}, err
	}}, nil
}

// levelParts are the parts of one level in one key.
func levelParts(in Input, o Options, takes []perform.Take, site *site, e, i int, p Page) ([]part, error) {
	n := namesOf(in, e, p.Level.Number)
	name := fmt.Sprintf("level %d", p.Level.Number)
	if len(in.Editions) > 1 {
		name += " in " + in.Editions[e].Key.Pretty()
	}
	xml, err := musicxml.Write(p.Printed)
	if err != nil {
		return nil, err
	}
	whole, err := musicxml.Write(p.Score) // with every fingering, for what reads them
	if err != nil {
		return nil, err
	}
	files := func(what string, inputs string, paths []string, f func(context.Context, *workshop, func(float64)) ([]made, error)) part {
		return part{name + ": " + what, paths, inputs, f}
	}
	var d digest
	d.bytes(xml)
	d.bytes(p.Account)
	parts := []part{files("score", d.sum(), []string{n.musicXML(), n.account()}, func(context.Context, *workshop, func(float64)) ([]made, error) {
		return []made{{n.musicXML(), xml}, {n.account(), p.Account}}, nil
	})}

	d = digest{}
	d.bytes(whole)
	d.bytes(p.Account) // which notes are the tune
	d.text(p.Score.Rights)
	parts = append(parts, files("MIDI", d.sum(), []string{n.midi()}, func(context.Context, *workshop, func(float64)) ([]made, error) {
		data, _, err := perform.File(p.Score, perform.Options{})
		return []made{{n.midi(), data}}, err
	}))

	layout := engrave.Layout{Paper: o.Paper, LargePrint: o.LargePrint, Title: engrave.Title{Rights: site.foot()}, Lang: in.Language}
	d = digest{}
	d.bytes(xml)
	if err := d.value(layout); err != nil {
		return nil, err
	}
	parts = append(parts, files("pages to print", d.sum(), []string{n.pdf()}, func(ctx context.Context, w *workshop, _ func(float64)) ([]made, error) {
		var pdf []byte
		err := w.do(ctx, func() error {
			doc, err := w.tools.Engraver.Pages(ctx, xml, layout)
			if err != nil {
				return err
			}
			w.tell(doc.Warnings)
			pdf, err = doc.PDF(ctx)
			return err
		})
		return []made{{n.pdf(), pdf}}, err
	}))

	pages, err := site.levelPages(e, i, p, xml)
	if err != nil {
		return nil, err
	}
	parts = append(parts, pages...)

	if n.same, err = alike(p.Score, takes); err != nil {
		return nil, err
	}
	for k, t := range takes {
		if n.same[t.Name] != "" {
			continue
		}
		t.Track = (e*len(in.Editions[e].Pages)+i)*len(takes) + k + 1
		d := digest{}
		d.bytes(whole)
		d.bytes(p.Account)
		d.text(site.take(t))
		d.text(strconv.Itoa(t.Track))
		d.text(strconv.Itoa(Kbps))
		if err := d.value(t.Options); err != nil {
			return nil, err
		}
		parts = append(parts, files(t.What, d.sum(), []string{n.take(t)}, func(ctx context.Context, w *workshop, progress func(float64)) ([]made, error) {
			data, err := w.record(ctx, p.Score, t, site.take(t), progress)
			return []made{{n.take(t), data}}, err
		}))
	}
	return parts, nil
}

// record makes one recording.
func (w *workshop) record(ctx context.Context, s score.Score, t perform.Take, what string, progress func(float64)) ([]byte, error) {
	t.What, t.Options.CountIn = what, CountIn
	var b bytes.Buffer
	err := in(ctx, w.recordings, func() error {
		told, err := w.tools.Recorder.Record(ctx, &b, s, t, codec.MP3, progress)
		w.tell(told)
		return err
	})
	return b.Bytes(), err
}
