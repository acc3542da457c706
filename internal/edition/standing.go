package edition

import (
	"slices"

	"gradatim/internal/arrange"
	"gradatim/internal/grade"
	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/plan"
	"gradatim/internal/reduction"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// Standing is a score, anybody's, as a page to be taught as it stands: nothing is
// arranged, judged or moved. Its tune is found, its chords are those that it prints or
// sounds, its techniques those that its notes show, and its level the one whose pages are
// as hard; every note that has no reason gets the plain one of what it is to its chord.
// The error is a leadsheet.Problems where there is no tune.
func Standing(s score.Score, file string, player hand.Profile, language string) (Page, error) {
	w, err := words.In(language)
	if err != nil {
		return Page{}, err
	}
	song, line, err := reduction.OfPage(s, file)
	if err != nil {
		return Page{}, w.Err(err)
	}
	p := Page{Song: song, Language: language}
	if len(s.Chords) == 0 {
		for _, c := range song.Chords {
			s.Chords = append(s.Chords, score.Symbol{At: c.At, Chord: c.Chord})
		}
	}
	rating := grade.Rate(s, grade.Options{Hand: player, Fingering: grade.ByHand(player)})
	built := ladder.Levels()
	p.Level = built[len(built)-1]
	if at := rating.Number.Levels(); len(at) > 0 {
		for _, l := range built {
			if l.Number == at[len(at)-1] {
				p.Level = l
			}
		}
	} else if rating.Number < grade.Number(100) {
		p.Level = built[0]
	}
	p.Problems = append(p.Problems, leadsheet.Tell(leadsheet.Info, leadsheet.Pos{File: file}, "page-taught", "Level", p.Level.Number, "Number", rating.Number.Whole()))
	an := harmony.Analyse(song)
	p.Idiom = idiom.Recognise(song, an, idiom.All())
	p.Kind = p.Idiom.Idiom
	p.Form = plan.Make(song, an, p.Kind, p.Level)
	p.Form.Climax = plan.Growth{} // what she prints of loudness is not ours to tell
	for i := range p.Form.Sections {
		p.Form.Sections[i].Dynamic = ""
	}
	for i, c := range song.Chords {
		end := song.End()
		if i+1 < len(song.Chords) {
			end = song.Chords[i+1].At
		}
		if !c.Chord.Silent() {
			p.Decisions = append(p.Decisions, arrange.Decision{At: c.At, End: end, Sheet: c.Chord, Chords: []technique.Chord{{At: c.At, End: end, Chord: c.Chord}}})
		}
	}
	for _, f := range rating.Techniques {
		p.Used = append(p.Used, arrange.Use{Technique: f.ID, Bars: f.Bars})
	}
	p.Score = explained(s, line, rating.Techniques, an)
	p.Score = hand.FingerScore(p.Score, player)
	p.Problems = w.Problems(slices.Concat(song.Problems, p.Problems))
	return told(p), nil
}

// explained gives the notes that have no origin one: of the tune, the bass or the chord,
// and the technique that is seen in them.
func explained(s score.Score, line []int, found []grade.Found, an harmony.Analysis) score.Score {
	s.Notes = slices.Clone(s.Notes)
	for k, i := range line {
		o := &s.Notes[i].Origin
		o.Kind, o.Melody = score.Melody, k+1
	}
	shows := map[string]string{} // id of a note → the first technique that is seen in it
	for _, f := range found {
		for _, at := range f.Findings {
			for _, id := range at.Notes {
				if shows[id] == "" {
					shows[id] = f.ID
				}
			}
		}
	}
	for i := range s.Notes {
		n := &s.Notes[i]
		if n.Origin.Technique == "" && n.Origin.Kind != score.Melody {
			n.Origin.Technique = shows[n.ID]
		}
		chord := theory.Chord{}
		if c, ok := s.ChordAt(n.At); ok {
			chord = c.Chord
		}
		if n.Origin.Kind == 0 {
			n.Origin.Kind = kindOf(s, i, chord)
		}
		if n.Origin.Why == nil {
			n.Origin.Why = plainly(*n, chord, an)
		}
	}
	return s
}

// kindOf says what a note is for, as far as notes show it.
func kindOf(s score.Score, i int, chord theory.Chord) score.Kind {
	n := s.Notes[i]
	if n.Grace > 0 {
		return score.Ornamental
	}
	d, in := theory.Degree{}, false
	if !chord.Silent() {
		d, in = chord.Degree(n.Pitch.Name)
	}
	lowest := true
	for k := i - 1; k >= 0 && s.Notes[k].At == n.At; k-- {
		lowest = lowest && (s.Notes[k].Hand != n.Hand || theory.ComparePitch(s.Notes[k].Pitch, n.Pitch) > 0)
	}
	switch {
	case !in:
		return score.Passing
	case n.Hand == score.Left && lowest && d.Number == 1:
		return score.Bass
	case d.Number > 7 || d.Number == 6 || d.Number == 2 || d.Number == 4:
		return score.Tension
	}
	return score.Chord
}

// plainly says what a note is to its chord; of the tune, that it is the tune's as well.
func plainly(n score.Note, chord theory.Chord, an harmony.Analysis) reason.Reason {
	var what reason.Reason
	if !chord.Silent() {
		what = reason.Over{Note: n.Pitch.Name, Chord: chord}
		if d, in := chord.Degree(n.Pitch.Name); in {
			what = reason.IsDegree{Note: n.Pitch.Name, Degree: d, Chord: chord}
		}
	}
	e, tune := n.Origin.Event()
	if !tune {
		return what
	}
	var why reason.Reason = reason.Fact("the-tune")
	if chord.Silent() {
		return why
	}
	if _, over := what.(reason.Over); over && e < len(an.Roles) {
		what = reason.PlaysRole{Note: n.Pitch.Name, Role: reason.Role(an.Roles[e].Kind.String()), Chord: chord}
	}
	return reason.Because{What: why, Why: what}
}
