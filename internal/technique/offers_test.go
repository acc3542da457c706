package technique_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// metres of the sweep, with what a cell may last in beats of its pulse.
var metres = []leadsheet.Meter{{Beats: 4, Unit: 4}, {Beats: 3, Unit: 4}, {Beats: 2, Unit: 4}, {Beats: 2, Unit: 2}, {Beats: 5, Unit: 4}, {Beats: 6, Unit: 4},
	{Beats: 6, Unit: 8}, {Beats: 9, Unit: 8}, {Beats: 12, Unit: 8}, {Beats: 3, Unit: 8}}

// cells makes cells of every kind for a level: chords of every quality on their way
// to another, metres, lengths, places in the bar and in the phrase, feels, tempi and tunes.
func cells(r *rand.Rand, l ladder.Level, chords []theory.Chord, n int) []technique.Cell {
	pick := func(n int) int { return r.IntN(n) }
	var out []technique.Cell
	for i := range n {
		m := metres[pick(len(metres))]
		beats := max(1, int(m.Bar()/m.Pulse()))
		long := 1 + pick(beats)
		from := pick(beats - long + 1)
		bar := 2 * theory.Whole
		c := technique.Cell{BarAt: bar, At: bar + theory.Dur(from)*m.Pulse(), End: bar + theory.Dur(from+long)*m.Pulse(), Meter: m,
			Chord: chords[i%len(chords)], Prev: chords[pick(len(chords))], Next: chords[pick(len(chords))],
			Setting: &technique.Setting{Tempo: []int{50, 66, 84, 100, 120, 144, 176, 208}[pick(8)], Swing: pick(2) == 0,
				Manner: l.Manner, Caps: l.Caps, Hand: hand.Default(), High: l.High.MIDI()}, Low: l.Low.MIDI(),
			Opens: pick(3) == 0, Closes: pick(3) == 0, Last: pick(6) == 0, Again: pick(2) == 1}
		c.Key = theory.KeyOf(pick(13)-6, []theory.Mode{theory.Major, theory.Minor}[pick(2)])
		if c.NewChord = pick(4) > 0; !c.NewChord {
			c.Held, c.Next = m.Bar(), c.Chord
		}
		if c.Last {
			c.Next = theory.Chord{}
		}
		switch pick(4) {
		case 0:
			c.Prev = theory.Chord{}
		case 1: // a fall of a fifth
			c.Next.Root = c.Chord.Root.Up(theory.Interval{Steps: 3, Semitones: 5})
			c.Next.Slash, c.Next.Bass = false, theory.Name{}
		}
		if l.Uses("added-notes") && c.Chord.Triad() == c.Chord {
			if third, ok := c.Chord.Third(); ok && third.Number == 3 && pick(2) == 0 {
				c.Added = theory.Degree{Number: []int8{9, 4}[pick(2)]}
				c.Chord.Tones = c.Chord.Tones.With(c.Added)
			}
		}
		for at := c.At; at < c.End; {
			d := []theory.Dur{theory.Eighth, theory.Quarter, theory.Half, c.Dur()}[pick(4)]
			key := 60 + pick(20)
			if pick(3) > 0 { // a tone of the chord, which most are
				tones := c.Chord.Spell()
				key = tones[pick(len(tones))].Above(62).MIDI()
			}
			if pick(8) > 0 {
				c.Melody = append(c.Melody, technique.MelodyNote{At: at, End: min(at+d, c.End), Pitch: theory.HarmonicSpelling(c.Key, c.Chord, key), Event: len(c.Melody)})
			}
			at += d
		}
		out = append(out, c)
	}
	return out
}

// TestOffers asks every technique of the two hands, at every level that has it, for
// figures in cells of every kind: what the left hand plays is sound, what the right
// hand plays stands under the tune, and each has something to offer.
func TestOffers(t *testing.T) {
	chords := technique.ChordsOf(t, "C", "F", "Bb", "Eb", "F#", "B")
	levels := ladder.Levels()
	n := 1000
	if testing.Short() {
		n = 150
	}
	for _, x := range technique.All() {
		if x.Left == nil && x.Right == nil {
			continue
		}
		used := slices.DeleteFunc(slices.Clone(levels), func(l ladder.Level) bool { return !l.Uses(x.ID) })
		if len(used) == 0 { // a teacher's own level may have it
			used = levels[1:]
		}
		for _, l := range used {
			r := rand.New(rand.NewPCG(uint64(l.Number), 1))
			offered, faults := 0, 0
			for _, c := range cells(r, l, chords, n) {
				if x.Left != nil {
					for _, f := range x.Left(c) {
						offered++
						if err := technique.Sound(c, f); err != nil && faults < 3 {
							faults++
							t.Errorf("%s at level %d on %s, %v to %v, %v, next %s: %v\n%+v", x.ID, l.Number, c.Chord, c.At, c.End, c.Meter, c.Next, err, texts(f))
						}
					}
					continue
				}
				for _, f := range x.Right(c) {
					offered++
					if err := under(c, f); err != nil && faults < 3 {
						faults++
						t.Errorf("%s at level %d on %s: %v\n%v over %v", x.ID, l.Number, c.Chord, err, texts(f), c.Melody)
					}
				}
			}
			if offered < n/50 {
				t.Errorf("%s at level %d: only %d figures", x.ID, l.Number, offered)
			}
		}
	}
}

