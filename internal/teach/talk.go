package teach

import (
	"slices"
	"strings"

	"gradatim/internal/harmony"
	"gradatim/internal/words"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// talk writes what the teacher shows and says, bar by bar as the page is played.
// Bars that only repeat are drawn together.
func (w *writer) talk(i int, l LevelLesson) []Talk {
	p := &w.pages[i]
	out := []Talk{}
	told := map[string]bool{}
	for _, q := range p.parts() {
		out = append(out, w.talkOver(q, l, told)...)
	}
	return out
}

// talkOver writes it over the tune, or over what stands around it; reasons that were told
// are not told again.
func (w *writer) talkOver(p *page, l LevelLesson, told map[string]bool) []Talk {
	at := p.seconds()
	ms := func(d theory.Dur) int { return int(at(d)*1000 + 0.5) }
	intro := map[int][]New{} // bar → what is shown there first
	for _, n := range l.New {
		intro[n.Example.Bars[0]] = append(intro[n.Example.Bars[0]], n)
	}
	change := map[int]Change{}
	for _, c := range l.Changes {
		change[c.Bars[0]] = c
	}
	first := map[string]int{} // fingerprint → bar number
	out := []Talk{}
	chords := ""
	for b, bar := range p.Score.Bars {
		t := Talk{From: bar.Number, To: bar.Number, Start: ms(bar.At), End: ms(bar.End())}
		now := w.chordLine(p, bar)
		print := fingerprint(p, b, b) + strings.Join(p.chordsIn(bar), " ")
		orig, again := first[print]
		if k := p.barsNumbered(orig); again && len(k) > 0 {
			again = p.claim("talk.as", p.barHere(b), "Bars", words.Span(orig, orig), "bars", [2]int{b, b}, "like", [2]int{k[0], k[0]}) != ""
		}
		_, shows := intro[bar.Number]
		if again && !shows {
			t.as = orig
			if k := len(out) - 1; k >= 0 && out[k].as > 0 && out[k].as+(t.To-out[k].From) == orig {
				out[k].To, out[k].End = t.To, t.End
				out[k].Show = w.words.Say("lesson.talk.as", "Bars", words.Span(out[k].as, orig)) // each of them has been proved
				chords = now
				continue
			}
			t.Show = w.words.Say("lesson.talk.as", "Bars", words.Span(orig, orig))
			out = append(out, t)
			chords = now
			continue
		}
		if !again && !bar.Pickup {
			first[print] = bar.Number
		}
		var show, say []string
		var examples []string
		for _, n := range intro[bar.Number] {
			told := w.words.Technique(n.Technique)
			examples = append(examples, told.Name)
			say = append(say, told.Listen)
		}
		switch len(examples) {
		case 0:
		case 1:
			show = append(show, w.say("talk.example", "Technique", examples[0]))
		default:
			show = append(show, w.say("talk.examples", "Techniques", joined(examples)))
		}
		if len(show) == 0 {
			show = append(show, p.handsLine(b))
		}
		if c, ok := change[bar.Number]; ok && c.Rhythm != "" {
			say = append(say, sentence(c.Rhythm))
		}
		if now != "" && now != chords {
			if p.plain() {
				say, t.Numerals = append(say, w.chordNames(p, bar)), now
			} else {
				say = append(say, now)
			}
		}
		for _, r := range w.reasonsIn(p, bar) {
			if !told[r] {
				told[r] = true
				say = append(say, r)
			}
		}
		chords = now
		if k := slices.IndexFunc(l.Plan.First, func(h HardSpot) bool { return h.Spot[0] == bar.Number }); k >= 0 {
			say = append(say, w.words.Lines("lesson.talk.hardest")[k])
		}
		t.Show, t.Say = strings.Join(show, " "), strings.Join(say, " ")
		out = append(out, t)
	}
	return out
}

// reasonsIn lists why the chords that devices put into a bar are there.
func (w *writer) reasonsIn(p *page, bar score.Bar) []string {
	var out []string
	for _, c := range p.Decisions {
		if c.Device == "" || c.End <= bar.At || c.At >= bar.End() {
			continue
		}
		for _, ch := range c.Chords {
			if ch.Why != nil && ch.At >= bar.At && ch.At < bar.End() {
				why, _ := reason.CutMelody(ch.Why)
				out = append(out, sentence(w.words.Reason(why)))
			}
		}
	}
	return out
}

// seconds is the page's own timing, else an even one.
func (p *page) seconds() func(theory.Dur) float64 {
	if p.Seconds != nil {
		return p.Seconds
	}
	quarters := p.Score.Tempo.QuartersPerMinute()
	if quarters <= 0 {
		quarters = 100
	}
	start := p.Score.Bars[0].At
	return func(at theory.Dur) float64 {
		return float64(at-start) * 60 / float64(theory.Quarter) / float64(quarters)
	}
}

// chordLine names the chords of a bar with their functions.
func (w *writer) chordLine(p *page, bar score.Bar) string {
	if bar.Pickup {
		return ""
	}
	var out []string
	all := p.Score.Chords
	for i, c := range all {
		end := p.Score.End()
		if i+1 < len(all) {
			end = all[i+1].At
		}
		if c.At >= bar.End() || end <= bar.At || c.Chord.Silent() {
			continue
		}
		roman := c.Roman
		if roman == "" {
			var prev, next theory.Chord
			if i > 0 {
				prev = all[i-1].Chord
			}
			if i+1 < len(all) {
				next = all[i+1].Chord
			}
			roman = harmony.Read(bar.Key, prev, c.Chord, next).Roman(bar.Key, c.Chord).Pretty()
		}
		out = append(out, p.claim("talk.chord", here{bar.At, bar.End()}, "Chord", c.Chord, "Roman", roman))
	}
	return sentence(w.words.List(out))
}

// chordNames names the chords of a bar and says no more of them.
func (w *writer) chordNames(p *page, bar score.Bar) string {
	var names []string
	var chords []theory.Chord
	all := p.Score.Chords
	for i, c := range all {
		end := p.Score.End()
		if i+1 < len(all) {
			end = all[i+1].At
		}
		if c.At < bar.End() && end > bar.At && !c.Chord.Silent() && !slices.Contains(chords, c.Chord) {
			names, chords = append(names, c.Chord.Pretty()), append(chords, c.Chord)
		}
	}
	return p.claim("talk.names", here{bar.At, bar.End()}, "n", len(names), "Names", names, "chords", chords)
}

// handsLine says what to show of a bar that brings nothing for the first time.
func (p *page) handsLine(b int) string {
	h := p.barHere(b)
	if tuneAlone(p, h, nil) && leftRests(p, h, nil) {
		if p.Score.Bars[b].Pickup {
			return p.claim("talk.pickup", h)
		}
		return p.claim("talk.tune-alone", h)
	}
	left := p.leftDoes(p.texture(b, score.Left, leftStage), h)
	right := p.rightDoes(p.texture(b, score.Right, rightStages...), h)
	return p.say("talk.hands", "Left", left, "Right", right)
}
