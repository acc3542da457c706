package desk

import (
	"fmt"
	"regexp"
	"strings"

	"gradatim/score"
	"gradatim/theory"
)

// changedNotes are the ids of the notes of a page that another page of the tune has not: in
// the same printed bar, at the same place of it, in the same hand, of the same pitch and
// length.
func changedNotes(before, now score.Score) map[string]bool {
	type place struct {
		bar     int
		at, dur theory.Dur
		pitch   theory.Pitch
		hand    score.Hand
		grace   bool
	}
	of := func(s score.Score, n score.Note) place {
		p := place{at: n.At, dur: n.Dur, pitch: n.Pitch, hand: n.Hand, grace: n.Grace > 0}
		if k := s.BarAt(n.At); k >= 0 {
			p.bar, p.at = s.Bars[k].Number, n.At-s.Bars[k].At
		}
		return p
	}
	had := map[place]int{}
	for _, n := range before.Notes {
		had[of(before, n)]++
	}
	out := map[string]bool{}
	for _, n := range now.Notes {
		p := of(now, n)
		if had[p]--; had[p] < 0 {
			out[n.ID] = true
		}
	}
	return out
}

var (
	reNote = regexp.MustCompile(`<g id="([^"]*)" class="note">`)
	reHead = regexp.MustCompile(`(<g class="notehead">\s*)(<use [^>]*transform="translate\(([-0-9.]+) ([-0-9.]+)\) scale\(([0-9.]+)\)"[^>]*/>)`)
)

// Sizes of a ring, in units of the picture at full size: half a notehead's width, from its
// left edge, and what the ring's radius and line are.
const (
	headHalf   = 145
	ringRadius = 250
	ringLine   = 60
)

// ringed draws a ring around the heads of some notes of a picture, by their ids without the
// prefix of the picture's.
func ringed(svg []byte, prefix string, ids map[string]bool) []byte {
	text := string(svg)
	var out strings.Builder
	at := 0
	for _, m := range reNote.FindAllStringSubmatchIndex(text, -1) {
		if !ids[strings.TrimPrefix(text[m[2]:m[3]], prefix)] {
			continue
		}
		h := reHead.FindStringSubmatchIndex(text[m[1]:])
		if h == nil {
			continue
		}
		var x, y, scale float64
		for i, f := range []*float64{&x, &y, &scale} {
			fmt.Sscan(text[m[1]+h[6+2*i]:m[1]+h[7+2*i]], f)
		}
		end := m[1] + h[3]
		out.WriteString(text[at:end])
		fmt.Fprintf(&out, `<circle class="ring" cx="%.0f" cy="%.0f" r="%.0f" fill="none" stroke="currentColor" stroke-width="%.0f"/>`, x+headHalf*scale, y, ringRadius*scale, ringLine*scale)
		at = end
	}
	out.WriteString(text[at:])
	return []byte(out.String())
}
