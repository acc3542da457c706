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
	said := remarks{told: map[string]bool{}, asked: map[string]bool{}}
	for _, q := range p.parts() {
		out = append(out, w.talkOver(q, l, &said)...)
	}
	return out
}

// remarks are what was said on a page so far, that nothing is said twice.
type remarks struct {
	told  map[string]bool // sentences
	asked map[string]bool // techniques that were asked for in this section
	turn  int             // questions so far: they are asked by turns
}

// talkOver writes it over the tune, or over what stands around it.
func (w *writer) talkOver(p *page, l LevelLesson, said *remarks) []Talk {
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
			t.Numerals = now
		}
		if bar.Section != "" {
			clear(said.asked)
		}
		if len(examples) == 0 {
			add := w.remark(p, b, l, said)
			t.steady = len(say) == 0
			say = append(say, add...)
		}
		of := len(say)
		for _, r := range w.reasonsIn(p, bar) {
			if !said.told[r] {
				said.told[r] = true
				say = append(say, r)
			}
		}
		chords = now
		if k := slices.IndexFunc(l.Plan.First, func(h HardSpot) bool { return h.Spot[0] == bar.Number }); k >= 0 {
			say = append(say, w.words.Lines("lesson.talk.hardest")[k])
		}
		t.Show, t.Say, t.steady = strings.Join(show, " "), strings.Join(say, " "), t.steady && len(say) == of
		if k := len(out) - 1; k >= 0 && bar.Section == "" && t.Say == "" && out[k].steady && t.steady && out[k].Show == t.Show && out[k].To == t.From-1 {
			out[k].To, out[k].End = t.To, t.End
			out[k].Numerals = strings.TrimSpace(out[k].Numerals + " " + t.Numerals)
			continue
		}
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

// questions are asked by turns.
var questions = []string{"talk.again", "talk.again-names", "talk.again-sound"}

// remark is what one says at a bar that brings nothing for the first time: of what is new
// on the page a question, once in a section; of what the levels below taught what to listen
// for, or what goes wrong, each once.
func (w *writer) remark(p *page, b int, l LevelLesson, said *remarks) []string {
	for _, id := range slices.Concat(p.texture(b, score.Left, leftStage), p.texture(b, score.Right, rightStages...)) {
		if k := slices.IndexFunc(l.New, func(n New) bool { return n.Technique == id }); k >= 0 {
			if at := l.New[k].Example.Bars; !said.asked[id] && at[0] < p.Score.Bars[b].Number {
				said.asked[id] = true
				key := questions[said.turn%len(questions)]
				said.turn++
				return []string{p.claim(key, p.barHere(b), "Technique", words.Upper(w.words.Technique(id).Name), "Bars", words.Span(at[0], at[0]), "ids", []string{id})}
			}
			continue
		}
		text := w.words.Technique(id)
		if s := sentence(text.Listen); s != "" && !said.told[s] {
			said.told[s] = true
			return []string{s}
		}
		for _, m := range text.Mistakes {
			if s := p.claim("talk.wrong", p.barHere(b), "Mistake", strings.TrimRight(m, "."), "ids", []string{id}); s != "" && !said.told[s] {
				said.told[s] = true
				return []string{s}
			}
		}
	}
	return nil
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
