package words

import (
	"fmt"
	"slices"
	"strconv"

	"gradatim/leadsheet"
)

// Span are the bars from one to another of the same part; of two parts, these two alone.
func Span(from, to int) Bars {
	a, _ := leadsheet.PartOf(from)
	if b, _ := leadsheet.PartOf(to); a != b {
		return Bars{from, to}
	}
	var out Bars
	for n := from; n <= to; n++ {
		out = append(out, n)
	}
	return out
}

// bars names bars, runs drawn together: "bar 3", "bars 1–4 and 9", "the pick-up and
// bar 1", "bars 3 and 4 of the introduction and bar 1".
func (w *Words) bars(bars Bars, form string) string {
	bars = slices.Clone(bars)
	slices.Sort(bars)
	bars = slices.Compact(bars)
	var of [leadsheet.Tag + 1][]int
	for _, place := range bars {
		p, n := leadsheet.PartOf(place)
		of[p] = append(of[p], n)
	}
	var parts []string
	for _, p := range []leadsheet.Part{leadsheet.Introduction, leadsheet.Tune, leadsheet.Tag} {
		key, pickup, numbers := "bars."+p.String(), "bars.pickup-"+p.String(), of[p]
		if p == leadsheet.Tune {
			key, pickup = "bars.list", "bars.pickup"
		}
		if len(numbers) > 0 && numbers[0] == 0 {
			parts, numbers = append(parts, w.inForm(pickup, form)), numbers[1:]
		}
		if len(numbers) > 0 {
			parts = append(parts, w.inForm(key, form, "n", len(numbers), "bars", runs(numbers)))
		}
	}
	return w.List(parts)
}

// runs draws numbers in a row together.
func runs(numbers []int) []string {
	var parts []string
	for i := 0; i < len(numbers); {
		j := i
		for j+1 < len(numbers) && numbers[j+1] == numbers[j]+1 {
			j++
		}
		switch {
		case j == i:
			parts = append(parts, strconv.Itoa(numbers[i]))
		case j == i+1:
			parts = append(parts, strconv.Itoa(numbers[i]), strconv.Itoa(numbers[j]))
		default:
			parts = append(parts, fmt.Sprintf("%d–%d", numbers[i], numbers[j]))
		}
		i = j + 1
	}
	return parts
}
