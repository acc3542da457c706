package teach

import (
	"slices"

	"gradatim/internal/arrange"
	"gradatim/internal/audit"
	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// meterOf is the metre that a page's drills are in.
func meterOf(p *page) leadsheet.Meter {
	return p.Score.Bars[len(p.Score.Bars)/2].Meter.OrCommon()
}

// study begins a drill whose notes are to be chosen: in the tune's key, for the page's
// level and speed.
func (w *writer) study(p *page) arrange.Study {
	return arrange.Study{Level: p.Level, Hand: w.hand, Key: w.key, Meter: meterOf(p), Tempo: p.Score.Tempo, Feel: p.Score.Feel}
}

// played has the notes of a study chosen; ok is false where the rules leave none.
func played(p *page, s arrange.Study) (_ score.Score, ok bool) {
	out, ok := s.Score()
	return dressed(p, out), ok
}

// dressed gives a drill the look of its page.
func dressed(p *page, s score.Score) score.Score {
	s.Swing, s.Level, s.StaffHeight, s.Pedal = p.Score.Swing, p.Score.Level, p.Score.StaffHeight, p.Score.Pedal
	return s
}

// sheet is a drill of notes that are given: a scale, or what stands on the page.
type sheet struct {
	p     *page
	key   theory.Key
	meter leadsheet.Meter
	notes []score.Note
	syms  []score.Symbol
}

// exercise is why the notes of a drill are there.
const exercise = reason.Fact("exercise")

func (w *writer) sheet(p *page) *sheet { return &sheet{p: p, key: w.key, meter: meterOf(p)} }

func (d *sheet) bar() theory.Dur { return d.meter.Bar() }

// halves divides a bar in two for two chords: in the middle, or after two beats of
// three; a bar of one beat is not divided.
func halves(m leadsheet.Meter) []theory.Dur {
	beat := m.BeatDur()
	if groups := m.Groups(); m.Uneven() && len(groups) > 0 { // at the group nearest to the middle
		at := groups[0]
		for _, g := range groups {
			if 2*g <= m.Bar()+beat {
				at = g
			}
		}
		return []theory.Dur{at, m.Bar() - at}
	}
	switch n := m.BeatCount(); {
	case n < 2:
		return []theory.Dur{m.Bar()}
	case n%2 == 0:
		return []theory.Dur{m.Bar() / 2, m.Bar() / 2}
	default:
		return []theory.Dur{beat * theory.Dur(n/2+1), beat * theory.Dur(n/2)}
	}
}

// score is the drill as it stands, filled to whole bars.
func (d *sheet) score() score.Score {
	s := score.Score{Tempo: d.p.Score.Tempo, Feel: d.p.Score.Feel, Notes: d.notes, Chords: d.syms}
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
	return dressed(d.p, s).Finish()
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

// unslashed is the chord over its own root.
func unslashed(c theory.Chord) theory.Chord {
	c.Slash, c.Bass = false, theory.Name{}
	return c
}

// fingered is the finished score.
func (w *writer) fingered(s score.Score) score.Score { return hand.FingerScore(s, w.hand) }

// quoted gives each bar of a small score whose hand plays just what it plays in a bar of the
// page the fingers that it has there: the same figure has one fingering everywhere. What bare has
// fingers for already, as the slow forms of a run of the page, keeps them.
func (p *page) quoted(s, bare score.Score) score.Score {
	s.Notes = slices.Clone(s.Notes)
	for b := range s.Bars {
		for _, h := range []score.Hand{score.Right, score.Left} {
			var here []*score.Note
			for i := range s.Notes {
				if n := &s.Notes[i]; n.Hand == h && bare.Notes[i].Finger == 0 && s.BarAt(n.At) == b {
					here = append(here, n)
				}
			}
			if there := p.figured(h, here, s.Bars[b].At); there != nil {
				for k, n := range here {
					n.Finger, n.FingerTo = there[k].Finger, there[k].FingerTo
				}
			}
		}
	}
	return s
}

// figured finds the first bar of the page in which a hand plays the same keys at the same
// places, each with a finger; nil: none.
func (p *page) figured(h score.Hand, want []*score.Note, from theory.Dur) []score.Note {
	if len(want) == 0 {
		return nil
	}
	for b, all := range p.byBar {
		there := slices.DeleteFunc(slices.Clone(all), func(n score.Note) bool { return n.Hand != h })
		if slices.EqualFunc(want, there, func(w *score.Note, n score.Note) bool {
			return w.At-from == n.At-p.Score.Bars[b].At && w.Pitch == n.Pitch && w.Grace == n.Grace && n.Finger > 0
		}) {
			return there
		}
	}
	return nil
}
