package notate

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"gradatim/internal/scoretest"
	"gradatim/score"
	"gradatim/theory"
)

// check tests what holds of every page: each voice fills its bar (the main voice
// with signs, others perhaps with spaces), written values add up, tuplets open
// and close and are full, beams begin and end within a bar, ids are unique, and
// the ties join to the sounding notes again.
func check(p Page) error {
	type note struct {
		hand    score.Hand
		pitch   theory.Pitch
		at, end theory.Dur
	}
	ids := map[string]bool{}
	open := map[int]note{}
	for _, b := range p.Bars {
		var mains [3]int
		for _, v := range b.Voices {
			if !v.Hidden && mains[v.Hand] == 0 {
				mains[v.Hand] = v.Lane
			}
			at, beams, tuplet := b.At, 0, Ratio{}
			var inTuplet, tupletTime theory.Dur
			for _, e := range v.Events {
				where := fmt.Sprintf("bar %d, %s%d at %s", b.Number, staffName(v.Hand), v.Lane, e.At-b.At)
				if e.At != at || e.Dur <= 0 {
					return fmt.Errorf("%s: starts at %s instead of %s", where, e.At-b.At, at-b.At)
				}
				at += e.Dur
				if e.Kind == Space && v.Lane == mains[v.Hand] && !v.Hidden {
					return fmt.Errorf("%s: a space in the main voice", where)
				}
				if e.Kind == Space {
					continue
				}
				want := e.Value.Dur()
				if e.Ratio.Actual > 0 {
					want = want * theory.Dur(e.Ratio.Normal) / theory.Dur(e.Ratio.Actual)
				}
				if e.WholeBar {
					want = b.Dur
				}
				if want != e.Dur || e.Value.Base == 0 {
					return fmt.Errorf("%s: value %s lasts %s, not %s", where, e.Value, want, e.Dur)
				}
				if !v.Hidden {
					if e.Opens {
						if tuplet.Actual > 0 {
							return fmt.Errorf("%s: a tuplet in a tuplet", where)
						}
						tuplet, inTuplet, tupletTime = e.Ratio, 0, 0
					}
					if tuplet != e.Ratio {
						return fmt.Errorf("%s: ratio %v in tuplet %v", where, e.Ratio, tuplet)
					}
					inTuplet, tupletTime = inTuplet+e.Value.Dur(), tupletTime+e.Dur
					if e.Closes {
						if inTuplet*theory.Dur(tuplet.Normal) != tupletTime*theory.Dur(tuplet.Actual) {
							return fmt.Errorf("%s: tuplet of %s in %s", where, inTuplet, tupletTime)
						}
						if (e.At+e.Dur)%theory.SixtyFourth != 0 {
							return fmt.Errorf("%s: tuplet ends off the grid", where)
						}
						tuplet = Ratio{}
					}
				}
				if len(e.Beams) > 0 {
					switch e.Beams[0] {
					case Begin:
						beams++
					case End:
						beams--
					}
				}
				if beams < 0 || beams > 1 || e.Kind == Rest && beams > 0 {
					return fmt.Errorf("%s: beam out of place", where)
				}
				for _, g := range e.Graces {
					for _, h := range g.Heads {
						if ids[h.ID] {
							return fmt.Errorf("%s: id %s twice", where, h.ID)
						}
						ids[h.ID] = true
					}
				}
				for _, h := range e.Heads {
					if ids[h.ID] || h.ID == "" {
						return fmt.Errorf("%s: id %q twice", where, h.ID)
					}
					ids[h.ID] = true
					n := note{hand: v.Hand, pitch: h.Pitch, at: e.At, end: e.At + e.Dur}
					if !h.First {
						o, ok := open[h.Note]
						if !ok || o.end != e.At || o.pitch != h.Pitch {
							return fmt.Errorf("%s: a tie to %s from nowhere", where, h.Pitch)
						}
						n.at = o.at
					}
					open[h.Note] = n
					if h.Last {
						delete(open, h.Note)
					}
				}
			}
			if at != b.End() || beams != 0 || tuplet.Actual > 0 {
				return fmt.Errorf("bar %d: %s%d is %s long (beams %d, tuplet %v)", b.Number, staffName(v.Hand), v.Lane, at-b.At, beams, tuplet)
			}
		}
		for hand := 1; hand <= p.Staves; hand++ {
			if mains[hand] == 0 {
				return fmt.Errorf("bar %d: nothing stands on staff %d", b.Number, hand)
			}
		}
	}
	if len(open) > 0 {
		return fmt.Errorf("%d ties lead nowhere", len(open))
	}
	return nil
}

