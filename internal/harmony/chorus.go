package harmony

import (
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// TwelveBar tells whether the song is made of twelve-bar choruses: I in the first
// bar, IV in the fifth, V (or ii) in the ninth.
func (a Analysis) TwelveBar(song leadsheet.Song) bool {
	ss := a.Spans
	var starts []theory.Dur
	for _, b := range song.Bars {
		if !b.Pickup && 2*b.Dur > b.Meter.OrCommon().Bar() {
			starts = append(starts, b.At)
		}
	}
	if len(starts) < 12 || len(starts)%12 != 0 {
		return false
	}
	on := func(bar int, rels ...int) bool {
		g := spanIndex(ss, starts[bar])
		return g >= 0 && ss[g].Sounding() && slices.Contains(rels, above(ss[g].Key.Tonic, ss[g].Chord.Root))
	}
	return on(0, 0) && on(4, 5) && on(8, 7, 2)
}
