package harmony

import (
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Harmonising a bare melody.
//
// Problem: a tune without chord symbols shall still give pages, with chords that
// a teacher would find plain and right. Source: common practice, no source, for
// the table of successions; the method is Viterbi's. Objective: the lowest sum of
// what each chord costs under its slot's melody, what each succession costs, and
// what each phrase end costs that does not stop on I or V. A slot is a bar, or
// half of one where the metre has an even number of beats. Cost: slots · 13² steps,
// linear. Ties: the chord named earlier in the palette wins. Rejected: picking the
// best chord slot by slot, which forgets cadences; and chords learned from a
// corpus, which cannot say why.

// choice is one chord of a palette.
type choice struct {
	degree int // scale step of the root, 0 to 6
	place  place
	prior  int // how unwillingly it is used
	kind   kind
}

// kind says where a choice's tones come from.
type kind uint8

const (
	own      kind = iota // the key's triad; on V of major and minor the dominant seventh
	applied              // the dominant seventh whose target is degree
	borrowed             // the minor triad in major
)

// place is what a chord does in the table of successions.
type place uint8

const (
	one place = iota
	two
	three
	four
	five
	six
	seven
	places
)

// palettes: the chords of each mode. Applied dominants and the borrowed iv cost
// so much that only a tune that asks for them by its accidentals gets them.
var palettes = [...][]choice{
	theory.Major: {{0, one, 0, own}, {4, five, 0, own}, {3, four, 1, own}, {1, two, 2, own}, {5, six, 2, own}, {2, three, 5, own}, {6, seven, 9, own},
		{4, five, 6, applied}, {1, two, 6, applied}, {5, six, 6, applied}, {3, four, 6, applied}, {2, three, 7, applied}, {3, four, 8, borrowed}},
	theory.Minor: {{0, one, 0, own}, {4, five, 0, own}, {3, four, 1, own}, {2, three, 3, own}, {5, six, 2, own}, {6, seven, 3, own}, {1, two, 6, own},
		{4, five, 6, applied}, {3, four, 6, applied}, {2, three, 6, applied}, {6, seven, 7, applied}, {5, six, 7, applied}},
	theory.Dorian:     {{0, one, 0, own}, {6, five, 0, own}, {3, four, 1, own}, {2, three, 3, own}, {4, seven, 3, own}},
	theory.Phrygian:   {{0, one, 0, own}, {1, five, 0, own}, {6, seven, 2, own}, {2, three, 3, own}, {3, four, 3, own}, {5, six, 3, own}},
	theory.Lydian:     {{0, one, 0, own}, {4, five, 0, own}, {1, two, 1, own}, {5, six, 3, own}, {2, three, 4, own}},
	theory.Mixolydian: {{0, one, 0, own}, {6, five, 0, own}, {3, four, 1, own}, {1, two, 4, own}, {5, six, 3, own}, {4, seven, 3, own}},
	theory.Aeolian:    {{0, one, 0, own}, {6, five, 0, own}, {4, seven, 2, own}, {3, four, 1, own}, {5, six, 2, own}, {2, three, 3, own}},
	theory.Locrian:    {{0, one, 0, own}, {1, five, 0, own}, {4, seven, 2, own}, {3, four, 2, own}, {2, three, 3, own}},
}

// successions: what it costs to go from one place to another at a bar line.
var successions = [places][places]int{
	//       I  ii iii IV  V  vi vii
	one:   {2, 1, 3, 0, 0, 1, 3},
	two:   {5, 2, 5, 4, 0, 4, 1},
	three: {5, 3, 4, 1, 4, 0, 5},
	four:  {1, 1, 4, 2, 0, 4, 2},
	five:  {0, 6, 5, 4, 2, 2, 4},
	six:   {4, 0, 3, 0, 1, 3, 4},
	seven: {0, 5, 1, 4, 3, 4, 4},
}

// Weights of the sum, tried on tunes whose chords are known.
const (
	priorWeight   = 3
	moveWeight    = 4
	halfBarChange = 14  // a change in the middle of a bar
	foreignNote   = 5   // per unit of structural weight, a note outside the chord
	passingNote   = 2   // …that moves on by step
	seventhNote   = 1   // a melody note on the seventh of V
	strayed       = 14  // an applied dominant that does not go to its target
	openPhrase    = 30  // a phrase that stops on neither I nor V
	awayAtStart   = 20  // a song that does not begin on I
	awayAtEnd     = 200 // …or end there
	weakLastStep  = 20  // the last I reached from elsewhere than V or IV
)

// slot is a stretch that gets one chord.
type slot struct {
	at, end theory.Dur
	key     theory.Key
	bar     int
	inner   bool // begins inside its bar
	closes  bool // a phrase ends here: on this slot lies its goal note
}

// Harmonise gives a bare melody chords. A song that has a sounding chord is
// returned as it is. Otherwise the song comes back with chord marks (from its
// first full bar on; a pick-up stays bare) and an Info among its Problems, code
// chords-made. The error is a leadsheet.Problems where there is no tune.
func Harmonise(song leadsheet.Song) (leadsheet.Song, error) {
	for _, c := range song.Chords {
		if !c.Unknown && !c.Chord.Silent() {
			return song, nil
		}
	}
	if len(song.Bars) == 0 || len(song.Melody) == 0 {
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: song.File}, "melody-missing.chords")
		return song, ps
	}
	bare := song
	bare.Chords = nil
	ss := spans(bare)
	var found leadsheet.Problems
	rs := regions(bare, ss, &found)
	for i := range rs {
		rs[i].Key = withoutLeadingTone(bare, rs[i])
	}
	inKeys(ss, bare, rs)
	slots := slotsOf(bare, rs, phrases(bare, ss))
	chords := plan(bare, slots)
	song.Chords = nil
	for i, c := range chords {
		if n := len(song.Chords); n > 0 && song.Chords[n-1].Chord == c {
			continue
		}
		song.Chords = append(song.Chords, leadsheet.ChordMark{At: slots[i].at, Chord: c,
			Text: c.String(), Pos: song.PosAt(slots[i].at)})
	}
	// The slice is copied: the caller's Problems must not grow behind its back.
	song.Problems = append(append(leadsheet.Problems(nil), song.Problems...),
		leadsheet.Tell(leadsheet.Info, leadsheet.Pos{File: song.File}, "chords-made", "Key", rs[0].Key))
	return song, nil
}

