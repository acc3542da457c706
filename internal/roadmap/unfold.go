package roadmap

import (
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Unfold writes out in playing order a song that is in the order of its page; one
// without signs it returns as it is.
func Unfold(song leadsheet.Song) leadsheet.Song {
	if !slices.ContainsFunc(song.Bars, func(b leadsheet.Bar) bool { return b.Signs != Signs{} }) {
		return song
	}
	signs := make([]Signs, len(song.Bars))
	for i, b := range song.Bars {
		signs[i] = b.Signs
	}
	order, _ := Route(signs)
	out := song
	out.Bars, out.Melody, out.Chords = nil, nil, nil
	var now theory.Dur
	w := folder{song: song}
	for _, o := range order {
		b := song.Bars[o.Bar]
		v := visit{at: b.At, dur: b.Dur}
		for _, n := range w.notes(v) {
			n.At += now - v.at
			out.Melody = append(out.Melody, n)
		}
		for _, c := range w.chords(v) {
			if c.At += now - v.at; len(out.Chords) == 0 || c.At > now || out.Chords[len(out.Chords)-1].Chord != c.Chord {
				out.Chords = append(out.Chords, c)
			}
		}
		b.At, b.Pass, b.Signs = now, o.Pass, Signs{}
		out.Bars = append(out.Bars, b)
		now += b.Dur
	}
	return out
}
