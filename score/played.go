package score

import (
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
)

// Repeats tells whether the page has signs for another order than that of its bars.
func (s Score) Repeats() bool {
	return slices.ContainsFunc(s.Bars, func(b Bar) bool { return b.Signs != (leadsheet.Signs{}) })
}

// Route is the order in which the bars are played, as indexes.
func (s Score) Route() []int {
	if s.Repeats() {
		signs := make([]leadsheet.Signs, len(s.Bars))
		for i, b := range s.Bars {
			signs[i] = b.Signs
		}
		if visits, _ := roadmap.Route(signs); visits != nil {
			out := make([]int, len(visits))
			for i, v := range visits {
				out[i] = v.Bar
			}
			return out
		}
	}
	out := make([]int, len(s.Bars))
	for i := range out {
		out[i] = i
	}
	return out
}

// Played writes the page out as it is played: what its signs repeat stands there
// again. order tells for each bar which of the page's it is, by index. A bar that comes
// again keeps its number and is as loud as the page says there; the ids of its notes say
// which time it is, see Printed. What is held over a place from which the music jumps
// ends there.
func (s Score) Played() (out Score, order []int) {
	order = s.Route()
	if !s.Repeats() {
		return s, order
	}
	out = s
	out.Bars, out.Notes, out.Chords, out.Lyrics, out.Directions = nil, nil, nil, nil, nil
	out.Notes = slices.Grow(out.Notes, len(s.Notes)*len(order)/len(s.Bars))
	times := make([]int, len(s.Bars))
	var over louder
	for k := 0; k < len(order); {
		run := k + 1
		for run < len(order) && order[run] == order[run-1]+1 {
			run++
		}
		part := s.stretch(order[k], order[run-1], k == 0)
		shift := out.End()
		for i := range part.Bars {
			b := part.Bars[i]
			times[order[k+i]]++
			b.At, b.Signs, b.Pass = b.At+shift, leadsheet.Signs{}, times[order[k+i]]
			out.Bars = append(out.Bars, b)
		}
		for _, n := range part.Notes {
			if time := times[order[k+part.BarAt(n.At)]]; time > 1 {
				n.ID += again + strconv.Itoa(time)
			}
			n.At += shift
			out.Notes = append(out.Notes, n)
		}
		for _, c := range part.Chords {
			c.At += shift
			out.Chords = append(out.Chords, c)
		}
		for _, y := range part.Lyrics {
			y.At += shift
			out.Lyrics = append(out.Lyrics, y)
		}
		part.Directions, over = s.timed(part, order[k], times[order[k]:], over)
		for _, d := range part.Directions {
			d.At += shift
			out.Directions = append(out.Directions, d)
		}
		k = run
	}
	return out.Finish(), order
}

// again stands in the id of a note that is played again, before the time.
const again = "@"

// Printed is the id on the page of a note that Played has.
func Printed(id string) string {
	id, _, _ = strings.Cut(id, again)
	return id
}
