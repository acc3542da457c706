package account

import (
	"fmt"
	"strings"

	"gradatim/leadsheet"
)

// sheetRun is a stretch of the sheet's bars that is played through.
type sheetRun struct {
	From int `json:"from"`
	To   int `json:"to"`
}

// orderOf is the order in which the bars of the sheet are played: one run where it has
// no repeats and jumps.
func orderOf(song leadsheet.Song) []sheetRun {
	out := []sheetRun{}
	for _, b := range song.Bars {
		if b.Part != leadsheet.Tune {
			continue
		}
		if n := len(out); n > 0 && b.Sheet == out[n-1].To+1 {
			out[n-1].To++
		} else {
			out = append(out, sheetRun{b.Sheet, b.Sheet})
		}
	}
	return out
}

// orderText is the order for a reader; "" where it is straight through.
func orderText(song leadsheet.Song) string {
	runs := orderOf(song)
	if len(runs) < 2 {
		return ""
	}
	var out []string
	for _, r := range runs {
		if r.From == r.To {
			out = append(out, fmt.Sprint(r.From))
		} else {
			out = append(out, fmt.Sprintf("%d–%d", r.From, r.To))
		}
	}
	return strings.Join(out, ", ")
}
