package harmony

import "gradatim/leadsheet"

func phrases(song leadsheet.Song) []Phrase {
	var out []Phrase
	full := 0
	for i, b := range song.Bars {
		if len(out) == 0 || b.Section != "" || full == 4 {
			out = append(out, Phrase{First: i, At: b.At, Goal: -1})
			full = 0
		}
		p := &out[len(out)-1]
		p.Last, p.End = i, b.End()
		if !b.Pickup {
			full++
		}
	}
	return out
}
