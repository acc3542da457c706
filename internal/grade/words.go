package grade

import (
	"gradatim/internal/words"
)

// handOf names a hand, to say something of it.
func handOf(i int) words.Message { return words.Tell("hand." + hands[i].String()) }

// tenths writes thousandths with one decimal.
func tenths(milli int) words.Tenths { return words.Tenths(round(max(milli, 0), 100)) }

// where names the place of a feature in a clause of its own; nothing where it has none,
// or where it is the whole piece but for a bar in eight.
func (p *page) where(f Feature, key string) any {
	if !f.Placed || 8*(f.last-f.first+1) >= 7*len(p.bars) {
		return nil
	}
	return words.Tell("grade.where."+key, "Bars", words.Span(f.First, f.Last))
}
