package audit

import (
	"slices"
	"sort"

	"gradatim/score"
	"gradatim/theory"
)

// reason is why a note may sound, as the notes themselves show it.
type reason uint8

const (
	unexplained reason = iota
	noHarmony          // no chord is known there
	theTune            // the melody, or its doubling in another octave
	chordTone          //
	tension            //
	early              // belongs to the chord that comes within half a beat
	step               // passing, neighbour, approach: by step into what follows
	enclosing          // one of two notes around the next target
	dominantOf         // bass a fifth above the bass that it leads to
	ghostly            // repeats the bass just left, or its fifth, in passing
	pedalPoint         // the bass stays on tonic or dominant
	running            // part of a run that lands on an explained note
	blue               // blues note in the right hand
)

// ornamental tells whether the reason is a passing one: the note is heard as
// motion, not as harmony.
func (r reason) ornamental() bool { return r >= step }

// explain finds a reason for every note, from the last backwards, because a note
// that moves is explained by where it goes. What has none is reported.
func (p *page) explain() {
	p.harmonies()
	if len(p.chords) == 0 {
		for i := range p.sounds {
			p.sounds[i].reason = noHarmony
		}
		return
	}
	ci := -1
	for i := range p.sounds {
		for ci+1 < len(p.chords) && p.chords[ci+1].at <= p.sounds[i].at {
			ci++
		}
		p.sounds[i].chord = ci
	}
	tune := p.melodyInForce()
	for i := len(p.sounds) - 1; i >= 0; i-- {
		p.sounds[i].reason = p.reasonFor(i, tune[i])
	}
	for i := range p.sounds {
		if s := p.sounds[i]; s.reason == unexplained {
			c := p.chords[s.chord]
			if c.silent {
				p.report(s.at, NoChord, []int{s.note}, "Note", p.pitch(s))
				continue
			}
			p.report(s.at, Unexplained, []int{s.note}, "Note", p.pitch(s), "Chord", p.chordName(s.chord))
		}
	}
	p.explainGraces()
}

func (p *page) chordName(i int) string {
	if t := p.s.Chords[i].Text; t != "" {
		return t
	}
	return p.chords[i].chord.Root.String() + " (" + p.chords[i].chord.Tones.String() + ")"
}

// melodyInForce gives for each sound the melody sound that is heard with it;
// −1: none.
func (p *page) melodyInForce() []int {
	out := make([]int, len(p.sounds))
	cur := -1
	for _, o := range p.onsets {
		for i := o.first; i < o.last; i++ {
			if p.sounds[i].melody {
				cur = i
			}
		}
		for i := o.first; i < o.last; i++ {
			out[i] = -1
			if cur >= 0 && p.sounds[cur].end > o.at {
				out[i] = cur
			}
		}
	}
	return out
}

// reasonFor explains one sound. Everything later is already explained.
func (p *page) reasonFor(i, tune int) reason {
	r := p.firstReason(i, tune)
	if s := &p.sounds[i]; r == unexplained && s.chord >= 0 && !p.chords[s.chord].silent && p.chords[s.chord].tensions.has(s.class()) {
		return tension
	}
	return r
}

// firstReason finds what a sound is heard as before anything else.
func (p *page) firstReason(i, tune int) reason {
	s := &p.sounds[i]
	if s.melody || tune >= 0 && p.sounds[tune].class() == s.class() {
		return theTune
	}
	if s.chord < 0 || p.chords[s.chord].unknown {
		return noHarmony
	}
	c := &p.chords[s.chord]
	beat := p.meter(&p.onsets[p.group1(s).onset]).BeatDur()
	switch {
	case c.silent:
	case c.tones.has(s.class()):
		return chordTone
	}
	g := p.group1(s)
	lowest := s.hand == score.Left && i == g.first
	// A lone bass note that could be a tension is heard first as a line on its
	// way: D13 does not stand on its sharp eleventh.
	alone := lowest && g.last-g.first == 1
	if !c.silent && c.tensions.has(s.class()) && !alone {
		return tension
	}
	if s.chord+1 < len(p.chords) {
		next := &p.chords[s.chord+1]
		// A bass note that is only a tension of the next chord leads into it by
		// step instead.
		if next.at-s.at <= beat/2 && s.end >= next.at && (next.tones.has(s.class()) || !lowest && next.tensions.has(s.class())) {
			return early
		}
	}
	if s.end-s.at > beat {
		return p.heldReason(s)
	}
	if s.ghost || lowest && s.end-s.at <= beat/2 {
		if p.ghosts(s) {
			return ghostly
		}
	}
	// The bass on a change of harmony is where the harmony stands.
	if lowest && c.at == s.at && !c.silent && c.end-c.at >= beat {
		return p.heldReason(s)
	}
	if next := p.after(s, beat); next >= 0 {
		if p.stepsInto(s, next) && (g.last-g.first == 1 || p.moves(s, tune)) {
			return step
		}
		if p.encloses(s, next, beat) {
			return enclosing
		}
		if lowest && g.last-g.first == 1 {
			t := &p.sounds[p.hands[s.hand][next].first]
			if (s.key-t.key+120)%12 == 7 && t.reason == chordTone && t.chord != s.chord {
				return dominantOf
			}
		}
		if g.last-g.first == 1 && s.end-s.at <= beat/2 && p.runs(s, next) {
			return running
		}
	}
	if s.hand == score.Right && (i > g.first || g.last-g.first == 1) && p.bluesNote(s, c) {
		return blue
	}
	return p.heldReason(s)
}

