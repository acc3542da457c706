package arrange

import (
	"slices"

	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/plan"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// set decides what the whole page shares: tempo, feel, kind of tune and manner, and the octave of
// the tune.
func set(song leadsheet.Song, an harmony.Analysis, opt Options, letGo map[int]leadsheet.Problem) (*piece, error) {
	p := &piece{song: song, sheet: an, an: an, opt: opt, level: opt.Level, hand: opt.Hand, letGo: letGo, signs: map[int]sign{}}
	if p.hand == (hand.Profile{}) {
		p.hand = hand.Default()
	}
	if err := Supported(song); err != nil {
		return nil, err
	}
	if p.opt.Idiom.Idiom.ID == "" {
		p.opt.Idiom = idiom.Recognise(song, an, idiom.All())
	}
	if p.kind = opt.Kind; p.kind.ID == "" {
		p.kind = p.opt.Idiom.Idiom
	}
	// A tonic is the tune's own: another kind's manner colours it only where the tune's
	// would.
	own := p.opt.Idiom.Idiom.Usage
	p.kind.Usage.PlainTonic = own.PlainTonic || p.kind.Usage.TonicSevenths && !own.TonicSevenths
	p.level = p.kind.Shape(p.level)
	p.sign()
	if opt.Density != 0 { // more (or fewer) ornaments and devices, too
		p.level.Ornamentation = max(0, p.level.Ornamentation+opt.Density)
		p.level.Colour = max(0, p.level.Colour+10*opt.Density)
	}
	p.simplify()
	p.form = plan.Make(song, an, p.kind, p.level)
	p.comeHome()
	p.yield()
	p.settleChords()
	p.thinChords()
	p.firstSpan, p.lastSpan = -1, -1
	for i, sp := range p.an.Spans {
		if sp.Sounding() {
			p.lastSpan = i
			if p.firstSpan < 0 {
				p.firstSpan = i
			}
		}
	}
	p.fix()
	for i, sec := range p.form.Sections {
		if h := find(p.fixed.loud, p.song.Bars[sec.First].At); h != nil {
			p.form.Sections[i].Dynamic = h.what
		}
	}
	p.tellKey()
	p.setTempo()
	p.setFeel()
	p.setOctave()
	return p, nil
}

// sign gives the bars the signature of the key that they are read in, where the sheet has
// another one, as harmony tells: the page is spelled without a sign before every other note.
func (p *piece) sign() {
	p.song.Bars = slices.Clone(p.song.Bars)
	for _, r := range p.an.Regions {
		if r.Key.Fifths() == r.Declared.Fifths() || !r.Declared.Valid() {
			continue
		}
		for i := r.First; i <= r.Last; i++ {
			p.song.Bars[i].Key = r.Key
		}
		if r.First == 0 {
			p.song.Key = r.Key
		}
	}
}

// Supported refuses a song without a tune, with placed reasons.
func Supported(song leadsheet.Song) error {
	var out leadsheet.Problems
	if len(song.Melody) == 0 {
		out.Tell(leadsheet.Error, leadsheet.Pos{File: song.File}, "no-melody")
	}
	for _, b := range song.Bars {
		if !b.Meter.Valid() {
			pos := song.PosAt(b.At)
			pos.Line = b.Line
			out.Tell(leadsheet.Error, pos, "meter-unsupported")
			break
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
	p.remark(leadsheet.Info, 0, "key-beyond-level", "Key", p.song.Key, "Signature", reason.Signature(f), "Level", p.level.Number, "Limit", limit)
}

func (p *piece) setFeel() {
	switch {
	case p.opt.Feel != leadsheet.Unstated:
		p.feel = p.opt.Feel
	case p.level.Feel != leadsheet.Unstated:
		p.feel = p.level.Feel
	case p.kind.Feel != leadsheet.Unstated && p.kind.ID != p.opt.Idiom.Idiom.ID:
		p.feel = p.kind.Feel
	case p.song.Feel != leadsheet.Unstated:
		p.feel = p.song.Feel
	case p.kind.Feel != leadsheet.Unstated:
		p.feel = p.kind.Feel
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

// octaveFor is by how many octaves the whole tune moves: where it lies too low for two
// hands, or so high that nothing but ledger lines is left. Where the level has a range
// for its reader, the octave with the fewest notes outside it.
func (p *piece) octaveFor() int {
	low, high := 127, 0
	for _, n := range p.song.Melody {
		low, high = min(low, n.Pitch.MIDI()), max(high, n.Pitch.MIDI())
	}
	room := p.level.Room.MIDI()
	shift := 0
	if p.level.Top != (theory.Pitch{}) {
		outside := func(shift int) int {
			n := 0
			for _, m := range p.song.Melody {
				switch key := m.Pitch.MIDI() + 12*shift; {
				case key < room:
					n += 3 // in the left hand's place
				case key > p.level.Top.MIDI():
					n++
				}
			}
			return n
		}
		for _, s := range [...]int{1, -1, 2, -2} {
			if low+12*s >= lowestTune && high+12*s <= highestTune && outside(s) < outside(shift) {
				shift = s
			}
		}
		return shift
	}
	for low+12*shift < room && high+12*(shift+1) <= highestTune {
		shift++
	}
	for low+12*shift >= room+19 && high+12*shift > 86 {
		shift--
	}
	return shift
}

// lowestTune and highestTune bound the tune wherever it is moved: G3 and A6.
const lowestTune, highestTune = 55, 93

// setOctave moves the whole tune by octaves.
func (p *piece) setOctave() {
	shift := p.octaveFor()
	for bar := range p.song.Bars { // a page that is kept in part keeps its octave
		if l := p.fixed.locks[bar]; l != nil && len(l.tune) > 0 {
			t := l.tune[0]
			shift = int(t.Pitch.Octave - p.song.Melody[t.event].Pitch.Octave)
			break
		}
	}
	p.octave = shift
	switch {
	case shift > 0:
		p.remark(leadsheet.Info, 0, "tune-octave-up", "n", shift)
	case shift < 0:
		p.remark(leadsheet.Info, 0, "tune-octave-down")
	}
	if top := p.level.Top; top != (theory.Pitch{}) {
		n, first := 0, theory.Dur(0)
		for _, m := range p.song.Melody {
			if key := m.Pitch.MIDI() + 12*shift; key < p.level.Room.MIDI() || key > top.MIDI() {
				if n++; n == 1 {
					first = m.At
				}
			}
		}
		if n > 0 {
			p.remark(leadsheet.Info, first, "tune-range", "n", n, "Low", p.level.Room, "High", top, "Level", p.level.Number)
		}
	}
}
