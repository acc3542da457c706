package musicxml

import (
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// joiner adds notes and joins ties. open holds, by key, the notes that wait for
// their continuation.
type joiner struct {
	r       *reader
	open    map[int][]int
	loose   []int // notes whose tie led nowhere
	places  map[int]place
	last    int // first note of the chord being read
	tremolo []int
}

const chordMarks = score.Staccato | score.Tenuto | score.Accent | score.Fermata

// add takes the next note; tied tells whether it continues another.
func (j *joiner) add(s *score.Score, note score.Note, n *placed, tied bool, here place) {
	midi := note.Pitch.MIDI()
	if tied {
		best := -1
		j.drop(s, midi, note.At-maxHeld)
		for k, i := range j.open[midi] {
			if s.Notes[i].End() > note.At {
				continue
			}
			if best < 0 || j.nearer(s, i, j.open[midi][best], note) {
				best = k
			}
		}
		if best >= 0 {
			i := j.open[midi][best]
			j.open[midi] = slices.Delete(j.open[midi], best, best+1)
			if s.Notes[i].End() < note.At {
				j.r.infoAt(here, "tie-held")
			}
			s.Notes[i].Dur = note.End() - s.Notes[i].At
			s.Notes[i].Marks |= note.Marks & (score.Fermata | score.SlurTo | score.SlurFrom)
			if note.Ornament == score.Tremolo { // it may begin after a short note
				s.Notes[i].Ornament = score.Tremolo
			}
			j.last = i
			if n.tieFrom {
				j.wait(midi, i, here)
			}
			return
		}
		j.r.warnAt(here, "tie-open.start")
	}
	i := len(s.Notes)
	s.Notes = append(s.Notes, note)
	if n.chord && j.last >= 0 && s.Notes[j.last].At == note.At && s.Notes[j.last].Hand == note.Hand {
		first := &s.Notes[j.last]
		s.Notes[i].Marks |= first.Marks & chordMarks
		switch {
		case first.Ornament == score.NoOrnament || note.Ornament != score.NoOrnament:
		case first.Ornament == score.Tremolo:
			s.Notes[i].Ornament = score.Tremolo
		default: // a sign over a chord is its top note's
			if theory.ComparePitch(first.Pitch, note.Pitch) < 0 {
				s.Notes[i].Ornament, first.Ornament = first.Ornament, score.NoOrnament
				j.last = i
			}
		}
	} else {
		j.last = i
	}
	if n.tieFrom {
		j.wait(midi, i, here)
	}
	if n.tremolo != noTremolo {
		if n.tremolo == tremoloTo {
			j.tremolo = append(j.tremolo, -i-1)
		} else {
			j.tremolo = append(j.tremolo, i)
		}
	}
}

// maxHeld is how far a tie may reach over other notes: the notes of a broken
// chord that are held into the next bar are written so.
const maxHeld = theory.Whole

// nearer tells whether the open note a is a better start than b for the tie that
// ends in n: it touches n, else it is in n's voice, else it ends later.
func (j *joiner) nearer(s *score.Score, a, b int, n score.Note) bool {
	x, y := s.Notes[a], s.Notes[b]
	rank := func(o score.Note) (r theory.Dur) {
		if o.End() == n.At {
			r += 4 * maxHeld
		}
		if o.Hand == n.Hand && o.Voice == n.Voice {
			r += 2 * maxHeld
		}
		return r + maxHeld - (n.At - o.End())
	}
	return rank(x) > rank(y)
}

// maxOpen is more notes of one pitch than can wait for their ties at a time.
const maxOpen = 64

func (j *joiner) wait(midi, i int, here place) {
	if len(j.open[midi]) >= maxOpen {
		j.loose = append(j.loose, j.open[midi][0])
		j.open[midi] = slices.Delete(j.open[midi], 0, 1)
	}
	j.open[midi] = append(j.open[midi], i)
	if j.places == nil {
		j.places = map[int]place{}
	}
	j.places[i] = here
}

// drop gives up the notes that ended before a moment.
func (j *joiner) drop(s *score.Score, midi int, at theory.Dur) {
	j.open[midi] = slices.DeleteFunc(j.open[midi], func(i int) bool {
		past := s.Notes[i].End() < at
		if past {
			j.loose = append(j.loose, i)
		}
		return past
	})
}

// finish tells of ties that led nowhere and joins the halves of tremolos.
func (j *joiner) finish(s *score.Score) {
	for _, list := range j.open {
		j.loose = append(j.loose, list...)
	}
	slices.Sort(j.loose)
	for _, i := range j.loose {
		j.r.warnAt(j.places[i], "tie-open.end")
	}
	for k := 1; k < len(j.tremolo); k++ {
		from, to := j.tremolo[k-1], -j.tremolo[k]-1
		if from < 0 || to < 0 {
			continue
		}
		a, b := s.Notes[from], s.Notes[to]
		if a.Hand != b.Hand || a.End() != b.At {
			continue
		}
		for i := max(0, from-nearby); i < min(len(s.Notes), to+nearby); i++ {
			n := &s.Notes[i]
			switch {
			case n.Hand != a.Hand || n.Voice != a.Voice || n.Grace > 0:
			case n.At == a.At && n.End() == b.At:
				n.Dur, n.Ornament = a.Dur+b.Dur, score.Tremolo
			case n.At == b.At && n.Dur == b.Dur:
				n.At, n.Dur, n.Ornament = a.At, a.Dur+b.Dur, score.Tremolo
			}
		}
	}
}

// nearby is more notes than stand between one of a chord and the others.
const nearby = 64