// sounds lists the notes of a page as they sound.
func sounds(p Page) []score.Note {
	var out []score.Note
	at := map[int]int{}
	for _, b := range p.Bars {
		for _, v := range b.Voices {
			for _, e := range v.Events {
				for _, h := range e.Heads {
					if !h.First {
						out[at[h.Note]].Dur += e.Dur
						continue
					}
					at[h.Note] = len(out)
					n := p.Source.Notes[h.Note]
					n.At, n.Dur = e.At, e.Dur
					out = append(out, n)
				}
				for _, g := range e.Graces {
					for _, h := range g.Heads {
						out = append(out, p.Source.Notes[h.Note])
					}
				}
			}
		}
	}
	slices.SortFunc(out, func(a, b score.Note) int { return cmp.Or(score.Compare(a, b), cmp.Compare(a.ID, b.ID)) })
	return out
}

// TestRandom: what can be written is written exactly.
func TestRandom(t *testing.T) {
	for seed := range uint64(1000) {
		s := scoretest.Random(rand.New(rand.NewPCG(seed, 0)))
		p, problems := Of(s)
		if len(problems) > 0 {
			t.Fatalf("seed %d: %v\n%s", seed, problems, p)
		}
		if err := check(p); err != nil {
			t.Fatalf("seed %d: %v\n%s", seed, err, p)
		}
		got, want := sounds(p), s.Notes
		if len(got) != len(want) {
			t.Fatalf("seed %d: %d notes, want %d\n%s", seed, len(got), len(want), p)
		}
		for i := range got {
			if got[i] != want[i] {
				t.Fatalf("seed %d: %+v, want %+v\n%s", seed, got[i], want[i], p)
			}
		}
		if again, _ := Of(s); again.String() != p.String() {
			t.Fatalf("seed %d: another page the second time", seed)
		}
	}
}

// FuzzOf: any score that Of takes makes a sound page; no note is lost without a
// Problem.
func FuzzOf(f *testing.F) {
	for seed := range uint64(20) {
		b := make([]byte, 200)
		r := rand.New(rand.NewPCG(seed, 7))
		for i := range b {
			b[i] = byte(r.UintN(256))
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s := scoretest.Wild(data)
		p, problems := Of(s)
		if problems.Err() != nil {
			return
		}
		if err := check(p); err != nil {
			t.Fatalf("%v\n%s", err, p)
		}
		if got := len(sounds(p)); got != len(s.Notes) && len(problems) == 0 {
			t.Fatalf("%d notes of %d, and no problem told\n%s", got, len(s.Notes), p)
		}
	})
}

func BenchmarkOf(b *testing.B) {
	for _, bars := range []int{32, 128, 512} {
		s := scoretest.Steady(bars)
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, ps := Of(s); len(ps) > 0 {
					b.Fatal(ps)
				}
			}
		})
	}
}

// The ornaments of a tune that are written out are small; fills and runs, which are played
// as the tune is, and a lone exercise are not.
func TestOrnamentsAreSmall(t *testing.T) {
	for _, tune := range []bool{true, false} {
		s := scoretest.MustParse("meter 4/4\nkey C\nR1 C5:1/2 D5:1/4 <E4+E5>:1/4\nL1 C3:1/2 E3:1/2")
		kinds := map[string]score.Kind{"D5": score.Ornamental, "E5": score.Run, "E4": score.Chord, "E3": score.Run}
		if tune {
			kinds["C5"] = score.Melody
		}
		for i, n := range s.Notes {
			s.Notes[i].Origin.Kind = kinds[n.Pitch.String()]
		}
		p, problems := Of(s)
		if problems.Err() != nil {
			t.Fatal(problems)
		}
		var small []string
		for _, v := range p.Bars[0].Voices {
			for _, e := range v.Events {
				if e.Small {
					small = append(small, e.Heads[0].Pitch.String())
				}
			}
		}
		if want := map[bool]string{true: "[D5]", false: "[]"}[tune]; fmt.Sprint(small) != want {
			t.Errorf("with a tune %t: small are %v", tune, small)
		}
	}
}
