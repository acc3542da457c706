package reduction

import (
	"cmp"
	"slices"
	"strings"

	"gradatim/internal/grade"
	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Of returns the lead sheet of a score, in playing order and in the score's key, named
// after a file. What was guessed is an Info among its Problems. The error is a
// leadsheet.Problems where the page has no tune.
func Of(s score.Score, file string) (leadsheet.Song, error) {
	tune, order := played(s)
	song, _, err := reduce(tune, file)
	if err != nil {
		return leadsheet.Song{}, err
	}
	marks := bars(&song, tune, order)
	return opened(roadmap.WithForm(song, marks)), nil
}

// OfPage is Of in the order of the page, bar for bar as it is printed; line tells which
// note of the score each note of the tune is, as an index.
func OfPage(s score.Score, file string) (song leadsheet.Song, line []int, err error) {
	if song, line, err = reduce(s, file); err != nil {
		return leadsheet.Song{}, nil, err
	}
	bars(&song, s, nil)
	for i, b := range s.Bars {
		to := &song.Bars[i]
		to.Number, to.Sheet, to.Pass, to.Part, to.Pickup = b.Number, cmp.Or(b.Sheet, b.Number), max(b.Pass, 1), b.Part, b.Pickup
		to.Section, to.Signs = b.Section, b.Signs
	}
	return opened(song), line, nil
}

// opened takes key and metre from the first bar.
func opened(song leadsheet.Song) leadsheet.Song {
	song.Key, song.Meter = song.Bars[0].Key, song.Bars[0].Meter
	song.KeyDeclared, song.MeterDeclared = song.Key.Valid(), song.Meter.Valid()
	return song
}

// reduce takes tune and chords out of a score, bar after bar as they stand; the song has
// no bars yet.
func reduce(s score.Score, file string) (song leadsheet.Song, line []int, err error) {
	song = leadsheet.Song{File: file, Title: s.Title, Tempo: s.Tempo, Feel: s.Feel}
	for _, name := range strings.Split(s.Composer, ", ") {
		if name = strings.TrimSpace(name); name != "" {
			song.Rights.Composers = append(song.Rights.Composers, leadsheet.Person{Name: name})
		}
	}
	song.Rights.Text = s.Rights
	said := func(says leadsheet.Saying, parts ...any) {
		song.Problems = append(song.Problems, leadsheet.Tell(leadsheet.Info, leadsheet.Pos{File: file}, says, parts...))
	}
	line, told := Tune(s)
	if len(line) == 0 || len(s.Bars) == 0 {
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: file}, "no-notes.melody")
		return leadsheet.Song{}, nil, ps
	}
	if !told {
		said("tune-guessed")
	}
	for k, i := range line {
		n := s.Notes[i]
		end := n.End()
		if k+1 < len(line) {
			end = min(end, s.Notes[line[k+1]].At)
		}
		song.Melody = append(song.Melody, leadsheet.Note{At: n.At, Dur: end - n.At, Pitch: n.Pitch, Graces: graces(s, i), Pos: leadsheet.Pos{File: file}})
	}
	symbols := s.Chords
	if len(symbols) == 0 {
		symbols = Heard(s)
		said("chords-heard")
	}
	for _, c := range symbols {
		mark := leadsheet.ChordMark{At: c.At, Chord: c.Chord, Text: cmp.Or(c.Text, c.Chord.String())}
		if k := len(song.Chords) - 1; k < 0 || song.Chords[k].Chord != c.Chord {
			song.Chords = append(song.Chords, mark)
		}
	}
	return song, line, nil
}

