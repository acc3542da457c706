package scoretest

import "gradatim/leadsheet"

// Repeated writes a tune out until it has the given number of bars.
func Repeated(s leadsheet.Song, bars int) leadsheet.Song {
	one := s
	for len(s.Bars) < bars {
		shift, more := s.End(), len(s.Bars)
		for _, b := range one.Bars {
			b.At, b.Number, b.Sheet, b.Written = b.At+shift, b.Number+more, b.Sheet+more, b.Written+more
			s.Bars = append(s.Bars[:len(s.Bars):len(s.Bars)], b)
		}
		for _, x := range one.Melody {
			x.At += shift
			s.Melody = append(s.Melody[:len(s.Melody):len(s.Melody)], x)
		}
		for _, c := range one.Chords {
			c.At += shift
			s.Chords = append(s.Chords[:len(s.Chords):len(s.Chords)], c)
		}
	}
	return s
}
