package edition

import (
	"cmp"
	"slices"

	"gradatim/internal/roadmap"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Lyrics says which pages have words under the tune.
type Lyrics uint8

// Lyrics.
const (
	LyricsByLevel Lyrics = iota
	LyricsEverywhere
	LyricsNowhere
)

// sung puts the words of the sheet under the tune of a page, led in so long: of each bar the
// verses that are sung when it is played. They are printed where they are cleared, and where the rights
// are not stated and the page is marked for private practice; told says that words were
// left out. The notes count the tune's as the page's song does.
func sung(w *words.Words, p Page, played leadsheet.Song, lead theory.Dur, how Lyrics) (s score.Score, told leadsheet.Problems) {
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
	verses := versesOn(p.Song, played, lead)
	s.Lyrics = nil
	done := make([]bool, len(p.Song.Melody))
	together := false // verses stand one below the other
	for _, n := range s.Notes {
		e, ok := n.Origin.Event()
		if !ok || n.Origin.Kind != score.Melody || n.Grace > 0 || e >= len(done) || done[e] {
			continue
		}
		done[e] = true
		before := len(s.Lyrics)
		for _, y := range p.Song.Melody[e].Sung {
			if slices.Contains(verses[e], y.Verse) {
				s.Lyrics = append(s.Lyrics, score.Lyric{At: n.At, Hand: n.Hand, Syllable: y})
			}
		}
		together = together || len(s.Lyrics) > before+1
	}
	for i := range s.Lyrics {
		if !together {
			s.Lyrics[i].Verse = 1
		}
	}
	return s, told
}

// versesOn says which verses each note of a page's song is sung with: one for each time that its
// bar is played. The song in playing order begins when the page has led in.
func versesOn(page, played leadsheet.Song, lead theory.Dur) [][]int {
	sings := played.Sings()
	signs := make([]leadsheet.Signs, len(page.Bars))
	for i, b := range page.Bars {
		signs[i] = b.Signs
	}
	begins := make([][]theory.Dur, len(page.Bars)) // of each bar, each time
	now := -lead
	visits, _ := roadmap.Route(signs)
	for _, v := range visits {
		begins[v.Bar] = append(begins[v.Bar], now)
		now += page.Bars[v.Bar].Dur
	}
	out := make([][]int, len(page.Melody))
	for i, n := range page.Melody {
		b := page.BarAt(n.At)
		for _, at := range begins[b] {
			if k := nearest(played.Melody, at+n.At-page.Bars[b].At); sings[k] > 0 {
				out[i] = append(out[i], sings[k])
			}
		}
	}
	return out
}

// nearest is the note that begins nearest to a place: a page may move one a little.
func nearest(notes []leadsheet.Note, at theory.Dur) int {
	k, _ := slices.BinarySearchFunc(notes, at, func(n leadsheet.Note, at theory.Dur) int { return cmp.Compare(n.At, at) })
	if k == len(notes) || k > 0 && at-notes[k-1].At < notes[k].At-at {
		k--
	}
	return k
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
