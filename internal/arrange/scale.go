package arrange

import (
	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// OnScale writes a technique on the first notes of the study's scale, up and back in the
// right hand: five notes where two share a bar, four where each has its own. It also
// tells how many there are. ok is false where a note has no room for the technique.
func (s Study) OnScale(t *technique.Technique) (_ score.Score, notes int, ok bool) {
	unit, notes := s.Meter.Bar(), 4
	if s.Meter.BeatCount()%2 == 0 && !t.Scale.Wide {
		unit, notes = unit/2, 5
	}
	scale := s.Key.Scale()
	line := []theory.Pitch{scale[0].Above(t.Scale.From)}
	for i := 1; i < notes; i++ {
		line = append(line, scale[i].Above(line[i-1].MIDI()+1))
	}
	for i := notes - 2; i >= 0; i-- {
		line = append(line, line[i])
	}
	if t.Scale.Ends {
		line = append(append([]theory.Pitch{line[0]}, line...), line[0])
	}
	at := theory.Dur(0)
	var out []score.Note
	for i, q := range line {
		dur := unit
		if i == len(line)-1 {
			dur = s.Meter.Bar()
		}
		put, ok := t.Scale.Put(technique.ScaleNote{Key: s.Key, Meter: s.Meter, Back: i > len(line)/2,
			Note: technique.Tone{At: at, Dur: dur, Pitch: q, Kind: score.Melody}})
		if !ok {
			return score.Score{}, 0, false
		}
		for _, x := range put.Added {
			n := score.Note{Hand: score.Right, Voice: 1, At: x.At, Dur: x.Dur, Pitch: x.Pitch.Name.Reading().Nearest(x.Pitch.MIDI()), Grace: x.Grace, Marks: x.Marks,
				Origin: score.Origin{Kind: x.Kind, Technique: t.ID, Why: put.Why}}
			if x.At > put.Note.At { // under the note that is held
				n.Voice = 2
			}
			out = append(out, n)
		}
		n := put.Note
		out = append(out, score.Note{Hand: score.Right, Voice: 1, At: n.At, Dur: n.Dur, Pitch: n.Pitch, Ornament: n.Ornament,
			Origin: score.Origin{Kind: score.Melody, Why: reason.Fact("scale")}})
		s.Parts = append(s.Parts, Part{Dur: dur, Chord: put.Chord})
		at += dur
	}
	p := s.piece()
	written := s.written(p)
	written.Notes = append(written.Notes, out...)
	return written.Finish(), notes, true
}
