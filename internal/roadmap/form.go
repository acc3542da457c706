package roadmap

import (
	"cmp"
	"encoding/binary"
	"slices"
	"strings"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// JoinBars turns the bars of a page, in playing order, into the bars of the
// music. A bar that a repeat sign or double bar splits (the last beats of one
// section, the pick-up of the next) becomes one full bar again: two neighbours,
// both short, that add up to a full bar of the first one's metre. A short first
// bar becomes the pick-up, and bars are numbered from the first full one.
//
// Bars must come with At, Dur, Meter, Key, Line and Written (any numbers that grow
// along the page; equal means the same written bar). Written is counted anew, in order of first
// playing, so that equal numbers still mean equal pages after joining; Sheet
// and Pass are set.
func JoinBars(bars []leadsheet.Bar) []leadsheet.Bar {
	out := make([]leadsheet.Bar, 0, len(bars))
	type pair struct{ a, b int }
	written := make(map[pair]int)
	var begins []int // the page's bar that each begins with
	for i := 0; i < len(bars); i++ {
		b := bars[i]
		page := pair{b.Written, -1}
		b.Page, b.Split = [2]int{b.Written + 1}, 0
		if i+1 < len(bars) {
			next := bars[i+1]
			full := b.Meter.Bar()
			if b.Dur < full && next.Dur < next.Meter.Bar() && b.Dur+next.Dur == full {
				b.Page[1], b.Split = next.Written+1, b.Dur
				b.Dur = full
				page.b = next.Written
				i++
			}
		}
		id, ok := written[page]
		if !ok {
			id = len(written)
			written[page] = id
		}
		begins = append(begins, b.Written)
		b.Written = id
		b.Pickup = len(out) == 0 && b.Dur < b.Meter.Bar() && i+1 < len(bars)
		b.Number = len(out)
		if len(out) == 0 && !b.Pickup || len(out) > 0 && !out[0].Pickup {
			b.Number++
		}
		out = append(out, b)
	}
	numberSheet(out, begins)
	return out
}

// numberSheet sets Sheet and Pass. A bar is called after the page's bar that it
// begins with, so that the last bar of a section is the same one whichever pick-up
// it leads into; those are counted in the order of the page.
func numberSheet(bars []leadsheet.Bar, begins []int) {
	page := slices.Compact(slices.Sorted(slices.Values(begins)))
	played := make([]int, len(page))
	for i := range bars {
		k, _ := slices.BinarySearch(page, begins[i])
		played[k]++
		bars[i].Sheet, bars[i].Pass = k, played[k]
		if !bars[0].Pickup {
			bars[i].Sheet++
		}
	}
}

// SectionMark is a place where a section of the form begins, as far as the page
// says: a labelled part, the start of a pass through a repeat, a double bar.
type SectionMark struct {
	At   theory.Dur
	Name string // "A"; empty: a section begins here, but the page does not name it
}

// Shortest section that an unnamed mark or the search may make, in bars.
const shortestSection = 4

// WithForm returns the song with its Form and the Section of each section's
// first bar. A mark inside a bar (a pick-up that completes the section before)
// begins its section with the next bar, and the pick-up at the start of the song
// stands before its first section.
//
// Problem: name the sections of a song so that equal music gets equal letters.
// Sections are bounded by the marks; without any (or where the marks bound only
// one section), by cutting the song into equal lengths: a quarter of it where
// that makes 4, 8 or 16 bars, else 8, 16 or 4 bars, whichever first shows a
// repetition. Two sections get the same letter when they start from the same
// written bar, or when three bars in four, place by place, have the same melody.
// A named section keeps its name. Without a repetition and without names the
// form stays empty: letters that never come back say nothing. Linear in the bars
// for each different section. Rejected: alignment with insertions, which finds
// more forms in theory and splits plain ones at random in practice.
func WithForm(s leadsheet.Song, marks []SectionMark) leadsheet.Song {
	bars := slices.Clone(s.Bars)
	for i := range bars {
		bars[i].Section = ""
	}
	s.Bars, s.Form = bars, ""
	if len(bars) == 0 {
		return s
	}
	first := 0
	if bars[0].Pickup {
		first = 1
	}
	prints := melodyPrints(s)
	starts := sectionStarts(s, marks, first)
	named := slices.ContainsFunc(starts, func(c cut) bool { return c.name != "" })
	if len(starts) > 1 || named {
		if letters, ok := nameSections(s, starts, prints); ok && (named || repeats(letters)) {
			return label(s, starts, letters)
		}
		if named {
			return s
		}
	}
	n := len(bars) - first
	lengths := []int{8, 16, 4}
	if q := n / 4; n%4 == 0 && (q == 4 || q == 8 || q == 16) {
		lengths = []int{q, 8, 16, 4}
	}
	for _, l := range lengths {
		if n%l != 0 || n == l {
			continue
		}
		starts = starts[:0]
		for i := first; i < len(bars); i += l {
			starts = append(starts, cut{bar: i})
		}
		if letters, ok := nameSections(s, starts, prints); ok && repeats(letters) {
			return label(s, starts, letters)
		}
	}
	return s
}

// StatedForm cuts the song into equal sections, one for each letter of a form
// that the page states in words ("AABA"); ok is false where the bars do not
// divide.
func StatedForm(s leadsheet.Song, form string) (_ leadsheet.Song, ok bool) {
	first := 0
	if len(s.Bars) > 0 && s.Bars[0].Pickup {
		first = 1
	}
	n := len(s.Bars) - first
	if form == "" || n < len(form)*shortestSection || n%len(form) != 0 {
		return s, false
	}
	s.Bars = slices.Clone(s.Bars)
	for i := range s.Bars {
		s.Bars[i].Section = ""
	}
	for i := range len(form) {
		s.Bars[first+i*n/len(form)].Section = form[i : i+1]
	}
	s.Form = form
	return s, true
}

// cut is the first bar of a section.
type cut struct {
	bar  int
	name string
}

func label(s leadsheet.Song, starts []cut, letters []string) leadsheet.Song {
	long := false
	for i, c := range starts {
		s.Bars[c.bar].Section = letters[i]
		long = long || len(letters[i]) > 1
	}
	if long {
		s.Form = strings.Join(letters, " ")
	} else {
		s.Form = strings.Join(letters, "")
	}
	return s
}

func repeats(letters []string) bool {
	sorted := slices.Sorted(slices.Values(letters))
	return len(slices.Compact(sorted)) < len(letters)
}

// sectionStarts turns marks into bars and drops unnamed ones that would make a
// section shorter than shortestSection.
func sectionStarts(s leadsheet.Song, marks []SectionMark, first int) []cut {
	if len(marks) == 0 {
		return nil
	}
	marks = slices.Clone(marks)
	slices.SortStableFunc(marks, func(a, b SectionMark) int { return cmp.Compare(a.At, b.At) })
	var starts []cut
	for _, m := range marks {
		i, found := slices.BinarySearchFunc(s.Bars, m.At, func(b leadsheet.Bar, at theory.Dur) int { return cmp.Compare(b.At, at) })
		if !found && i == len(s.Bars) {
			continue // inside the last bar
		}
		i = max(i, first)
		if n := len(starts); n > 0 && starts[n-1].bar == i {
			if m.Name != "" {
				starts[n-1].name = m.Name
			}
			continue
		}
		starts = append(starts, cut{i, m.Name})
	}
	if len(starts) == 0 || starts[0].bar > first {
		starts = slices.Insert(starts, 0, cut{bar: first})
	}
	kept := starts[:0]
	for i, c := range starts {
		end := len(s.Bars)
		if i+1 < len(starts) {
			end = starts[i+1].bar
		}
		if len(kept) > 0 && c.name == "" && end-c.bar < shortestSection {
			continue
		}
		if n := len(kept); n > 0 && kept[n-1].name == "" && c.name == "" && c.bar-kept[n-1].bar < shortestSection {
			continue
		}
		kept = append(kept, c)
	}
	return kept
}

// nameSections gives every section a name; ok is false when the letters run out.
func nameSections(s leadsheet.Song, starts []cut, prints []int) (letters []string, ok bool) {
	end := func(i int) int {
		if i+1 < len(starts) {
			return starts[i+1].bar
		}
		return len(s.Bars)
	}
	used := make(map[string]bool)
	for _, c := range starts {
		used[c.name] = true
	}
	var models []int // the first section of each name
	byPage := make(map[int]string)
	next := 'A'
	for i, c := range starts {
		name := c.name
		page := s.Bars[c.bar].Written
		if name == "" {
			name = byPage[page]
		}
		for _, m := range models {
			if name != "" {
				break
			}
			if alike(prints[starts[m].bar:end(m)], prints[c.bar:end(i)]) {
				name = letters[m]
			}
		}
		if name == "" {
			for used[string(next)] && next <= 'Z' {
				next++
			}
			if next > 'Z' {
				return nil, false
			}
			name = string(next)
			used[name] = true
		}
		if !slices.ContainsFunc(models, func(m int) bool { return letters[m] == name }) {
			models = append(models, i)
		}
		if _, known := byPage[page]; !known {
			byPage[page] = name
		}
		letters = append(letters, name)
	}
	return letters, true
}

func alike(a, b []int) bool {
	same := 0
	for i := range min(len(a), len(b)) {
		if a[i] == b[i] {
			same++
		}
	}
	return 4*same >= 3*max(len(a), len(b))
}

// melodyPrints numbers the bars by the melody that begins in them: equal numbers
// mean equal pitches and onsets, the last note's length left out (endings are
// held longer or shorter, and the notes before it show their lengths by what
// follows).
func melodyPrints(s leadsheet.Song) []int {
	ids := make(map[string]int)
	out := make([]int, len(s.Bars))
	var key []byte
	n := 0
	for i, b := range s.Bars {
		key = key[:0]
		key = binary.AppendVarint(key, int64(b.Dur))
		for n < len(s.Melody) && s.Melody[n].At < b.At {
			n++
		}
		for ; n < len(s.Melody) && s.Melody[n].At < b.End(); n++ {
			note := s.Melody[n]
			key = binary.AppendVarint(key, int64(note.At-b.At))
			key = append(key, byte(note.Pitch.Letter), byte(note.Pitch.Alter), byte(note.Pitch.Octave))
		}
		id, ok := ids[string(key)]
		if !ok {
			id = len(ids)
			ids[string(key)] = id
		}
		out[i] = id
	}
	return out
}
