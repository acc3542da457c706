package desk

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"gradatim"
)

// TestOneStaff: of a bar one hand is left, whole, and less tall than both; what is no bar of
// two staves stays as it is.
func TestOneStaff(t *testing.T) {
	engraves(t)
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	st, err := r.desk.state(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	p, _, err := pageOf(context.Background(), st.Session, 3)
	if err != nil {
		t.Fatal(err)
	}
	svgs, err := r.desk.draw(context.Background(), p.Score, gradatim.Layout{From: 4, To: 4, OneSystem: true, Continued: true}, "")
	if err != nil {
		t.Fatal(err)
	}
	both := svgs[0]
	whole, err := r.desk.studio.Engrave(context.Background(), p.Score, gradatim.Layout{From: 4, To: 4, OneSystem: true, Continued: true, Language: "en"})
	if err != nil {
		t.Fatal(err)
	}
	if string(whole.SVG(0)) != string(both) {
		t.Error("what is kept by its cut is another picture")
	}
	tall := func(svg []byte) (mm float64) {
		_, rest, _ := strings.Cut(string(svg), ` height="`)
		fmt.Sscanf(rest, "%gmm", &mm)
		return mm
	}
	for only, letter := range map[string]string{"right": "r", "left": "l"} {
		one := oneStaff(both, only)
		if n := strings.Count(string(one), `<g class="staff">`); n != 1 {
			t.Errorf("%s: %d staves", only, n)
		}
		kept, all := strings.Count(string(one), `<g id="b4-`+letter), strings.Count(string(both), `<g id="b4-`+letter)
		if kept != all || all == 0 || strings.Count(string(one), `<g id="b4-`) != all {
			t.Errorf("%s: %d of %d notes", only, kept, all)
		}
		if open, shut := strings.Count(string(one), "<g"), strings.Count(string(one), "</g>")+empty(one); open != shut {
			t.Errorf("%s: groups are not closed", only)
		}
		if a, b := tall(one), tall(both); a <= 0 || a > b*3/4 {
			t.Errorf("%s: %g mm of %g", only, a, b)
		}
	}
	if got := oneStaff(both, ""); string(got) != string(both) {
		t.Error("both hands are changed")
	}
	if got := oneStaff([]byte("<svg/>"), "left"); string(got) != "<svg/>" {
		t.Error(string(got))
	}
}

// empty counts the groups that have no end of their own.
func empty(svg []byte) int {
	n := 0
	for _, tag := range strings.Split(string(svg), "<g")[1:] {
		if head, _, _ := strings.Cut(tag, ">"); strings.HasSuffix(head, "/") {
			n++
		}
	}
	return n
}
