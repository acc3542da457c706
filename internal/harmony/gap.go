package harmony

import (
	"gradatim/leadsheet"
	"gradatim/theory"
)

// gaps finds the room that the tune leaves: under a note held for two beats or
// more (one and a half at the end of a phrase) from one beat after its onset, and
// in a rest of a beat or more. Common practice, no source. One pass; since every
// gap ends at the latest where the next note begins, none covers a pick-up.
func gaps(song leadsheet.Song, ps []Phrase) []Gap {
	var out []Gap
	if len(song.Bars) == 0 {
		return nil
	}
	goal := make(map[int]bool, len(ps))
	for _, p := range ps {
		if p.Goal >= 0 {
			goal[p.Goal] = true
		}
	}
	bar := 0
	rest := func(from, to theory.Dur, after int) {
		from, to = max(from, song.Bars[0].At), min(to, song.End())
		for bar+1 < len(song.Bars) && song.Bars[bar+1].At <= from {
			bar++
		}
		if to-from >= song.Bars[bar].Meter.OrCommon().BeatDur() {
			out = append(out, Gap{At: from, End: to, After: after, PhraseEnd: goal[after]})
		}
	}
	heard := song.Bars[0].At // up to here the tune is accounted for
	for i, n := range song.Melody {
		rest(heard, n.At, i-1)
		for bar+1 < len(song.Bars) && song.Bars[bar+1].At <= n.At {
			bar++
		}
		end := min(n.End(), song.End())
		if i+1 < len(song.Melody) {
			end = min(end, song.Melody[i+1].At)
		}
		beat := song.Bars[bar].Meter.OrCommon().BeatDur()
		need := 2 * beat
		if goal[i] {
			need = beat + beat/2
		}
		if from := max(n.At+beat, heard); end-n.At >= need && end > from && n.At >= song.Bars[0].At {
			out = append(out, Gap{At: from, End: end, After: i, Held: true, PhraseEnd: goal[i]})
		}
		heard = max(heard, end)
	}
	rest(heard, song.End(), len(song.Melody)-1)
	return out
}
