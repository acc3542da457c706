package desk

import (
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// Bars are counted as above the staff: bar 1 is the first whole one, and what stands before
// it is the pick-up, at every place where a reader sees it.

// inBars names a stretch of bars within a sentence. last < first is one that goes on into
// what stands after the tune, whose bars are counted anew.
func (d *Desk) inBars(first, last int) string {
	if last < first {
		return d.say("bars.on", "From", first)
	}
	return d.words.Value(words.Span(first, last))
}

// barsText names a stretch of bars where a text begins.
func (d *Desk) barsText(first, last int) string { return words.Upper(d.inBars(first, last)) }

// mostListed bounds a list of bars.
const mostListed = 8

// barList names some bars.
func (d *Desk) barList(bars []int) string {
	text := d.words.Value(words.Bars(bars[:min(len(bars), mostListed)]))
	if len(bars) > mostListed {
		text = d.say("bars.more", "Bars", text)
	}
	return text
}

// length says how many bars a tune has, the pick-up apart.
func (d *Desk) length(song leadsheet.Song) string {
	n := len(song.Bars)
	if n > 1 && song.Bars[0].Pickup && song.Bars[0].Number == 0 {
		return d.say("bars.length", "Bars", d.say("tunes.bars", "n", n-1))
	}
	return d.say("tunes.bars", "n", n)
}
