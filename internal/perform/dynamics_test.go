package perform_test

import (
	"math"
	"testing"

	"gradatim/internal/perform"
	"gradatim/internal/scoretest"
	"gradatim/score"
	"gradatim/theory"
)

func TestMelodyIsBroughtOut(t *testing.T) {
	for _, text := range []string{tune, walk} {
		var loud, rest, n, m float64
		for _, k := range play(t, text, perform.Options{}).Notes {
			if k.Melody {
				loud += float64(k.Velocity)
				n++
			} else {
				rest += float64(k.Velocity)
				m++
			}
		}
		if loud/n < rest/m+10 {
			t.Errorf("melody %.0f, accompaniment %.0f", loud/n, rest/m)
		}
	}
}

func TestDynamics(t *testing.T) {
	p := play(t, `
meter 4/4
key C
tempo 100
R1 C5:1/4 D5:1/4 E5:1/4 G5:1/4 E5:1/8 D5:3/8 C5:1/2 <E4+C5>:1/4 C5:1/4*accent C5:1/4*v-30 C5:1/4
L1 C3:1/2 E3:1/2*ghost C3:1/1 C3:1/1
sign 2 R dynamic p
`, perform.Options{Even: true})
	v := func(hand score.Hand, num, den int64) int { return at(t, p, hand, num, den).Velocity }
	if peak := v(score.Right, 3, 4); peak <= v(score.Right, 0, 1) || peak <= v(score.Right, 3, 2) {
		t.Errorf("the phrase does not rise to its peak: %d, %d, %d", v(score.Right, 0, 1), peak, v(score.Right, 3, 2))
	}
	if ghost := v(score.Left, 1, 2); ghost > 40 {
		t.Errorf("ghost note struck with %d", ghost)
	}
	if sync := v(score.Right, 9, 8); sync <= v(score.Right, 1, 1) {
		t.Errorf("syncopation %d, the beat before %d", sync, v(score.Right, 1, 1))
	}
	if p, mf := v(score.Right, 11, 4), v(score.Right, 0, 1); p > mf-10 {
		t.Errorf("piano %d, mezzo forte %d", p, mf)
	}
	if acc, plain, soft := v(score.Right, 9, 4), v(score.Right, 11, 4), v(score.Right, 5, 2); acc < plain+8 || soft > plain-10 {
		t.Errorf("accent %d, plain %d, 30 %% softer %d", acc, plain, soft)
	}
	for _, n := range p.Notes { // E4 under C5
		if n.At == 2*theory.Whole && n.Key == 64 && n.Velocity > v(score.Right, 11, 4)-8 {
			t.Errorf("an inner note is struck with %d", n.Velocity)
		}
	}
}

// A score read from a file may say which notes are the tune and nothing else:
// then the rest is still bass and chord.
func TestOnlyTheTuneIsNamed(t *testing.T) {
	s := scoretest.MustParse(`
meter 4/4
tempo 100
R1 <C5+E5>:1/2 <D5+F5>:1/2
L1 <C3+G3>:1/2 <G2+D3>:1/2
`)
	for i, n := range s.Notes {
		if n.Pitch.String() == "C5" || n.Pitch.String() == "D5" { // not the top
			s.Notes[i].Origin = score.Origin{Kind: score.Melody, Melody: 1 + i}
		}
	}
	p, err := perform.Perform(s, perform.Options{Even: true})
	if err != nil {
		t.Fatal(err)
	}
	v := map[int]int{}
	for _, n := range p.Notes {
		v[n.Key] = n.Velocity
		if n.Melody != (n.Key == 72 || n.Key == 74) {
			t.Errorf("key %d: tune %v", n.Key, n.Melody)
		}
	}
	if v[72] < v[76]+15 || v[48] < v[55]+5 {
		t.Errorf("struck with %v", v)
	}
}

// A sign of the lower staff is for the left hand; up to two steps below the tune
// are the balance that it has in any case.
func TestHandsApart(t *testing.T) {
	left := func(signs string) int {
		p := play(t, "meter 4/4\nkey C\ntempo 100\nR1 C5:1/1\nL1 C3:1/1\n"+signs, perform.Options{Even: true})
		return at(t, p, score.Left, 0, 1).Velocity
	}
	plain := left("")
	for _, c := range []struct {
		upper, lower string
		change       int // sign of the change against no signs at all
	}{{"mf", "p", 0}, {"mf", "pp", -1}, {"f", "mp", 1}, {"mp", "mp", -1}, {"p", "f", 1}} {
		got := left("sign 0 R dynamic " + c.upper + "\nsign 0 L dynamic " + c.lower)
		if d := got - plain; d < 0 != (c.change < 0) || d > 0 != (c.change > 0) {
			t.Errorf("%s over %s: the left hand strikes with %d, %d without signs", c.upper, c.lower, got, plain)
		}
	}
}

