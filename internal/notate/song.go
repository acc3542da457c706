package notate

import (
	"gradatim/leadsheet"
	"gradatim/score"
)

// melodyScore makes a lead sheet a score for one staff, with all its verses; whether
// they may be printed is for its caller.
func melodyScore(song leadsheet.Song) score.Score {
	s := score.Score{
		Title: song.Title, Arranger: song.Rights.Arranger, Rights: song.Rights.Text,
		Tempo: song.Tempo, Feel: song.Feel,
	}
	for i, p := range song.Rights.Composers {
		if i > 0 {
			s.Composer += ", "
		}
		s.Composer += p.Name
	}
	for _, b := range song.Bars {
		key := b.Key
		if !key.Valid() {
			key = song.Key
		}
		s.Bars = append(s.Bars, score.Bar{At: b.At, Dur: b.Dur, Meter: b.Meter, Key: key, Number: b.Number, Sheet: b.Sheet, Pass: b.Pass,
			Pickup: b.Pickup, Section: b.Section, Signs: b.Signs})
	}
	for i, n := range song.Melody {
		for k, p := range n.Graces {
			s.Notes = append(s.Notes, score.Note{Hand: score.Right, Voice: 1, At: n.At, Pitch: p, Grace: uint8(min(k+1, 255)),
				Marks: score.Slashed})
		}
		s.Notes = append(s.Notes, score.Note{Hand: score.Right, Voice: 1, At: n.At, Dur: n.Dur, Pitch: n.Pitch,
			Origin: score.Origin{Kind: score.Melody, Melody: i + 1}})
		for _, y := range n.Sung {
			s.Lyrics = append(s.Lyrics, score.Lyric{At: n.At, Hand: score.Right, Syllable: y})
		}
	}
	for _, c := range song.Chords {
		sym := score.Symbol{At: c.At, Chord: c.Chord}
		switch {
		case c.Unknown:
			sym.Text = c.Text
		case c.Optional && !c.Chord.Silent():
			sym.Text = "(" + c.Chord.Pretty() + ")"
		}
		s.Chords = append(s.Chords, sym)
	}
	return s
}