// group1 returns the group of a sound.
func (p *page) group1(s *sound) *group { return &p.hands[s.hand][s.group] }

// heldReason explains a note by staying where it is.
func (p *page) heldReason(s *sound) reason {
	g := p.group1(s)
	if s.hand != score.Left || p.sounds[g.first].key != s.key {
		return unexplained
	}
	key := theory.Key{}
	if o := &p.onsets[g.onset]; o.bar < len(p.s.Bars) {
		key = p.s.Bars[o.bar].Key
	}
	if !key.Valid() {
		return unexplained
	}
	tonic := key.Tonic.Class()
	if s.class() != tonic && s.class() != (tonic+7)%12 {
		return unexplained
	}
	for j := s.group - 1; j >= 0 && j >= s.group-4; j-- {
		if p.sounds[p.hands[s.hand][j].first].key == s.key {
			return pedalPoint
		}
	}
	return unexplained
}

// far is how many groups are looked at to find where a note goes.
const far = 16

// after returns the group of the same hand that follows a sound when it ends,
// ghost notes passed over; −1 where the hand rests for more than a beat.
func (p *page) after(s *sound, beat theory.Dur) int {
	gs := p.hands[s.hand]
	for j := s.group + 1; j < len(gs) && j <= s.group+far; j++ {
		if gs[j].at < s.end || p.isGhost(&gs[j], beat) {
			continue
		}
		if gs[j].at > s.end+beat {
			return -1
		}
		return j
	}
	return -1
}

// isGhost tells whether a group is a ghost note alone.
func (p *page) isGhost(g *group, beat theory.Dur) bool {
	return g.last-g.first == 1 && (p.sounds[g.first].ghost || p.sounds[g.first].reason == ghostly)
}

// targets calls f with the sounds of a group that the sound's own voice may lead
// to: the one of the same rank from below, and the one of the same rank from
// above.
func (p *page) targets(s *sound, next int, f func(t *sound) bool) bool {
	g, h := p.group1(s), &p.hands[s.hand][next]
	rank := 0
	for i := g.first; i < g.last && p.sounds[i].key < s.key; i++ {
		rank++
	}
	below := h.first + rank
	above := h.last - (g.last - g.first - rank)
	if below < h.last && f(&p.sounds[below]) {
		return true
	}
	return above >= h.first && above != below && f(&p.sounds[above])
}

// stepsInto tells whether the sound leads by a half or whole step into a note
// that is itself explained.
func (p *page) stepsInto(s *sound, next int) bool {
	return p.targets(s, next, func(t *sound) bool {
		d := t.key - s.key
		return t.reason != unexplained && d != 0 && d >= -2 && d <= 2
	})
}

// moves tells whether a note inside a chord is heard as motion: the tune is
// foreign to the harmony and the chord goes with it; or the note is off the
// strong beats; or it comes by step, or was there before, as passing notes and
// suspensions do. Without this any wrong note a step from the next chord would
// pass for a lead into it.
func (p *page) moves(s *sound, tune int) bool {
	if c := &p.chords[s.chord]; tune >= 0 && !c.silent && !c.tones.has(p.sounds[tune].class()) && !c.tensions.has(p.sounds[tune].class()) {
		return true
	}
	if p.strength(&p.onsets[p.group1(s).onset]) > 1 {
		return true
	}
	if s.group == 0 {
		return false
	}
	return p.targets(s, s.group-1, func(t *sound) bool {
		d := t.key - s.key
		return d >= -2 && d <= 2
	})
}

// encloses tells whether the sound and the next lie on both sides, by step, of
// the one after it.
func (p *page) encloses(s *sound, next int, beat theory.Dur) bool {
	h := &p.hands[s.hand][next]
	if h.last-h.first != 1 {
		return false
	}
	n := &p.sounds[h.first]
	then := p.after(n, beat)
	if then < 0 {
		return false
	}
	return p.targets(n, then, func(t *sound) bool {
		a, b := s.key-t.key, n.key-t.key
		return t.reason != unexplained && a*b < 0 && a >= -2 && a <= 2 && b >= -2 && b <= 2
	})
}

