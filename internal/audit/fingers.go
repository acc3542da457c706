package audit

import (
	"slices"

	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/score"
)

// fingers is where each finger of a hand struck last, and what the hand struck last.
type fingers struct {
	last  [hand.MaxKeys + 1]stroke // by finger
	keys  [128]stroke
	group []stroke // the strike before, by voice and key
}

// stroke is a touch at a time.
type stroke struct {
	hand.Touch
	at    dur // as played
	on    dur // as written
	note  int // index into s.Notes
	chord bool
	tune  bool // the tune alone
	quick bool // the finger was quick
	was   bool
}

var delays = [...]leadsheet.Saying{hand.Travels: Haste + ".travels", hand.Crosses: Haste + ".crosses", hand.Restrikes: Haste + ".restrikes"}

// judgeHaste judges the fingers that a score has, at the printed tempo.
func (p *page) judgeHaste(m *moment, h score.Hand, f *fingers, pedal []score.Direction) {
	c, ok := p.clock()
	if !ok {
		return
	}
	at := p.played(c, m.onset)
	hit := m.hit[h]
	var buf [most]int
	struck := buf[:0]
	rolled := false
	for _, i := range hit {
		if k := p.sounds[i].key; !slices.Contains(struck, k) {
			struck = append(struck, k)
		}
		rolled = rolled || p.sounds[i].rolled
	}
	tune := p.song != nil && len(struck) == 1 && p.sounds[hit[0]].melody
	var group []stroke
	for _, i := range hit {
		s := &p.sounds[i]
		n := &p.s.Notes[s.note]
		if n.Finger == 0 || n.Finger > hand.MaxKeys || s.key < 0 || s.key > 127 {
			continue
		}
		to := stroke{Touch: hand.Touch{Key: s.key, Finger: n.Finger}, at: at, on: m.at, note: s.note, chord: len(struck) > 1, tune: tune, was: true}
		p.hastens(m, h, c, pedal, &f.last[n.Finger], &to, false)
		if k := &f.keys[s.key]; k.Finger != to.Finger {
			p.hastens(m, h, c, pedal, k, &to, false)
		}
		for j := range f.group {
			if g := &f.group[j]; g.Finger != to.Finger && g.Key != to.Key && !rolled {
				p.hastens(m, h, c, pedal, g, &to, true)
			}
		}
		group = append(group, to)
	}
	for _, to := range group {
		f.last[to.Finger], f.keys[to.Key] = to, to
		if by := p.s.Notes[to.note].FingerTo; by > 0 && by <= hand.MaxKeys {
			to.Finger = by
			f.last[by] = to
		}
	}
	f.group = group
}

// hastens reports a finger that is late after an earlier stroke. What no fingers do in a tune
// alone is the tune's.
func (p *page) hastens(m *moment, h score.Hand, c clock, pedal []score.Direction, from, to *stroke, next bool) {
	if !from.was || from.at >= to.at {
		return
	}
	t := hand.Turn{Time: c.micros(to.at - from.at), Next: next, Chord: from.chord && to.chord, Row: from.quick}
	if from.Finger == to.Finger {
		to.quick = t.Time < hand.OneFinger
	}
	if from.tune && to.tune && (t.Time < hand.ChangingFingers || !hand.Leaps(p.profile.Reach(h), []int{from.Key}, []int{to.Key}, t.Time)) {
		return
	}
	for _, i := range m.held[h] {
		s := &p.sounds[i]
		t.Stays = t.Stays || s.key == from.Key && !p.letGo(s, m, pedal)
		t.Held = t.Held || s.key != to.Key && s.key != from.Key && s.at <= from.on && !p.letGo(s, m, pedal)
	}
	d := p.profile.Late(h, from.Touch, to.Touch, t)
	if d == hand.InTime {
		return
	}
	p.report(m.at, delays[d], []int{from.note, to.note}, "Hand", h, "Time", int(t.Time/1000),
		"Finger", int(to.Finger), "Other", int(from.Finger), "From", p.s.Notes[from.note].Pitch, "Note", p.s.Notes[to.note].Pitch)
}
