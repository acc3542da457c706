package hand

import (
	"fmt"
	"testing"

	"gradatim/score"
	"gradatim/theory"
)

func TestZZ(t *testing.T) {
	try := func(h score.Hand, wait Micros, keys ...int) {
		var ss []Strike
		for i, k := range keys {
			ss = append(ss, Strike{At: theory.Dur(i) * theory.Eighth, End: theory.Dur(i+1) * theory.Eighth, Keys: []int{k}, Wait: wait})
		}
		out := ""
		fs := Finger(Default(), h, ss)
		for i := range fs {
			out += fmt.Sprintf("%d:%d ", keys[i], fs[i].Keys[0])
		}
		fmt.Println(wait, out)
	}
	for _, w := range []Micros{0, Second / 5, Second * 35 / 100, Second} {
		try(score.Left, w, 36,43,48,52,48,43,43, 50, 53, 59, 53, 50,43, 50, 53, 59, 53, 50)
		try(score.Left, w, 36,43,48,52,48,43,43, 50, 53, 59, 53, 50,43, 50, 53, 59, 53, 50,43, 50, 53, 59, 53, 50,36,43,48,52,48,43)
		try(score.Left, w, 43, 50, 53, 59, 53, 50, 36, 43, 48, 52, 48, 43, 43, 50, 53, 59, 53, 50, 36, 43, 48, 52, 48, 43)
	}
	f := newFingerer(Default(), score.Left, standard)
	for _, x := range [][3]int{{5, 2, 7}, {2, 1, 3}, {1, 2, -6}, {5, 3, 7}, {3, 2, 3}, {2, 1, 6}, {5, 4, 7}, {4, 2, 3}} {
		fmt.Println(x, f.pairs[x[0]][x[1]][-x[2]+farStep], f.pairs[x[0]][x[1]][x[2]+farStep])
	}
}
