package edition

import (
	"slices"

	"gradatim/internal/arrange"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/outline"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// easing is what a level does to a tune so that its reader can play it.
type easing struct {
	outline bool               // notes are left out, as a teacher asked
	written leadsheet.Song     // with its own rhythm
	moves   theory.Dur         // what a note was moved by at most; 0: none was
	told    leadsheet.Problems // where, and what is too quick still
}

// Outline is a song with its tune in outline as a level has it, and the bars, by index, that
// have lost notes: to the beat for those whose tunes move onto a grid, else to half a beat.
func Outline(song leadsheet.Song, an harmony.Analysis, l ladder.Level) (leadsheet.Song, []int) {
	return outline.Of(song, an.Roles, l.Finest == 0)
}

// outlineSlurs is how many bars a slur of an outline spans at most.
const outlineSlurs = 2

// outlined is the sheet with its tune in outline, where that was asked for at the level. A
// beginner's level says where it would help.
func (s *sheet) outlined(l ladder.Level, opt Options) *sheet {
	asked := slices.Contains(opt.Outline, l.Number)
	if !asked && l.Finest == 0 {
		return s
	}
	song, bars := Outline(s.song, s.analysis, l)
	left := len(s.song.Melody) - len(song.Melody)
	if !asked && 4*left < len(s.song.Melody) {
		return s
	}
	out := *s
	at := leadsheet.Pos{File: song.File}
	switch {
	case left == 0:
		out.easing.told.Tell(leadsheet.Info, at, "tune-outline-whole", "Level", l.Number)
		return &out
	case !asked:
		out.easing.told.Tell(leadsheet.Info, at, "tune-runs", "n", left, "Level", l.Number)
		return &out
	}
	out.song, out.analysis = song, harmony.Analyse(song)
	out.easing.outline = true
	out.easing.told.Tell(leadsheet.Info, at, "tune-outline", "n", left, "Level", l.Number, "Bars", numbered(song, bars))
	return &out
}

// numbered are bars by their numbers, each once.
func numbered(song leadsheet.Song, bars []int) (out words.Bars) {
	for _, b := range bars {
		if n := song.Bars[b].Number; len(out) == 0 || out[len(out)-1] != n {
			out = append(out, n)
		}
	}
	return out
}

// eased is the sheet with the rhythm that the level has for its reader.
func (s *sheet) eased(l ladder.Level, opt Options) *sheet {
	if l.Finest == 0 || opt.WrittenRhythm {
		return s
	}
	song, bars := arrange.Ease(s.song, l.Finest)
	out := *s
	told := &out.easing.told
	*told = slices.Clone(*told)
	if len(bars) > 0 {
		out.easing.written, out.easing.moves = s.song, l.Finest/2
		out.easing.written.Chords = song.Chords
		out.song, out.analysis = song, harmony.Analyse(song)
		told.Tell(leadsheet.Info, song.PosAt(song.Bars[bars[0]].At), "tune-eased", "Level", l.Number, "Bars", numbered(song, bars))
	}
	var quick []int
	n := 0
	for _, m := range song.Melody {
		if m.Dur >= l.Finest {
			continue
		}
		n++
		if b := song.BarAt(m.At); len(quick) == 0 || quick[len(quick)-1] != b {
			quick = append(quick, b)
		}
	}
	if n > 0 {
		told.Tell(leadsheet.Info, song.PosAt(song.Bars[quick[0]].At), "tune-quick", "n", n, "Level", l.Number, "Bars", numbered(song, quick))
	}
	return &out
}

// law is the song that a page is judged by, and how far its notes may have moved: that of
// the sheet, as whoever has the page and the sheet judges it, without what stands around.
func (s *sheet) law() (leadsheet.Song, theory.Dur) {
	song := s.song
	if s.easing.moves > 0 {
		song = s.easing.written
	}
	if s.frame.Notes > 0 {
		song = alone(song)
	}
	return song, s.easing.moves
}

// alone is a song without the bars that stand around its tune.
func alone(song leadsheet.Song) leadsheet.Song {
	other := func(b leadsheet.Bar) bool { return b.Part != leadsheet.Tune }
	out := song
	out.Bars = slices.DeleteFunc(slices.Clone(song.Bars), other)
	if len(out.Bars) == 0 {
		return song
	}
	from, to := out.Bars[0].At, out.Bars[len(out.Bars)-1].End()
	for i := range out.Bars {
		out.Bars[i].At -= from
	}
	out.Melody, out.Chords = nil, nil
	for _, n := range song.Melody {
		if n.At >= from && n.At < to {
			n.At -= from
			out.Melody = append(out.Melody, n)
		}
	}
	for _, c := range song.Chords {
		if c.At >= from && c.At < to {
			c.At -= from
			out.Chords = append(out.Chords, c)
		}
	}
	return out
}
