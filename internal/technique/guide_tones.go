package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// guideTones puts third and seventh under the tune in the right hand.
var guideTones = &Technique{
	ID: "guide-tones", Stage: RightHand,
	Needs: []string{"seventh-chords"},
	Right: func(c Cell) []Figure {
		var out []Figure
		third, has3 := c.Chord.Third()
		sev, has7 := c.Chord.Seventh()
		var colours []degree
		for d := range c.Chord.Tones.All() {
			if d.Number >= 9 {
				colours = append(colours, d)
			}
		}
		try := func(cost int, ds ...degree) {
			for k, m := range anchors(c) {
				if f, ok := under(c, m, ds...); ok {
					f.Cost = cost + k
					f.Say = reason.Figure("guide-tones")
					if len(ds) == 1 {
						f.Say = reason.Figure("guide-tones.one")
					}
					out = append(out, f)
				}
			}
		}
		if has3 && has7 {
			try(0, third, sev)
		}
		for k, x := range colours {
			if has7 {
				try(1+k, sev, x)
			}
			if has3 {
				try(1+k, third, x)
			}
		}
		if has7 {
			try(2, sev)
		}
		if has3 {
			try(2, third)
		}
		if !has7 && has3 {
			try(1, third, fifthOf(c.Chord))
		}
		return out
	},
	Recognise: recogniseGuides,
	Also:      []string{"third-or-sixth", "full-chords", "upper-structure", "drop-two", "octaves", "clusters"},
	Drill:     GuideLine,
}

// anchors lists what a right-hand chord can be hung under: the note of the tune
// that carries the chord, and a place where the chord begins whatever the tune
// does, below the lowest note that it reaches meanwhile (below A4 in a rest).
func anchors(c Cell) []MelodyNote {
	var out []MelodyNote
	m, ok := anchor(c)
	if ok {
		out = append(out, m)
		if m.At == c.At {
			return out
		}
	}
	low := MelodyNote{At: c.At, End: c.End, Pitch: theory.Name{Letter: theory.A}.At(4), Event: -1}
	for _, n := range c.Melody {
		if n.Pitch.MIDI() < low.Pitch.MIDI() || low.Event < 0 {
			low.Pitch, low.Event = n.Pitch, n.Event
		}
	}
	return append(out, low)
}

// anchor is the note of the tune that a chord can be hung under: the first to
// begin in the cell on a beat, or the one held into it.
func anchor(c Cell) (MelodyNote, bool) {
	for _, m := range c.Melody {
		if m.End-max(m.At, c.At) < theory.Eighth {
			continue
		}
		if m.At < c.At {
			m.At = c.At
			return m, true
		}
		if c.Meter.OnBeat(m.At-c.BarAt) || m.Pushed {
			return m, true
		}
	}
	return MelodyNote{}, false
}

// under places degrees one below the other beneath a note of the tune, closest
// first, and lets them sound until the cell ends.
func under(c Cell, m MelodyNote, ds ...degree) (Figure, bool) {
	var f Figure
	for _, d := range ds {
		p := d.On(c.Chord.Root).Below(m.Pitch.MIDI() - 2)
		if p.MIDI() < 53 || m.Pitch.MIDI()-p.MIDI() > c.Caps.Span[0] || p.Class() == m.Pitch.Class() {
			return Figure{}, false
		}
		f.Tones = append(f.Tones, Tone{At: m.At, Dur: c.End - m.At, Pitch: p, Kind: c.kindOf(p, score.Chord)})
	}
	sortTones(f.Tones)
	ps := []theory.Pitch{}
	for _, t := range f.Tones {
		ps = append(ps, t.Pitch)
	}
	if !agree(c.Chord, append(ps, m.Pitch)) {
		return Figure{}, false
	}
	return f, true
}

// agree tells whether no two notes over a chord exclude one another: the same
// key twice, or tensions that do not go together (5 with ♭13, 9 with ♭9 …).
func agree(ch theory.Chord, ps []theory.Pitch) bool {
	for i, p := range ps {
		dp, _ := harmony.DegreeOver(ch, p.Name)
		for _, q := range ps[i+1:] {
			if p.MIDI() == q.MIDI() {
				return false
			}
			dq, _ := harmony.DegreeOver(ch, q.Name)
			if harmony.Worst(dp, dq, q.MIDI()-p.MIDI()) == harmony.Hard {
				return false
			}
		}
	}
	return true
}

// recogniseGuides finds one or two notes under the top, third, seventh or colour
// of the printed chord, that hold while a chord begins or the tune goes on. Close
// chords under several notes in a row and clusters are other things.
func recogniseGuides(page *sight.Page) []Finding {
	ps := page.Right()
	top, held := 0, theory.Dur(0)
	var out []Finding
	for i, p := range ps {
		if p.At < held && p.High() < top { // below a note that is held
			if !p.Known() || len(p.Notes) > 2 || p.Dur() < p.Pulse || p.From != p.At && p.Off != 0 {
				continue
			}
			if ids := p.Guides(p.Notes); len(ids) > 0 {
				out = append(out, Finding{At: p.At, End: p.End, Notes: ids, Detail: p.Chord.Pretty()})
			}
			continue
		}
		top, held = p.High(), p.Top().End()
		if !p.Known() || len(p.Notes) < 2 || len(p.Notes) > 3 || p.Span() > 12 {
			continue
		}
		if inBlock(ps, i) || p.Span() == 12 {
			continue
		}
		if ids := p.Guides(p.Under()); len(ids) > 0 {
			out = append(out, Finding{At: p.At, End: p.End, Notes: ids, Detail: p.Chord.Pretty()})
		}
	}
	return out
}
