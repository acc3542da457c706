package arrange

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
)

// small are tunes of a few cells, for what is counted out in full.
var small = []struct{ key, text string }{
	{"C", "C E5:4 G5:4 | F A5:4 C5:4 | G7 B4:4 D5:4 | C C5:8"},
	{"F", "F A4:4 Dm C5:4 | Bb F5:4 C7 Bb4:4 | F A4:8"},
	{"G", "Em7 G5:3 F#5:1 E5:4 | A7 C#5:4 E5:4 | D7 F#5:8 | r:8"},
	{"Bb", "F4:2 | Bb D5:8 | Eb7 G5:4 F5:4 | Cm7 Eb5:4 F7 A4:4"},
}

func prepared(t testing.TB, s leadsheet.Song, n int) *piece {
	t.Helper()
	pl, err := Prepare(context.Background(), s, harmony.Analyse(s), Options{Level: level(n)})
	if err != nil {
		t.Fatal(err)
	}
	return pl.p
}

// fewer leaves each hand at most n of its figures in every cell, taken from all over
// the list and some of them twice, so that there are ties.
func fewer(p *piece, r *rand.Rand, n int) {
	pick := func(os []candidate) []candidate {
		out := []candidate{os[r.IntN(len(os))]}
		for len(out) < n {
			c := os[r.IntN(len(os))]
			c.cost = min(c.cost, 100) // the dear ones, too, are to be chosen now and then
			if r.IntN(3) == 0 {
				c = out[0]
			}
			out = append(out, c)
		}
		return out
	}
	for i := range p.cells {
		d := p.cells[i].deal
		p.cells[i].deal = &deal{left: pick(d.left), right: pick(d.right)}
	}
}

// wholes counts out every way, by nothing but the costs of figures, pairs and moves.
// What is chosen is the figure of the left hand, then of the right.
func wholes(p *piece) []way {
	out := []way{{}}
	for i := range p.cells {
		c, d := &p.cells[i], p.cells[i].deal
		var more []way
		for _, w := range out {
			for a := range d.left {
				for b := range d.right {
					both, ok := p.together(c, d.left[a].option, d.right[b].option)
					if !ok {
						continue
					}
					cost := both + d.left[a].cost + d.right[b].cost
					if i > 0 {
						before := p.cells[i-1].deal
						l := p.moveLeft(&p.cells[i-1], before.left[w.first(i-1)].option, c, d.left[a].option)
						if l >= never {
							continue
						}
						cost += l + p.moveRight(before.right[w.second(i-1)].option, d.right[b].option)
					}
					more = append(more, w.on(cost, a, b))
				}
			}
		}
		out = more
	}
	return out
}

// TestLatticeAgainstCountingOut compares the search with all ways counted out: what
// the cheapest costs, which of equals it is, and what every pair of figures would cost
// the whole.
func TestLatticeAgainstCountingOut(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	ties, dearer := 0, 0
	for _, tt := range small {
		for n := 1; n <= 5; n++ {
			p := prepared(t, tune(t, fourFour, tt.key, tt.text), n)
			p.cells = p.cells[:min(4, len(p.cells))]
			dealt := slices.Clone(p.cells)
			for range 4 {
				copy(p.cells, dealt)
				fewer(p, r, 1+r.IntN(3))
				all := wholes(p)
				l, dead, err := p.search(t.Context(), nil)
				if err != nil {
					t.Fatal(err)
				}
				if len(all) == 0 {
					if dead < 0 {
						t.Errorf("%s at level %d: a way was found where there is none", tt.key, n)
					}
					continue
				}
				best, tie := cheapest(all)
				if tie {
					ties++
				}
				left, right := l.path()
				var found way
				for i := range left {
					found = found.on(0, left[i], right[i])
				}
				if l.cost() != best.cost || !slices.Equal(found.keys, best.keys) {
					t.Errorf("%s at level %d: %d by %v, counted out %d by %v", tt.key, n, l.cost(), found.keys, best.cost, best.keys)
				}
				if l, err = l.withRests(t.Context(), nil); err != nil {
					t.Fatal(err)
				}
				for i := range p.cells {
					got, B := l.through(i, p.cells[i].deal), len(p.cells[i].deal.right)
					for k, got := range got {
						want := extra(all, best, absent, func(w way) bool { return w.first(i) == k/B && w.second(i) == k%B })
						one := &deal{left: p.cells[i].deal.left[k/B : k/B+1], right: p.cells[i].deal.right[k%B : k%B+1]}
						if alone := l.through(i, one)[0]; int(alone) != want {
							t.Errorf("%s at level %d, cell %d: pair %d, %d alone costs %d more, counted out %d", tt.key, n, i, k/B, k%B, alone, want)
						}
						if int(got) != want {
							t.Errorf("%s at level %d, cell %d: pair %d, %d costs %d more, counted out %d", tt.key, n, i, k/B, k%B, got, want)
						}
						if want > 0 && want < absent {
							dearer++
						}
					}
				}
			}
		}
	}
	if ties < 10 || dearer < 200 {
		t.Errorf("%d ties and %d dearer pairs were compared: too few to tell", ties, dearer)
	}
}

// TestLatticeShares changes cells of a search one after the other and compares what is
// shared and worked out anew with a search from the start.
func TestLatticeShares(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	shared := 0
	for n := 1; n <= 5; n++ {
		p := prepared(t, tune(t, fourFour, "F", turnaroundTune+" | "+turnaroundTune), n)
		search := func(p *piece, earlier *lattice) *lattice {
			l, _, err := p.search(t.Context(), earlier)
			if err == nil {
				l, err = l.withRests(t.Context(), earlier)
			}
			if err != nil {
				t.Fatal(err)
			}
			return l
		}
		now := search(p, nil)
		for range 12 {
			i := r.IntN(len(p.cells))
			q := *p
			q.cells = slices.Clone(p.cells)
			d := q.cells[i].deal
			q.cells[i].deal = &deal{left: d.left[r.IntN(len(d.left)):], right: d.right}
			next, fresh := search(&q, now), search(&q, nil)
			if next.cost() != fresh.cost() {
				t.Fatalf("level %d, cell %d: %d, from the start %d", n, i, next.cost(), fresh.cost())
			}
			for k := range fresh.nodes {
				a, b := next.nodes[k], fresh.nodes[k]
				if a.floor != b.floor || !slices.Equal(a.sum, b.sum) || !slices.Equal(a.fromLeft, b.fromLeft) || !slices.Equal(a.fromRight, b.fromRight) {
					t.Fatalf("level %d, cell %d changed: cell %d differs from a search from the start", n, i, k)
				}
				if x, y := next.rests[k], fresh.rests[k]; x.floor != y.floor || !slices.Equal(x.sum, y.sum) {
					t.Fatalf("level %d, cell %d changed: the ways on from %d differ", n, i, k)
				}
				if next.nodes[k] == now.nodes[k] {
					shared++
				}
			}
			p, now = &q, next
		}
	}
	if shared < 600 {
		t.Errorf("only %d cells were shared", shared)
	}
}
