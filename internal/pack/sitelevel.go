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

// levelView is a page of one level; which one, Kind of its frame says.
type levelView struct {
	frame
	Play     string // where its player is
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
	PlayBars []barData // of the player that the page leads to
	Tempi    []int     // the steps of tempo, in percent
	Tonight  week      // the first of the plan; none has no number
	Weeks    []week    // all of it, on the sheet of homework
	Days     []string  // of a week
	Homework string    // where the sheet is
	// TonightTempi are the steps of tempo in percent, as "60 75 90 100".
	TonightTempi string
	Files        []download
	Before       link
	After        link
	Added        bool // something is added to the tune, in small notes
}

type takeView struct{ Href, Text string }

type newView struct {
	teach.New
	ID            string // of its pictures, with a or b
	Before, After picture
	Lead          string // how it follows what stands before it, where that has to be said
}

type chordView struct {
	teach.ChordCard
	ID       string
	Keyboard picture
	Played   picture
	In       string   // where it is played so
	By       []string // by which hand, with which fingers
}

type drillView struct {
	teach.Drill
	ID      string // of its picture
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

// The pages of a level, each short enough to be used by itself. What is played comes
// first: its file has the level's own name.
const (
	playPage     = ""
	learnPage    = "learn"
	chordsPage   = "chords"
	drillsPage   = "drills"
	practicePage = "practice"
	homeworkPage = "homework"
)

// levelPages are the pages of one level in one key.
func (s *site) levelPages(e, i int, p Page, xml []byte) ([]part, error) {
	l := pupils(s.in.Editions[e].Lesson.Levels[i])
	var out []part
	for _, of := range []func(e, i int, l teach.LevelLesson, p Page, xml []byte) (part, error){s.play, s.learn, s.chords, s.drills, s.practice, s.homework} {
		page, err := of(e, i, l, p, xml)
		if err != nil {
			return nil, err
		}
		if page.name != "" {
			out = append(out, page)
		}
	}
	return out, nil
}

// kindsOf lists the pages that a level has.
func kindsOf(l teach.LevelLesson) []string {
	out := []string{playPage}
	if len(l.Bring)+len(l.Given)+len(l.New)+len(l.Also) > 0 {
		out = append(out, learnPage)
	}
	if len(l.Chords) > 0 {
		out = append(out, chordsPage)
	}
	if len(l.Drills) > 0 {
		out = append(out, drillsPage)
	}
	out = append(out, practicePage)
	if len(l.Plan.Phrases) > 0 {
		out = append(out, homeworkPage)
	}
	return out
}

// levelFrame is what all pages of a level share.
func (s *site) levelFrame(e, i int, l teach.LevelLesson, kind string) levelView {
	ed := s.in.Editions[e]
	n := namesOf(s.in, e, l.Number)
	label := s.label(l)
	heading := label
	if kind != playPage {
		heading = s.say("page."+kind) + ", " + label
	}
	v := levelView{frame: s.frame("level", heading, e, l.Number), Label: label}
	v.Kind = kind
	v.L.Number, v.L.Name, v.L.Title = l.Number, l.Name, l.Title
	for _, k := range kindsOf(l) {
		name := k
		if k == playPage {
			name = "play"
		}
		v.Within = append(v.Within, link{Href: n.pageOf(k), Text: s.say("page." + name), Here: k == kind})
	}
	v.Play = n.page()
	if len(l.Plan.Phrases) > 0 {
		v.Homework = n.pageOf(homeworkPage)
	}
	if i > 0 {
		n := ed.Lesson.Levels[i-1].Number
		v.Before = link{Href: namesOf(s.in, e, n).page(), Number: n}
	}
	if i+1 < len(ed.Lesson.Levels) {
		n := ed.Lesson.Levels[i+1].Number
		v.After = link{Href: namesOf(s.in, e, n).page(), Number: n}
	}
	return v
}

// levelPart is a page of a level as a part of the pack; finish, where there is one, adds
// its pictures.
func (s *site) levelPart(e int, v levelView, finish func(ctx context.Context, w *workshop, v *levelView, progress func(float64)) error, inputs ...any) (part, error) {
	ed := s.in.Editions[e]
	if v.Kind != playPage {
		inputs = append(inputs, ed.Lesson.Glossary)
	}
	in, err := s.inputs(append([]any{v}, inputs...)...)
	if err != nil {
		return part{}, err
	}
	name := fmt.Sprintf("level %d", v.L.Number)
	if len(s.in.Editions) > 1 {
		name += " in " + ed.Key.Pretty()
	}
	name += ": page"
	if v.Kind != playPage {
		name += " " + v.Kind
	}
	file := namesOf(s.in, e, v.L.Number).pageOf(v.Kind)
	return part{name: name, files: []string{file}, inputs: in, make: func(ctx context.Context, w *workshop, progress func(float64)) ([]made, error) {
		v := v
		if finish != nil {
			if err := finish(ctx, w, &v, progress); err != nil {
				return nil, err
			}
		}
		template := "level"
		if v.Kind != playPage {
			template = v.Kind
		}
		b, err := s.render(template, v)
		if v.Kind != playPage && err == nil {
			b = []byte(s.linkerOf(v.L, ed.Lesson.Glossary, "glossary.html").link(string(b)))
		}
		return []made{{file, b}}, err
	}}, nil
}

// At is the address of the player with bars, tempo and hands set: bars by their numbers,
// the tempo in percent, hands as takes name them. Of bars that are not played it is the
// player's own.
func (v levelView) At(from, to, percent int, hands string) string {
	a, z, ok := stretch(v.PlayBars, from, to)
	if !ok {
		return v.Play
	}
	return fmt.Sprintf("%s#bars=%d-%d&tempo=%d&hands=%s", v.Play, a, z, percent, hands)
}

// play is the page with the score and the player.
func (s *site) play(e, i int, l teach.LevelLesson, p Page, xml []byte) (part, error) {
	n := namesOf(s.in, e, l.Number)
	var err error
	if n.same, err = alike(p.Score, s.takes); err != nil {
		return part{}, err
	}
	v := s.levelFrame(e, i, l, playPage)
	v.Script = true
	ed := s.in.Editions[e]
	v.Head = []fact{{s.say("key"), ed.Lesson.Key}, {s.say("metre"), ed.Lesson.Meter}, {s.say("player.tempo"), s.tempo(l.Tempo)}, {s.say("feel"), l.Feel}}
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
	if v.Player, err = s.player(p.Score, l.Tempo.Beat, s.takes, n); err != nil {
		return part{}, err
	}
	v.Keyboard = s.keyboard(p.Score)
	v.Tonight = firstOf(s.course(e, l, v.Player.Bars))
	v.TonightTempi = tempi(l.Plan)
	if v.Own, err = s.ofLevel(l.Number, sectionsOf(p.Score)); err != nil {
		return part{}, err
	}
	v.Own.Sections = nil // they stand with the plan
	return s.levelPart(e, v, func(ctx context.Context, w *workshop, v *levelView, progress func(float64)) error {
		var wideDoc, narrowDoc *engrave.Document
		jobs := newJobs(ctx, w, shares(2, progress))
		jobs.engrave(&wideDoc, xml, engrave.Layout{Paper: wide, Title: engrave.Title{Hide: true}, HideFoot: true, IDPrefix: "w", Lang: s.in.Language})
		jobs.engrave(&narrowDoc, xml, engrave.Layout{Paper: narrow, StaffHeight: narrowStaff, Title: engrave.Title{Hide: true}, HideFoot: true, IDPrefix: "n", Lang: s.in.Language})
		if err := jobs.wait(); err != nil {
			return err
		}
		g := newGlyphs()
		v.Wide, v.Narrow = s.scorePictures(g, wideDoc, "w", v), s.scorePictures(g, narrowDoc, "n", v)
		v.Player.Boxes = map[string]map[string][5]float64{"w": boxes(wideDoc), "n": boxes(narrowDoc)}
		v.Glyphs = g.svg()
		return nil
	}, string(xml))
}

// sectionsOf lists the letters of a page's sections.
func sectionsOf(s score.Score) []string {
	var out []string
	for _, b := range s.Bars {
		if b.Section != "" {
			out = append(out, b.Section)
		}
	}
	return out
}

// learn is the page of what to bring and what is new.
func (s *site) learn(e, i int, l teach.LevelLesson, p Page, _ []byte) (part, error) {
	if !slices.Contains(kindsOf(l), learnPage) {
		return part{}, nil
	}
	v := s.levelFrame(e, i, l, learnPage)
	v.L.Bring, v.L.Given, v.L.New, v.L.Also = l.Bring, l.Given, l.New, l.Also
	v.Hear, v.Heard, v.PlayBars = true, s.newHeard(), s.playBars(p.Score)
	var small []excerpt
	for k, nw := range l.New {
		id := fmt.Sprintf("ex%d", k+1)
		for _, x := range []excerpt{{id + "a", nw.Example.Before}, {id + "b", nw.Example.After}} {
			small = append(small, x)
			v.Heard.add(x.id, x.music, 100)
		}
	}
	return s.excerptPart(e, v, small, func(v *levelView, pics map[string]picture) {
		for k, nw := range l.New {
			id := fmt.Sprintf("ex%d", k+1)
			v.New = append(v.New, newView{nw, id, pics[id+"a"], pics[id+"b"], s.leadTo(l.New, k)})
		}
	})
}

// mostAtOnce is how many new things a level may have without a word on choosing among
// them (common practice, no source).
const mostAtOnce = 6

// Anchor is where it stands on its page.
func (n newView) Anchor() string { return newID(n.New) }

// leadTo says how one of the new things of a level follows those before it.
func (s *site) leadTo(news []teach.New, k int) string {
	main := slices.IndexFunc(news, func(n teach.New) bool { return n.Main })
	switch {
	case main > 0 && k == 0:
		return s.say("level.needed", "n", main, "Main", s.words.Technique(news[main].Technique).Name)
	case main > 0 && k == main:
		return s.say("level.main")
	case k != main+1 || k == 0:
		return ""
	case len(news) > mostAtOnce:
		return s.say("level.beside") + " " + s.say("level.choose")
	}
	return s.say("level.beside")
}

// drills is the page of the drills.
func (s *site) drills(e, i int, l teach.LevelLesson, _ Page, _ []byte) (part, error) {
	if len(l.Drills) == 0 {
		return part{}, nil
	}
	v := s.levelFrame(e, i, l, drillsPage)
	v.L.Drills = l.Drills
	v.Hear, v.Heard = true, s.newHeard()
	var small []excerpt
	for k, d := range l.Drills {
		x := excerpt{fmt.Sprintf("drill%d", k+1), d.Music}
		small = append(small, x)
		first := 100
		if len(d.Steps) > 0 {
			first = d.Steps[0].Percent
		}
		v.Heard.add(x.id, x.music, first)
	}
	return s.excerptPart(e, v, small, func(v *levelView, pics map[string]picture) {
		for k, d := range l.Drills {
			id := fmt.Sprintf("drill%d", k+1)
			v.Drills = append(v.Drills, drillView{d, id, pics[id]})
		}
	})
}

// excerptPart is a page with small scores.
func (s *site) excerptPart(e int, v levelView, small []excerpt, put func(*levelView, map[string]picture)) (part, error) {
	sources := make([]string, len(small))
	var err error
	for k, x := range small {
		if sources[k], err = x.source(); err != nil {
			return part{}, fmt.Errorf("%s: %s: %w", v.Label, x.music.Caption, err)
		}
	}
	return s.levelPart(e, v, func(ctx context.Context, w *workshop, v *levelView, progress func(float64)) error {
		docs := make([]*engrave.Document, len(small))
		jobs := newJobs(ctx, w, shares(len(small), progress))
		for k, x := range small {
			if sources[k] != "" {
				jobs.engrave(&docs[k], []byte(sources[k]), engrave.Layout{Paper: smallPaper, StaffHeight: 6, Title: engrave.Title{Hide: true}, HideFoot: true, IDPrefix: x.id, Lang: s.in.Language})
			}
		}
		if err := jobs.wait(); err != nil {
			return err
		}
		g := newGlyphs()
		pics := map[string]picture{}
		for k, x := range small {
			if docs[k] != nil {
				pics[x.id] = s.excerptPicture(g, docs[k], x)
			}
		}
		put(v, pics)
		v.Glyphs = g.svg()
		return nil
	}, sources)
}

// chords is the page of the chord cards.
func (s *site) chords(e, i int, l teach.LevelLesson, _ Page, _ []byte) (part, error) {
	if len(l.Chords) == 0 {
		return part{}, nil
	}
	v := s.levelFrame(e, i, l, chordsPage)
	v.L.Chords = l.Chords
	v.Hear, v.Heard = true, s.newHeard()
	for k, c := range l.Chords {
		v.Heard.chord(fmt.Sprintf("chord%d-keys", k+1), c.Keys)
		v.Heard.chord(fmt.Sprintf("chord%d-played", k+1), c.Hands)
	}
	return s.levelPart(e, v, func(_ context.Context, _ *workshop, v *levelView, _ func(float64)) error {
		g := newGlyphs()
		var err error
		if v.Chords, err = s.chordCards(g, l.Chords); err != nil {
			return err
		}
		v.Glyphs = g.svg()
		return nil
	})
}

// practice is the page of the plan, with cautions and what has changed.
func (s *site) practice(e, i int, l teach.LevelLesson, p Page, _ []byte) (part, error) {
	v := s.levelFrame(e, i, l, practicePage)
	v.L.Plan, v.L.Below, v.L.Changes = l.Plan, l.Below, l.Changes
	v.Cautions = append(append([]teach.Caution{}, l.Cautions...), s.in.Editions[e].Lesson.Cautions...)
	player, err := s.player(p.Score, l.Tempo.Beat, nil, names{})
	if err != nil {
		return part{}, err
	}
	v.PlayBars = player.Bars
	for _, o := range l.Plan.Order {
		if !slices.Contains(v.Tempi, o.Step.Percent) {
			v.Tempi = append(v.Tempi, o.Step.Percent)
		}
	}
	v.Tonight = firstOf(s.course(e, l, player.Bars))
	if v.Own, err = s.ofLevel(l.Number, sectionsOf(p.Score)); err != nil {
		return part{}, err
	}
	return s.levelPart(e, v, nil)
}

// shares tells a progress how many of some pieces are ready.
func shares(total int, progress func(float64)) func() {
	var mu sync.Mutex
	ready := 0
	return func() {
		mu.Lock()
		ready++
		share := float64(ready) / float64(total)
		mu.Unlock()
		progress(share)
	}
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
