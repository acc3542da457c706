package scoretest

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Meters are the time signatures that arrangements come in.
var Meters = []leadsheet.Meter{{Beats: 2, Unit: 4}, {Beats: 3, Unit: 4}, {Beats: 4, Unit: 4}, {Beats: 2, Unit: 2},
	{Beats: 6, Unit: 8}, {Beats: 9, Unit: 8}, {Beats: 12, Unit: 8}, {Beats: 3, Unit: 2}, {Beats: 6, Unit: 4}}

// Random makes a score of one to six bars that can be written exactly: each beat
// of a voice is divided in one way (halves to eighths, thirds, sixths, fifths,
// sevenths), notes are joined over beats and bar lines, and no voice overlaps
// itself. The same state of rng gives the same score.
func Random(rng *rand.Rand) score.Score {
	n := rng.IntN(6)
	s := score.Score{Title: "Random & <tested>", Level: n, Feel: leadsheet.Feel(rng.IntN(3)), Swing: score.Ratio{First: 2, Second: 1},
		StaffHeight: [...]int{0, 80, 75}[n%3], Pedal: score.Pedalling(n % 3)}
	if rng.IntN(2) == 0 {
		s.Tempo = leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 60 + rng.IntN(100)}
	}
	m := Meters[rng.IntN(len(Meters))]
	key := theory.KeyOf(rng.IntN(15)-7, []theory.Mode{theory.Major, theory.Minor}[rng.IntN(2)])
	at := theory.Dur(0)
	for n := range 1 + rng.IntN(6) {
		if n == 0 && rng.IntN(3) == 0 {
			unit := theory.Whole / theory.Dur(m.Unit) / 2
			d := unit * theory.Dur(1+rng.IntN(int(m.Bar()/unit)-1))
			s.Bars = append(s.Bars, score.Bar{Dur: d, Meter: m, Key: key, Pickup: true})
			at = d
		}
		if rng.IntN(5) == 0 {
			m = Meters[rng.IntN(len(Meters))]
		}
		if rng.IntN(6) == 0 {
			key = theory.KeyOf(rng.IntN(15)-7, theory.Major)
		}
		b := score.Bar{At: at, Dur: m.Bar(), Meter: m, Key: key, Number: n + 1}
		if rng.IntN(4) == 0 {
			b.Section = string(rune('A' + n))
		}
		s.Bars = append(s.Bars, b)
		at = b.End()
	}
	for _, hand := range []score.Hand{score.Right, score.Left} {
		for voice := uint8(1); voice <= 2; voice++ {
			if voice == 1 || rng.IntN(2) == 0 {
				randomVoice(rng, &s, hand, voice, key)
			}
		}
	}
	for _, b := range s.Bars {
		if rng.IntN(2) == 0 {
			sym, err := theory.ParseSymbol([]string{"C", "F#m7b5", "Bb7(b9)", "Am/G", "N.C.", "D13", "Ebmaj7#11"}[rng.IntN(7)])
			if err == nil {
				s.Chords = append(s.Chords, score.Symbol{At: b.At + theory.Dur(rng.IntN(4))*b.Dur/4, Chord: sym.Chord})
			}
		}
		if rng.IntN(4) == 0 {
			s.Directions = append(s.Directions, score.Direction{At: b.At, Kind: score.PedalDown, Hand: score.Left},
				score.Direction{At: b.End(), Kind: score.PedalUp, Hand: score.Left})
		}
	}
	for i := range s.Notes { // every third note is for something, every fifth the tune's
		if i%3 == 0 {
			s.Notes[i].Origin.Kind = score.Kind(1 + i%int(score.Run))
		}
		if i%5 == 0 {
			s.Notes[i].Origin.Melody = 1 + i/5
		}
	}
	for i := range s.Bars {
		s.Bars[i].PhraseStart = i%4 == 0
	}
	return s.Finish()
}

