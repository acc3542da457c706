package audit

import (
	"slices"

	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// judgeReach judges what one hand strikes and holds at a moment.
//
// What is struck together must be reached at once, or, where it is marked as
// rolled, from note to note. What is still held must be reached along with it;
// but the lowest note of a rolled chord, and any note that the pedal keeps
// sounding, may have been let go.
func (p *page) judgeReach(m *moment, h score.Hand, pedal []score.Direction) {
	var buf, both [2*most + 1]int
	hit := buf[:0]
	rolled := false
	for _, i := range m.hit[h] {
		s := &p.sounds[i]
		hit = append(hit, s.key)
		rolled = rolled || s.rolled
	}
	all := append(both[:0], hit...)
	var kept [most + 1]int
	held := kept[:0]
	for _, i := range m.held[h] {
		if s := &p.sounds[i]; !slices.Contains(all, s.key) && !p.letGo(s, m, pedal) {
			all, held = append(all, s.key), append(held, i)
		}
	}
	if n := distinct(hit); n > hand.MaxKeys {
		p.report(m.at, HandFull+".strikes", p.notes(m.hit[h]), "Hand", h, "n", n)
		return
	}
	if n := distinct(all); n > hand.MaxKeys {
		p.report(m.at, HandFull+".holds", p.notes(m.hit[h], held), "Hand", h, "n", n)
		return
	}
	if rolled {
		if !p.profile.Rolls(h, hit) {
			p.report(m.at, Reach+".roll", p.notes(m.hit[h]), "Hand", h, "Notes", p.pitches(m.hit[h]), "Reach", p.profile.Reach(h))
			return
		}
		if len(all) == len(hit) {
			return
		}
		// The lowest of the roll is let go.
		hit, all = hit[1:], all[1:]
	}
	if len(all) < 2 || p.profile.Reaches(h, all) {
		return
	}
	far, full, blame, ids, pitches := leadsheet.Saying(Reach+".strike"), leadsheet.Saying(Fingers+".strike"), hit, p.notes(m.hit[h]), p.pitches(m.hit[h])
	if p.profile.Reaches(h, hit) {
		far, full, blame, ids, pitches = Reach+".hold", Fingers+".hold", all, p.notes(m.hit[h], held), p.pitches(m.hit[h], held)
	}
	if d := hand.Distance(slices.Min(blame), slices.Max(blame)); d > p.profile.Reach(h) {
		p.report(m.at, far, ids, "Hand", h, "Notes", pitches, "Distance", d, "Reach", p.profile.Reach(h))
		return
	}
	p.report(m.at, full, ids, "Hand", h, "Notes", pitches)
}

// letGo tells whether a held note may have left its key: it is the lowest of a
// rolled chord, or the pedal went down before the moment and stays down. A score
// of others without any pedal sign leaves the pedal to the player, who will keep
// with it what the hand has to leave.
func (p *page) letGo(s *sound, m *moment, pedal []score.Direction) bool {
	if g := p.group1(s); s.rolled && p.sounds[g.first].key == s.key && g.last-g.first > 1 {
		return true
	}
	if p.song == nil && len(pedal) == 0 {
		return true
	}
	// The pedal must be down before the moment and stay down through it.
	i, _ := slices.BinarySearchFunc(pedal, m.at, func(d score.Direction, at dur) int { return int(min(max(d.At-at, -1), 1)) })
	if i == 0 || pedal[i-1].Kind != score.PedalDown {
		return false
	}
	for ; i < len(pedal) && pedal[i].At == m.at; i++ {
		if pedal[i].Kind == score.PedalUp {
			return false
		}
	}
	return true
}

// judgeCrossing judges the place of the hands towards each other.
//
// The left hand may lie above the right only where it crosses over altogether:
// every key it strikes is above every key of the right, so that it plays the
// top line. Hands that lie within each other are not accepted.
func (p *page) judgeCrossing(m *moment) {
	r, l := score.Right, score.Left
	for _, i := range m.hit[l] {
		for _, j := range m.hit[r] {
			if p.sounds[i].key == p.sounds[j].key {
				p.report(m.at, KeyShared+".struck", []int{p.sounds[j].note, p.sounds[i].note}, "Note", p.pitch(p.sounds[i]))
			}
		}
	}
	for _, h := range bothHands {
		for _, i := range m.hit[h] {
			for _, j := range m.held[other(h)] {
				if p.sounds[i].key == p.sounds[j].key {
					p.report(m.at, KeyShared+".held", []int{p.sounds[i].note, p.sounds[j].note}, "Hand", h, "Note", p.pitch(p.sounds[i]), "Other", other(h))
				}
			}
		}
	}
	highLeft, lowLeft := p.edges(m, l)
	highRight, lowRight := p.edges(m, r)
	if highLeft < 0 || lowRight < 0 || p.sounds[highLeft].key <= p.sounds[lowRight].key {
		return
	}
	if p.sounds[lowLeft].key > p.sounds[highRight].key {
		return
	}
	p.report(m.at, HandsCross, []int{p.sounds[lowRight].note, p.sounds[highLeft].note}, "Left", p.pitch(p.sounds[highLeft]), "Right", p.pitch(p.sounds[lowRight]))
}

// edges returns a hand's highest and lowest sound at a moment; −1: none.
func (p *page) edges(m *moment, h score.Hand) (high, low int) {
	high, low = -1, -1
	for _, list := range [2][]int{m.held[h], m.hit[h]} {
		for _, i := range list {
			if high < 0 || p.sounds[i].key > p.sounds[high].key {
				high = i
			}
			if low < 0 || p.sounds[i].key < p.sounds[low].key {
				low = i
			}
		}
	}
	return high, low
}

func other(h score.Hand) score.Hand {
	if h == score.Right {
		return score.Left
	}
	return score.Right
}

// motion is where a hand was and when it struck each key last.
type motion struct {
	clock  clock
	state  uint8 // 0 not asked yet, 1 there is a clock, 2 there is none
	from   []int // keys of the last group
	fromAt dur   // as played
	tune   bool  // the last group was melody alone
	struck [128]struct {
		at    dur
		chord bool
		tune  bool
		was   bool
	}
}

// judgeMotion judges jumps and repetitions of one hand at the printed tempo. A
// jump or repetition that the melody makes on its own is the tune's.
func (p *page) judgeMotion(m *moment, h score.Hand, st *motion) {
	if st.state == 0 {
		st.state = 2
		if c, ok := p.clock(); ok {
			st.clock, st.state = c, 1
		}
	}
	if st.state == 2 {
		return
	}
	at := p.played(st.clock, m.onset)
	hit := m.hit[h]
	tune := p.song != nil && len(hit) == 1 && p.sounds[hit[0]].melody
	var buf [most]int
	to := buf[:0]
	rolled := false
	for _, i := range hit {
		to = append(to, p.sounds[i].key)
		rolled = rolled || p.sounds[i].rolled
	}
	if len(st.from) > 0 && !(tune && st.tune) {
		t := st.clock.micros(at - st.fromAt)
		if !hand.Leaps(p.profile.Reach(h), st.from, to, t) {
			mv := hand.MoveBetween(p.profile.Reach(h), st.from, to)
			p.report(m.at, Jump, p.notes(hit), "Hand", h, "Time", int(t/1000), "Distance", mv.Distance, "Notes", p.pitches(hit))
		}
	}
	st.from = append(st.from[:0], to...)
	if rolled { // the hand leaves a rolled chord from its top
		st.from = append(st.from[:0], slices.Max(to))
	}
	st.fromAt, st.tune = at, tune
	chord := distinct(to) > 1
	for _, i := range hit {
		s := &p.sounds[i]
		if s.key < 0 || s.key > 127 {
			continue
		}
		last := &st.struck[s.key]
		melody := p.song != nil && s.melody
		if last.was && last.at != at && !(melody && last.tune) {
			t := st.clock.micros(at - last.at)
			if !hand.Repeats(t, chord && last.chord) {
				p.report(m.at, Repetition, []int{s.note}, "Hand", h, "Note", p.pitch(*s), "Time", int(t/1000))
			}
		}
		last.at, last.chord, last.tune, last.was = at, chord, melody, true
	}
}

// notes collects the indexes of sounds' notes.
func (p *page) notes(lists ...[]int) []int {
	var out []int
	for _, l := range lists {
		for _, i := range l {
			out = append(out, p.sounds[i].note)
		}
	}
	return out
}

func distinct(keys []int) int {
	n := 0
	for i, k := range keys {
		if !slices.Contains(keys[:i], k) {
			n++
		}
	}
	return n
}

// pitches lists the notes of sounds from the lowest, each key once.
func (p *page) pitches(lists ...[]int) []theory.Pitch {
	var all []int
	for _, l := range lists {
		all = append(all, l...)
	}
	slices.SortStableFunc(all, func(a, b int) int { return p.sounds[a].key - p.sounds[b].key })
	var out []theory.Pitch
	for i, j := range all {
		if i == 0 || p.sounds[all[i-1]].key != p.sounds[j].key {
			out = append(out, p.pitch(p.sounds[j]))
		}
	}
	return out
}
