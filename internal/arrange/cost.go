package arrange

import (
	"math/bits"
	"slices"

	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/internal/plan"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// The unit of cost is about the annoyance of one semitone of hand movement.

const (
	taste       = 4   // weight of a technique's own preference, in the right hand
	offWeave    = 220 // a figure of another technique than the phrase's in the tune's hand, where the plan has one
	nearWeave   = 60  // …of one that weaves the same
	slip        = 450 // …where the phrase has the tune alone and the kind keeps its pattern
	unwoven     = 160 // the tune alone where the plan has something beside it
	shellHere   = 8   // a shell in place of the texture, under a chord of one beat
	plainLast   = 30  // a last chord that is only held, where the level has a fuller one
	closeLow    = 48  // C3: above it no hand that moves closes the piece, where it may lie lower
	highClose   = 12  // …for each half step
	promised    = 110 // an altered note that the symbol names and nobody plays
	hinted      = 10  // another colour of the symbol
	unresolved  = 60  // a suspended fourth that does not fall
	pinch       = 80  // a second in the right hand, in kinds that stay plain
	pinchInTime = 150 // …in dances and marches, whose chords are struck short; less than a bare phrase
	rolledAgain = 150 // a roll that no phrase begins with
	joined      = 60  // what it is worth that the bass leads on where a phrase does
	busy        = 3   // what one more note is worth when a page is to be fuller
	grown       = 8   // and where a section comes for the last time
	stumble     = 30  // a key too many in a chord on a quick note
	beatless    = 60  // a beat that a dance's left hand lets pass, from the levels on that shape a page as a whole
	voiceLeap   = 5   // a half step beyond a whole one between two bars of a line above a held bass
	restruck    = 40  // a chord that stands on the very bass note before it
	silent      = 900 // a hand that rests where it could play
)

// A hand that has the tune is quick where its notes follow one another sooner than this;
// a chord of three keys is then a stumble, and none is held under what follows
// (common practice, no source).
const (
	quickChord hand.Micros = 230_000
	quickSteps hand.Micros = 360_000 // …in kinds that keep their pattern: their tunes run on
	quickRun   hand.Micros = 300_000
)

// letGoUnderRun lets the right hand's chords go with the note of the tune that they are
// struck with, where three and more follow quickly over them.
func (c *cell) letGoUnderRun(ts []technique.Tone) {
	for i := range ts {
		t, over, first := &ts[i], 0, theory.Dur(0)
		for _, m := range c.Melody {
			if m.At > t.At && m.At < t.End() {
				if over++; over == 1 {
					first = m.At
				}
			}
		}
		if over > 1 && c.sooner(t.Dur/theory.Dur(over+1), quickRun) {
			t.Dur = first - t.At
		}
	}
}

// heavy is what chords cost that stand on notes of the tune too quick for them.
func (p *piece) heavy(c *cell, ts []technique.Tone) (cost int) {
	quick := quickChord
	if p.kind.Steady {
		quick = quickSteps
	}
	for _, m := range c.Melody {
		n := 0
		for i := range ts {
			if ts[i].At == m.At {
				n++
			}
		}
		if n > 1 && c.sooner(m.End-m.At, quick) {
			cost += stumble * (n - 1)
		}
	}
	return cost
}

// aloneCost is what it costs to leave the tune alone in the right hand: nothing
// where the level adds nothing under it.
func (p *piece) aloneCost(c *cell) int {
	if p.level.Support == 0 || c.right == nil {
		return 0
	}
	if c.weave != plan.Unplanned {
		return unwoven
	}
	return 25
}

// together judges the two hands of one cell; ok is false where they get in each
// other's way.
func (p *piece) together(c *cell, l, r *option) (cost int, ok bool) {
	if r.Drop > 0 && !l.drops(r) {
		return 0, false
	}
	cost = p.vague(c) * bits.OnesCount16(c.needed&^(l.early|r.early|c.tune))
	cost += promised * bits.OnesCount16(c.colour&^(l.all|r.all|c.tuneAll))
	cost += hinted * bits.OnesCount16(c.natural&^(l.all|r.all|c.tuneAll))
	lts, rts := l.Tones, r.Tones
	for i := range lts {
		lt, lk := &lts[i], l.keys[i]
		for j := range rts {
			rt, rk := &rts[j], r.keys[j]
			if rt.At >= lt.End() || rt.End() <= lt.At {
				continue
			}
			switch {
			case rk <= lk:
				return 0, false
			case rk == lk+1, c.Last && (rk-lk)%12 == 1:
				return 0, false
			case rubs(lk, rk, c.Chord):
				return 0, false
			case rk-lk > 19:
				cost++
			case rk%12 == lk%12 && lt.Kind != score.Bass:
				cost += 3
			}
		}
	}
	return cost, true
}

// vague is what a guide tone costs that is missing while its chord is new. A pattern that is
// kept says soon enough what the chord is, and a drone need not.
func (p *piece) vague(c *cell) int {
	w := p.weigh()
	switch {
	case p.kind.Steady && p.level.Arc != ladder.NoArc && c.weave == plan.Alone:
		return w.VagueArc / 2 // less than one chord in a phrase without
	case p.kind.Steady && p.level.Arc != ladder.NoArc:
		return w.VagueArc
	case p.kind.Steady:
		return w.VagueKept
	}
	return w.Vague
}

// drops tells whether a left-hand figure strikes the voice that a right-hand chord
// leaves to it: with the chord, or after its bass under the pedal.
func (l *option) drops(r *option) bool {
	for i := range l.Tones {
		if t := &l.Tones[i]; l.keys[i] == r.Drop && (t.At == r.Tones[0].At || l.Drop == r.Drop && t.At > r.Tones[0].At) {
			return true
		}
	}
	return false
}

// moveLeft is the way of the left hand from one figure to the next.
func (p *piece) moveLeft(pc *cell, a *option, c *cell, b *option) int {
	if len(b.Tones) == 0 || len(a.Tones) == 0 {
		if a.Lead > 0 && len(b.Tones) > 0 && b.keys[0] != a.Lead {
			return never
		}
		return 0
	}
	if a.Lead > 0 && b.keys[0] != a.Lead {
		return never
	}
	wait := b.first.at - a.last.at
	move := a.last.outer.MoveTo(b.first.outer, p.hand.Reach(score.Left))
	if move.Distance > 0 && (!move.Within(c.micros(wait)) || tooFar(c, move, wait)) {
		return never
	}
	if c.sooner(wait, 90_000) {
		for _, k := range a.lastKeys() {
			if slices.Contains(b.firstKeys(), k) {
				return never
			}
		}
	}
	w := p.weigh()
	cost := w.Travel * int(move.Distance) / 1400 // semitones
	// The bass line itself: near is better, beyond a fifth it counts double.
	leap := abs(b.keys[0] - a.keys[0])
	cost += w.Leap*leap + w.LeapFar*max(0, leap-7)
	if a.by != b.by {
		cost += w.Another
	}
	cost /= eighth
	if here := p.level.Position; here > 0 && max(a.high, b.high)-min(a.low, b.low) > here {
		cost += w.Leaves * max(1, 13-here) // the narrower, the dearer
	}
	if p.level.Heard == ladder.HeardThird {
		cost += hanging(pc, a, c, b)
	}
	if a.Holds && b.Holds { // the upper notes are one voice
		switch step := abs(b.firstKeys()[b.first.n-1] - a.keys[len(a.keys)-1]); step {
		case 0:
			cost += 2 * voiceLeap // it stands still
		default:
			cost += voiceLeap * max(0, step-2)
		}
	}
	if a.shape == b.shape && pc.Chord == c.Chord && p.level.VaryShape {
		cost += w.Bare
	}
	if p.kind.Steady && p.level.Position == 0 && a.rhythm != b.rhythm && pc.Dur() == c.Dur() && !c.Closes {
		cost += w.Unsteady
	}
	return cost
}

// hanging is what it costs to leave a suspended fourth where the figure after it
// has its third in another octave, or none.
func hanging(pc *cell, a *option, c *cell, b *option) int {
	if !pc.Chord.Tones.Has(fourth) || pc.Chord.Root != c.Chord.Root || c.Chord.Tones.Has(fourth) {
		return 0
	}
	class := fourth.On(pc.Chord.Root).Class()
	cost := 0
	for _, k := range a.keys {
		if k%12 != class {
			continue
		}
		if slices.Contains(b.keys, k-1) {
			return 0
		}
		cost = unresolved
	}
	return cost
}

// moveRight is the way of the right hand's inner notes.
func (p *piece) moveRight(a, b *option) int {
	if len(a.Tones) == 0 || len(b.Tones) == 0 {
		return 0
	}
	cost := 0
	for _, k := range b.firstKeys() {
		near := 12
		for _, l := range a.lastKeys() {
			near = min(near, abs(k-l))
		}
		cost += near
	}
	if a.by != b.by {
		cost += 4
	}
	return cost
}

func abs(a int) int {
	if a < 0 {
		return -a
	}
	return a
}