func randomVoice(rng *rand.Rand, s *score.Score, hand score.Hand, voice uint8, key theory.Key) {
	var cuts []theory.Dur
	for _, b := range s.Bars {
		beat := b.Meter.BeatDur()
		off := theory.Dur(0)
		if b.Pickup {
			off = b.Meter.Bar() - b.Dur
		}
		for p := off / beat * beat; p < off+b.Dur; p += beat {
			parts := []theory.Dur{1, 1, 1, 2, 2, 4, 8, 3, 3, 6, 5, 7}[rng.IntN(12)]
			if b.Meter.Compound() {
				parts = []theory.Dur{1, 1, 3, 3, 6, 12, 2, 9, 5, 7}[rng.IntN(10)]
			}
			if p < off || p+beat > off+b.Dur { // a beat cut by the pick-up
				parts = beat / theory.Sixteenth
			}
			for i := range parts {
				if at := p + i*beat/parts; at >= off && rng.IntN(4) > 0 {
					cuts = append(cuts, at-off+b.At)
				}
			}
		}
	}
	cuts = append(cuts, s.End())
	scale := key.Scale()
	low := 60
	if hand == score.Left {
		low = 38
	}
	height := low + rng.IntN(12)
	for i := 0; i+1 < len(cuts); i++ {
		if rng.IntN(6) == 0 {
			continue
		}
		n := score.Note{Hand: hand, Voice: voice, At: cuts[i], Dur: cuts[i+1] - cuts[i]}
		height = min(max(height+rng.IntN(15)-7, low-8), low+30)
		name := scale[rng.IntN(7)]
		if rng.IntN(5) == 0 {
			name.Alter = int8(rng.IntN(3) - 1)
		}
		n.Pitch = name.Nearest(height)
		if rng.IntN(8) == 0 {
			n.Marks |= []score.Marks{score.Ghost, score.Staccato, score.Tenuto, score.Accent, score.Rolled, score.Courtesy}[rng.IntN(6)]
		}
		if rng.IntN(3) == 0 {
			n.Finger = uint8(1 + rng.IntN(5))
		}
		if rng.IntN(12) == 0 {
			n.Ornament = score.Ornament(1 + rng.IntN(4))
		}
		if rng.IntN(20) == 0 {
			n.Staff = score.Hand(1 + rng.IntN(2))
		}
		if rng.IntN(10) == 0 {
			g := n
			g.Dur, g.Grace, g.Finger, g.Ornament, g.Marks = 0, 1, 0, 0, score.Slashed
			g.Pitch = name.Nearest(height + 2)
			s.Notes = append(s.Notes, g)
		}
		s.Notes = append(s.Notes, n)
		for k := rng.IntN(4); k > 2; k-- {
			c := n
			c.Pitch = scale[rng.IntN(7)].Nearest(n.Pitch.MIDI() + 4)
			c.Finger = 0
			if c.Pitch != n.Pitch {
				s.Notes = append(s.Notes, c)
			}
		}
	}
}

// Steady makes a two-hand score of so many bars in 4/4, of the density of a late
// intermediate arrangement, for benchmarks: 13 notes and a chord symbol a bar.
func Steady(bars int) score.Score {
	var r, l1, l2, rest strings.Builder
	for i := range bars {
		up := []string{"C", "A", "F", "G"}[i%4]
		fmt.Fprintf(&r, "<E4+G4+C5>:1/4*f5 D5:1/8 E5:3/8 C#5:1/6 %s4:1/12 ", up)
		l1.WriteString("r:1/4 <E3+Bb3>:1/4 r:1/4 <E3+A3>:1/6 <E3+A3>:1/12*ghost ")
		fmt.Fprintf(&l2, "%s2:1/2 G2:1/2 ", up)
		fmt.Fprintf(&rest, "chord %d %s7(b9)\n", i, up)
	}
	return MustParse("title Steady\nlevel 4\ntempo 120\nswing 2:1\nR1 " + r.String() + "\nL1 " + l1.String() + "\nL2 " + l2.String() + "\n" + rest.String())
}

// Wild makes a score out of any bytes: lengths that no note value has, notes that
// overlap in every way, lie outside the bars or share their ids. It is meant to
// be hard to write, and may be invalid.
func Wild(data []byte) score.Score {
	i := 0
	next := func() int {
		if i >= len(data) {
			return 0
		}
		i++
		return int(data[i-1])
	}
	s := score.Score{Title: string(data[:min(len(data), 5)])}
	m := Meters[next()%len(Meters)]
	key := theory.KeyOf(next()%15-7, theory.Major)
	at := theory.Dur(0)
	for n := range 1 + next()%4 {
		b := score.Bar{At: at, Dur: m.Bar(), Meter: m, Key: key, Number: n}
		switch next() % 8 {
		case 0:
			b.Dur = theory.Dur(1+next()) * theory.SixtyFourth
			b.Pickup = next()%2 == 0
		case 1:
			m = Meters[next()%len(Meters)]
			b.Meter, b.Dur = m, m.Bar()
		}
		s.Bars = append(s.Bars, b)
		at = b.End()
	}
	units := []theory.Dur{1, 16, 45, theory.SixtyFourth, 720, 1008, 1680, theory.Eighth, theory.Quarter, theory.Half}
	for i < len(data) {
		n := score.Note{Hand: score.Hand(next() % 3), Voice: uint8(next() % 9), Staff: score.Hand(next() % 4)}
		n.At = theory.Dur(next()-3) * units[next()%len(units)]
		n.Dur = theory.Dur(next()-1) * units[next()%len(units)]
		n.Pitch = theory.Name{Letter: theory.Letter(next() % 7), Alter: int8(next()%5 - 2)}.At(next()%9 - 1)
		n.Marks = score.Marks(next() | next()<<8)
		n.Ornament = score.Ornament(next() % 6)
		if next()%10 == 0 {
			n.Grace, n.Dur = uint8(1+next()%3), 0
		}
		if next()%20 == 0 {
			n.ID = "n7"
		}
		n.Finger, n.FingerTo, n.Velocity = uint8(next()%6), uint8(next()%6), int8(next())
		s.Notes = append(s.Notes, n)
		if next()%5 == 0 {
			s.Directions = append(s.Directions, score.Direction{At: theory.Dur(next()) * units[next()%len(units)],
				Kind: score.DirectionKind(next() % 11), Hand: score.Hand(next() % 3), Text: []string{"", "p", "rit. <&>", "N.C."}[next()%4]})
		}
	}
	return s.Finish()
}
