package teach_test

import (
	"strings"
	"testing"

	"gradatim/score"
)

// TestOneFingering: a bar of a drill whose hand plays just what it plays in a bar of the page
// has the fingers of such a bar.
func TestOneFingering(t *testing.T) {
	type figure struct {
		hand score.Hand
		text string
	}
	read := func(s score.Score) (figures []figure, fingers []string) {
		at := map[[2]int]int{}
		for _, n := range s.Notes {
			b := s.BarAt(n.At)
			k, ok := at[[2]int{b, int(n.Hand)}]
			if !ok {
				k = len(figures)
				at[[2]int{b, int(n.Hand)}] = k
				figures, fingers = append(figures, figure{hand: n.Hand}), append(fingers, "")
			}
			figures[k].text += " " + (n.At - s.Bars[b].At).String() + n.Pitch.String() + string('0'+rune(n.Grace))
			fingers[k] += string('0'+rune(n.Finger)) + string('0'+rune(n.FingerTo))
		}
		return figures, fingers
	}
	same := 0
	for _, tune := range tunes {
		in, l := lessonOf(t, tune)
		for i, level := range l.Levels {
			page := map[figure][]string{}
			fs, fingers := read(in.Pages[i].Score)
			for k, f := range fs {
				page[f] = append(page[f], fingers[k])
			}
			check := func(what string, s score.Score) {
				fs, fingers := read(s)
				for k, f := range fs {
					ways := page[f]
					ok := len(ways) == 0
					for _, w := range ways {
						ok = ok || w == fingers[k]
					}
					if len(ways) > 0 {
						same++
					}
					if !ok {
						t.Errorf("%s, level %d, %s:%s is fingered %s, on the page %v", tune, level.Number, what, f.text, fingers[k], ways)
					}
				}
			}
			for _, d := range level.Drills {
				if strings.Contains(d.Words, "its notes together, one by one") { // the fingers of the run that it slows down
					continue
				}
				check(d.Name, d.Music.Score)
			}
		}
	}
	if same < 20 {
		t.Errorf("only %d bars are as on the page", same)
	}
}
