package hand

import (
	"cmp"
	"slices"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// play is a Strike with the notes that it stands for.
type play struct {
	*Strike
	notes  [][]int // indexes into the score's notes, for each of Keys
	holder []int   // index of the note, for each of Held
}

// plays gathers what a hand strikes, in order; grace notes come before what they
// lead to. The strikes by themselves stand in one list, too.
func plays(s score.Score, h score.Hand) ([]play, []Strike) {
	idx := make([]int, 0, len(s.Notes))
	for i := range s.Notes {
		n := &s.Notes[i]
		if hand := n.Hand; hand == h || hand != score.Left && h == score.Right {
			idx = append(idx, i)
		}
	}
	order := func(n *score.Note) int {
		if n.Grace == 0 {
			return 1 << 8
		}
		return int(n.Grace)
	}
	slices.SortStableFunc(idx, func(a, b int) int {
		m, n := &s.Notes[a], &s.Notes[b]
		if c := int(min(max(m.At-n.At, -1), 1)); c != 0 {
			return c
		}
		if c := order(m) - order(n); c != 0 {
			return c
		}
		return m.Pitch.MIDI() - n.Pitch.MIDI()
	})
	// Each strike has its part of these lists.
	keys, notes, asks := make([]int, 0, len(idx)), make([][]int, 0, len(idx)), make([]uint8, 0, len(idx))
	out, strikes := make([]play, 0, len(idx)), make([]Strike, 0, len(idx))
	var held []int
	for i := 0; i < len(idx); {
		n := &s.Notes[idx[i]]
		strikes = append(strikes, Strike{At: n.At, End: n.At, Grace: n.Grace > 0})
		p := play{Strike: &strikes[len(strikes)-1]}
		held = slices.DeleteFunc(held, func(j int) bool { return s.Notes[j].End() <= n.At })
		p.Keys, p.notes, p.Asked = keys[len(keys):], notes[len(notes):], asks[len(asks):]
		before := len(held)
		asked := false
		for ; i < len(idx); i++ {
			m := &s.Notes[idx[i]]
			if m.At != n.At || order(m) != order(n) {
				break
			}
			k := m.Pitch.MIDI()
			if last := len(p.Keys) - 1; last >= 0 && p.Keys[last] == k {
				p.notes[last] = append(p.notes[last], idx[i])
			} else {
				p.Keys = append(p.Keys, k)
				p.notes = append(p.notes, idx[i:i+1:i+1])
				p.Asked = append(p.Asked, m.Finger)
			}
			asked = asked || m.Finger > 0
			if m.Ornament != score.NoOrnament {
				if p.Ornaments == nil {
					p.Ornaments = make([]score.Ornament, 0, MaxKeys)
				}
				for len(p.Ornaments) < len(p.Keys) {
					p.Ornaments = append(p.Ornaments, score.NoOrnament)
				}
				p.Ornaments[len(p.Keys)-1] = m.Ornament
			}
			p.End = max(p.End, m.End())
			p.Rolled = p.Rolled || m.Marks.Has(score.Rolled)
			if m.Dur > 0 {
				held = append(held, idx[i])
			}
		}
		keys, notes, asks = keys[:len(keys)+len(p.Keys)], notes[:len(notes)+len(p.notes)], asks[:len(asks)+len(p.Asked)]
		p.Keys, p.notes, p.Asked = slices.Clip(p.Keys), slices.Clip(p.notes), slices.Clip(p.Asked)
		if !asked {
			p.Asked = nil
		}
		for _, j := range held[:before] {
			k := s.Notes[j].Pitch.MIDI()
			if !slices.Contains(p.Keys, k) && !slices.Contains(p.Held, k) && len(p.Held) < MaxKeys {
				p.Held = append(p.Held, k)
				p.holder = append(p.holder, j)
			}
		}
		out = append(out, p)
	}
	return out, strikes
}

// FingerScore returns the score with a finger on every note that has none yet;
// fingers that are there are kept, and the others chosen to suit them. Of two
// notes on one key at one time only the first is fingered. A note that must be
// held while the hand moves on, and is better held by another finger, gets that
// one as its silent change.
func FingerScore(s score.Score, p Profile) score.Score { return p.Player().FingerScore(s) }

// Player has both hands of a profile ready: who fingers many scores makes it once. It
// is never changed.
type Player struct{ right, left *fingerer }

// Player returns the player with these hands.
func (p Profile) Player() *Player {
	return &Player{newFingerer(p, score.Right, standard), newFingerer(p, score.Left, standard)}
}

// FingerScore is the function FingerScore for this player.
func (p *Player) FingerScore(s score.Score) score.Score {
	s.Notes = slices.Clone(s.Notes)
	for _, f := range [...]*fingerer{p.right, p.left} {
		ps, strikes := plays(s, f.h)
		open := 0 // slurs
		for i := range ps {
			strikes[i].Legato = open > 0 && !strikes[i].Grace
			for _, ns := range ps[i].notes {
				for _, n := range ns {
					if m := s.Notes[n].Marks; m.Has(score.SlurTo) {
						open--
					}
					if s.Notes[n].Marks.Has(score.SlurFrom) {
						open++
					}
				}
			}
			if i > 0 && s.Tempo.Set() {
				wait := Micros(int64(swung(s, ps[i].At)-swung(s, ps[i-1].At)) * 60 * int64(Second) / (int64(s.Tempo.Beat) * int64(s.Tempo.PerMinute)))
				strikes[i].Quick = wait < OneFinger
				strikes[i].Wait = wait
			}
		}
		joins := joinsOf(s, strikes)
		part(s, strikes)
		fingers := f.finger(strikes, joins...)
		if wishAlike(s.Bars, strikes, fingers) {
			fingers = f.finger(strikes, joins...)
		}
		for i, by := range fingers {
			for j, g := range by.Keys {
				s.Notes[ps[i].notes[j][0]].Finger = g
			}
			for j, g := range by.Held {
				n := &s.Notes[ps[i].holder[j]]
				if g != 0 && n.Finger != 0 && g != n.Finger && n.FingerTo == 0 {
					n.FingerTo = g
				}
			}
		}
	}
	return s
}

// joinsOf lists where the page sends its reader elsewhere than to the next bar.
func joinsOf(s score.Score, strikes []Strike) (out []join) {
	if !s.Tempo.Set() || !s.Repeats() {
		return nil
	}
	order := s.Route()
	at := func(t theory.Dur) int { // the first strike from there on
		i, _ := slices.BinarySearchFunc(strikes, t, func(s Strike, t theory.Dur) int { return cmp.Compare(s.At, t) })
		return i
	}
	for i := 1; i < len(order); i++ {
		if order[i] == order[i-1]+1 {
			continue
		}
		end, start := s.Bars[order[i-1]].End(), s.Bars[order[i]].At
		j := join{from: at(end) - 1, to: at(start)}
		for j.to < len(strikes) && strikes[j.to].Grace {
			j.to++
		}
		if j.from < 0 || j.to >= len(strikes) || slices.ContainsFunc(out, func(k join) bool { return k.from == j.from && k.to == j.to }) {
			continue
		}
		gap := end - swung(s, strikes[j.from].At) + swung(s, strikes[j.to].At) - start
		j.wait = Micros(int64(gap) * 60 * int64(Second) / (int64(s.Tempo.Beat) * int64(s.Tempo.PerMinute)))
		out = append(out, j)
	}
	return out
}

// part gives a hand its time between bars that stand beside each other and are never played
// so: what comes after a repeat is reached by its last time alone.
func part(s score.Score, strikes []Strike) {
	if !s.Tempo.Set() || !s.Repeats() {
		return
	}
	order := s.Route()
	follows := make([]bool, len(s.Bars))
	for i := 1; i < len(order); i++ {
		if order[i] == order[i-1]+1 {
			follows[order[i]] = true
		}
	}
	for i := 1; i < len(strikes); i++ {
		if bar := s.BarAt(strikes[i].At); bar > 0 && !follows[bar] && s.BarAt(strikes[i-1].At) < bar {
			strikes[i].Wait, strikes[i].Quick = longWait, false
		}
	}
}

// swung is where something is struck: the second eighth of a swung beat later than written.
func swung(s score.Score, at theory.Dur) theory.Dur {
	if s.Feel != leadsheet.Swing {
		return at
	}
	i := s.BarAt(at)
	if i < 0 {
		return at
	}
	m := s.Bars[i].Meter.OrCommon()
	beat := m.BeatDur()
	if m.Compound() || s.Bars[i].Offset(at)%beat != beat/2 {
		return at
	}
	r := s.Swing
	if r.First <= 0 || r.Second <= 0 {
		r = score.Ratio{First: 2, Second: 1}
	}
	return at - beat/2 + beat*theory.Dur(r.First)/theory.Dur(r.First+r.Second)
}

// Fingered tells whether every strike of a score has its fingers. One where some have
// none shows a choice already, somebody's or that of Print.
func Fingered(s score.Score) bool {
	for _, h := range [...]score.Hand{score.Right, score.Left} {
		_, strikes := plays(s, h)
		for _, p := range strikes {
			if p.Asked == nil || slices.Contains(p.Asked, 0) {
				return false
			}
		}
	}
	return true
}

// Printed says which fingers a page shows.
type Printed uint8

// What a page shows, from every finger to none; between them is what a teacher would
// write in. Bars: beginnings, each bar's first note, changes of position, crossings
// and each new chord. Positions, the default: no longer each bar's first note, and
// of chords the new ones of three notes and more. Few: beginnings, changes of
// position and crossings, and chords whose outer finger is not the one that a hand
// takes by itself or, in a bar that shows none yet, new ones of four notes. Fewest:
// the same without beginnings. In all four the beginning of a run, a note after a
// leap and a silent change are shown, and a hand is not left without a finger for
// three bars.
const (
	Positions Printed = iota
	All
	Bars
	Few
	Fewest
	None
)

// Print returns the score with the fingers that a page shows; the others are taken
// out.
func Print(s score.Score, what Printed) score.Score {
	s.Notes = slices.Clone(s.Notes)
	if what == All {
		return s
	}
	keep := make([]bool, len(s.Notes))
	if what != None {
		for _, h := range [...]score.Hand{score.Right, score.Left} {
			markPrinted(s, h, what, keep)
			if what != Bars {
				printAlike(s, h, keep)
			}
		}
	}
	for i := range s.Notes {
		m := s.Notes[i].Marks
		if m.Has(score.Bare) || !keep[i] && !m.Has(score.Fingered) {
			s.Notes[i].Finger, s.Notes[i].FingerTo = 0, 0
		}
	}
	return s
}

// markPrinted marks the notes of a hand whose fingers are shown.
func markPrinted(s score.Score, h score.Hand, what Printed, keep []bool) {
	ps, _ := plays(s, h)
	f := newGrip(Profile{}, h, standard)
	f.shapes = true
	seen := map[[2 * MaxKeys]int]int{} // chord with its fingers → index of the bar
	bar, shownBar := 0, -1
	show := func(p *play) {
		for j, ns := range p.notes {
			keep[ns[0]] = keep[ns[0]] || what == Bars || f.tells(s, p, j)
		}
		if what != Bars {
			shownBar = bar
		}
	}
	bass := -1 // index of the bar where a bass and its chord showed their fingers last
	for i := range ps {
		p := &ps[i]
		for bar+1 < len(s.Bars) && s.Bars[bar+1].At <= p.At {
			bar++
		}
		for _, ns := range p.notes {
			if s.Notes[ns[0]].FingerTo != 0 {
				keep[ns[0]] = true
			}
		}
		if p.Grace && (what == Few || what == Fewest) {
			continue
		}
		if what != Bars && underChords(s, h, ps, i) {
			if bass >= 0 && bar-bass < longestKnown {
				if bar-shownBar <= longestBare {
					continue // the pupil knows where the little finger goes
				}
			}
			bass = bar
		}
		begins := i == 0 || p.At-ps[i-1].End >= theory.Quarter
		if begins && what != Fewest || i == 0 {
			show(p)
			shownBar = bar
		}
		if what == Bars && bar != shownBar || what != Bars && bar-shownBar > longestBare {
			show(p)
			shownBar = bar
		}
		if i > 0 && (runs(ps, i) || leaps(s, &ps[i-1], p)) {
			show(p)
		}
		if len(p.Keys) == 1 {
			if i == 0 || begins && what == Fewest {
				continue
			}
			q := &ps[i-1]
			if !expected(s, h, q, p) {
				show(p)
			}
			continue
		}
		var id [2 * MaxKeys]int
		for j, k := range p.Keys {
			if j < MaxKeys {
				id[j], id[MaxKeys+j] = k, int(s.Notes[p.notes[j][0]].Finger)
			}
		}
		last, known := seen[id]
		fresh := !known || bar-last > 7
		switch what {
		case Bars:
			if fresh {
				show(p)
			}
		case Positions:
			if fresh && (len(p.Keys) > 2 && !known || !f.usual(s, p)) {
				show(p)
			}
		default:
			if !known && (len(p.Keys) > 3 && bar != shownBar || !f.usual(s, p)) {
				show(p)
			}
		}
		seen[id] = bar
	}
}

// longestKnown is for how many bars a pupil keeps in mind where a bass under chords has
// its finger.
const longestKnown = 8

// underChords tells whether a strike is a bass of the left hand after a chord above it
// that the little finger takes.
func underChords(s score.Score, h score.Hand, ps []play, i int) bool {
	p := &ps[i]
	if h != score.Left || i < 2 || len(p.Keys) != 1 || s.Notes[p.notes[0][0]].Finger != 5 {
		return false
	}
	chord := &ps[i-1]
	return len(chord.Keys) > 1 && chord.Keys[0] > p.Keys[0]
}

// longestBare is how many bars of a hand have no finger.
const longestBare = 2

// runs tells whether a run begins with a strike: three notes and more in less than
// an eighth each, after a longer one.
func runs(ps []play, i int) bool {
	const notes = 3
	quick := func(p *play) bool { return !p.Grace && len(p.Keys) == 1 && p.End-p.At < theory.Eighth }
	if i+notes > len(ps) || quick(&ps[i-1]) && ps[i-1].End == ps[i].At {
		return false
	}
	for j := i; j < i+notes; j++ {
		if !quick(&ps[j]) || j > i && ps[j].At != ps[j-1].End {
			return false
		}
	}
	return true
}

// leaps tells whether a single note lies a sixth or farther from the nearest note
// of the strike before, so that the hand has to find it.
func leaps(s score.Score, before, p *play) bool {
	if len(p.Keys) > 1 || p.Grace {
		return false
	}
	n := s.Notes[p.notes[0][0]].Pitch.Staff()
	for _, ns := range before.notes {
		d := n - s.Notes[ns[0]].Pitch.Staff()
		if d > -5 && d < 5 {
			return false
		}
	}
	return true
}

// expected tells whether a reader who knows the finger of the note before finds
// this one by himself: the next finger for the next step, as in a position of
// five fingers, the same finger for the same key, or the neighbour in a chord
// just shown.
func expected(s score.Score, h score.Hand, before, p *play) bool {
	n := &s.Notes[p.notes[0][0]]
	for j, k := range before.Keys {
		m := &s.Notes[before.notes[j][0]]
		if m.Finger == 0 {
			continue
		}
		if k == p.Keys[0] {
			return m.Finger == n.Finger
		}
		if len(before.Keys) > 1 {
			continue
		}
		d := n.Pitch.Staff() - m.Pitch.Staff()
		if h == score.Left {
			d = -d
		}
		return int(m.Finger)+d == int(n.Finger)
	}
	// After a chord: within it or beside it in the position that it gives.
	for j := range before.Keys {
		m := &s.Notes[before.notes[j][0]]
		d := n.Pitch.Staff() - m.Pitch.Staff()
		if h == score.Left {
			d = -d
		}
		if d >= -4 && d <= 4 && int(m.Finger)+d == int(n.Finger) {
			return true
		}
	}
	return false
}

// tells tells whether the finger of a chord's j-th key has to be read to find the others:
// the one on the little finger's side, that on the thumb's side unless the two are 5 and 1,
// and those between where the hand would not take them so by itself. Of a single note and
// of two all tell, and of one whose outer finger is a 3.
func (f *Grip) tells(s score.Score, p *play, j int) bool {
	n := len(p.Keys)
	if n < 3 || n > MaxKeys || p.Rolled {
		return true
	}
	finger := func(j int) uint8 { return s.Notes[p.notes[j][0]].Finger }
	thumb, outer := 0, n-1
	if f.h == score.Left {
		thumb, outer = outer, thumb
	}
	if finger(outer) <= 3 { // 1 and 3 of three keys read as those of two
		return true
	}
	switch j {
	case outer:
		return true
	case thumb: // 5 alone says 5 and 1; another finger alone does not say what goes with it
		return finger(j) != 1 || finger(outer) != 5
	}
	down := slices.Clone(p.Keys)
	asked := make([]uint8, n)
	asked[thumb], asked[outer] = finger(thumb), finger(outer)
	if f.h == score.Left {
		slices.Reverse(down)
	}
	opts := f.options(down, &Strike{Keys: p.Keys, Asked: asked}, nil)
	if len(opts) == 0 {
		return true
	}
	best := 0
	for i := range opts {
		if opts[i].cost < opts[best].cost {
			best = i
		}
	}
	at := j
	if f.h == score.Left {
		at = n - 1 - j
	}
	return finger(j) != opts[best].fingers[at]
}

// usual tells whether a chord's outer finger, on the little finger's side, is the
// one that a hand would take by itself.
func (f *Grip) usual(s score.Score, p *play) bool {
	if len(p.Keys) > MaxKeys {
		return true
	}
	down := slices.Clone(p.Keys)
	outer := len(down) - 1
	if f.h == score.Left {
		slices.Reverse(down)
		outer = 0
	}
	opts := f.options(down, &Strike{Keys: p.Keys, Rolled: p.Rolled}, nil)
	if len(opts) == 0 {
		return true
	}
	best := 0
	for i := range opts {
		if opts[i].cost < opts[best].cost {
			best = i
		}
	}
	return s.Notes[p.notes[outer][0]].Finger == opts[best].fingers[len(down)-1]
}
