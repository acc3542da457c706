package edition

import (
	"reflect"
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/harmony"
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
}

// sheets are the ways to print a song, made when they are first asked for.
type sheets struct {
	played sheet
	folded [2]*sheet // by whether the end slows down
}

// of chooses for a level as the kind of tune shapes it. A page that slows down has the bar in which it does so apart
// from the one that leads back.
func (s *sheets) of(l ladder.Level, how Repeats) *sheet {
	if how == RepeatsWritten || how == RepeatsByLevel && !l.Folds {
		return &s.played
	}
	before := 0
	if l.SlowEnding {
		before = 1
	}
	if s.folded[before] == nil {
		s.folded[before] = &s.played
		if f, ok := roadmap.Fold(s.played.song, before); ok {
			s.folded[before] = &sheet{f.Song, harmony.Analyse(f.Song), &f}
		}
	}
	return s.folded[before]
}

// choices brings choices from the order of playing into the page's. What is for a later
// time through is dropped where the bar is printed once: silently where the first time
// has the same, else told.
func (s *sheet) choices(cs []choice.Choice) (out []choice.Choice, told leadsheet.Problems) {
	if s.fold == nil {
		return cs, nil
	}
	var later []choice.Choice
	for _, c := range cs {
		for _, st := range s.fold.Stretches(c.At, c.Until) {
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

// printed says where a moment of the song in playing order stands.
func (s *sheet) printed(at theory.Dur) theory.Dur {
	if s.fold == nil {
		return at
	}
	at, _ = s.fold.Place(at)
	return at
}

// first says when a place of the page is played first.
func (s *sheet) first(printed theory.Dur) theory.Dur {
	if s.fold == nil {
		return printed
	}
	return s.fold.First(printed)
}

// Played is the page as it is played, with the song in the same order: each note of the
// tune remembers its place there.
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
		b := p.Song.BarAt(p.Song.Melody[e].At)
		pass := s.Bars[s.BarAt(n.At)].Pass
		first, ok := at[time{b, pass}]
		if !ok { // it comes early, out of a bar that is played more often
			first = at[time{b, 1}]
		}
		n.Origin.Melody = first + e - begins[b] + 1
	}
	return s, song
}
