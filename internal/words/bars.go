package words

import (
	"fmt"
	"slices"
	"strconv"
)

// Span are the bars from one to another.
func Span(from, to int) Bars {
	var out Bars
	for n := from; n <= to; n++ {
		out = append(out, n)
	}
	return out
}

// bars names bars, runs drawn together: "bar 3", "bars 1–4 and 9", "the pick-up and
// bar 1".
func (w *Words) bars(bars Bars, form string) string {
	bars = slices.Clone(bars)
	slices.Sort(bars)
	bars = slices.Compact(bars)
	pickup := len(bars) > 0 && bars[0] == 0
	if pickup {
		bars = bars[1:]
	}
	var parts []string
	for i := 0; i < len(bars); {
		j := i
		for j+1 < len(bars) && bars[j+1] == bars[j]+1 {
			j++
		}
		switch {
		case j == i:
			parts = append(parts, strconv.Itoa(bars[i]))
		case j == i+1:
			parts = append(parts, strconv.Itoa(bars[i]), strconv.Itoa(bars[j]))
		default:
			parts = append(parts, fmt.Sprintf("%d–%d", bars[i], bars[j]))
		}
		i = j + 1
	}
	switch {
	case pickup && len(bars) == 0:
		return w.inForm("bars.pickup", form)
	case pickup:
		return w.inForm("bars.and", form, "pickup", w.inForm("bars.pickup", form), "bars", w.inForm("bars.list", form, "n", len(bars), "bars", parts))
	case len(bars) == 0:
		return ""
	}
	return w.inForm("bars.list", form, "n", len(bars), "bars", parts)
}
