package harmony

import (
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// spans lays the chord marks end to end. Of several marks at one place the last
// written counts; marks outside the bars are drawn to the nearest edge or left
// out.
func spans(song leadsheet.Song) []Span {
	if len(song.Bars) == 0 {
		return nil
	}
	start, end := song.Bars[0].At, song.End()
	if end <= start {
		return nil
	}
	order := make([]int, 0, len(song.Chords))
	for i, c := range song.Chords {
		if c.At < end {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return int(min(1, max(-1, song.Chords[a].At-song.Chords[b].At)))
	})
	out := make([]Span, 0, len(order)+1)
	out = append(out, Span{At: start, Mark: -1, Silent: true})
	for _, i := range order {
		m := song.Chords[i]
		s := Span{At: max(m.At, start), Mark: i, Unknown: m.Unknown}
		if !m.Unknown {
			s.Chord, s.Silent = m.Chord, m.Chord.Silent()
		}
		last := &out[len(out)-1]
		switch {
		case last.At == s.At:
			*last = s
		case sameChord(song, *last, s):
		default:
			out = append(out, s)
		}
		// An overwritten mark can leave two equal spans side by side.
		if n := len(out); n > 1 && sameChord(song, out[n-2], out[n-1]) {
			out = out[:n-1]
		}
	}
	out = splitAtKeys(song, out)
	for i := range out {
		if i+1 < len(out) {
			out[i].End = out[i+1].At
		} else {
			out[i].End = end
		}
	}
	return out
}

// sameChord tells whether a new mark merely repeats the chord in force. Silence
// before the first mark is no chord of the sheet's.
func sameChord(song leadsheet.Song, a, b Span) bool {
	if a.Mark < 0 || a.Unknown != b.Unknown || a.Silent != b.Silent || a.Chord != b.Chord {
		return false
	}
	return !a.Unknown || song.Chords[a.Mark].Text == song.Chords[b.Mark].Text
}

// splitAtKeys cuts spans where the key changes and gives each its key.
func splitAtKeys(song leadsheet.Song, in []Span) []Span {
	out := make([]Span, 0, len(in))
	b := 0
	for i, s := range in {
		end := song.End()
		if i+1 < len(in) {
			end = in[i+1].At
		}
		for b+1 < len(song.Bars) && song.Bars[b+1].At <= s.At {
			b++
		}
		s.Key = barKey(song, b)
		out = append(out, s)
		for b+1 < len(song.Bars) && song.Bars[b+1].At < end {
			b++
			if k := barKey(song, b); k != s.Key {
				s.At, s.Key = song.Bars[b].At, k
				out = append(out, s)
			}
		}
	}
	return out
}

// barKey is the declared key of a bar; a bar without one is in the song's key.
func barKey(song leadsheet.Song, bar int) theory.Key {
	if k := song.Bars[bar].Key; k.Valid() {
		return k
	}
	return song.Key
}
