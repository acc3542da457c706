package audit

import (
	"slices"
	"testing"

	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Whatever a score holds, the audit ends, its verdict is sorted and placed, names
// only its own rules, and does not depend on the order of the notes.
func FuzzCheck(f *testing.F) {
	f.Add([]byte("<\x00\x04@\x00\x04C\x00\x04"), false)
	f.Add([]byte("0\x21\x44<\x08\x7f\x30\xff\x03\x00\x00\x00"), true)
	f.Add([]byte("CCCCCCCCCCCCCCCCCC"), true)
	codes := map[string]bool{}
	for _, r := range Rules() {
		codes[r.Code] = true
	}
	f.Fuzz(func(t *testing.T, data []byte, sheet bool) {
		m := leadsheet.Meter{Beats: 3, Unit: 4}
		c := theory.Key{Tonic: theory.Name{Letter: theory.C}, Mode: theory.Major}
		s := score.Score{Tempo: leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 100}}
		song := leadsheet.Song{Meter: m, Key: c}
		for i := range 8 {
			at := theory.Dur(i) * m.Bar()
			s.Bars = append(s.Bars, score.Bar{At: at, Dur: m.Bar(), Meter: m, Key: c, Number: i + 1})
			song.Bars = append(song.Bars, leadsheet.Bar{At: at, Dur: m.Bar(), Meter: m, Key: c, Number: i + 1})
		}
		tones := []theory.Degrees{theory.DegreesOf(theory.Degree{Number: 1}, theory.Degree{Number: 3}, theory.Degree{Number: 5}, theory.Degree{Number: 7, Alter: -1}), {}}
		at := theory.Dur(0)
		for i := 0; i+2 < len(data) && len(s.Notes) < 300; i += 3 {
			a, b, d := data[i], data[i+1], data[i+2]
			p := theory.Name{Letter: theory.Letter(a % 7), Alter: int8(a>>3%3) - 1}.At(int(a>>5) + 1)
			n := score.Note{ID: string(rune('a' + i%26)), Hand: score.Hand(b % 3), Voice: b >> 2 & 3, At: at, Dur: theory.Dur(d&15) * theory.Sixteenth, Pitch: p, Marks: score.Marks(b>>4) & (score.Rolled | score.Ghost)}
			if b&64 != 0 {
				n.Grace, n.Dur = d&3, 0
			}
			s.Notes = append(s.Notes, n)
			if d&16 != 0 {
				song.Melody = append(song.Melody, leadsheet.Note{At: at, Dur: n.Dur, Pitch: p})
			}
			if d&32 != 0 {
				s.Chords = append(s.Chords, score.Symbol{At: at, Chord: theory.Chord{Root: p.Name, Tones: tones[a&1]}})
			}
			at += theory.Dur(d>>6) * theory.Eighth
		}
		var opt Options
		if sheet {
			opt.Song = &song
		}
		vs := Check(s, opt)
		for i, v := range vs {
			v.Problem = words.Must(words.Default).Problem(v.Problem)
			if !codes[v.Code] || v.Text == "" || v.Fix == "" {
				t.Fatalf("%+v", v)
			}
			if i > 0 && vs[i-1].At > v.At {
				t.Fatalf("%v after %v", v, vs[i-1])
			}
		}
		r := s
		r.Notes = slices.Clone(s.Notes)
		slices.Reverse(r.Notes)
		if got, want := lines(Check(r.Finish(), opt)), lines(Check(s.Finish(), opt)); got != want {
			t.Fatalf("the order of notes changed the verdict:%s\nwas%s", got, want)
		}
	})
}
