package arrange

import (
	"math/rand/v2"
	"testing"

	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
)

// TestProgressionAgainstCountingOut compares the search over chords with all ways
// counted out: what the cheapest costs within the budgets, which of equals it is, and
// what each reading would cost the whole.
func TestProgressionAgainstCountingOut(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	ties, dearer, spent := 0, 0, 0
	for _, text := range []string{
		"F F4:4 Dm C5:4 | Bb F5:4 C Bb4:4 | F A4:4 Dm C5:4",
		"C E4:8 | A7 C#5:8 | Dm F5:8 | G7 B4:8 | C C5:8",
		"G B4:4 E7 D5:4 | Am C5:4 D7 F#4:4 | G G4:8",
	} {
		for n := 2; n <= 5; n++ {
			song := tune(t, fourFour, text[:1], text)
			swing, err := Prepare(t.Context(), song, harmony.Analyse(song), Options{Level: level(n), Idiom: idiom.Guess{Idiom: kindOf("swing")}}) // which has most to choose from
			if err != nil {
				t.Fatal(err)
			}
			p := swing.p
			for range 6 {
				q := *p
				q.level.PerBar, q.level.PerPhrase = r.IntN(3), r.IntN(4)
				lattice := make([][]reading, len(p.lattice))
				for i, rs := range p.lattice {
					for range min(len(rs), 3) {
						x := rs[r.IntN(len(rs))]
						x.cost /= 1 + r.IntN(8) // so that there are ties
						lattice[i] = append(lattice[i], x)
					}
				}
				checkProgression(t, &q, lattice, &ties, &dearer, &spent)
			}
		}
	}
	if ties < 10 || dearer < 200 || spent < 10 {
		t.Errorf("%d ties, %d dearer readings and %d pieces that spend were compared: too few to tell", ties, dearer, spent)
	}
}

// checkProgression counts out all ways: what is chosen is what is spent, then the reading.
func checkProgression(t *testing.T, p *piece, lattice [][]reading, ties, dearer, spent *int) {
	t.Helper()
	b := budget{p.level.PerBar, p.level.PerPhrase}
	all := []way{{}}
	var prev *stage
	for i, rs := range lattice {
		if len(rs) == 0 {
			continue
		}
		st := &stage{span: i, readings: rs}
		span := p.an.Spans[i]
		bar := p.song.BarAt(span.At)
		newBar, newPhrase := true, true
		if prev != nil {
			st.steps, st.chains = p.steps(prev, st)
			last := p.song.BarAt(p.an.Spans[prev.span].End - 1)
			newBar, newPhrase = last != bar, last/4 != bar/4
		}
		var more []way
		for _, w := range all {
			for r := range rs {
				state, cost, chromatic := 0, rs[r].cost, rs[r].chromatic
				if prev != nil {
					q := w.second(w.last())
					state = w.first(w.last())
					cost += int(st.steps[q*len(rs)+r])
					if st.chains[q*len(rs)+r] {
						chromatic = 0
					}
				}
				to, ok := b.spend(state, chromatic, newBar, newPhrase, span.Dur() > p.song.Bars[bar].Dur)
				if ok {
					more = append(more, w.on(cost, to, r))
				}
			}
		}
		all, prev = more, st
	}
	pr := p.progress(lattice, nil)
	if pr.dead != (len(all) == 0) {
		t.Errorf("dead: %t, counted out %d ways", pr.dead, len(all))
	}
	if len(all) == 0 {
		return
	}
	best, tie := cheapest(all)
	if tie {
		*ties++
	}
	for k := range pr.stages {
		if best.first(k) > 0 {
			*spent++
			break
		}
	}
	if pr.cost() != best.cost {
		t.Errorf("the cheapest costs %d, counted out %d", pr.cost(), best.cost)
	}
	for k, st := range pr.stages {
		if st.chosen != best.second(k) {
			t.Errorf("span %d has reading %d, counted out %d", st.span, st.chosen, best.second(k))
		}
		for r, got := range st.extra {
			want := extra(all, best, never, func(w way) bool { return w.second(k) == r })
			if got != want {
				t.Errorf("span %d, reading %d costs %d more, counted out %d", st.span, r, got, want)
			}
			if want > 0 && want < never {
				*dearer++
			}
		}
	}
}