// WithHeard gives a song without chords those that are heard in its accompaniment, a
// score of the same bars. ok is false where the two are not equally long.
func WithHeard(song leadsheet.Song, accompaniment score.Score) (_ leadsheet.Song, ok bool) {
	s, _ := accompaniment.Played()
	symbols := s.Chords
	if len(symbols) == 0 {
		symbols = Heard(s)
	}
	early := s.End() - song.End() // rests before a pick-up, which the song leaves out
	if early < 0 || len(s.Bars) == 0 || early >= s.Bars[0].Dur {
		return song, false
	}
	song.Chords = nil
	for _, c := range symbols {
		song.Chords = append(song.Chords, leadsheet.ChordMark{At: max(0, c.At-early), Chord: c.Chord, Text: c.Chord.String()})
	}
	for len(song.Chords) > 1 && song.Chords[1].At == 0 {
		song.Chords = song.Chords[1:]
	}
	song.Problems = append(slices.Clip(song.Problems), leadsheet.Tell(leadsheet.Info, leadsheet.Pos{File: song.File}, "chords-heard"))
	return song, true
}

// Heard names the chords that a score without symbols sounds, from the first that is
// struck on.
func Heard(s score.Score) []score.Symbol {
	symbols := grade.Hear(s)
	if len(symbols) == 0 || len(s.Notes) == 0 {
		return nil
	}
	first := s.Notes[0].At
	if b := s.Bars[s.BarAt(first)]; b.Pickup && len(s.Bars) > 1 {
		first = b.End() // a pick-up is the tune's alone
	}
	k := 0
	for k+1 < len(symbols) && symbols[k+1].At <= first {
		k++
	}
	symbols = slices.Clone(symbols[k:])
	symbols[0].At = max(symbols[0].At, first)
	return symbols
}

// played is the score as it is played, without what our pages have around the tune; order
// tells for each bar which of the page's it is.
func played(s score.Score) (out score.Score, order []int) {
	out, order = s.Played()
	if first, last, ok := out.OfTune(); ok && (first > 0 || last < len(out.Bars)-1) {
		at := out.Bars[first].At
		printed := slices.ContainsFunc(out.Chords, func(c score.Symbol) bool { return c.At == at })
		out, order = out.Excerpt(first, last), order[first:last+1]
		if !printed && len(out.Chords) > 0 && out.Chords[0].At == 0 { // the introduction's goes on
			out.Chords = out.Chords[1:]
		}
	}
	return out, order
}

// bars gives the song the bars of the page and tells where its sections begin. order says
// which bar of the page each is; then those that a sign splits are joined. A signature that may be a major key or its relative minor is
// read by the last chord.
func bars(song *leadsheet.Song, s score.Score, order []int) (marks []roadmap.SectionMark) {
	minor := false
	if n := len(song.Chords); n > 0 && song.Chords[n-1].Chord.MinorThird() {
		k := s.Bars[len(s.Bars)-1].Key
		minor = k.Valid() && song.Chords[n-1].Chord.Root == theory.KeyOf(k.Fifths(), theory.Minor).Tonic
	}
	for i, b := range s.Bars {
		key := b.Key
		if minor && key.Valid() && key.Mode == theory.Major {
			key = theory.KeyOf(key.Fifths(), theory.Minor)
		}
		bar := leadsheet.Bar{At: b.At, Dur: b.Dur, Meter: b.Meter.OrCommon(), Key: key, Written: i}
		if order != nil {
			bar.Written = order[i]
		}
		song.Bars = append(song.Bars, bar)
		if b.Section != "" {
			name := ""
			if len(b.Section) <= 2 { // a letter, not words
				name = b.Section
			}
			marks = append(marks, roadmap.SectionMark{At: b.At, Name: name})
		}
	}
	if order != nil {
		song.Bars = roadmap.JoinBars(song.Bars)
	}
	return marks
}

// graces lists the grace notes before a note.
func graces(s score.Score, i int) (out []theory.Pitch) {
	for k := i - 1; k >= 0 && s.Notes[k].At == s.Notes[i].At; k-- {
		if g := s.Notes[k]; g.Grace > 0 && g.Hand == s.Notes[i].Hand && g.Voice == s.Notes[i].Voice && g.Origin.Kind == 0 {
			out = append(out, g.Pitch)
		}
	}
	slices.Reverse(out)
	return out
}
