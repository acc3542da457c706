package audit

import (
	"slices"

	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// moment is what sounds when something is struck.
type moment struct {
	*onset
	held  [3][]int // sounds still held from before, by hand
	hit   [3][]int // sounds struck now, by hand, ascending
	all   []int    // all of them, ascending by key
	chord *harmony // in force; nil: none
	sheet *harmony // the sheet's chord in force; nil: none
}

// hands are the two hands in the order in which they are judged.
var bothHands = [...]score.Hand{score.Right, score.Left}

// sweep judges what sounds at each onset, or the fingers alone.
func (p *page) sweep(alone bool) {
	var m moment
	var motion [3]motion
	var fingers [3]fingers
	pedal := p.pedals()
	ci, si := -1, -1
	for oi := range p.onsets {
		m.onset = &p.onsets[oi]
		for _, h := range bothHands {
			m.held[h] = slices.DeleteFunc(append(m.held[h], m.hit[h]...), func(i int) bool { return p.sounds[i].end <= m.at })
			if len(m.held[h]) > most { // more than any hand holds; reported as such
				m.held[h] = m.held[h][:most]
			}
			m.hit[h] = m.hit[h][:0]
		}
		for i := m.first; i < m.last; i++ {
			if h := p.sounds[i].hand; len(m.hit[h]) < most {
				m.hit[h] = append(m.hit[h], i)
			}
		}
		for ci+1 < len(p.chords) && p.chords[ci+1].at <= m.at {
			ci++
		}
		for si+1 < len(p.sheet) && p.sheet[si+1].at <= m.at {
			si++
		}
		m.chord, m.sheet = nil, nil
		if ci >= 0 && !p.chords[ci].silent && !p.chords[ci].unknown {
			m.chord = &p.chords[ci]
		}
		if si >= 0 && !p.sheet[si].silent && !p.sheet[si].unknown {
			m.sheet = &p.sheet[si]
		}
		m.all = m.all[:0]
		for _, h := range bothHands {
			m.all = append(append(m.all, m.held[h]...), m.hit[h]...)
		}
		slices.SortStableFunc(m.all, func(a, b int) int { return p.sounds[a].key - p.sounds[b].key })

		for _, h := range bothHands {
			if len(m.hit[h]) == 0 {
				continue
			}
			if p.judgeHaste(&m, h, &fingers[h], pedal); alone {
				continue
			}
			p.judgeReach(&m, h, pedal)
			p.judgeMotion(&m, h, &motion[h])
		}
		if alone {
			continue
		}
		p.judgeCrossing(&m)
		p.judgeIntervals(&m)
		p.judgeClashes(&m)
	}
}

// pedals returns the moments at which the pedal changes, down or up.
func (p *page) pedals() []score.Direction {
	var out []score.Direction
	for _, d := range p.s.Directions {
		if d.Kind == score.PedalDown || d.Kind == score.PedalUp {
			out = append(out, d)
		}
	}
	slices.SortStableFunc(out, func(a, b score.Direction) int { return int(min(max(a.At-b.At, -1), 1)) })
	return out
}

// clock turns positions into times at the printed tempo, with the swing that the
// score asks for.
type clock struct {
	perMinute int
	beat      theory.Dur
	swing     score.Ratio
}

// clock returns the score's clock; ok is false where no tempo is printed.
func (p *page) clock() (c clock, ok bool) {
	t := p.s.Tempo
	if !t.Set() && p.song != nil {
		t = p.song.Tempo
	}
	c = clock{perMinute: t.PerMinute, beat: t.Beat}
	if p.s.Feel == leadsheet.Swing {
		c.swing = p.s.Swing
		if c.swing.First <= 0 || c.swing.Second <= 0 {
			c.swing = score.Ratio{First: 2, Second: 1}
		}
	}
	return c, t.Set()
}

// played returns the position at which an onset is played: the second eighth of
// a swung beat comes later than written.
func (p *page) played(c clock, o *onset) theory.Dur {
	if c.swing.First == 0 || o.bar >= len(p.s.Bars) {
		return o.at
	}
	m := p.meter(o)
	beat := m.BeatDur()
	if m.Compound() || (o.at-p.s.Bars[o.bar].At)%beat != beat/2 {
		return o.at
	}
	sum := theory.Dur(c.swing.First + c.swing.Second)
	return o.at - beat/2 + beat*theory.Dur(c.swing.First)/sum
}

// micros returns the time that a stretch of the piece takes.
func (c clock) micros(d theory.Dur) hand.Micros {
	return hand.Micros(int64(d) * 60 * int64(hand.Second) / (int64(c.beat) * int64(c.perMinute)))
}
