package arrange

import (
	"context"
	"testing"

	"gradatim/internal/scoretest"
)

// TestEchoesHoldLittle: of the figures that a cell admits, a plan holds one list however often
// the cell returns, but of techniques that vary what they play; what it copies is what the search looks at, which is bounded.
func TestEchoesHoldLittle(t *testing.T) {
	one := tune(t, fourFour, "C", "C E5:4 G5:4 | Am A4:2 C5:2 E5:4 | Dm F5:4 D5:4 | G7 B4:4 D5:4 | C C5:2 D5:2 E5:4 | F F5:4 A5:4 | G7 G5:4 F5:4 | C E5:4 C5:4")
	count := func(bars int) (lists, options, copies int) {
		p := prepared(t, scoretest.Repeated(one, bars), 5)
		seen := map[*option]bool{}
		for i := range p.cells {
			for _, o := range append(p.cells[i].leftOffers, p.cells[i].rightOffers...) {
				if len(o.admitted) > 0 && !o.by.Varies && !seen[&o.admitted[0]] {
					seen[&o.admitted[0]] = true
					lists, options = lists+1, options+len(o.admitted)
				}
				if o.later != 0 {
					copies += len(o.few)
				}
			}
		}
		return lists, options, copies
	}
	lists, options, copies := count(32)
	more, longer, further := count(128)
	t.Logf("32 bars: %d lists of %d figures, %d copied; 128 bars: %d, %d, %d", lists, options, copies, more, longer, further)
	if copies == 0 || more > lists*5/4 || longer > options*5/4 {
		t.Errorf("lists %d, then %d; figures %d, then %d; copied %d", lists, more, options, longer, copies)
	}
	if per, then := copies/32, further/128; then > per*3/2 {
		t.Errorf("a bar copies %d figures, of the longer tune %d", per, then)
	}
}

// TestEchoesAtOtherDensities: a plan at another density that is made from one with echoes has the figures that
// it would have alone.
func TestEchoesAtOtherDensities(t *testing.T) {
	one := tune(t, fourFour, "C", "C E5:4 G5:4 | Am A4:2 C5:2 E5:4 | Dm F5:4 D5:4 | G7 B4:4 D5:4")
	p := prepared(t, scoretest.Repeated(one, 16), 4)
	opt := p.opt
	opt.Density = 6
	from, err := Plan{p}.WithDensity(context.Background(), 6)
	if err != nil {
		t.Fatal(err)
	}
	alone, err := Prepare(context.Background(), p.song, p.sheet, opt)
	if err != nil {
		t.Fatal(err)
	}
	moved := 0
	for i := range alone.p.cells {
		a, b := alone.p.cells[i].leftOffers, from.p.cells[i].leftOffers
		if len(a) != len(b) {
			t.Fatalf("cell %d: %d offers and %d", i, len(a), len(b))
		}
		for k := range a {
			if len(a[k].few) != len(b[k].few) {
				t.Fatalf("cell %d, %s: %d figures and %d", i, a[k].by.ID, len(a[k].few), len(b[k].few))
			}
			for j, x := range a[k].few {
				y := b[k].few[j]
				if x.cost != y.cost || x.first != y.first || x.last != y.last || x.Tones[0] != y.Tones[0] {
					t.Errorf("cell %d, %s: %+v and %+v", i, a[k].by.ID, x.Tones, y.Tones)
				}
				if x.Tones[0].At < alone.p.cells[i].At || x.Tones[0].At >= alone.p.cells[i].End {
					t.Errorf("cell %d, %s begins outside", i, a[k].by.ID)
				}
			}
			if b[k].later != 0 {
				moved++
			}
		}
	}
	if moved == 0 {
		t.Error("nothing returned: the test shows nothing")
	}
}
