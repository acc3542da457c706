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

// OnPage is a song in the order of a page, with signs where it comes again, or as it is
// played where nothing does. A chord is said again where a repeat or a jump may lead to.
func OnPage(song leadsheet.Song) leadsheet.Song {
	dense := song
	dense.Chords = nil
	k := 0
	for _, b := range song.Bars {
		for ; k < len(song.Chords) && song.Chords[k].At <= b.At; k++ {
			dense.Chords = append(dense.Chords, song.Chords[k])
		}
		if n := len(dense.Chords); n > 0 && dense.Chords[n-1].At < b.At {
			c := dense.Chords[n-1]
			c.At = b.At
			dense.Chords = append(dense.Chords, c)
		}
		for ; k < len(song.Chords) && song.Chords[k].At < b.End(); k++ {
			dense.Chords = append(dense.Chords, song.Chords[k])
		}
	}
	f, ok := Fold(dense, 0)
	if !ok {
		return song
	}
	out := f.Song
	out.Chords = nil
	for _, c := range f.Song.Chords {
		i := out.BarAt(c.At)
		if n := len(out.Chords); n == 0 || out.Chords[n-1].Chord != c.Chord || out.Bars[i].At == c.At && out.Joint(i) {
			out.Chords = append(out.Chords, c)
		}
	}
	return out
}
