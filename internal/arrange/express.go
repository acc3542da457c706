package arrange

import (
	"cmp"
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// express writes how the page is to be played: how loud, how struck, and what is joined.
func (p *piece) express(s *score.Score) {
	p.writeDynamics(s)
	p.writeGroups(s)
	p.writeTouch(s)
	p.writeSlurs(s)
}

// writeDynamics signs what the plan says. One sign stands for both hands, between the
// staves: that a tune sounds over its accompaniment goes without saying.
func (p *piece) writeDynamics(s *score.Score) {
	var out []score.Direction
	write := func(at theory.Dur, kind score.DirectionKind, text string) {
		out = append(out, score.Direction{At: at, Kind: kind, Hand: score.Right, Text: text})
	}
	wedge := func(kind score.DirectionKind, from, to theory.Dur) {
		if !slices.ContainsFunc(p.fixed.loud, func(h held[string]) bool { return h.at < to && from < h.until }) {
			write(from, kind, "")
			write(to, score.HairpinEnd, "")
		}
	}
	var signs []loudness
	for _, sec := range p.form.Sections {
		first := sec.First
		if first > 0 && s.Bars[first-1].Pickup { // its tune begins with the upbeat
			first--
		}
		signs = append(signs, loudness{s.Bars[first].At, sec.Dynamic})
	}
	grow := p.form.Climax
	if grow.To > 0 {
		wedge(score.Crescendo, p.wedgeFrom(grow.From, grow.To), grow.To)
		signs = append(signs, loudness{grow.To, grow.Top})
		if grow.Until > grow.Fade {
			wedge(score.Diminuendo, p.wedgeFrom(grow.Fade, grow.Until), grow.Until)
			signs = append(signs, loudness{grow.Until, grow.After})
		}
	}
	for _, t := range p.form.Turns {
		if t.From < t.At {
			kind := score.Crescendo
			if t.Fades {
				kind = score.Diminuendo
			}
			wedge(kind, t.From, t.At)
		}
		signs = append(signs, loudness{t.At, t.Sign})
	}
	for _, w := range p.form.Swells {
		wedge(score.Crescendo, p.wedgeFrom(w.From, w.Peak), w.Peak)
		wedge(score.Diminuendo, p.wedgeFrom(w.Fall, w.To), w.To)
	}
	slices.SortStableFunc(signs, func(a, b loudness) int { return cmp.Compare(a.at, b.at) })
	signs = p.asked(signs)
	now := ""
	for i, x := range signs {
		// A repeat says how loud it begins, where it ends otherwise.
		again := i+1 < len(signs) && signs[i+1].at < p.repeatEnd(x.at)
		if x.text == now && !again || i+1 < len(signs) && signs[i+1].at <= x.at+theory.Half { // the next says it
			continue
		}
		now = x.text
		write(x.at, score.Dynamic, x.text)
	}
	if p.home < 0 || find(p.fixed.loud, p.home) == nil {
		p.writeClose(write, now)
	}
	slices.SortStableFunc(out, func(a, b score.Direction) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(rank(a), rank(b)))
	})
	s.Directions = append(s.Directions, out...)
}

// loudness is how loud it is from a place on.
type loudness struct {
	at   theory.Dur
	text string
}

// asked puts what a teacher has asked for in the place of the plan's signs. After it the
// plan's sign holds again that would hold there.
func (p *piece) asked(signs []loudness) []loudness {
	for _, h := range p.fixed.loud {
		from := h.at
		if b := p.song.BarAt(from); b > 0 && p.song.Bars[b].At == from && p.song.Bars[b-1].Pickup {
			from = p.song.Bars[b-1].At // the upbeat is the section's
		}
		after := loudness{at: h.until}
		for _, x := range signs {
			if x.at <= h.until {
				after.text = x.text
			}
		}
		signs = slices.DeleteFunc(signs, func(x loudness) bool { return x.at >= from && x.at <= h.until })
		signs = append(signs, loudness{from, h.what})
		if h.until < p.song.End() {
			signs = append(signs, after)
		}
		slices.SortStableFunc(signs, func(a, b loudness) int { return cmp.Compare(a.at, b.at) })
	}
	return signs
}

// longestWedge is how many bars a hairpin opens or closes over: a longer one looks like two
// lines that never meet (common practice, no source).
const longestWedge = 2

// wedgeFrom is where a hairpin begins that leads to a place: in the last bars before it.
func (p *piece) wedgeFrom(from, to theory.Dur) theory.Dur {
	b := p.song.BarAt(to)
	if b < 0 {
		b = len(p.song.Bars)
	} else if p.song.Bars[b].At < to {
		b++
	}
	return max(from, p.song.Bars[max(0, b-longestWedge)].At)
}

// rank orders what stands in one place: what ends, how loud it is, what begins.
func rank(d score.Direction) int {
	switch d.Kind {
	case score.HairpinEnd:
		return 0
	case score.Dynamic:
		return 1
	}
	return 2
}

// repeatEnd is where a repeat closes that opens at a place; 0: none does.
func (p *piece) repeatEnd(at theory.Dur) theory.Dur {
	if b := p.song.BarAt(at); p.song.Bars[b].At == at && p.song.Joint(b) {
		for _, b := range p.song.Bars[b:] {
			if b.Signs.Times > 0 {
				return b.End()
			}
		}
	}
	return 0
}

// writeClose lets the music fade in its last two bars, where the plan has a softer close.
func (p *piece) writeClose(write func(theory.Dur, score.DirectionKind, string), now string) {
	was, _ := score.StepOf(now)
	goal, ok := score.StepOf(p.form.Close)
	if !ok || p.home < 0 || goal >= was {
		return
	}
	from := p.song.Bars[max(0, p.song.BarAt(p.home)-2)].At
	write(from, score.Diminuendo, "")
	write(p.home, score.HairpinEnd, "")
	write(p.home, score.Dynamic, p.form.Close)
}