// withoutLeadingTone reads minor as aeolian where the tune keeps its seventh low,
// so that it gets no dominant that it would contradict.
func withoutLeadingTone(song leadsheet.Song, r Region) theory.Key {
	k := r.Key
	if k.Mode != theory.Minor {
		return k
	}
	low, raised := theory.Dur(0), theory.Dur(0)
	for _, n := range notesIn(song.Melody, song.Bars[r.First].At, song.Bars[r.Last].End()) {
		switch above(k.Tonic, n.Pitch.Name) {
		case 10:
			low += n.Dur
		case 11:
			raised += n.Dur
		}
	}
	if low > 3*raised {
		k.Mode = theory.Aeolian
	}
	return k
}

// slotsOf cuts the bars into slots. What is left of a split bar goes with the
// slot before it.
func slotsOf(song leadsheet.Song, rs []Region, ps []Phrase) []slot {
	var out []slot
	r := 0
	for i, b := range song.Bars {
		for r+1 < len(rs) && rs[r+1].First <= i {
			r++
		}
		m := b.Meter.OrCommon()
		short := b.Dur < m.Bar()
		switch {
		case b.Dur <= 0 || i == 0 && b.Pickup && len(song.Bars) > 1:
		case short && b.Dur <= m.Bar()/2 && len(out) > 0:
			out[len(out)-1].end = b.End()
		case !short && m.BeatCount()%2 == 0 && m.Bar() >= 3*theory.Quarter:
			half := b.At + b.Dur/2
			out = append(out, slot{at: b.At, end: half, key: rs[r].Key, bar: i},
				slot{at: half, end: b.End(), key: rs[r].Key, bar: i, inner: true})
		default:
			out = append(out, slot{at: b.At, end: b.End(), key: rs[r].Key, bar: i})
		}
	}
	k := 0
	for _, p := range ps {
		if p.Goal < 0 || len(out) == 0 {
			continue
		}
		for k+1 < len(out) && out[k+1].at <= song.Melody[p.Goal].At {
			k++
		}
		out[k].closes = true
	}
	return out
}

// palette is a mode's choices made into chords in one key.
type palette struct {
	key     theory.Key
	choices []choice
	chords  []theory.Chord
}

func paletteOf(k theory.Key) palette {
	p := palette{key: k, choices: palettes[k.Mode]}
	for _, c := range p.choices {
		p.chords = append(p.chords, chordOf(k, c))
	}
	return p
}

