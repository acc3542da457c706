package arrange

import (
	"cmp"
	"slices"

	"gradatim/internal/idiom"
	"gradatim/score"
	"gradatim/theory"
)

// express writes how the page is to be played: how loud, and what is joined.
func (p *piece) express(s *score.Score) {
	p.writeDynamics(s)
	p.writeSlurs(s)
}

// writeDynamics signs the start, and sections other than the first, such as the
// bridge of AABA, a step louder. A page without sections' dynamics has the one level to listen for.
func (p *piece) writeDynamics(s *score.Score) {
	home := ""
	var now idiom.Loudness
	for i, b := range s.Bars {
		if b.Section != "" && home == "" {
			home = b.Section
		}
		want := now
		switch {
		case i == 0:
			want = p.kind.Rest
		case b.Section == "" || !p.level.SectionDynamics:
		case b.Section == home:
			want = p.kind.Rest
		default:
			want = p.kind.Contrast
		}
		if want == now {
			continue
		}
		now = want
		s.Directions = append(s.Directions,
			score.Direction{At: b.At, Kind: score.Dynamic, Hand: score.Right, Text: want.Tune},
			score.Direction{At: b.At, Kind: score.Dynamic, Hand: score.Left, Text: want.Left})
	}
}

// slurBars is how many bars a slur covers at most, an upbeat not counted.
const slurBars = 4

// writeSlurs joins the notes of the tune. A slur ends where the tune comes to rest:
// at a rest, at the end of a phrase, and, a bar and a half from its beginning, on a
// note of at least a half that is twice as long as the one before.
func (p *piece) writeSlurs(s *score.Score) {
	var tune []int // indexes of its notes
	graced := map[theory.Dur]bool{}
	for i, n := range s.Notes {
		switch {
		case n.Grace > 0:
			graced[n.At] = true
		case n.Origin.Kind == score.Melody && n.Hand == score.Right:
			tune = append(tune, i)
		}
	}
	slices.SortStableFunc(tune, func(a, b int) int { return cmp.Compare(s.Notes[a].At, s.Notes[b].At) })
	first := map[int]bool{} // events that begin a phrase
	for _, ph := range p.an.Phrases {
		first[ph.From] = true
	}
	from := 0
	close := func(to int) { // from ≤ i < to
		// A grace note's own slur ends on its main note: no other does.
		for to-from > 1 && graced[s.Notes[tune[to-1]].At] {
			to--
		}
		if to-from == 2 && s.Notes[tune[from]].Pitch == s.Notes[tune[from+1]].Pitch {
			return // it would be read as a tie
		}
		if to-from > 1 {
			s.Notes[tune[from]].Marks |= score.SlurFrom
			s.Notes[tune[to-1]].Marks |= score.SlurTo
		}
	}
	for i := 1; i <= len(tune); i++ {
		if i < len(tune) {
			before, n := s.Notes[tune[i-1]], s.Notes[tune[i]]
			event, _ := n.Origin.Event()
			begun := s.Notes[tune[from]].At
			rests := before.Dur >= theory.Half && (i-1 == from || before.Dur >= 2*s.Notes[tune[i-2]].Dur) &&
				2*(before.End()-begun) >= 3*s.Bars[s.BarAt(begun)].Meter.Bar()
			full := s.BarAt(begun)
			if b := s.Bars[full]; 2*(begun-b.At) > b.Dur { // an upbeat belongs to the next
				full++
			}
			long := s.BarAt(n.At)-full >= slurBars
			if before.End() == n.At && !first[event] && !rests && !long {
				continue
			}
		}
		close(i)
		from = i
	}
}