// ghosts tells whether the sound repeats the bass just left, in any octave, or
// its fifth.
func (p *page) ghosts(s *sound) bool {
	gs := p.hands[s.hand]
	for j := s.group - 1; j >= 0 && j >= s.group-3; j-- {
		b := p.sounds[gs[j].first]
		if d := (s.key - b.key + 120) % 12; d == 0 || d == 7 {
			return true
		}
	}
	return false
}

// runs tells whether the sound belongs to a run of at least four single short
// notes in steps of at most a major third that ends on an explained note: it
// goes on by such a step, in the key or by half step, and was reached so.
func (p *page) runs(s *sound, next int) bool {
	gs := p.hands[s.hand]
	h := &gs[next]
	if h.at != s.end {
		return false
	}
	t := &p.sounds[h.first]
	if h.last-h.first > 1 {
		t = &p.sounds[h.last-1]
	}
	up := t.key - s.key
	if t.reason == unexplained || up == 0 || up > 4 || up < -4 {
		return false
	}
	length := 2
	for j := s.group; j > 0 && j > s.group-far; j-- {
		g, q := &gs[j], &gs[j-1]
		if q.last-q.first != 1 || p.sounds[q.first].end != g.at {
			break
		}
		d := p.sounds[g.first].key - p.sounds[q.first].key
		if d == 0 || d > 4 || d < -4 || (d > 0) != (up > 0) {
			break
		}
		length++
	}
	for j := next; j+1 < len(gs) && j < next+far && length < 4; j++ {
		g, q := &gs[j], &gs[j+1]
		if g.last-g.first != 1 || p.sounds[g.first].end != q.at {
			break
		}
		d := p.sounds[q.first].key - p.sounds[g.first].key
		if d == 0 || d > 4 || d < -4 || (d > 0) != (up > 0) {
			break
		}
		length++
	}
	key := theory.Key{}
	if o := &p.onsets[p.group1(s).onset]; o.bar < len(p.s.Bars) {
		key = p.s.Bars[o.bar].Key
	}
	return length >= 4 && (!key.Valid() || scaleClasses(key).has(s.class()))
}

// bluesNote tells whether the sound is a flat third, fifth or seventh of the key
// over a chord that the blues plays them on.
func (p *page) bluesNote(s *sound, c *harmony) bool {
	key := theory.Key{}
	if o := &p.onsets[p.group1(s).onset]; o.bar < len(p.s.Bars) {
		key = p.s.Bars[o.bar].Key
	}
	if !key.Valid() || c.silent || c.major7 {
		return false
	}
	switch (s.class() - key.Tonic.Class() + 12) % 12 {
	case 3, 10:
		return c.dominant
	case 6:
		return c.dominant || c.chord.MinorThird()
	}
	return false
}

// explainGraces judges grace notes: each is the tune's own, or leads by step into the next
// one or into a note of its main chord, or belongs to the harmony.
func (p *page) explainGraces() {
	for i := len(p.graces) - 1; i >= 0; i-- {
		n := &p.s.Notes[p.graces[i]]
		key := n.Pitch.MIDI()
		ci := sort.Search(len(p.chords), func(j int) bool { return p.chords[j].at > n.At }) - 1
		if ci < 0 {
			continue
		}
		c := &p.chords[ci]
		class := ((key % 12) + 12) % 12
		if !c.silent && (c.tones.has(class) || c.tensions.has(class)) {
			continue
		}
		ok := p.tuneHas(n, class)
		if !ok && i+1 < len(p.graces) {
			m := &p.s.Notes[p.graces[i+1]]
			d := m.Pitch.MIDI() - key
			ok = m.At == n.At && m.Hand == n.Hand && m.Voice == n.Voice && m.Grace > n.Grace && d != 0 && d >= -2 && d <= 2
		}
		j := sort.Search(len(p.sounds), func(j int) bool { return p.sounds[j].at >= n.At })
		for ; !ok && j < len(p.sounds) && p.sounds[j].at == n.At; j++ {
			d := p.sounds[j].key - key
			ok = d != 0 && d >= -2 && d <= 2
		}
		if !ok {
			p.report(n.At, Unexplained+".grace", []int{p.graces[i]}, "Note", n.Pitch, "Chord", p.chordName(ci))
		}
	}
}

// tuneHas tells whether a grace note is the tune's own: the sheet has it before that note
// or, where there is no sheet, it stands before a note of the melody.
func (p *page) tuneHas(n *score.Note, class int) bool {
	if p.song == nil {
		j := sort.Search(len(p.sounds), func(j int) bool { return p.sounds[j].at >= n.At })
		for ; j < len(p.sounds) && p.sounds[j].at == n.At; j++ {
			if p.sounds[j].melody && p.sounds[j].hand == n.Hand {
				return true
			}
		}
		return false
	}
	for i, ni := range p.tune {
		if ni >= 0 && p.s.Notes[ni].At == n.At && p.s.Notes[ni].Hand == n.Hand {
			return slices.ContainsFunc(p.song.Melody[i].Graces, func(g theory.Pitch) bool { return g.Class() == class })
		}
	}
	return false
}
