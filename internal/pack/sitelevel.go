package pack

import (
	"context"
	"fmt"
	"html/template"
	"slices"
	"sync"

	"gradatim/internal/engrave"
	"gradatim/internal/musicxml"
	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/score"
)

// levelView is the page of one level.
type levelView struct {
	frame
	Label    string
	L        teach.LevelLesson
	Head     []fact
	Cautions []teach.Caution
	Wide     []picture // the score for wide screens, page by page
	Narrow   []picture // and for narrow ones
	Glyphs   template.HTML
	Keyboard template.HTML
	Player   playerData
	Takes    []takeView
	Table    []barRows
	New      []newView
	Chords   []chordView
	Drills   []drillView
	Own      ownView
	Tonight  []tonightStep
	// TonightMinutes is how long the steps take together.
	TonightMinutes int
	TonightTempi   string // the steps of tempo in percent, as "60 75 90 100"
	Files          []download
	Before         link
	After          link
	Added          bool // something is added to the tune, in small notes
}

type takeView struct{ Href, Text string }

type newView struct {
	teach.New
	Before, After picture
}

type chordView struct {
	teach.ChordCard
	ID       string
	Keyboard picture
	Played   picture
}

type drillView struct {
	teach.Drill
	Picture picture
}

// Layouts of the score on the page: for windows from about 600 pixels, and for
// phones. A staff is never lower than about 5 mm there. Lines are as long in staff
// heights as those of a printed page, and of the workbook's examples: then one
// drawing serves both.
var (
	wide       = engrave.Paper{Name: "wide", Width: 186, Height: 2000, Side: 3, Top: 2, Bottom: 2}
	narrow     = engrave.Paper{Name: "narrow", Width: 86, Height: 2000, Side: 2, Top: 2, Bottom: 2}
	smallPaper = engrave.Paper{Name: "small", Width: 90, Height: 800, Side: 2, Top: 2, Bottom: 2} // examples and drills
)

const narrowStaff = 6.2 // mm

func (s *site) level(e, i int, p Page, xml []byte) (part, error) {
	ed := s.in.Editions[e]
	l := pupils(ed.Lesson.Levels[i])
	n := namesOf(s.in, e, l.Number)
	label := s.label(l)
	v := levelView{frame: s.frame("level", label, e, l.Number), Label: label, L: l, Cautions: append(append([]teach.Caution{}, l.Cautions...), ed.Lesson.Cautions...)}
	v.Script = true
	v.Head = []fact{{s.say("key"), ed.Lesson.Key}, {s.say("metre"), ed.Lesson.Meter}, {s.say("player.tempo"), s.tempo(l.Tempo)}, {s.say("feel"), l.Feel}}
	if i > 0 {
		n := ed.Lesson.Levels[i-1].Number
		v.Before = link{Href: namesOf(s.in, e, n).page(), Number: n}
	}
	if i+1 < len(ed.Lesson.Levels) {
		n := ed.Lesson.Levels[i+1].Number
		v.After = link{Href: namesOf(s.in, e, n).page(), Number: n}
	}
	for _, t := range s.takes {
		v.Takes = append(v.Takes, takeView{n.take(t), words.Upper(s.take(t))})
	}
	v.Files = []download{{n.pdf(), s.say("level.pages"), "PDF"}, {n.musicXML(), s.words.Say("sheet.score"), "MusicXML"}, {n.midi(), s.say("level.performance"), "MIDI"}}
	for _, t := range s.takes {
		v.Files = append(v.Files, download{n.take(t), s.say("level.recording", "Take", s.take(t)), "MP3"})
	}
	v.Files = append(v.Files, download{n.account(), s.say("level.account"), "JSON"})
	v.Table = s.barTable(p.Score)
	v.Added = slices.ContainsFunc(p.Score.Notes, func(n score.Note) bool {
		return n.Grace == 0 && n.Hand == score.Right && (n.Origin.Kind == score.Fill || n.Origin.Kind == score.Run || n.Origin.Kind == score.Ornamental)
	})
	var err error
	if v.Player, err = s.player(p.Score, l.Tempo.Beat, s.takes, n); err != nil {
		return part{}, err
	}
	v.Keyboard = s.keyboard(p.Score)
	v.Tonight = s.tonight(l, v.Player.Bars)
	v.TonightTempi = tempi(l.Plan)
	for _, t := range v.Tonight {
		v.TonightMinutes += t.Minutes
	}
	var sections []string
	for _, b := range p.Score.Bars {
		if b.Section != "" {
			sections = append(sections, b.Section)
		}
	}
	if v.Own, err = s.ofLevel(l.Number, sections); err != nil {
		return part{}, err
	}

	// The small scores are part of the page's inputs as they are engraved.
	var small []excerpt
	for k, nw := range l.New {
		id := fmt.Sprintf("ex%d", k+1)
		small = append(small, excerpt{id + "a", nw.Example.Before}, excerpt{id + "b", nw.Example.After})
	}
	for k, d := range l.Drills {
		small = append(small, excerpt{fmt.Sprintf("drill%d", k+1), d.Music})
	}
	sources := make([]string, len(small))
	for k, x := range small {
		if sources[k], err = x.source(); err != nil {
			return part{}, fmt.Errorf("%s: %s: %w", label, x.music.Caption, err)
		}
	}
	in, err := s.inputs(v, string(xml), sources)
	if err != nil {
		return part{}, err
	}
	name := fmt.Sprintf("level %d: page", l.Number)
	if len(s.in.Editions) > 1 {
		name = fmt.Sprintf("level %d in %s: page", l.Number, ed.Key.Pretty())
	}
	return part{name: name, files: []string{n.page()}, inputs: in, make: func(ctx context.Context, w *workshop, progress func(float64)) ([]made, error) {
		v := v
		if err := s.engraveLevel(ctx, w, &v, xml, small, sources, progress); err != nil {
			return nil, err
		}
		b, err := s.render("level", v)
		return []made{{n.page(), b}}, err
	}}, nil
}

