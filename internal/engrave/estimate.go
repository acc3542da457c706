package engrave

import (
	"math"
	"slices"
)

// estimate guesses how wide each bar will be.
//
// The engraver gives every onset a distance that grows with the power 0.6 of
// the time to the next, and at least the width of its signs. The same is
// reckoned here, in staff spaces, over all parts together; chord symbols and
// lyrics may need more. It is a guess: what the engraver then says of
// crowded systems corrects it.
func estimate(parts []*element, p *prepared) {
	divisions := slices.Repeat([]float64{1}, len(parts)) // those in force
	for j := range p.bars {
		onsets := map[float64]float64{} // time in quarters -> width of the signs
		end, words := 0.0, 0.0
		for k, part := range parts {
			words = max(words, lyricsWidth(part.kids[j]))
			if d := divisionsOf(part.kids[j]); d > 0 {
				divisions[k] = d
			}
			end = max(end, scanOnsets(part.kids[j], divisions[k], onsets))
		}
		p.bars[j].width = max(barWidth(onsets, end), words)
		if w := symbolsWidth(p.symbols[j]); w > p.bars[j].width {
			p.bars[j].width = w
		}
	}
	if len(parts) > 0 && len(parts[0].kids) > 0 {
		p.lead = 5
		for _, part := range parts {
			for _, e := range part.kids[0].kids {
				if e.name == "attributes" {
					p.lead = max(p.lead, 5+math.Abs(e.number("key", "fifths")))
				}
			}
		}
	}
}

func divisionsOf(m *element) float64 {
	for _, e := range m.kids {
		if e.name == "attributes" && e.kid("divisions") != nil {
			return e.number("divisions")
		}
	}
	return 0
}

// scanOnsets adds a bar's onsets and returns its length in quarters.
func scanOnsets(m *element, divisions float64, onsets map[float64]float64) float64 {
	at, last, end := 0.0, 0.0, 0.0
	for _, e := range m.kids {
		d := e.number("duration") / divisions
		switch e.name {
		case "backup":
			at = max(0, at-d)
		case "forward":
			at += d
		case "attributes":
			if e.kid("clef") != nil && at > 0 {
				onsets[at] = max(onsets[at], 4)
			}
		case "note":
			start := at
			if e.kid("chord") != nil {
				start = last
			} else {
				last = at
				at += d
			}
			w := 1.3
			if e.kid("accidental") != nil {
				w += 1.2
			}
			if e.kid("dot") != nil {
				w += 0.5
			}
			if e.kid("grace") != nil {
				onsets[start] += 1.3
				continue
			}
			onsets[start] = max(onsets[start], w)
		}
		end = max(end, at)
	}
	return end
}

// lyricsWidth is what the first verse of a bar needs, in staff spaces.
func lyricsWidth(m *element) float64 {
	w := 0.0
	for _, e := range m.kids {
		if t := e.value("lyric", "text"); e.name == "note" && t != "" {
			w += roughWidth(t)*chordEm + 1.2
		}
	}
	return w
}

func barWidth(onsets map[float64]float64, end float64) float64 {
	times := make([]float64, 0, len(onsets))
	for t := range onsets {
		times = append(times, t)
	}
	slices.Sort(times)
	w := 2.0 // bar line and the distance after it
	for i, t := range times {
		next := end
		if i+1 < len(times) {
			next = times[i+1]
		}
		w += max(onsets[t]+0.4, 3.4*math.Pow(max(next-t, 0.02), 0.6))
	}
	return max(w, 5)
}