// The span of dynamics, as instruments turn velocity into level (SoundFont 2.04,
// default modulators: 40·log10; from memory): at least 18 dB from pp to ff, with
// steps that are all heard and fff above ff. Common practice, no source, for the
// width; the order is the signs' meaning.
func TestSpanOfDynamics(t *testing.T) {
	signs := []string{"ppp", "pp", "p", "mp", "mf", "f", "ff", "fff"}
	level := map[string]float64{} // dB of the average strike, by hand and sign
	for _, hand := range []score.Hand{score.Right, score.Left} {
		last := math.Inf(-1)
		for _, sign := range signs {
			p := play(t, tune+"sign 0 R dynamic "+sign, perform.Options{Even: true})
			sum, n := 0.0, 0
			for _, k := range p.Notes {
				if k.Hand == hand {
					sum += 40 * math.Log10(float64(k.Velocity)/127)
					n++
				}
			}
			db := sum / float64(n)
			if db < last+0.7 || db < last+2 && sign != "fff" {
				t.Errorf("%s hand: %s is %.1f dB, the sign below it %.1f", hand, sign, db, last)
			}
			last, level[hand.String()+sign] = db, db
		}
		if span := level[hand.String()+"ff"] - level[hand.String()+"pp"]; span < 18 || span > 24 {
			t.Errorf("%s hand: %.1f dB from pp to ff", hand, span)
		}
	}
}

// Under a hairpin each strike of a repeated note is louder than the one before, up
// to the sign at its end, in both hands; under a closing one softer.
func TestHairpinIsARamp(t *testing.T) {
	for _, c := range []struct {
		signs string
		sign  int
	}{
		{"sign 0 R dynamic pp\nsign 0 R cresc\nsign 2 R hairpin end\nsign 2 R dynamic ff", 1},
		{"sign 0 R dynamic ff\nsign 0 R dim\nsign 2 R hairpin end\nsign 2 R dynamic pp", -1},
	} {
		p := play(t, `
meter 4/4
key C
tempo 100
R1 C5:1/4 C5:1/4 C5:1/4 C5:1/4 C5:1/4 C5:1/4 C5:1/4 C5:1/4 C5:1 C5:1
L1 <C3+G3>:1/4 <C3+G3>:1/4 <C3+G3>:1/4 <C3+G3>:1/4 <C3+G3>:1/4 <C3+G3>:1/4 <C3+G3>:1/4 <C3+G3>:1/4 C3:1 C3:1
`+c.signs, perform.Options{Even: true})
		for _, key := range []int{72, 55} {
			var strikes []int
			for _, k := range p.Notes {
				if k.Key == key && k.At <= 2*theory.Whole {
					strikes = append(strikes, k.Velocity)
				}
			}
			first, last := strikes[0], strikes[len(strikes)-1]
			for i := 2; i < len(strikes); i += 2 { // beats of equal weight, two by two
				if (strikes[i]-strikes[i-2])*c.sign <= 0 {
					t.Errorf("key %d: %v does not go on", key, strikes)
				}
			}
			if ratio := math.Abs(40 * math.Log10(float64(last)/float64(first))); key == 72 && ratio < 15 {
				t.Errorf("key %d: %v, %.1f dB", key, strikes, ratio)
			}
		}
	}
}

// Accents, and signs for one moment, stand out from the same notes without.
func TestStresses(t *testing.T) {
	v := func(mark, sign string) int {
		p := play(t, "meter 4/4\nkey C\ntempo 100\nR1 C5:1/4 C5:1/4"+mark+" C5:1/4 C5:1/4\n"+sign, perform.Options{Even: true})
		return at(t, p, score.Right, 1, 4).Velocity
	}
	plain := v("", "")
	for _, c := range []struct{ mark, sign string }{{"*accent", ""}, {"", "sign 1/4 R dynamic sfz"}, {"", "sign 1/4 R dynamic fp"}} {
		if got := v(c.mark, c.sign); got < plain+8 {
			t.Errorf("%s %s: struck with %d, plain %d", c.mark, c.sign, got, plain)
		}
	}
	if got := v("", "sign 1/2 R dynamic sfz"); got != plain {
		t.Errorf("a sign for the next note changes this one: %d, plain %d", got, plain)
	}
}

// How long a key is down, as a share of its written length: staccato least, then
// both signs together, then nothing, then tenuto.
func TestTouchAsWritten(t *testing.T) {
	held := func(mark string) float64 {
		p := play(t, "meter 4/4\nkey C\ntempo 60\nR1 <E4+C5>:1/4 <E4+C5>:1/4"+mark+" <F4+D5>:1/4 <E4+C5>:1/4", perform.Options{Even: true, Click: true})
		for _, k := range p.Notes {
			if k.At == theory.Quarter && k.Key == 64 { // the inner note: the tune is joined by itself
				return k.End - k.Start
			}
		}
		t.Fatal("no strike")
		return 0
	}
	staccato, portato, plain, tenuto := held("*stacc"), held("*stacc*tenuto"), held(""), held("*tenuto")
	if !(staccato < 0.55 && staccato+0.15 < portato && portato+0.1 < plain && plain+0.03 < tenuto && tenuto <= 1.01) {
		t.Errorf("held for %.2f, %.2f, %.2f and %.2f of a second", staccato, portato, plain, tenuto)
	}
}
