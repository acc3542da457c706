package arrange

import (
	"cmp"
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/score"
	"gradatim/theory"
)

// tuneOf lists the notes of the tune, as indexes in order, and where grace notes stand.
func tuneOf(s *score.Score) (tune []int, graced map[theory.Dur]bool) {
	graced = map[theory.Dur]bool{}
	for i, n := range s.Notes {
		switch {
		case n.Grace > 0:
			graced[n.At] = true
		case n.Origin.Kind == score.Melody && n.Hand == score.Right:
			tune = append(tune, i)
		}
	}
	slices.SortStableFunc(tune, func(a, b int) int { return cmp.Compare(s.Notes[a].At, s.Notes[b].At) })
	return tune, graced
}

// writeTouch puts staccato, tenuto and accents where the kind of tune has them. What
// a hand strikes with a note of the tune is struck like it.
func (p *piece) writeTouch(s *score.Score) {
	if !p.level.Touch {
		return
	}
	t := p.kind.Touch
	tune, graced := tuneOf(s)
	struck := strikesOf(s)
	for _, x := range []struct {
		mark   score.Marks
		places []idiom.Place
	}{{score.Staccato, t.Staccato}, {score.Tenuto, t.Tenuto}, {score.Accent, t.Accent}} {
		for _, at := range x.places {
			if at == idiom.AfterBeats {
				p.markAfterBeats(s, x.mark)
				continue
			}
			for k, i := range tune {
				n := s.Notes[i]
				if x.mark == score.Staccato && n.Marks&(score.SlurFrom|score.SlurTo) != 0 {
					continue
				}
				if graced[n.At] || n.Ornament != score.NoOrnament || n.Marks.Has(score.Fermata) || !p.stands(s, at, tune, k) {
					continue
				}
				struck.mark(s, i, x.mark)
			}
		}
	}
}

// strikes are the notes of a page but for the graces, as indexes, by their time.
type strikes []int

func strikesOf(s *score.Score) strikes {
	out := make(strikes, 0, len(s.Notes))
	for i, n := range s.Notes {
		if n.Grace == 0 {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(s.Notes[a].At, s.Notes[b].At) })
	return out
}

// mark marks a note and what its hand strikes with it in its voice, so that a
// strike has its sign once; what is not let go with the others is not short.
func (all strikes) mark(s *score.Score, i int, mark score.Marks) {
	n := s.Notes[i]
	first, _ := slices.BinarySearchFunc(all, n.At, func(j int, at theory.Dur) int { return cmp.Compare(s.Notes[j].At, at) })
	var with []*score.Note
	for _, j := range all[first:] {
		m := &s.Notes[j]
		if m.At != n.At {
			break
		}
		if m.Hand != n.Hand {
			continue
		}
		if mark == score.Staccato && m.Dur != n.Dur {
			return
		}
		if m.Voice == n.Voice {
			with = append(with, m)
		}
	}
	for _, m := range with {
		m.Marks |= mark
	}
}

// stands tells whether the k-th note of the tune is at such a place.
func (p *piece) stands(s *score.Score, at idiom.Place, tune []int, k int) bool {
	n := s.Notes[tune[k]]
	bar := s.Bars[max(0, s.BarAt(n.At))]
	beat := min(bar.Meter.BeatDur(), theory.Quarter)
	var next score.Note
	if k+1 < len(tune) {
		next = s.Notes[tune[k+1]]
	}
	joins := next.Dur > 0 && next.At == n.End()
	event, _ := n.Origin.Event()
	switch at {
	case idiom.StruckAgain:
		return joins && n.Dur >= theory.Eighth && n.Dur <= beat && next.Pitch == n.Pitch
	case idiom.BeforeLeaps:
		leap := next.Pitch.MIDI() - n.Pitch.MIDI()
		return joins && n.Dur == beat && (leap >= 5 || -leap >= 5)
	case idiom.Cadences:
		return n.Dur >= beat && slices.ContainsFunc(p.an.Phrases, func(ph harmony.Phrase) bool {
			return ph.Cadence != harmony.NoCadence && event < ph.Goal && event >= ph.Goal-2 && event >= ph.From
		})
	case idiom.Openings:
		return n.At == bar.At && bar.Section != ""
	case idiom.Syncopations:
		off := bar.Offset(n.At)
		beat := bar.Meter.BeatDur()
		return bar.Meter.Strength(off) >= 3 && n.Dur >= theory.Quarter && off+n.Dur > off-off%beat+beat
	case idiom.Summit:
		return p.form.Climax.To > 0 && event == p.form.Climax.Note
	}
	return false
}

// markAfterBeats marks the chords that the left hand strikes after its bass.
func (p *piece) markAfterBeats(s *score.Score, mark score.Marks) {
	together := map[theory.Dur][]int{}
	for i, n := range s.Notes {
		if n.Hand == score.Left && n.Grace == 0 && !p.locked(s.BarAt(n.At)) {
			together[n.At] = append(together[n.At], i)
		}
	}
	for _, notes := range together { // each by itself: the order does not matter
		short := len(notes) > 1
		for _, i := range notes {
			n := s.Notes[i]
			short = short && n.Dur <= theory.Quarter && !n.Marks.Has(score.Fermata) &&
				(n.Origin.Kind == score.Chord || n.Origin.Kind == score.Tension) && n.At > s.Bars[s.BarAt(n.At)].At
		}
		for _, i := range notes {
			if short {
				s.Notes[i].Marks |= mark
			}
		}
	}
}
