package teach

import (
	"context"
	"slices"

	"gradatim/internal/hand"
	"gradatim/internal/sight"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// writer holds what all levels of a lesson share.
type writer struct {
	song  leadsheet.Song
	in    Input
	key   theory.Key
	hand  hand.Profile
	words *words.Words
	pages []page
	known map[string]int // technique id → level that taught it, filled from below

	brought map[string]bool         // plain skills that a level has asked for
	named   map[string]bool         // techniques that a level has named without an example
	kinds   map[theory.Degrees]bool // of chords met so far; nil before the first level
	scaled  bool                    // the scale has been drilled
	tally   map[string]Tally        // of what was claimed of notes
}

// page is a Page with what is looked up in it again and again.
type page struct {
	Page
	found map[string][]technique.Finding
	seen  *sight.Page
	tally map[string]Tally
	byBar [][]score.Note // notes struck in each bar of Score.Bars
	words *words.Words

	before, after *page // introduction and tag; nil: none
}

// parts are the page with what stands around the tune, in order.
func (p *page) parts() []*page {
	var out []*page
	for _, q := range []*page{p.before, p, p.after} {
		if q != nil {
			out = append(out, q)
		}
	}
	return out
}

// around is an introduction or a tag as a page of its own; nil where there is none.
func (p *page) around(a Around) *page {
	if len(a.Score.Bars) == 0 {
		return nil
	}
	at := p.seconds()
	q := newPage(Page{Level: p.Level, Score: a.Score, Decisions: a.Decisions, Seconds: func(t theory.Dur) float64 { return at(t + a.Offset) }})
	q.words, q.tally = p.words, p.tally
	return &q
}

func newWriter(in Input) *writer {
	w := &writer{song: in.Song, in: in, hand: in.Hand, words: words.Must(in.Language), known: map[string]int{}, brought: map[string]bool{}, named: map[string]bool{}, tally: map[string]Tally{}}
	if w.hand == (hand.Profile{}) {
		w.hand = hand.Default()
	}
	w.key = in.Analysis.Key
	if !w.key.Valid() {
		w.key = in.Song.Key
	}
	for _, p := range in.Pages {
		if len(p.Score.Notes) == 0 || len(p.Score.Bars) == 0 {
			continue
		}
		w.pages = append(w.pages, newPage(p))
		k := len(w.pages) - 1
		q := &w.pages[k]
		q.words, q.tally = w.words, w.tally
		q.before, q.after = q.around(p.Before), q.around(p.After)
	}
	return w
}

func newPage(p Page) page {
	out := page{Page: p, found: map[string][]technique.Finding{}, seen: sight.Read(p.Score), byBar: make([][]score.Note, len(p.Score.Bars))}
	for _, n := range p.Score.Notes {
		if b := p.Score.BarAt(n.At); b >= 0 {
			out.byBar[b] = append(out.byBar[b], n)
		}
	}
	out.Used = out.shown(p.Used)
	return out
}

// shown leaves of the bars in which a page is said to use a technique those in which it
// shows. A chord that the sheet has already counts like one that was put there: whoever
// looks for a seventh finds it in either.
func (p *page) shown(used []Use) []Use {
	var out []Use
	for _, u := range used {
		if t, ok := technique.ByID(u.Technique); ok && p.found[t.ID] == nil {
			p.found[t.ID] = t.Recognise(p.seen)
		}
		var bars []int
		for _, number := range u.Bars {
			if slices.ContainsFunc(p.indexes(number), func(b int) bool { return p.showsIn(u.Technique, p.barHere(b)) }) {
				bars = append(bars, number)
			}
		}
		if t, ok := technique.ByID(u.Technique); ok && t.Stage == technique.Device && !t.Plain && len(bars) > 0 {
			bars = append(bars, p.foundIn(t)...)
			slices.Sort(bars)
			bars = slices.Compact(bars)
		}
		if len(bars) > 0 {
			out = append(out, Use{u.Technique, bars})
		}
	}
	return out
}

// foundIn lists the bars, by their numbers, in which a technique is recognised: of what
// rewrites chords those in which it begins, as its goal is no part of it.
func (p *page) foundIn(t *technique.Technique) []int {
	var out []int
	for _, f := range p.found[t.ID] {
		end := max(f.End, f.At+1)
		if t.Rewrite != nil {
			end = f.At + 1
		}
		for b := max(0, p.Score.BarAt(f.At)); b < len(p.Score.Bars) && p.Score.Bars[b].At < end; b++ {
			if bar := p.Score.Bars[b]; !bar.Pickup && bar.Part == score.Tune && bar.End() > f.At {
				out = append(out, bar.Number)
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// elsewhere answers the question where else a technique is: nil where a pupil who looks
// might find it in a bar that the page does not name, so that no right answer is called wrong.
func (p *page) elsewhere(t *technique.Technique, named, example []int) []int {
	if t.Plain || slices.ContainsFunc(p.foundIn(t), func(n int) bool { return !slices.Contains(named, n) }) {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(named), func(n int) bool { return slices.Contains(example, n) })
}

// level writes one level's lesson. The order matters: what is new here is known
// to the levels above.
func (w *writer) level(ctx context.Context, i int) (LevelLesson, error) {
	p := &w.pages[i]
	l := LevelLesson{Number: p.Level.Number, Name: w.words.LevelName(p.Level.Name), Tempo: tempoOf(w.words, p.Score.Tempo), Feel: w.words.Value(p.Score.Feel)}
	for _, step := range []func(){
		func() { l.Bring = w.bring(p) },
		func() { l.Given = w.given(p) },
		func() { l.New = inOrder(w.news(ctx, p)) },
		func() { l.Also = w.also(p, l.New) },
		func() { l.Title = w.title(p, l.subject()) },
		func() { l.Chords = w.chordCards(p) },
		func() { l.Drills = w.drills(p, l.subject()) },
		func() { l.Plan = w.plan(p) },
		func() { l.Mistakes, l.Listen = w.points(l.subject()) },
		func() { l.Cautions = w.levelCautions(p, l.New) },
		func() { l.Below, l.Changes = w.changes(i) },
		func() { l.Talk = w.talk(i, l) },
	} {
		if err := context.Cause(ctx); err != nil {
			return LevelLesson{}, err
		}
		step()
	}
	for _, n := range l.New {
		w.known[n.Technique] = l.Number
	}
	for _, c := range p.Score.Chords {
		w.kinds[c.Chord.Tones] = true
	}
	return l, nil
}

// given lists the techniques of the levels below that the page uses again.
func (w *writer) given(p *page) []Known {
	out := []Known{}
	for _, u := range p.Used {
		t, ok := technique.ByID(u.Technique)
		if from := w.known[u.Technique]; ok && from > 0 {
			out = append(out, Known{t.ID, w.words.Technique(t.ID).Title(), from, u.Bars})
		}
	}
	return out
}

// also lists the techniques that are used, not known from below and not taught
// here, each once on the ladder.
func (w *writer) also(p *page, news []New) []Also {
	out := []Also{}
	for _, u := range p.Used {
		t, ok := technique.ByID(u.Technique)
		if !ok || w.known[t.ID] > 0 || w.named[t.ID] || slices.ContainsFunc(news, func(n New) bool { return n.Technique == t.ID }) {
			continue
		}
		w.named[t.ID] = true
		told := w.words.Technique(t.ID)
		out = append(out, Also{t.ID, told.Title(), told.What, told.How, u.Bars})
	}
	return out
}

// subject is what a level is about: its new techniques; where none can be shown, those
// that it names for the first time; else those that it takes up again.
func (l LevelLesson) subject() []New {
	if len(l.New) > 0 {
		return l.New
	}
	var out []New
	add := func(id, name string, bars []int) {
		if len(bars) > 0 {
			out = append(out, New{Technique: id, Name: name, Bars: bars, Example: Example{Bars: bars[:1]}})
		}
	}
	for _, a := range l.Also {
		add(a.Technique, a.Name, a.Bars)
	}
	for _, k := range l.Given {
		if len(l.Also) == 0 {
			add(k.Technique, k.Name, k.Bars)
		}
	}
	return out
}

// bars returns the indexes of the bars of the score with a printed number.
func (p *page) barsNumbered(n int) []int {
	var out []int
	for i, b := range p.Score.Bars {
		if b.Number == n && !b.Pickup {
			out = append(out, i)
		}
	}
	return out
}

// usedIn tells whether the page says that a technique is used in a bar.
func (p *page) usedIn(id string, number int) bool {
	for _, u := range p.Used {
		if u.Technique == id {
			return slices.Contains(u.Bars, number)
		}
	}
	return false
}
