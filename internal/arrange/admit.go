package arrange

import (
	"slices"

	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// What a figure has to keep to in its cell, whatever it costs: the hard rules of one hand
// alone. Those of both hands together stand in together (cost.go).

// lowLimit gives, for an interval in semitones, the lowest bottom note at which
// it still sounds clear (teaching of arranging, from memory) and the floor below
// which it is rejected in solo piano: no seconds below G3, no thirds below C3
// (common practice, no source).
var lowLimit = [17]struct{ soft, hard int }{
	1: {58, 55}, 2: {57, 55}, 3: {52, 48}, 4: {51, 48}, 5: {46, 40}, 6: {47, 40}, 7: {34, 29}, 8: {41, 36}, 9: {41, 36}, 10: {41, 36}, 11: {41, 38},
	14: {39, 36}, 15: {36, 33}, 16: {34, 31},
}

// muddy returns by how much it lies too low to sound two keys together by the low interval
// limits; ok is false below the floor.
func muddy(low, high int) (cost int, ok bool) {
	d := high - low
	if d < 1 || d >= len(lowLimit) {
		return 0, true
	}
	l := lowLimit[d]
	if low < l.hard {
		return 0, false
	}
	return max(0, l.soft-low), true
}

// highChord is the highest key of a left-hand chord that is read and played with ease: E4
// (common practice, no source).
const highChord = 64

// admitLeft applies the hard rules of one cell to a left-hand figure and adds up
// what it costs there. Notes that would run into a falling tune are cut short. broken
// is the rule that it breaks.
func (p *piece) admitLeft(c *cell, o *option) (broken breach) {
	w, fine := p.weigh(), 0 // fine: in eighths
	o.base = w.Taste * o.Cost
	// A left hand moves in half beats at the quickest, but for a short note that a
	// dotted one waits for; a shorter chord is the sheet's wish.
	shortest := max(c.Caps.Shortest, min(theory.Eighth, c.Pulse()/2))
	if o.Dotted {
		shortest = c.Caps.Shortest
	}
	if tooShort(min(shortest, c.Dur()), o.Tones) {
		return breach{tooQuick, c.At}
	}
	for k := range o.Tones {
		if !p.clearOfTune(c, &o.Tones[k]) {
			return breach{meetsTune, o.Tones[k].At}
		}
	}
	if !o.Holds {
		letGoTogether(o.Tones)
	}
	switch {
	case !c.grounded(o):
		return breach{offBass, c.At}
	case c.Last && p.home >= 0 && !c.atOnce(o):
		return breach{notHeld, c.At}
	}
	o.base += p.upsideDown(o.Tones) + w.Shared*c.taken(o)
	if p.song.Bars[c.bar].Section != "" && c.At == c.BarAt && len(o.keys) > 0 && o.keys[0]%12 != c.Chord.Lowest().Class() {
		o.base += w.NoRoot
		if p.level.Position > 0 { // a hand that stays where it is begins there all the same
			o.base += 2 * w.NoRoot
		}
	}
	if c.Last && p.home >= 0 && p.level.Position == 0 && len(o.keys) > 0 && o.keys[0] > closeLow {
		o.base += w.NoRoot + highClose*(o.keys[0]-closeLow)
	}
	strikes := 0
	for i := 0; i < len(o.Tones); {
		j := struckUntil(o.Tones, i)
		keys := o.keys[i:j]
		ghost := o.Tones[i].Kind == score.GhostNote
		if !ghost {
			strikes++
		}
		if rule := p.playableLeft(c, keys, o.Tones[i].Marks.Has(score.Rolled)); rule != keeps {
			return breach{rule, o.Tones[i].At}
		}
		for k := 1; k < len(keys); k++ {
			v, ok := muddy(keys[k-1], keys[k])
			if !ok {
				return breach{tooLow, o.Tones[i].At}
			}
			fine += w.Muddy * v
		}
		if keys[0] < c.Low {
			fine += w.TooLow * (c.Low - keys[0])
		}
		if high := keys[len(keys)-1]; high > 62 { // the left hand is at home below middle C
			fine += w.TooHigh * (high - 62)
			if len(keys) > 1 { // and a chord on ledger lines stands where the other hand is
				fine += 2 * w.TooHigh * max(0, high-highChord)
			}
		}
		// The hands like a third to a twelfth between them.
		tune := c.MelodyLow(o.Tones[i].At, o.Tones[i].End())
		if tune < 127 {
			gap := tune - keys[len(keys)-1]
			fine += w.Near*max(0, 4-gap) + w.Far*max(0, gap-19)
		}
		if j < len(o.Tones) {
			then, wait := o.keys[j:struckUntil(o.Tones, j)], o.Tones[j].At-o.Tones[i].At
			move := hand.MoveBetween(p.hand.Reach(score.Left), keys, then)
			if !move.Within(c.micros(wait)) || tooFar(c, move, wait) {
				return breach{tooFarAway, o.Tones[j].At}
			}
			fine += w.Inside * (int(move.Distance) / 5000)
		}
		i = j
	}
	o.base += fine / eighth
	o.effort = 2*strikes + len(o.Tones)
	if p.kind.InTime && p.level.Arc != ladder.NoArc && !c.Closes {
		o.base += beatless * max(0, int(c.Dur()/c.Pulse())-strikes)
	}
	// Sustained speed, counted over the cell but never over less than a beat.
	if limit := c.Caps.NotesPerSecond[1]; limit > 0 && strikes > 1 {
		if int64(strikes)*100_000_000 > int64(limit)*int64(c.micros(c.Dur()))*11 { // a tenth more is still the cap
			return breach{tooMuch, c.At}
		}
	}
	return breach{}
}

// taken counts the tones of a left hand whose key the tune has at the same time, or takes
// over at once.
func (c *cell) taken(o *option) int {
	n := 0
	for i := range o.Tones {
		t, key := &o.Tones[i], o.keys[i]
		if t.At == c.At && key == c.before || t.End() == c.End && key == c.after || slices.ContainsFunc(c.Melody, func(m technique.MelodyNote) bool {
			return m.Pitch.MIDI() == key && m.At <= t.End() && m.End >= t.At
		}) {
			n++
		}
	}
	return n
}

// atOnce tells whether a figure is one strike, held as long as the cell, with no half
// step in it: what a last chord has to be.
func (c *cell) atOnce(o *option) bool {
	for i := range o.Tones {
		if o.Tones[i].At != c.At || o.Tones[i].End() != c.End {
			return false
		}
		for _, k := range o.keys[i+1:] {
			if d := abs(k - o.keys[i]); d%12 == 1 {
				return false
			}
		}
	}
	return true
}

// grounded tells whether a figure begins with the bass that the cell asks for; where the
// sheet writes it out, below all that follows, and only a line that leads on may go
// deeper.
func (c *cell) grounded(o *option) bool {
	if c.ground == 0 {
		return true
	}
	low := slices.Min(o.keys[:struckUntil(o.Tones, 0)])
	if o.Tones[0].At != c.At || low%12 != int(c.ground)-1 {
		return false
	}
	return o.Lead > 0 || !c.lowest || slices.Min(o.keys) >= low
}

// leapTime is how long a beat lasts in which the left hand travels as far as the level allows;
// in a shorter one it travels as much less, though an octave where the level has one (common practice, no source).
const leapTime hand.Micros = 500_000

// tooFar tells whether the left hand would travel further than the level asks in a
// beat; a longer wait allows as much for each beat. A hand that holds both places
// in its reach does not travel.
func tooFar(c *cell, m hand.Move, wait theory.Dur) bool {
	if c.Caps.JumpPerBeat == 0 {
		return false
	}
	beat := c.Meter.BeatDur()
	long := max(c.micros(beat), leapTime)
	jump := int64(c.Caps.JumpPerBeat) * int64(hand.Octave)
	allowed := max(jump*int64(c.micros(max(wait, beat)))/int64(long), min(jump, 12*int64(hand.Octave)))
	return int64(m.Distance)*12 > allowed
}

// tooShort tells whether a figure has notes shorter than that.
func tooShort(shortest theory.Dur, ts []technique.Tone) bool {
	for i := range ts {
		t := &ts[i]
		if t.Grace == 0 && t.Kind != score.GhostNote && t.Dur < shortest {
			return true
		}
	}
	return false
}

// begins tells whether a note of the tune begins at a moment.
func (c *cell) begins(at theory.Dur) bool {
	return slices.ContainsFunc(c.Melody, func(m technique.MelodyNote) bool { return m.At == at })
}

// pinched is what seconds cost that a right hand holds at once.
func (p *piece) pinched(keys []int) (cost int) {
	price := pinch
	switch {
	case p.kind.InTime:
		price = pinchInTime
	case p.kind.Usage.Palette == technique.AllColours:
		price = pinch / 4
	}
	for i, k := range keys {
		for _, l := range keys[i+1:] {
			if d := abs(k - l); d == 1 || d == 2 {
				cost += price
			}
		}
	}
	return cost
}

// upsideDown is what it costs to strike a chord below its own bass note: the ear
// then takes the lowest note for the bass.
func (p *piece) upsideDown(ts []technique.Tone) int {
	if len(ts) == 0 || ts[0].Kind != score.Bass && ts[0].Kind != score.Chord {
		return 0
	}
	for _, t := range ts[1:] {
		if (t.Kind == score.Chord || t.Kind == score.Tension) && t.Pitch.MIDI() < ts[0].Pitch.MIDI() && ts[0].Kind == score.Bass {
			return p.weigh().Upside
		}
	}
	if n := len(ts); n > 3 && ts[0].Kind == score.Bass && ts[1].At > ts[0].At && ts[1].At == ts[3].At && ts[1].Pitch.MIDI() == ts[0].Pitch.MIDI() {
		return restruck
	}
	return 0
}

// letGoTogether ends what is struck together at one moment.
func letGoTogether(ts []technique.Tone) {
	for i := range ts {
		for j := range ts {
			if ts[j].At == ts[i].At {
				ts[i].Dur = min(ts[i].Dur, ts[j].Dur)
			}
		}
	}
}

// struckUntil returns the end of the tones that are struck together from i on.
func struckUntil(ts []technique.Tone, i int) int {
	j := i + 1
	for j < len(ts) && ts[j].At == ts[i].At {
		j++
	}
	return j
}

// playableLeft tests one strike: number, reach, and the level's span.
func (p *piece) playableLeft(c *cell, keys []int, rolled bool) rule {
	if len(keys) > max(1, c.Caps.AtOnce[1]) {
		return tooMany
	}
	lo, hi := keys[0], keys[0]
	for _, k := range keys {
		lo, hi = min(lo, k), max(hi, k)
	}
	reaches := p.hand.Reaches
	if rolled {
		reaches = p.hand.Rolls
	}
	switch {
	case lo < hand.LowestKey:
		return offKeyboard
	case hi-lo > c.Caps.Span[1]:
		return tooWide
	case !reaches(score.Left, keys):
		return outOfReach
	}
	return keeps
}

// clearOfTune keeps a tone below the tune: it is cut where the tune comes down
// to it, and refused where the tune is there already or rubs against it.
func (p *piece) clearOfTune(c *cell, t *technique.Tone) bool {
	key := t.Pitch.MIDI()
	for i := range c.Melody {
		m := &c.Melody[i]
		if m.At >= t.End() || m.End <= t.At {
			continue
		}
		mk := m.Pitch.MIDI()
		if mk <= key+1 || !p.ninthAllowed(c, t, m) || p.excludes(c, t, m) || p.crosses(c, t.Pitch.Name, m) && (m.At == t.At || overlap(t, m) >= c.Meter.BeatDur()) {
			if m.At <= t.At || m.At-t.At < theory.Eighth {
				return false
			}
			t.Dur = m.At - t.At
			break
		}
	}
	return true
}

// ninthAllowed tells whether a tone under a note of the tune makes no minor ninth
// with it, or one that is heard as something else: the ♭9 over the root of a
// dominant that falls a fifth, or that the sheet has there; a line that passes quickly; or the tune's own rub
// against the sheet's chord, as quickly, and against its bass always: a hand that rests
// there takes the chord away.
func (p *piece) ninthAllowed(c *cell, t *technique.Tone, m *technique.MelodyNote) bool {
	key, mk := t.Pitch.MIDI(), m.Pitch.MIDI()
	if d := mk - key; d < 13 || d%12 != 1 {
		return true
	}
	if c.falls && key%12 == c.Chord.Root.Class() || c.sheetsRoot(t) {
		return true
	}
	quick := c.Meter.BeatDur()
	from := max(t.At, m.At)
	if from == m.At && c.Meter.Strength(from-c.BarAt) <= 1 { // the tune's note has an accent
		quick /= 2
	}
	passes := min(t.End(), m.End)-from < quick
	if !c.Chord.HasClass(key % 12) {
		return passes
	}
	if c.sheet.Silent() || c.sheet.HasClass(m.Pitch.Class()) || !c.sheet.Triad().HasClass(key%12) {
		return false
	}
	if t.Kind == score.Bass && key%12 == c.sheet.Lowest().Class() {
		return true
	}
	return passes
}

// crosses tells whether a note of a chord and one of the tune are two forms of one letter, as G
// sharp under G, of which the chord has not the tune's: heard together one of them is a
// wrong note (false relation; textbooks of harmony, from memory). The blues has both.
func (p *piece) crosses(c *cell, n theory.Name, m *technique.MelodyNote) bool {
	return m.Pitch.Letter == n.Letter && m.Pitch.Alter != n.Alter && !c.Chord.HasClass(m.Pitch.Class()) && !p.bends()
}

// bends tells whether the kind of tune or its manner has thirds that bend.
func (p *piece) bends() bool {
	own := p.opt.Idiom.Idiom.Usage
	return own.FreeDominants || own.TonicSevenths || p.kind.Usage.FreeDominants || p.kind.Usage.TonicSevenths
}

// overlap is how long a tone and a note of the tune sound together.
func overlap(t *technique.Tone, m *technique.MelodyNote) theory.Dur {
	return min(t.End(), m.End) - max(t.At, m.At)
}

// sheetsRoot tells whether a tone is the root, in the bass, of a dominant that the sheet has.
func (c *cell) sheetsRoot(t *technique.Tone) bool {
	return t.Kind == score.Bass && c.Chord.Dominant() && c.sheet.Dominant() && c.Chord.Root == c.sheet.Root && t.Pitch.Class() == c.Chord.Root.Class()
}

// micros is how long a duration lasts at the printed tempo.
func (c *cell) micros(d theory.Dur) hand.Micros {
	return hand.Micros(int64(d) * 60_000_000 / (int64(c.Tempo) * int64(theory.Quarter)))
}

// sooner tells whether a duration lasts less than a time.
func (c *cell) sooner(d theory.Dur, t hand.Micros) bool {
	return int64(d)*60_000_000 < int64(t)*int64(c.Tempo)*int64(theory.Quarter)
}

// excludes tells whether a tone and a note of the tune that stays on a strong
// beat exclude one another over a dominant or a major seventh: the tune counts as
// a voice, and the accompaniment yields.
func (p *piece) excludes(c *cell, t *technique.Tone, m *technique.MelodyNote) bool {
	if !c.Chord.Dominant() && !c.Chord.Tones.Has(theory.Degree{Number: 7}) || c.sheetsRoot(t) {
		return false
	}
	from := max(t.At, m.At)
	if min(t.End(), m.End)-from < c.Meter.BeatDur() || c.Meter.Strength(from-c.BarAt) > 1 {
		return false
	}
	a, in := c.Chord.Degree(t.Pitch.Name)
	if !in {
		return false
	}
	b, _ := harmony.DegreeOver(c.Chord, m.Pitch.Name)
	return harmony.Worst(a, b, m.Pitch.MIDI()-t.Pitch.MIDI()) == harmony.Hard
}

// rubs tells whether two keys make a minor ninth (or its compound) that is not
// the ♭9 over the root of a dominant.
func rubs(low, high int, ch theory.Chord) bool {
	d := high - low
	if d < 13 || d%12 != 1 {
		return false
	}
	return !(ch.Dominant() && low%12 == ch.Root.Class() && ch.Tones.Has(theory.Degree{Number: 9, Alter: -1}))
}

// admitRight applies the hard rules to what the right hand adds under the tune.
func (p *piece) admitRight(c *cell, o *option) (broken breach) {
	o.base = taste * o.Cost
	if tooShort(min(c.Caps.Shortest, c.Dur()), o.Tones) { // a shorter chord is the sheet's wish
		return breach{tooQuick, c.At}
	}
	for k := range o.Tones {
		t, key := &o.Tones[k], o.keys[k]
		for i := range c.Melody {
			m := &c.Melody[i]
			if m.At >= t.End() || m.End <= t.At {
				continue
			}
			mk := m.Pitch.MIDI()
			if mk < key+2 || mk-key > c.Caps.Span[0] || !p.hand.Reaches(score.Right, []int{key, mk}) || !p.ninthAllowed(c, t, m) || p.excludes(c, t, m) || p.crosses(c, t.Pitch.Name, m) {
				if m.At <= t.At || m.At-t.At < theory.Eighth {
					return breach{meetsTune, t.At}
				}
				t.Dur = m.At - t.At
				break
			}
		}
	}
	c.letGoUnderRun(o.Tones)
	letGoTogether(o.Tones)
	if c.Last && p.home >= 0 && !c.atOnce(o) {
		return breach{notHeld, c.At}
	}
	if n := len(o.Tones); p.song.Joint(c.bar+1) && c.End == p.song.Bars[c.bar].End() && c.End-o.Tones[n-1].At < c.Meter.BeatDur() && !c.begins(o.Tones[n-1].At) {
		return breach{tooFarAway, o.Tones[n-1].At} // what is played next may lie anywhere
	}
	o.effort = len(o.Tones)
	o.base += p.heavy(c, o.Tones)
	for _, key := range o.keys { // ledger lines, and soon another clef
		o.base += 3 * max(0, 57-key)
	}
	for i := range o.Tones {
		var buf [8]int
		keys := buf[:0]
		for j := range o.Tones {
			if o.Tones[j].At <= o.Tones[i].At && o.Tones[j].End() > o.Tones[i].At {
				keys = append(keys, o.keys[j])
			}
		}
		for _, m := range c.Melody {
			if m.At <= o.Tones[i].At && m.End > o.Tones[i].At {
				keys = append(keys, m.Pitch.MIDI())
			}
		}
		if len(keys) > max(1, c.Caps.AtOnce[0]) {
			return breach{tooMany, o.Tones[i].At}
		}
		if i == 0 || o.Tones[i-1].At != o.Tones[i].At {
			o.base += p.pinched(keys)
		}
		if !p.hand.Reaches(score.Right, keys) {
			return breach{outOfReach, o.Tones[i].At}
		}
		if !p.hand.Comfortable(score.Right, keys) {
			o.base += 2
		}
	}
	for _, m := range c.Melody { // and with each later note of the tune
		var buf [8]int
		keys := append(buf[:0], m.Pitch.MIDI())
		for j := range o.Tones {
			if o.Tones[j].At < m.At && o.Tones[j].End() > m.At {
				keys = append(keys, o.keys[j])
			}
		}
		if len(keys) > 1 && (len(keys) > max(1, c.Caps.AtOnce[0]) || !p.hand.Reaches(score.Right, keys)) {
			return breach{outOfReach, m.At}
		}
	}
	for i := 1; i < len(o.Tones); i++ {
		if o.Tones[i-1].At == o.Tones[i].At {
			v, ok := muddy(min(o.keys[i-1], o.keys[i]), max(o.keys[i-1], o.keys[i]))
			if !ok {
				return breach{tooLow, o.Tones[i].At}
			}
			o.base += 2 * v
		}
	}
	return breach{}
}
