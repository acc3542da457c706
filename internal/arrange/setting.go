package arrange

import (
	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// set decides what the whole page shares: tempo, feel, style, and the octave of
// the tune.
func set(song leadsheet.Song, an harmony.Analysis, opt Options) (*piece, error) {
	p := &piece{song: song, an: an, opt: opt, level: opt.Level, hand: opt.Hand, signs: map[int]sign{}}
	if p.hand == (hand.Profile{}) {
		p.hand = hand.Default()
	}
	if err := supported(song); err != nil {
		return nil, err
	}
	if opt.Density != 0 { // more (or fewer) ornaments and devices, too
		p.level.Ornamentation = max(0, p.level.Ornamentation+opt.Density)
		p.level.Colour = max(0, p.level.Colour+10*opt.Density)
	}
	p.firstSpan, p.lastSpan = -1, -1
	for i, sp := range an.Spans {
		if sp.Sounding() {
			p.lastSpan = i
			if p.firstSpan < 0 {
				p.firstSpan = i
			}
		}
	}
	p.tellKey()
	p.setTempo()
	p.setStyle()
	p.setFeel()
	p.setOctave()
	return p, nil
}

// supported refuses a song in a metre that no pattern is made for, or without a
// tune. The error is Refused.
func supported(song leadsheet.Song) error {
	var out Refused
	if len(song.Melody) == 0 {
		out = append(out, Remark{Pos: leadsheet.Pos{File: song.File}, Severity: leadsheet.Error, Code: "no-melody"})
	}
	var last leadsheet.Meter
	for _, b := range song.Bars {
		if b.Meter == last {
			continue
		}
		last = b.Meter
		switch [2]int{b.Meter.Beats, b.Meter.Unit} {
		case [2]int{2, 4}, [2]int{3, 4}, [2]int{4, 4}, [2]int{2, 2}, [2]int{6, 8}, [2]int{9, 8}, [2]int{12, 8}, [2]int{3, 2}, [2]int{6, 4},
			[2]int{3, 8}, [2]int{4, 2}:
		default:
			pos := song.PosAt(b.At)
			pos.Line = b.Line
			out = append(out, Remark{Pos: pos, Severity: leadsheet.Error, Code: "meter-unsupported", Parts: []any{"Metre", b.Meter}})
		}
	}
	if len(out) > 0 {
		return out
	}
	return nil
}

// tellKey tells a key signature beyond the level: the key is the teacher's choice,
// so it is kept.
func (p *piece) tellKey() {
	limit := p.level.Caps.KeySignature
	f := p.song.Key.Fifths()
	if limit == 0 || f <= limit && -f <= limit {
		return
	}
	p.remark(leadsheet.Info, 0, "key-beyond-level", "Key", p.song.Key, "Signature", reason.Signature(f), "level", p.level.Number, "limit", limit)
}

// setTempo takes the wish of the reader, else the sheet's mark, else a usual one
// for the metre, and prints the level's share of it.
func (p *piece) setTempo() {
	t := p.opt.Tempo
	if !t.Set() {
		t = p.song.Tempo
		if !t.Set() {
			t = usualTempo(p.song)
			p.remark(leadsheet.Info, 0, "tempo-assumed", "PerMinute", t.PerMinute)
		}
		t.PerMinute = max(1, t.PerMinute*p.level.TempoPercent/100)
	}
	p.tempo, p.quarters = t, max(1, t.QuartersPerMinute())
}

// usualTempo is a middle speed for the metre and dance (common practice, no
// source).
func usualTempo(s leadsheet.Song) leadsheet.Tempo {
	beat := s.Meter.BeatDur()
	if !s.Meter.Valid() {
		beat = theory.Quarter
	}
	n := 108
	switch {
	case s.Meter.Compound():
		n = 80
	case s.Meter.Beats == 3:
		n = 116
	case s.Meter.Unit == 2:
		n = 72
	}
	return leadsheet.Tempo{Beat: beat, PerMinute: n, Words: s.Tempo.Words}
}

func (p *piece) setFeel() {
	switch {
	case p.opt.Feel != leadsheet.Unstated:
		p.feel = p.opt.Feel
	case p.level.Feel != leadsheet.Unstated:
		p.feel = p.level.Feel
	case p.song.Feel != leadsheet.Unstated:
		p.feel = p.song.Feel
	case technique.Jazzy(p.style):
		p.feel = leadsheet.Swing
	default:
		p.feel = leadsheet.Straight
	}
	if p.feel == leadsheet.Swing && p.song.Meter.Compound() {
		if p.opt.Feel == leadsheet.Swing {
			p.remark(leadsheet.Info, 0, "feel-compound", "Metre", p.song.Meter)
		}
		p.feel = leadsheet.Straight
	}
	p.swing = score.SwingRatio(p.quarters)
}

// setOctave moves the whole tune by octaves where it lies too low for two hands,
// or so high that nothing but ledger lines is left.
func (p *piece) setOctave() {
	low, high := 127, 0
	for _, n := range p.song.Melody {
		low, high = min(low, n.Pitch.MIDI()), max(high, n.Pitch.MIDI())
	}
	room := p.level.Room.MIDI()
	shift := 0
	for low+12*shift < room && high+12*(shift+1) <= 93 {
		shift++
	}
	for low+12*shift >= room+19 && high+12*shift > 86 {
		shift--
	}
	p.octave = shift
	switch {
	case shift > 0:
		p.remark(leadsheet.Info, 0, "tune-octave-up", "n", shift)
	case shift < 0:
		p.remark(leadsheet.Info, 0, "tune-octave-down")
	}
}

func (p *piece) setStyle() {
	if p.opt.Style != 0 {
		p.style, p.styleWhy = p.opt.Style, reason.Fact("style-asked")
		return
	}
	c := p.an.Character
	p.style, p.styleWhy = c.Style, reason.Fact("style-none")
	if p.style == 0 {
		p.style = harmony.Pop
	}
	for _, r := range c.Reasons {
		if r.Style == p.style {
			p.styleWhy = r.Why
			break
		}
	}
}
