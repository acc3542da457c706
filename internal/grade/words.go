package grade

import "fmt"

func handName(i int) string { return "The " + hands[i].String() + " hand" }

// count writes "1 note", "2 notes".
func count(n int, what string) string { return fmt.Sprintf("%d %s", n, choose(n, what, what+"s")) }

func choose(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// tenths writes thousandths with one decimal.
func tenths(milli int) string {
	t := round(max(milli, 0), 100)
	return fmt.Sprintf("%d.%d", t/10, t%10)
}

// where names the place of a feature after a few words; nothing where it has
// none, or where it is the whole piece but for a bar in eight.
func (p *page) where(f Feature, words string) string {
	if !f.Placed || 8*(f.last-f.first+1) >= 7*len(p.bars) {
		return ""
	}
	return words + Bars(f.First, f.Last)
}

// Bars names a stretch of printed bars: "bar 7", "bars 9–16", "the pick-up and bars 1–3".
func Bars(first, last int) string {
	switch {
	case first == last && first == 0:
		return "the pick-up"
	case first == last:
		return fmt.Sprintf("bar %d", first)
	case first == 0 && last == 1:
		return "the pick-up and bar 1"
	case first == 0:
		return fmt.Sprintf("the pick-up and bars 1–%d", last)
	}
	return fmt.Sprintf("bars %d–%d", first, last)
}
