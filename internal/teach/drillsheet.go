package teach

import (
	"gradatim/internal/audit"
	"gradatim/internal/hand"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// sheet is a drill in the making: bars of the page's metre in the tune's key.
type sheet struct {
	w     *writer
	p     *page
	key   theory.Key
	meter leadsheet.Meter
	notes []score.Note
	syms  []score.Symbol
}

// exercise is why the notes of a drill are there.
const exercise = reason.Fact("exercise")

func (w *writer) sheet(p *page) *sheet {
	m := p.Score.Bars[len(p.Score.Bars)/2].Meter.OrCommon()
	return &sheet{w: w, p: p, key: w.key, meter: m}
}

func (d *sheet) bar() theory.Dur { return d.meter.Bar() }

// halves divides a bar in two for two chords: in the middle, or after two beats of
// three; a bar of one beat is not divided.
func (d *sheet) halves() []theory.Dur {
	beat := d.meter.BeatDur()
	switch n := d.meter.BeatCount(); {
	case n < 2:
		return []theory.Dur{d.bar()}
	case n%2 == 0:
		return []theory.Dur{d.bar() / 2, d.bar() / 2}
	default:
		return []theory.Dur{beat * theory.Dur(n/2+1), beat * theory.Dur(n/2)}
	}
}

func (d *sheet) add(h score.Hand, at, dur theory.Dur, ps ...theory.Pitch) {
	for _, p := range ps {
		d.notes = append(d.notes, score.Note{Hand: h, Voice: 1, At: at, Dur: dur, Pitch: readable(p),
			Origin: score.Origin{Kind: score.Chord, Why: exercise}})
	}
}

func (d *sheet) chord(at theory.Dur, c theory.Chord) {
	if n := len(d.syms); n > 0 && d.syms[n-1].Chord == c {
		return
	}
	d.syms = append(d.syms, score.Symbol{At: at, Chord: c})
}

// score is the drill as it stands, filled to whole bars.
func (d *sheet) score() score.Score {
	s := score.Score{Tempo: d.p.Score.Tempo, Feel: d.p.Score.Feel, Swing: d.p.Score.Swing, Level: d.p.Score.Level,
		StaffHeight: d.p.Score.StaffHeight, Pedal: d.p.Score.Pedal, Notes: d.notes, Chords: d.syms}
	end := theory.Dur(0)
	for _, n := range d.notes {
		end = max(end, n.End())
	}
	for at := theory.Dur(0); at < end; at += d.bar() {
		s.Bars = append(s.Bars, score.Bar{At: at, Dur: d.bar(), Meter: d.meter, Key: d.key, Number: len(s.Bars) + 1})
	}
	for i := range s.Notes {
		s.Notes[i].ID = ""
	}
	return s.Finish()
}

// fewest and most bars of a drill.
const (
	fewestBars = 4
	mostBars   = 8
)

// passes tells whether a score may be printed as a drill.
func (w *writer) passes(s score.Score) bool {
	return len(s.Notes) > 0 && len(s.Bars) >= fewestBars && len(s.Bars) <= mostBars && len(audit.Check(s, audit.Options{Hand: w.hand})) == 0
}

// cell is a bar, or a part of one, of a drill as a left-hand technique sees it.
func (d *sheet) cell(at, end theory.Dur, c, prev, next theory.Chord) technique.Cell {
	l := d.p.Level
	return technique.Cell{At: at, End: end, BarAt: at / d.bar() * d.bar(), Meter: d.meter, Key: d.key, Chord: c, Prev: prev, Next: next,
		Added: addedOf(c), Tempo: max(1, d.p.Score.Tempo.QuartersPerMinute()), Swing: d.p.Score.Feel == leadsheet.Swing,
		Manner: l.Manner, Caps: l.Caps, Hand: d.w.hand, Low: l.Low.MIDI(), High: l.High.MIDI(), NewChord: true}
}

// addedOf is the added note of a chord without a seventh.
func addedOf(c theory.Chord) theory.Degree {
	if _, seventh := c.Seventh(); seventh {
		return theory.Degree{}
	}
	for _, d := range []theory.Degree{{Number: 9}, {Number: 2}, {Number: 4}} {
		if _, third := c.Third(); third && c.Tones.Has(d) && (c.Tones.Has(theory.Degree{Number: 3}) || c.MinorThird()) {
			return d
		}
	}
	return theory.Degree{}
}

// unslashed is the chord over its own root.
func unslashed(c theory.Chord) theory.Chord {
	c.Slash, c.Bass = false, theory.Name{}
	return c
}

// bass is a chord's lowest note in the register of the level, near the one before.
func (d *sheet) bass(c theory.Chord, before int) theory.Pitch {
	low := max(d.p.Level.Low.MIDI(), 40)
	p := c.Lowest().Above(low)
	if before > 0 && abs(p.MIDI()+12-before) < abs(p.MIDI()-before) && p.MIDI()+12 <= 55 {
		p = c.Lowest().Above(p.MIDI() + 1)
	}
	return p
}

// clean tells whether the audit passes what there is; bars not yet filled do not
// count.
func (d *sheet) clean() bool {
	s := d.score()
	return len(audit.Check(s, audit.Options{Hand: d.w.hand})) == 0
}

// fingered is the finished score.
func (w *writer) fingered(s score.Score) score.Score { return hand.FingerScore(s, w.hand) }

// barEach gives each chord a bar.
func (d *sheet) barEach(cs []theory.Chord) []stretch {
	var out []stretch
	for _, c := range cs {
		out = append(out, stretch{chord: c, dur: d.bar()})
	}
	return out
}
