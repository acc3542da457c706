package score

import (
	"regexp"
	"strconv"

	"gradatim/theory"
)

// onTime reads words that say how loud a place is on one of its times: "2nd time f",
// "(2. Mal p)" (common practice, no source).
var onTime = regexp.MustCompile(`^\(?([2-9])(?:nd|rd|th|\.)? (?:time|Mal|volta):? (p{1,3}|mp|mf|f{1,3})\)?$`)

// OnTime returns the time and the dynamic sign of a direction in words that says how loud
// its place is when it is played again.
func (d Direction) OnTime() (time int, sign string, ok bool) {
	if d.Kind != Words {
		return 0, "", false
	}
	m := onTime.FindStringSubmatch(d.Text)
	if m == nil {
		return 0, "", false
	}
	time, _ = strconv.Atoi(m[1])
	return time, m[2], true
}

// louder is the loudness of a later time that is in force, and where on the page it began.
type louder struct {
	at   int // index of the bar
	sign string
}

// timed are the directions of a stretch as they hold on the times that its bars are
// played: a sign for that time goes before what else stands there, one for another time is
// none. over is what was in force from an earlier stretch, which begins at bar first of
// the page, and what is afterwards.
func (s Score) timed(part Score, first int, times []int, over louder) ([]Direction, louder) {
	if over.sign != "" && first <= over.at {
		over = louder{}
	}
	set := map[theory.Dur]bool{}
	for _, d := range part.Directions {
		if time, sign, ok := d.OnTime(); ok && times[part.BarAt(d.At)] == time {
			set[d.At] = true
			over = louder{first + part.BarAt(d.At), sign}
		}
	}
	printed := func(d Direction) bool { // on the page, and not only said again where it is cut
		at := s.Bars[first].At + d.At
		for _, o := range s.Directions {
			if o.At == at && holds(o) {
				return true
			}
		}
		return false
	}
	var out []Direction
	for _, d := range part.Directions {
		time, sign, timed := d.OnTime()
		switch here := set[d.At]; {
		case timed && times[part.BarAt(d.At)] == time:
			out = append(out, Direction{At: d.At, Kind: Dynamic, Hand: Right, Text: sign})
			continue
		case timed, here && holds(d):
			continue
		case holds(d) && d.At == 0 && over.sign != "" && first > over.at && !printed(d):
			d.Text = over.sign
		case holds(d) && (first+part.BarAt(d.At) > over.at):
			over = louder{}
		}
		out = append(out, d)
	}
	return out, over
}