// excerpt is a small score on the page.
type excerpt struct {
	id    string
	music teach.Music
}

// source is the excerpt as MusicXML, "" where there is nothing to print.
func (x excerpt) source() (string, error) {
	if len(x.music.Score.Bars) == 0 {
		return "", nil
	}
	b, err := musicxml.Write(x.music.Bare())
	return string(b), err
}

// engraveLevel makes all pictures of a level's page.
func (s *site) engraveLevel(ctx context.Context, w *workshop, v *levelView, xml []byte, small []excerpt, sources []string, progress func(float64)) error {
	var mu sync.Mutex
	total, ready := len(small)+2, 0
	jobs := newJobs(ctx, w, func() {
		mu.Lock()
		ready++
		share := float64(ready) / float64(total)
		mu.Unlock()
		progress(share)
	})
	var wideDoc, narrowDoc *engrave.Document
	jobs.engrave(&wideDoc, xml, engrave.Layout{Paper: wide, Title: engrave.Title{Hide: true}, HideFoot: true, IDPrefix: "w", Lang: s.in.Language})
	jobs.engrave(&narrowDoc, xml, engrave.Layout{Paper: narrow, StaffHeight: narrowStaff, Title: engrave.Title{Hide: true}, HideFoot: true, IDPrefix: "n", Lang: s.in.Language})
	docs := make([]*engrave.Document, len(small))
	for k, x := range small {
		if sources[k] != "" {
			jobs.engrave(&docs[k], []byte(sources[k]), engrave.Layout{Paper: smallPaper, StaffHeight: 6, Title: engrave.Title{Hide: true}, HideFoot: true, IDPrefix: x.id, Lang: s.in.Language})
		}
	}
	if err := jobs.wait(); err != nil {
		return err
	}
	g := newGlyphs()
	v.Wide, v.Narrow = s.scorePictures(g, wideDoc, "w", v), s.scorePictures(g, narrowDoc, "n", v)
	v.Player.Boxes = map[string]map[string][5]float64{"w": boxes(wideDoc), "n": boxes(narrowDoc)}
	pics := map[string]picture{}
	for k, x := range small {
		if docs[k] != nil {
			pics[x.id] = s.excerptPicture(g, docs[k], x)
		}
	}
	for k, nw := range v.L.New {
		id := fmt.Sprintf("ex%d", k+1)
		v.New = append(v.New, newView{nw, pics[id+"a"], pics[id+"b"]})
	}
	for k, d := range v.L.Drills {
		v.Drills = append(v.Drills, drillView{d, pics[fmt.Sprintf("drill%d", k+1)]})
	}
	var err error
	if v.Chords, err = s.chordCards(g, v.L.Chords); err != nil {
		return err
	}
	v.Glyphs = g.svg()
	return nil
}

// jobs engraves side by side and keeps the first error.
type jobs struct {
	ctx  context.Context
	stop context.CancelCauseFunc
	w    *workshop
	wg   sync.WaitGroup
	done func()
}

func newJobs(ctx context.Context, w *workshop, done func()) *jobs {
	ctx, stop := context.WithCancelCause(ctx)
	return &jobs{ctx: ctx, stop: stop, w: w, done: done}
}

func (j *jobs) engrave(to **engrave.Document, xml []byte, l engrave.Layout) {
	j.wg.Go(func() {
		err := j.w.do(j.ctx, func() error {
			doc, err := j.w.tools.Engraver.Pages(j.ctx, xml, l)
			*to = doc
			return err
		})
		if err != nil {
			j.stop(err)
			return
		}
		j.done()
	})
}

func (j *jobs) wait() error {
	j.wg.Wait()
	err := context.Cause(j.ctx)
	j.stop(nil)
	return err
}

func tenth(v float64) float64 { return float64(int(v*10+0.5)) / 10 }
