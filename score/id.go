package score

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Part is what a bar belongs to; the bars of each are counted by themselves.
type Part = leadsheet.Part

// Parts of a page.
const (
	Tune         = leadsheet.Tune
	Introduction = leadsheet.Introduction
	Tag          = leadsheet.Tag
)

// letters begin the ids of a part's notes.
var letters = [...]string{Tune: "b", Introduction: "i", Tag: "t"}

// Ids.
//
// An id says where its note stands and nothing of what stands elsewhere, so that
// another figure in one bar leaves the ids of all other bars as they are:
//
//	b5-r3_8       bar 5 of the sheet, right hand, 3/8 of a whole note after the bar line
//	b5x2-l0-3     the same bar played again; left hand, on the bar line, third note of a chord
//	b12-r1_4g2    the second grace note before what is struck there
//
// i and t for b stand for bars of an introduction and a tag. The notes of a chord
// are counted from the outside, the right hand's from the top and the left hand's
// from the bottom: what comes under the tune or over the bass does not rename them.
// Rejected: numbering through the page, which renames all that follows a change;
// pitches in ids, as the same note raised by an accidental is still the same place.

// nameNotes gives an id to each note that has none. The notes are in order.
func (s *Score) nameNotes() {
	used, missing := make(map[string]bool, len(s.Notes)), 0
	for i := range s.Notes {
		if id := s.Notes[i].ID; id != "" {
			used[id] = true
		} else {
			missing++
		}
	}
	if missing == 0 {
		return
	}
	bars := s.barNames()
	var together []int
	var buf []byte
	for i := 0; i < len(s.Notes); {
		at := s.Notes[i].At
		together = together[:0]
		for ; i < len(s.Notes) && s.Notes[i].At == at; i++ {
			together = append(together, i)
		}
		slices.SortStableFunc(together, func(a, b int) int {
			m, n := &s.Notes[a], &s.Notes[b]
			outer := theory.ComparePitch(m.Pitch, n.Pitch)
			if m.Hand == Right {
				outer = -outer
			}
			return cmp.Or(cmp.Compare(m.Hand, n.Hand), cmp.Compare(m.Grace, n.Grace), outer)
		})
		rank := 0
		for k, j := range together {
			n := &s.Notes[j]
			if k > 0 && (s.Notes[together[k-1]].Hand != n.Hand || s.Notes[together[k-1]].Grace != n.Grace) {
				rank = 0
			}
			rank++
			for n.ID == "" {
				buf = s.place(buf[:0], bars, n)
				if rank > 1 {
					buf = strconv.AppendInt(append(buf, '-'), int64(rank), 10)
				}
				if used[string(buf)] { // by a note that had its id before
					rank++
					continue
				}
				n.ID = string(buf)
				used[n.ID] = true
			}
		}
	}
}

// place appends where a note stands: "b5-r3_8".
func (s *Score) place(buf []byte, bars []string, n *Note) []byte {
	at := n.At
	if b := s.BarAt(n.At); b >= 0 {
		buf = append(buf, bars[b]...)
		at -= s.Bars[b].At
	} else {
		buf = append(buf, letters[Tune]...)
	}
	switch n.Hand {
	case Right:
		buf = append(buf, "-r"...)
	case Left:
		buf = append(buf, "-l"...)
	default:
		buf = append(buf, '-')
	}
	buf = append(buf, strings.Replace(at.String(), "/", "_", 1)...)
	if n.Grace > 0 {
		buf = strconv.AppendUint(append(buf, 'g'), uint64(n.Grace), 10)
	}
	return buf
}

// barNames returns how the ids of each bar's notes begin: "b5", "b5x2". Of bars
// that say to be the same playing of the same bar the later ones count on.
func (s *Score) barNames() []string {
	out := make([]string, len(s.Bars))
	used := make(map[string]bool, len(s.Bars))
	for i, b := range s.Bars {
		base := letters[b.Part] + strconv.Itoa(cmp.Or(b.Sheet, b.Number))
		for pass := max(b.Pass, 1); ; pass++ {
			name := base
			if pass > 1 {
				name += "x" + strconv.Itoa(pass)
			}
			if !used[name] {
				out[i], used[name] = name, true
				break
			}
		}
	}
	return out
}