// TestVaries has every cell come again some bars later: a technique offers the same
// figures there, unless it says that it varies.
func TestVaries(t *testing.T) {
	chords := technique.ChordsOf(t, "C", "F", "Bb", "Eb", "F#", "B")
	n := 400
	if testing.Short() {
		n = 60
	}
	varies := map[string]bool{}
	for _, l := range ladder.Levels() {
		r := rand.New(rand.NewPCG(uint64(l.Number), 2))
		all := cells(r, l, chords, n)
		for _, x := range technique.All() {
			offers := x.Left
			if x.Stage == technique.RightHand {
				offers = x.Right
			}
			if offers == nil {
				continue
			}
			for i, c := range all {
				later := theory.Dur(1+i%5) * c.Meter.Bar()
				again := c
				again.At, again.End, again.BarAt, again.Again = c.At+later, c.End+later, c.BarAt+later, !c.Again
				again.Melody = slices.Clone(c.Melody)
				for k := range again.Melody {
					m := &again.Melody[k]
					m.At, m.End, m.Event = m.At+later, m.End+later, m.Event+100
				}
				fs, gs := offers(c), offers(again)
				for k := range gs {
					gs[k].Tones = slices.Clone(gs[k].Tones)
					for j := range gs[k].Tones {
						gs[k].Tones[j].At -= later
					}
				}
				if len(fs) != len(gs) || len(fs) > 0 && !reflect.DeepEqual(fs, gs) {
					varies[x.ID] = true
					if !x.Varies {
						t.Errorf("%s at level %d on %s: %d figures, %d where the cell returns", x.ID, l.Number, c.Chord, len(fs), len(gs))
						break
					}
				}
			}
		}
	}
	for _, x := range technique.All() {
		if x.Varies && !varies[x.ID] {
			t.Errorf("%s never varies", x.ID)
		}
	}
}

func texts(f technique.Figure) []string {
	var out []string
	for _, x := range f.Tones {
		out = append(out, fmt.Sprintf("%v@%v:%v(%v)", x.Pitch, x.At, x.Dur, x.Kind))
	}
	return out
}

// passes tells whether the tune's note over a tone is none of the chord's either: a
// block under it is a passing chord.
func passes(c technique.Cell, x technique.Tone) bool {
	return slices.ContainsFunc(c.Melody, func(m technique.MelodyNote) bool {
		return m.At <= x.At && m.End > x.At && !c.Chord.HasClass(m.Pitch.Class()) && x.Dur <= c.Meter.BeatDur()
	})
}

// goesAlong tells whether a passing tone of a voice is reached or left by a step, or goes
// along with a note of the tune that is foreign to the chord, a third or a sixth below it.
func goesAlong(c technique.Cell, f technique.Figure, i int) bool {
	x := f.Tones[i]
	step := func(k int) bool {
		if k < 0 || k >= len(f.Tones) {
			return false
		}
		d := f.Tones[k].Pitch.MIDI() - x.Pitch.MIDI()
		return d >= -3 && d <= 3 && d != 0
	}
	if x.Kind != score.Passing {
		return false
	}
	if step(i-1) || step(i+1) {
		return true
	}
	return slices.ContainsFunc(c.Melody, func(m technique.MelodyNote) bool {
		d := m.Pitch.MIDI() - x.Pitch.MIDI()
		return m.At == x.At && !c.Chord.HasClass(m.Pitch.Class()) && (d == 3 || d == 4 || d == 8 || d == 9)
	})
}

// under tells what is wrong with a right-hand figure: a tone outside its cell, out
// of order, on or above the tune, or that the chord has not.
func under(c technique.Cell, f technique.Figure) error {
	for i, x := range f.Tones {
		if x.At < c.At || x.End() > c.End || x.Dur <= 0 {
			return fmt.Errorf("%v lies at %v–%v, outside %v–%v", x.Pitch, x.At, x.End(), c.At, c.End)
		}
		if i > 0 && (x.At < f.Tones[i-1].At || x.At == f.Tones[i-1].At && x.Pitch.MIDI() <= f.Tones[i-1].Pitch.MIDI()) {
			return fmt.Errorf("%v follows %v", x.Pitch, f.Tones[i-1].Pitch)
		}
		if top := c.MelodyLow(x.At, x.At+1); x.Pitch.MIDI() >= top {
			return fmt.Errorf("%v does not lie under the tune", x.Pitch)
		}
		if x.Pitch.MIDI() < 45 {
			return fmt.Errorf("%v lies too low for the right hand", x.Pitch)
		}
		if _, in := c.Chord.Degree(x.Pitch.Name); !in && x.Kind != score.Doubling && !passes(c, x) && !goesAlong(c, f, i) {
			return fmt.Errorf("%v, a %v, is none of the chord's", x.Pitch, x.Kind)
		}
	}
	return nil
}
