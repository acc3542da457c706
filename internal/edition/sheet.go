package edition

import (
	"reflect"
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/frame"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/roadmap"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Repeats says whether what the sheet repeats is printed once, with signs.
type Repeats uint8

// Repeats.
const (
	RepeatsByLevel Repeats = iota
	RepeatsFolded
	RepeatsWritten
)

// sheet is the song in the order in which a page has it: that of playing, or folded.
// Whether it folds is decided here, before any note of the page is chosen.
type sheet struct {
	song     leadsheet.Song
	analysis harmony.Analysis
	fold     *roadmap.Folded // nil: the order is that of playing
	frame    frame.Framed    // zero: nothing stands around the tune
	easing   easing          // zero: the tune's rhythm is the sheet's
}

// sheets are the ways to print a song, made when they are first asked for.
type sheets struct {
	played sheet
	folded [2]*sheet // by whether the end slows down
}

// mostWritten is how many bars a level that varies what comes again writes out: two strains of
// sixteen bars, each played twice. For more a player turns pages without hearing anything
// new. Common practice, no source.
const mostWritten = 64

// of chooses for a level as the kind of tune shapes it. A page that slows down has the bar in which it does so apart
// from the one that leads back.
func (s *sheets) of(l ladder.Level, how Repeats) *sheet {
	if how == RepeatsWritten || how == RepeatsByLevel && !l.Folds && len(s.played.song.Bars) <= mostWritten {
		return &s.played
	}
	before := 0
	if l.SlowEnding {
		before = 1
	}
	if s.folded[before] == nil {
		s.folded[before] = &s.played
		if f, ok := roadmap.Fold(s.played.song, before); ok {
			s.folded[before] = &sheet{song: f.Song, analysis: harmony.Analyse(f.Song), fold: &f}
		}
	}
	return s.folded[before]
}

// choices brings choices from the order of playing into the page's. What is for a later
// time through is dropped where the bar is printed once: silently where the first time
// has the same, else told.
func (s *sheet) choices(cs []choice.Choice) (out []choice.Choice, told leadsheet.Problems) {
	if s.fold == nil && s.frame.Lead == 0 {
		return cs, nil
	}
	var later []choice.Choice
	for _, c := range cs {
		for _, st := range s.stretches(c.At, c.Until) {
			in, ok := c.Within(st.At, st.Until, st.Printed)
			switch {
			case !ok:
			case st.Again:
				later = append(later, in)
			default:
				out = append(out, in)
			}
		}
	}
	for _, c := range later {
		same := func(d choice.Choice) bool {
			return d.Level == c.Level && d.At <= c.At && d.Until >= c.Until && reflect.DeepEqual(d.Fix, c.Fix)
		}
		if !slices.ContainsFunc(out, same) {
			told = append(told, leadsheet.Tell(leadsheet.Info, c.Pos, "choice-folded", "Bar", words.Bars{c.Pos.Bar}))
		}
	}
	return out, told
}

// stretches cuts a part of the song in playing order where the page has it otherwise.
func (s *sheet) stretches(at, until theory.Dur) []roadmap.Stretch {
	if s.fold == nil {
		return []roadmap.Stretch{{At: at, Until: until, Printed: at + s.frame.Lead}}
	}
	out := s.fold.Stretches(at, until)
	for i := range out {
		out[i].Printed += s.frame.Lead
	}
	return out
}

// framed is the sheet with the introduction and the ending that the kind has at a level,
// or that are asked for.
func (s *sheet) framed(played leadsheet.Song, kind idiom.Idiom, level int, opt Options) *sheet {
	ending := kind.Ending.For(level, opt.Ending)
	if opt.Ending == idiom.LengthByKind && ending == idiom.NoLength && leadsBack(s.song, s.analysis) {
		ending = idiom.CloseLength
	}
	f, ok := frame.Around(s.song, played, s.analysis, kind, kind.Introduction.For(level, opt.Introduction), ending)
	if !ok {
		return s
	}
	return &sheet{song: f.Song, analysis: harmony.Analyse(f.Song), fold: s.fold, frame: f}
}

// leadsBack tells whether a tune has no end of its own: it runs on to its last note, which is
// not at rest on the tonic, and is played round and round. Who plays it for the last time adds
// the keynote. Where chords and notes are in another key than the sheet says, nobody knows
// that note. Common practice, no source.
func leadsBack(song leadsheet.Song, an harmony.Analysis) bool {
	if len(song.Melody) == 0 {
		return false
	}
	last := song.Melody[len(song.Melody)-1]
	s, ok := an.SpanAt(last.At)
	if !ok || !s.Sounding() || !s.Key.Valid() || an.Estimate.Tonic != s.Key.Tonic || song.Key.Tonic != s.Key.Tonic {
		return false
	}
	beat := song.Bars[song.BarAt(last.At)].Meter.OrCommon().BeatDur()
	if last.Dur >= beat || last.Pitch.Name == s.Key.Tonic {
		return false
	}
	d, alter := s.Key.Degree(s.Chord.Root)
	return d != 1 || alter != 0 || !s.Chord.HasClass(last.Pitch.Class())
}

// own counts the notes of the tune on a page without those that stand around it, which
// are none of the tune's own.
func (s *sheet) own(page score.Score) score.Score {
	if s.frame.Notes == 0 {
		return page
	}
	page.Notes = slices.Clone(page.Notes)
	for i := range page.Notes {
		o := &page.Notes[i].Origin
		if e, ok := o.Event(); ok {
			if o.Melody = e - s.frame.Before + 1; e < s.frame.Before || e >= s.frame.Before+s.frame.Notes {
				o.Melody = 0
			}
		}
	}
	return page
}

// printed says where a moment of the song in playing order stands.
func (s *sheet) printed(at theory.Dur) theory.Dur {
	if s.fold != nil {
		at, _ = s.fold.Place(at)
	}
	return at + s.frame.Lead
}

// first says when a place of the page is played first.
func (s *sheet) first(printed theory.Dur) theory.Dur {
	if printed -= s.frame.Lead; s.fold == nil {
		return printed
	}
	return s.fold.First(printed)
}

// Tune is the page as it is played, without what stands around the tune, and the song in
// the same order: each note of the tune remembers its place there. The two begin at 0;
// on the page as it is played, that is at lead.
func (p Page) Tune() (s score.Score, song leadsheet.Song, lead theory.Dur) {
	s, song = p.Played()
	first, last, ok := s.OfTune()
	if !ok || p.framed.Notes == 0 {
		return s, song, 0
	}
	lead = s.Bars[first].At
	end := s.Bars[last].End()
	s = s.Excerpt(first, last)
	s.Continues = false
	within := func(at theory.Dur) bool { return at >= lead && at < end }
	bars, notes, chords := song.Bars, song.Melody, song.Chords
	song.Bars, song.Melody, song.Chords = nil, nil, nil
	for _, b := range bars {
		if b.Part == leadsheet.Tune {
			b.At -= lead
			song.Bars = append(song.Bars, b)
		}
	}
	for _, n := range notes {
		if within(n.At) {
			n.At -= lead
			song.Melody = append(song.Melody, n)
		}
	}
	for _, c := range chords {
		if within(c.At) {
			c.At -= lead
			song.Chords = append(song.Chords, c)
		}
	}
	return s, song, lead
}

// Played is the page as it is played, with the song in the same order: each note of the
// tune remembers its place among the tune's own.
func (p Page) Played() (score.Score, leadsheet.Song) {
	if !p.Score.Repeats() {
		return p.Score, p.Song
	}
	s, order := p.Score.Played()
	song := roadmap.Unfold(p.Song)
	// The n-th time that a note is played is the n-th time that its bar is.
	begins := make([]int, len(p.Song.Bars)) // of each bar of the page, its first note
	i := 0
	for b := range begins {
		for i < len(p.Song.Melody) && p.Song.Melody[i].At < p.Song.Bars[b].At {
			i++
		}
		begins[b] = i
	}
	type time struct{ bar, n int }
	at := map[time]int{} // the first note of each bar, each time
	count := make([]int, len(p.Song.Bars))
	note := 0
	for _, b := range order {
		count[b]++
		at[time{b, count[b]}] = note
		end := len(p.Song.Melody)
		if b+1 < len(begins) {
			end = begins[b+1]
		}
		note += end - begins[b]
	}
	for k := range s.Notes {
		n := &s.Notes[k]
		e, ok := n.Origin.Event()
		if !ok {
			continue
		}
		e += p.framed.Before
		b := p.Song.BarAt(p.Song.Melody[e].At)
		pass := s.Bars[s.BarAt(n.At)].Pass
		first, ok := at[time{b, pass}]
		if !ok { // it comes early, out of a bar that is played more often
			first = at[time{b, 1}]
		}
		n.Origin.Melody = first + e - begins[b] - p.framed.Before + 1
	}
	return s, song
}
