package teach

import (
	"slices"
	"strings"

	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/score"
)

// changes tells bar by bar what became of the page below, or of the sheet where
// there is none. Bars that changed alike are told together.
func (w *writer) changes(i int) (string, []Change) {
	p := &w.pages[i]
	var below *page
	name := w.say("change.sheet")
	if i > 0 {
		below = &w.pages[i-1]
		name = w.words.Level(below.Level.Number, below.Level.Name)
	}
	out := p.newAround(p.before, below)
	at := map[alike]int{}
	for b, bar := range p.Score.Bars {
		c := alike{
			Chords: w.chordChange(p, below, bar),
			Left:   p.leftChange(below, b),
			Right:  p.rightChange(below, b),
			Rhythm: p.rhythmChange(below, b),
		}
		if c == (alike{}) {
			continue
		}
		k, ok := at[c]
		if !ok {
			k = len(out)
			at[c] = k
			out = append(out, Change{Chords: c.Chords, Left: c.Left, Right: c.Right, Rhythm: c.Rhythm})
		}
		out[k].Bars = append(out[k].Bars, bar.Number)
	}
	return name, append(out, p.newAround(p.after, below)...)
}

// newAround tells of an introduction or a tag that the page below does not have, or has
// otherwise; its bars have none below to compare with.
func (p *page) newAround(q, below *page) []Change {
	if q == nil {
		return []Change{}
	}
	last := len(q.Score.Bars) - 1
	if below != nil {
		was := below.before
		if q == p.after {
			was = below.after
		}
		if was != nil && len(was.Score.Bars) == last+1 && fingerprint(was, 0, last) == fingerprint(q, 0, last) {
			return []Change{}
		}
	}
	c := Change{Bars: q.numbers()}
	var chords []string
	for _, s := range q.Score.Chords {
		if !s.Chord.Silent() {
			chords = append(chords, s.Chord.Pretty())
		}
	}
	c.Chords = strings.Join(chords, " – ")
	c.Left, c.Right = q.handsIn(0, last)
	return []Change{c}
}

// numbers are those of all bars.
func (p *page) numbers() []int {
	var out []int
	for _, b := range p.Score.Bars {
		out = append(out, b.Number)
	}
	return out
}

// alike is a Change without its bars: what makes two bars alike.
type alike struct{ Chords, Left, Right, Rhythm string }

// chordsIn lists the chords that a page prints, or holds, in a bar.
func (p *page) chordsIn(bar score.Bar) []string {
	var out []string
	if c, ok := p.Score.ChordAt(bar.At); ok && c.At < bar.At && !c.Chord.Silent() {
		out = append(out, c.Chord.Pretty())
	}
	for _, c := range p.Score.Chords {
		if c.At >= bar.At && c.At < bar.End() && !c.Chord.Silent() {
			out = append(out, c.Chord.Pretty())
		}
	}
	return out
}

func (w *writer) sheetChordsIn(p *page, bar score.Bar) []string {
	var out []string
	for _, c := range p.Decisions {
		if c.At < bar.End() && c.End > bar.At && !c.Sheet.Silent() {
			out = append(out, c.Sheet.Pretty())
		}
	}
	return out
}

func (w *writer) chordChange(p, below *page, bar score.Bar) string {
	if bar.Pickup {
		return ""
	}
	now := strings.Join(p.chordsIn(bar), " – ")
	var was string
	if below != nil {
		was = strings.Join(below.chordsIn(bar), " – ")
	} else {
		was = strings.Join(w.sheetChordsIn(p, bar), " – ")
	}
	if now == was {
		return ""
	}
	if was == "" {
		return now
	}
	return p.claim("change.becomes", here{bar.At, bar.End()}, "Was", was, "Now", now, "page", p, "below", below, "bar", bar)
}

// joined lists names of techniques, which may hold commas and “and” themselves.
func joined(names []string) string { return strings.Join(names, " + ") }

// texture lists what the hand plays in a bar, by the techniques that its notes name and
// show.
func (p *page) texture(b int, h score.Hand, stages ...technique.Stage) []string {
	var ids []string
	for _, n := range p.byBar[b] {
		if n.Hand == h && n.Origin.Technique != "" && !slices.Contains(ids, n.Origin.Technique) {
			ids = append(ids, n.Origin.Technique)
		}
	}
	var out []string
	for _, t := range technique.All() {
		if slices.Contains(ids, t.ID) && slices.Contains(stages, t.Stage) && p.showsIn(t.ID, p.barHere(b)) {
			out = append(out, t.ID)
		}
	}
	return out
}

// techniques joins the names of techniques, which may hold commas and “and” themselves.
func techniques(w *words.Words, ids []string) string {
	names := make([]string, len(ids))
	for i, id := range ids {
		names[i] = w.Technique(id).Name
	}
	return joined(names)
}

func (p *page) leftChange(below *page, b int) string {
	now := p.texture(b, score.Left, technique.LeftHand)
	if below == nil {
		return techniques(p.words, now)
	}
	was := below.texture(b, score.Left, technique.LeftHand)
	h := p.barHere(b)
	switch {
	case slices.Equal(now, was):
		return ""
	case len(was) == 0:
		return techniques(p.words, now)
	case len(now) == 0:
		return p.claim("change.ends", h, "Was", techniques(p.words, was), "was", was, "below", below)
	}
	return p.claim("change.was", h, "Now", techniques(p.words, now), "Was", techniques(p.words, was), "now", now, "was", was, "below", below)
}

func (p *page) rightChange(below *page, b int) string {
	now := p.texture(b, score.Right, technique.RightHand, technique.Ornament)
	if below == nil {
		return techniques(p.words, now)
	}
	was := below.texture(b, score.Right, technique.RightHand, technique.Ornament)
	more := slices.DeleteFunc(slices.Clone(now), func(id string) bool { return slices.Contains(was, id) })
	less := slices.DeleteFunc(slices.Clone(was), func(id string) bool { return slices.Contains(now, id) })
	h := p.barHere(b)
	var out []string
	if len(more) > 0 {
		out = append(out, p.claim("change.new", h, "Names", techniques(p.words, more), "now", more))
	}
	if len(less) > 0 {
		out = append(out, p.claim("change.gone", h, "Names", techniques(p.words, less), "was", less, "below", below))
	}
	return strings.Join(slices.DeleteFunc(out, func(s string) bool { return s == "" }), "; ")
}

// pushed names the tune's notes that come early in a bar.
func (p *page) pushed(b int) []string {
	var out []string
	for _, n := range p.byBar[b] {
		if t, ok := technique.ByID(n.Origin.Technique); ok && n.Origin.Kind == score.Melody && t.Stage == technique.Line {
			if s := p.claim("change.pushed", p.barHere(b), "Note", n.Pitch.Name, "Beat", beatOf(p.Score, n.At), "note", n); s != "" {
				out = append(out, s)
			}
		}
	}
	return out
}

func (p *page) rhythmChange(below *page, b int) string {
	now := p.words.List(p.pushed(b))
	was := ""
	if below != nil {
		was = p.words.List(below.pushed(b))
	}
	switch {
	case now == was:
		return ""
	case now == "":
		return p.claim("change.on-beat", p.barHere(b))
	}
	return p.claim("change.early", p.barHere(b), "Notes", now)
}
