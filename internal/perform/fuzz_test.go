package perform_test

import (
	"math"
	"testing"

	"gradatim/internal/perform"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// fromBytes makes a score of arbitrary bytes, four a note.
func fromBytes(b []byte) score.Score {
	durs := []theory.Dur{theory.Quarter, theory.Eighth, theory.Half, theory.Sixteenth, theory.Quarter / 3, theory.Whole, 3 * theory.Eighth, 0}
	metres := []leadsheet.Meter{{Beats: 4, Unit: 4}, {Beats: 3, Unit: 4}, {Beats: 6, Unit: 8}, {Beats: 7, Unit: 8}, {Beats: 2, Unit: 2}, {Beats: 3, Unit: 8}}
	s := score.Score{Pedal: score.Pedalling(len(b) % 3), Tempo: leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 40 + len(b)%300}}
	if len(b) < 8 {
		return s
	}
	if b[0]&1 != 0 {
		s.Feel = leadsheet.Swing
	}
	m := metres[int(b[1])%len(metres)]
	var now [3]theory.Dur
	for i := 4; i+4 <= len(b); i += 4 {
		hand := score.Hand(1 + b[i]&1)
		n := score.Note{Hand: hand, Voice: 1, At: now[hand], Dur: durs[b[i]>>1&7], Marks: score.Marks(b[i+1]), Ornament: score.Ornament(b[i+2] & 7 % 6)}
		n.Pitch = theory.Pitch{Name: theory.Name{Letter: theory.Letter(b[i+3] % 7), Alter: int8(b[i]>>4&1) - int8(b[i]>>5&1)}, Octave: int8(2 + b[i+3]>>3%4)}
		if n.Dur == 0 {
			n.Grace = 1 + b[i+2]>>4&1
		} else if b[i]>>6&1 == 0 { // else the next note sounds with it
			now[hand] += n.Dur
		}
		s.Notes = append(s.Notes, n)
		if b[i+2]>>5 == 7 {
			s.Chords = append(s.Chords, score.Symbol{At: now[hand]})
		}
	}
	end := max(now[1], now[2])
	if b[0]&2 != 0 {
		s.Bars = append(s.Bars, score.Bar{Dur: theory.Eighth, Meter: m, Pickup: true})
	}
	for at := s.End(); at <= end; at = s.End() {
		s.Bars = append(s.Bars, score.Bar{At: at, Dur: m.Bar(), Meter: m, Number: len(s.Bars), PhraseStart: len(s.Bars)%5 == 4})
	}
	return s
}

func FuzzPerform(f *testing.F) {
	notes := func(seed byte) []byte {
		b := make([]byte, 400)
		for i := range b {
			seed = seed*77 + 41
			b[i] = seed ^ byte(i*i)
		}
		return b
	}
	for seed := range byte(12) {
		f.Add(notes(seed), 50+10*int(seed), 0, 0, 1, int(seed)-6, 0, false)
		f.Add(notes(seed+100), 100, 2, 3, 2, 0, 1, true)
	}
	f.Fuzz(func(t *testing.T, notes []byte, percent, from, to, loop, transpose, countIn int, click bool) {
		if len(notes) > 1000 {
			return
		}
		s := fromBytes(notes)
		o := perform.Options{Tempo: perform.Tempo{Percent: percent}, From: from, To: to, Loop: loop % 5, Transpose: transpose, CountIn: countIn, Click: click}
		p, err := perform.Perform(s, o)
		if err != nil {
			return
		}
		last := math.Inf(-1)
		for i, q := range p.Timing.Points {
			if same := i > 0 && q.At < p.Timing.Points[i-1].At; q.Seconds <= last && !same || q.Seconds < last {
				t.Fatalf("time stands still at %v", q)
			}
			last = q.Seconds
		}
		for _, n := range p.Notes {
			if !(n.Start >= 0 && n.End > n.Start && n.End <= p.Seconds) || n.Velocity < 1 || n.Velocity > 127 || n.Key < 21 || n.Key > 108 {
				t.Fatalf("%+v", n)
			}
		}
		down := map[int]int{}
		for _, e := range p.Events() {
			switch e.Kind {
			case perform.NoteOn:
				down[e.Key]++
			case perform.NoteOff:
				down[e.Key]--
			}
			if e.Tick < 0 || math.IsNaN(e.Seconds) || down[e.Key] < 0 || down[e.Key] > 1 {
				t.Fatalf("%v", e)
			}
		}
		for i, e := range p.Pedals { // it may stay half down and be let go slowly
			late := i > 0 && e.Time < p.Pedals[i-1].Time
			if e.Time < 0 || e.Value < 0 || e.Value > 127 || late || i == 0 && e.Value == 0 {
				t.Fatalf("pedal move %d: %v of %v", i, e, p.Pedals)
			}
		}
		if n := len(p.Pedals); n > 0 && p.Pedals[n-1].Value != 0 {
			t.Fatalf("the pedal stays down: %v", p.Pedals)
		}
	})
}