// plan finds the cheapest chords.
func plan(song leadsheet.Song, slots []slot) []theory.Chord {
	n := len(slots)
	if n == 0 {
		return nil
	}
	type cell struct{ cost, from int }
	best := make([][]cell, n)
	used := make([]palette, n)
	now := paletteOf(slots[0].key)
	note := 0
	var heard []heardNote
	for i, s := range slots {
		if s.key != now.key {
			now = paletteOf(s.key)
		}
		used[i] = now
		best[i] = make([]cell, len(now.choices))
		for note < len(song.Melody) && song.Melody[note].End() <= s.at {
			note++
		}
		heard = hear(heard[:0], song, note, s)
		for c, ch := range now.choices {
			cost := priorWeight*ch.prior + melodyCost(heard, now.chords[c])
			settled := ch.kind == own && (ch.place == one || ch.place == five)
			if s.closes && !settled {
				cost += openPhrase
			}
			switch {
			case i == n-1 && ch != now.choices[0]:
				cost += awayAtEnd
			case i == 0 && ch != now.choices[0]:
				cost += awayAtStart
			}
			best[i][c] = cell{cost: cost}
			if i == 0 {
				continue
			}
			least, from := 1<<60, 0
			for p, was := range used[i-1].choices {
				step := best[i-1][p].cost
				same := was == ch && slots[i-1].key == s.key
				if !same || !s.inner { // staying inside a bar is what chords do
					step += moveWeight * succession(was, ch)
				}
				if !same && s.inner {
					step += halfBarChange
				}
				if i == n-1 && !same && was.place != five && was.place != four {
					step += weakLastStep
				}
				if step < least {
					least, from = step, p
				}
			}
			best[i][c] = cell{least + cost, from}
		}
	}
	at := 0
	for c := range best[n-1] {
		if best[n-1][c].cost < best[n-1][at].cost {
			at = c
		}
	}
	out := make([]theory.Chord, n)
	for i := n - 1; i >= 0; i-- {
		out[i] = used[i].chords[at]
		at = best[i][at].from
	}
	return out
}

// succession is what it costs to go from one choice to the next.
func succession(from, to choice) int {
	switch {
	case from == to:
		return 2
	case from.kind == applied && to.kind == own && from.degree == to.degree:
		return 0
	case from.kind == applied:
		return strayed
	case to.kind == applied:
		return 2
	}
	return successions[from.place][to.place]
}

// heardNote is a melody note as one slot hears it.
type heardNote struct {
	name    theory.Name
	weight  int
	passing bool // moves on by step before two beats are over
}

// hear collects the notes that sound in a slot. first is the first that still
// sounds there.
func hear(out []heardNote, song leadsheet.Song, first int, s slot) []heardNote {
	bar := s.bar
	for i := first; i < len(song.Melody) && song.Melody[i].At < s.end; i++ {
		n := song.Melody[i]
		at, end := max(n.At, s.at), min(n.End(), s.end)
		if end <= at {
			continue
		}
		for bar+1 < len(song.Bars) && song.Bars[bar+1].At <= at {
			bar++
		}
		moves := i+1 < len(song.Melody) && step(n, song.Melody[i+1]) != 0
		out = append(out, heardNote{n.Pitch.Name, weight(song, bar, at, end),
			moves && end-at < 2*song.Bars[bar].Meter.OrCommon().BeatDur()})
	}
	return out
}

// melodyCost weighs what a slot hears against a chord.
func melodyCost(heard []heardNote, c theory.Chord) int {
	cost := 0
	for _, n := range heard {
		switch d, in := DegreeOver(c, n.name); {
		case in && d.Number == 7:
			cost += seventhNote * n.weight
		case in:
		case n.passing:
			cost += passingNote * n.weight
		default:
			cost += foreignNote * n.weight
		}
	}
	return cost
}

// chordOf builds a choice in a key.
func chordOf(k theory.Key, ch choice) theory.Chord {
	scale := k.Scale()
	root := scale[ch.degree]
	seventh := theory.DegreesOf(dg(1, 0), dg(3, 0), dg(5, 0), dg(7, -1))
	switch {
	case ch.kind == applied:
		return theory.Chord{Root: root.Up(fifthUp), Tones: seventh}
	case ch.kind == borrowed:
		return theory.Chord{Root: root, Tones: theory.DegreesOf(dg(1, 0), dg(3, -1), dg(5, 0))}
	case ch.degree == 4 && (k.Mode == theory.Major || k.Mode == theory.Minor):
		return theory.Chord{Root: root, Tones: seventh}
	}
	third := above(root, scale[(ch.degree+2)%7]) - 4 // 0 major, −1 minor
	fifth := above(root, scale[(ch.degree+4)%7]) - 7
	return theory.Chord{Root: root, Tones: theory.DegreesOf(dg(1, 0), dg(3, int8(third)), dg(5, int8(fifth)))}
}
