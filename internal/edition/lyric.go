package edition

import (
	"slices"

	"gradatim/internal/roadmap"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Lyrics says which pages have words under the tune.
type Lyrics uint8

// Lyrics.
const (
	LyricsByLevel Lyrics = iota
	LyricsEverywhere
	LyricsNowhere
)

// sung puts the words of the sheet under the tune of a page: as many verses as times
// that some of it is played. They are printed where they are cleared, and where the rights
// are not stated and the page is marked for private practice; told says that words were
// left out. The notes count the tune's as the page's song does.
func sung(w *words.Words, p Page, how Lyrics) (s score.Score, told leadsheet.Problems) {
	s = p.Score
	if how == LyricsNowhere || how == LyricsByLevel && !p.Level.Words || p.Song.Verses() == 0 {
		return s, nil
	}
	r := p.Song.Rights
	if !r.LyricsCleared && r.Status != leadsheet.Unknown {
		told.Tell(leadsheet.Info, leadsheet.Pos{File: p.Song.File}, "words-left-out")
		return s, told
	}
	if !r.LyricsCleared {
		s.Rights = w.Rights(leadsheet.Rights{})
		if notice := p.Song.Rights.Notice(); notice != "" {
			s.Rights = notice + ". " + s.Rights
		}
	}
	signs := make([]leadsheet.Signs, len(p.Song.Bars))
	for i, b := range p.Song.Bars {
		signs[i] = b.Signs
	}
	times := make([]int, len(signs))
	most := 1
	visits, _ := roadmap.Route(signs)
	for _, v := range visits {
		times[v.Bar]++
		most = max(most, times[v.Bar])
	}
	s.Lyrics = nil
	done := make([]bool, len(p.Song.Melody))
	for _, n := range s.Notes {
		e, ok := n.Origin.Event()
		if !ok || n.Origin.Kind != score.Melody || n.Grace > 0 || e >= len(done) || done[e] {
			continue
		}
		done[e] = true
		for _, y := range p.Song.Melody[e].Sung {
			if y.Verse <= most {
				s.Lyrics = append(s.Lyrics, score.Lyric{At: n.At, Hand: n.Hand, Syllable: y})
			}
		}
	}
	return s, told
}

// LeadSheet is the tune in the edition's key as a lead sheet prints it: what is repeated
// once, with signs, and all its verses where they may be printed.
func (e *Edition) LeadSheet() leadsheet.Song {
	song := e.Song
	if f, ok := roadmap.Fold(song, 0); ok {
		song = f.Song
	}
	if r := song.Rights; !r.LyricsCleared && r.Status != leadsheet.Unknown {
		song.Melody = slices.Clone(song.Melody)
		for i := range song.Melody {
			song.Melody[i].Sung = nil
		}
		song.Words = nil
	}
	return song
}
