package teach

import (
	"slices"

	"gradatim/internal/audit"
	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// fresh lists the ids of an example's new notes: of a device the notes of its chord
// that the sheet's does not have, of any other technique what it has put there.
// There are none where the technique leaves notes out, or no hand plays them.
func (p *page) fresh(t *technique.Technique, pl place) []string {
	from := p.Score.Bars[pl.first].At
	var out []string
	for _, n := range pl.after.Notes {
		if n.At < pl.inside.At || n.At >= max(pl.inside.End, pl.inside.At+1) {
			continue
		}
		if t.Stage == technique.Device {
			if p.differs(t, n, from) {
				out = append(out, n.ID)
			}
			continue
		}
		if ghosts(pl) {
			if slices.Contains(pl.inside.Notes, n.ID) {
				out = append(out, n.ID)
			}
			continue
		}
		own := n.Origin.Technique == t.ID && (n.Origin.Kind != score.Melody || t.Stage == technique.Line || n.Ornament != score.NoOrnament)
		if own {
			out = append(out, n.ID)
		}
	}
	return out
}

// differs tells whether a note of an excerpt that begins at from sounds a tone that
// the device has brought into the chord.
func (p *page) differs(t *technique.Technique, n score.Note, from theory.Dur) bool {
	switch n.Origin.Kind {
	case score.Chord, score.Tension, score.Bass:
	default:
		return false
	}
	c, ok := p.decisionAt(from + n.At)
	if !ok || t.Rewrite != nil && c.Device != t.ID {
		return false
	}
	ch, ok := p.chosenAt(from + n.At)
	if !ok || t.Rewrite != nil && ch.Why == nil {
		return false
	}
	return ch.Chord.HasClass(n.Pitch.Class()) && !c.Sheet.HasClass(n.Pitch.Class())
}

// before is the excerpt without the technique. A right hand that has less to play,
// or another rhythm, is fingered anew.
func (w *writer) before(p *page, t *technique.Technique, pl place) score.Score {
	s := pl.after
	from := p.Score.Bars[pl.first].At
	switch t.Stage {
	case technique.Device:
		s.Notes = w.asWritten(p, from, from+s.End())
		s.Directions = nil
		s.Chords = sheetSymbols(p, from, from+s.End())
		return w.plain(p, s)
	case technique.LeftHand:
		if ghosts(pl) {
			return unghosted(s).Finish()
		}
		s.Notes = slices.DeleteFunc(slices.Clone(s.Notes), func(n score.Note) bool { return n.Hand != score.Right })
		s.Directions = nil
		if held := w.plain(p, s); !sameNotes(held, pl.after) {
			return held
		}
		return s.Finish() // what is held is what is taught
	case technique.Line:
		if try := w.unpushed(p, s, from); w.stands(try) {
			return unfingered(try)
		}
		return unfingered(w.inPlace(t, s, from))
	}
	return unfingered(w.without(t, s, from))
}

// ghosts tells whether an example is about notes that barely sound within a line that
// would stand without them.
func ghosts(pl place) bool {
	any := false
	for _, n := range pl.after.Notes {
		if slices.Contains(pl.inside.Notes, n.ID) {
			if !n.Marks.Has(score.Ghost) {
				return false
			}
			any = true
		}
	}
	return any
}

// unghosted takes the ghost notes out of a line; the note before each lasts as long as it
// would without them.
func unghosted(s score.Score) score.Score {
	var out []score.Note
	for _, n := range s.Notes {
		if !n.Marks.Has(score.Ghost) {
			out = append(out, n)
			continue
		}
		for k := range out {
			if m := &out[k]; m.Hand == n.Hand && m.End() == n.At {
				m.Dur += n.Dur
			}
		}
	}
	s.Notes = out
	return s
}

// sameNotes tells whether two scores have the same notes at the same places.
func sameNotes(a, b score.Score) bool {
	return slices.EqualFunc(a.Notes, b.Notes, func(m, n score.Note) bool {
		return m.Hand == n.Hand && m.At == n.At && m.Dur == n.Dur && m.Pitch == n.Pitch && m.Grace == n.Grace
	})
}

// stands tells whether an excerpt passes the audit but for what has no goal in it.
func (w *writer) stands(s score.Score) bool {
	return !slices.ContainsFunc(audit.Check(s, audit.Options{Hand: w.hand}), func(v audit.Violation) bool {
		return v.Code != audit.MinorNinth && v.Code != audit.Unexplained
	})
}

// asWritten is the tune of the sheet in [from, to), from 0, in the octave in which
// the page plays it: its own rhythm, nothing early and nothing cut. As in any
// excerpt, what is held from before is left out.
func (w *writer) asWritten(p *page, from, to theory.Dur) []score.Note {
	var out []score.Note
	for e, m := range w.song.Melody {
		if m.At < from || m.At >= to {
			continue
		}
		n := score.Note{Hand: score.Right, Voice: 1, At: m.At - from, Dur: min(m.Dur, to-m.At), Pitch: m.Pitch,
			Origin: score.Origin{Kind: score.Melody, Melody: e + 1, Why: reason.Fact("tune-as-written")}}
		n.Pitch.Octave += p.octaves(w.song.Melody[e].Pitch, e)
		out = append(out, n)
	}
	return out
}

// octaves is by how many octaves the page moves a note of the tune; of one that it
// does not have, the nearest.
func (p *page) octaves(written theory.Pitch, event int) int8 {
	best, by := -1, int8(0)
	for _, n := range p.Score.Notes {
		e, ok := n.Origin.Event()
		if !ok || n.Origin.Kind != score.Melody || n.Pitch.Class() != written.Class() {
			continue
		}
		if d := abs(e - event); best < 0 || d < best {
			best, by = d, int8((n.Pitch.MIDI()-written.MIDI())/12)
		}
	}
	return by
}

// unpushed puts the tune as written over everything else of an excerpt.
func (w *writer) unpushed(p *page, s score.Score, from theory.Dur) score.Score {
	notes := w.asWritten(p, from, from+s.End())
	for _, n := range s.Notes {
		if n.Origin.Kind != score.Melody {
			notes = append(notes, n)
		}
	}
	slices.SortStableFunc(notes, score.Compare)
	s.Notes = notes
	return s.Finish()
}

// inPlace moves what comes early in an excerpt back to its place.
func (w *writer) inPlace(t *technique.Technique, s score.Score, from theory.Dur) score.Score {
	notes := s.Notes
	s.Notes = nil
	for _, n := range notes {
		if e, ok := n.Origin.Event(); ok && n.Origin.Technique == t.ID {
			at := w.song.Melody[e].At - from
			if at > n.At && at < s.End() {
				for k := range s.Notes { // the note before lasts to its written end
					if m := &s.Notes[k]; m.Origin.Kind == score.Melody && m.End() == n.At {
						m.Dur = at - m.At
					}
				}
				n.Dur = max(n.End()-at, 1)
				n.At = at
			}
			n.Origin.Technique = ""
		}
		s.Notes = append(s.Notes, n)
	}
	return s.Finish()
}

// without takes out what a technique of the right hand or an ornament has added.
func (w *writer) without(t *technique.Technique, s score.Score, from theory.Dur) score.Score {
	notes := s.Notes
	s.Notes = nil
	longer := map[[2]theory.Dur]theory.Dur{} // (onset, cut end) → end again
	for _, n := range notes {
		e, ok := n.Origin.Event()
		if !ok || t.Stage != technique.Ornament {
			continue
		}
		if written := w.song.Melody[e].End() - from; written > n.End() && removed(notes, t.ID, n.End()) {
			end := min(written, s.End())
			for _, m := range notes { // up to the tune's next note
				if m.Origin.Kind == score.Melody && m.At > n.At && m.At < end {
					end = m.At
					break
				}
			}
			longer[[2]theory.Dur{n.At, n.End()}] = end
		}
	}
	for _, n := range notes {
		if n.Origin.Technique == t.ID {
			if n.Origin.Kind != score.Melody {
				continue
			}
			n.Ornament = score.NoOrnament
			n.Origin.Technique = ""
		}
		if end, ok := longer[[2]theory.Dur{n.At, n.End()}]; ok && n.Hand == score.Right && n.Grace == 0 {
			n.Dur = end - n.At // what was struck with the tune's note lasts with it
		}
		s.Notes = append(s.Notes, n)
	}
	return s.Finish()
}

// unfingered takes the fingers off the right hand.
func unfingered(s score.Score) score.Score {
	s.Notes = slices.Clone(s.Notes)
	for i := range s.Notes {
		if s.Notes[i].Hand == score.Right {
			s.Notes[i].Finger, s.Notes[i].FingerTo = 0, 0
		}
	}
	return s
}

// removed tells whether the technique has a note at a position.
func removed(notes []score.Note, id string, at theory.Dur) bool {
	return slices.ContainsFunc(notes, func(n score.Note) bool {
		return n.At == at && n.Origin.Technique == id && n.Origin.Kind != score.Melody && n.Grace == 0
	})
}
