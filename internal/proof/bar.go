package proof

import (
	"slices"
	"strings"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// item is a note or a rest of a bar.
type item struct {
	off, dur theory.Dur
	note     int // of the song; −1: a rest
}

// items are what a bar holds, in order; nil where a note is held into it.
func (r *reader) items(bar int) []item {
	b := r.song.Bars[bar]
	var out []item
	now := b.At
	for i := r.noteFrom(b.At); i < len(r.song.Melody) && r.song.Melody[i].At < b.End(); i++ {
		n := r.song.Melody[i]
		if n.At < b.At {
			return nil
		}
		if n.At > now {
			out = append(out, item{now - b.At, n.At - now, -1})
		}
		now = min(n.End(), b.End())
		out = append(out, item{n.At - b.At, now - n.At, i})
	}
	if now < b.End() {
		out = append(out, item{now - b.At, b.End() - now, -1})
	}
	return out
}

// rhythm writes the lengths of items.
func rhythm(items []item) string {
	var b strings.Builder
	for _, it := range items {
		if it.note < 0 {
			b.WriteByte('z')
		}
		b.WriteString(it.dur.String())
		b.WriteByte(' ')
	}
	return b.String()
}

// barCodes are what readers of sheets say of bars whose notes do not fill them.
var barCodes = []string{"bar-short", "bar-long", "bar-overfull", "bar-underfull"}

// bars finds bars of the wrong length and pick-ups that do not fit, among those of which
// whoever read the sheet said that their notes do not fill them.
func (r *reader) bars() []Suspicion {
	var out []Suspicion
	done := map[int]bool{}
	if s, ok := r.pickup(done); ok {
		out = append(out, s)
	}
	var known map[string]int
	for _, p := range r.song.Problems {
		if !slices.Contains(barCodes, p.Code) || p.Says == "bar-overfull.several" {
			continue
		}
		i := slices.IndexFunc(r.song.Bars, func(b leadsheet.Bar) bool { return b.Number == p.Pos.Bar })
		if i < 0 || done[r.song.Bars[i].Written] {
			continue
		}
		done[r.song.Bars[i].Written] = true
		if known == nil {
			known = r.rhythms()
		}
		out = append(out, r.length(i, p, known))
	}
	return out
}

// rhythms counts the rhythms of the page's full bars, and of these with their pitches.
func (r *reader) rhythms() map[string]int {
	out := map[string]int{}
	seen := map[int]bool{}
	for i, b := range r.song.Bars {
		if b.Dur != b.Meter.Bar() || seen[b.Written] {
			continue
		}
		seen[b.Written] = true
		if its := r.items(i); its != nil {
			out[rhythm(its)]++
			out[r.sung(its)]++
		}
	}
	return out
}

// sung writes lengths and pitches.
func (r *reader) sung(items []item) string {
	var b strings.Builder
	b.WriteString(rhythm(items))
	for _, it := range items {
		if it.note >= 0 {
			b.WriteString(r.song.Melody[it.note].Pitch.String())
		}
	}
	return b.String()
}

// length is what is suspected of a bar that is too long or too short: one of its values
// was written with another value or without its dot, best one that makes the bar like
// others of the tune.
func (r *reader) length(i int, told leadsheet.Problem, known map[string]int) Suspicion {
	b := r.song.Bars[i]
	full, filled := r.fullBar(i)
	off := b.Dur - full
	if filled > 0 { // whoever read it has filled it with a rest
		off = -filled
	}
	s := Suspicion{Kind: Length, Pos: r.pos(b.At), ID: r.id(Length, b.At), Likely: 50,
		Says: "bar-doubtful.length", Parts: []any{"Length", full + off, "Full", full}}
	its := r.items(i)
	if filled > 0 && len(its) > 0 && its[len(its)-1].note < 0 {
		last := &its[len(its)-1]
		if last.dur -= filled; last.dur <= 0 {
			its = its[:len(its)-1]
		}
	}
	best, second, at := 0, 0, -1
	for k, it := range its {
		meant := it.dur - off
		like := slip(it.dur, meant)
		if like == 0 {
			continue
		}
		as := slices.Clone(its)
		as[k].dur = meant
		score := like
		if n := known[rhythm(as)]; n > 0 {
			score += 10 + min(n, 5)
		}
		if known[r.sung(as)] > 0 {
			score += 30
		}
		if it.note < 0 {
			score--
		}
		if score > best {
			best, second, at = score, best, k
		} else {
			second = max(second, score)
		}
	}
	if at < 0 {
		return s
	}
	switch {
	case best >= 30 && second < 30:
		s.Likely = 90
	case best >= 10 && second < 10:
		s.Likely = 80
	case best > second:
		s.Likely = 65
	}
	it := its[at]
	meant := it.dur - off
	s.Parts = append(s.Parts, "Value", it.dur, "Read", meant)
	s.Says = "bar-doubtful.value"
	if it.note >= 0 {
		s.Says = "bar-doubtful.note"
		s.Parts = append(s.Parts, "Note", r.song.Melody[it.note].Pitch)
	}
	s.mend = setLength(b.Written, it.off, it.dur, meant, b.Dur, full, filled, r.meterNear(i), told.Code)
	return s
}

// slip is how easily a value is written for another one: a dot too many or too few, a
// flag or a stem too many or too few; 0: not by one slip.
func slip(is, meant theory.Dur) int {
	switch {
	case meant <= 0:
		return 0
	case is == 2*meant, 2*is == meant:
		return 3
	case 2*is == 3*meant, 3*is == 2*meant:
		return 2
	case 4*is == 3*meant, 3*is == 4*meant:
		return 1
	}
	return 0
}

// meterNear is the metre around a bar.
func (r *reader) meterNear(i int) leadsheet.Meter {
	for _, k := range []int{i - 1, i + 1} {
		if k >= 0 && k < len(r.song.Bars) && r.song.Bars[k].Dur == r.song.Bars[k].Meter.Bar() {
			return r.song.Bars[k].Meter
		}
	}
	return r.song.Bars[i].Meter
}

// fullBar is the length that a bar should have; filled is the rest that whoever read the
// sheet has filled it with.
func (r *reader) fullBar(i int) (full, filled theory.Dur) {
	b := r.song.Bars[i]
	for _, p := range r.song.Problems {
		if p.Says == "bar-underfull.filled" && p.Pos.Bar == b.Number && len(p.Parts) > 1 {
			for k := 0; k+1 < len(p.Parts); k += 2 {
				if d, ok := p.Parts[k+1].(theory.Dur); ok && p.Parts[k] == "Missing" {
					return b.Dur, d
				}
			}
		}
	}
	return r.meterNear(i).Bar(), 0
}

// setLength is the mend that gives one value of a written bar another length.
func setLength(written int, off, is, meant, long, full, filled theory.Dur, m leadsheet.Meter, code string) func(leadsheet.Song) leadsheet.Song {
	return func(song leadsheet.Song) leadsheet.Song {
		var bars []int
		for i, b := range song.Bars {
			if b.Written == written && b.Dur == long {
				bars = append(bars, i)
			}
		}
		song.Chords = slices.Clone(song.Chords)
		for _, i := range slices.Backward(bars) {
			b := song.Bars[i]
			at := b.At + off + is
			if filled > 0 { // the rest goes
				song = shift(song, b.End(), -filled)
			}
			for k := range song.Chords { // under what the value loses
				if c := &song.Chords[k]; c.At > at+meant-is && c.At < at {
					c.At = at + meant - is
				}
			}
			song = shift(song, at, meant-is)
			song.Bars[i].Dur, song.Bars[i].Meter = full, m
			for k := range song.Melody {
				if n := &song.Melody[k]; n.At == b.At+off {
					n.Dur += meant - is
				}
			}
		}
		end := song.End()
		song.Chords = slices.DeleteFunc(song.Chords, func(c leadsheet.ChordMark) bool { return c.At >= end })
		song.Problems = slices.DeleteFunc(slices.Clone(song.Problems), func(p leadsheet.Problem) bool {
			return p.Code == code && slices.ContainsFunc(bars, func(i int) bool { return song.Bars[i].Number == p.Pos.Bar })
		})
		return song
	}
}

// shift moves all that begins at a place or after it. What begins before it stays as long
// as it is.
func shift(song leadsheet.Song, at, by theory.Dur) leadsheet.Song {
	song.Bars, song.Melody, song.Chords = slices.Clone(song.Bars), slices.Clone(song.Melody), slices.Clone(song.Chords)
	for i := range song.Bars {
		if b := &song.Bars[i]; b.At >= at {
			b.At += by
		}
	}
	for i := range song.Melody {
		if n := &song.Melody[i]; n.At >= at {
			n.At += by
		}
	}
	for i := range song.Chords {
		if c := &song.Chords[i]; c.At >= at {
			c.At += by
		}
	}
	return song
}

// pickup compares the pick-up with the bars that it completes. done takes the written bars
// of which it tells.
func (r *reader) pickup(done map[int]bool) (Suspicion, bool) {
	bars := r.song.Bars
	first, last := bars[0], bars[len(bars)-1]
	full := r.fullMeter().Bar()
	if len(bars) < 3 {
		return Suspicion{}, false
	}
	if !first.Pickup {
		over := first.Dur - full
		if over <= 0 || last.Dur != full-over || !r.told(0) {
			return Suspicion{}, false
		}
		its := r.items(0)
		if !slices.ContainsFunc(its, func(it item) bool { return it.off == over }) {
			return Suspicion{}, false
		}
		done[first.Written], done[last.Written] = true, true
		s := Suspicion{Kind: Pickup, Pos: r.pos(first.At), ID: r.id(Pickup, first.At), Likely: 90,
			Says: "pickup-doubtful.line", Parts: []any{"Length", over}}
		s.mend = splitFirst(over, r.fullMeter())
		return s, true
	}
	// What stands before it where it comes again, and at the end.
	need := theory.Dur(0)
	same := true
	note := func(i int) {
		if bars[i].Dur >= full {
			return
		}
		if d := full - bars[i].Dur; need == 0 || need == d {
			need = d
		} else {
			same = false
		}
	}
	for i := 1; i+1 < len(bars); i++ {
		if bars[i+1].Written == first.Written && bars[i+1].Dur == first.Dur {
			note(i)
		}
	}
	note(len(bars) - 1)
	if need == 0 || !same || need == first.Dur {
		return Suspicion{}, false
	}
	for i, b := range bars {
		if b.Dur < full && (b.Written == first.Written || i == len(bars)-1 || i+1 < len(bars) && bars[i+1].Written == first.Written) {
			done[b.Written] = true
		}
	}
	s := Suspicion{Kind: Pickup, Pos: r.pos(first.At), ID: r.id(Pickup, first.At), Likely: 60,
		Says: "pickup-doubtful.length", Parts: []any{"Length", first.Dur, "Need", need}}
	its := r.items(0)
	at, n := -1, 0
	for k, it := range its {
		if slip(it.dur, it.dur+need-first.Dur) > 0 {
			at, n = k, n+1
		}
	}
	if at >= 0 {
		if n == 1 {
			s.Likely = 80
		}
		it := its[at]
		meter := bars[0].Meter
		meter2 := r.fullMeter()
		if meter2.Valid() {
			meter = meter2
		}
		s.mend = setLength(first.Written, it.off, it.dur, it.dur+need-first.Dur, first.Dur, need, 0, meter, "bar-short")
	}
	return s, true
}

// fullMeter is the metre of the first full bar.
func (r *reader) fullMeter() leadsheet.Meter {
	for _, b := range r.song.Bars[1:] {
		if b.Dur == b.Meter.Bar() {
			return b.Meter
		}
	}
	return r.song.Meter
}

// told tells whether whoever read the sheet said that a bar is not filled.
func (r *reader) told(bar int) bool {
	return slices.ContainsFunc(r.song.Problems, func(p leadsheet.Problem) bool {
		return slices.Contains(barCodes, p.Code) && p.Pos.Bar == r.song.Bars[bar].Number
	})
}

// splitFirst is the mend that takes the beginning of the first bar for a pick-up.
func splitFirst(off theory.Dur, m leadsheet.Meter) func(leadsheet.Song) leadsheet.Song {
	return func(song leadsheet.Song) leadsheet.Song {
		b := song.Bars[0]
		up, rest := b, b
		up.Dur, up.Meter, up.Pickup, up.Number, up.Sheet, up.Section = off, m, true, 0, 0, ""
		rest.At, rest.Dur, rest.Meter = b.At+off, b.Dur-off, m
		first := song.Bars[0]
		song.Bars = append([]leadsheet.Bar{up, rest}, song.Bars[1:]...)
		for i := 2; i < len(song.Bars); i++ { // where it comes again, the bar before it has room
			b, before := &song.Bars[i], &song.Bars[i-1]
			if b.Written == first.Written && b.Dur == first.Dur && before.Dur == m.Bar()-off {
				before.Dur += off
				b.At += off
				b.Dur -= off
				b.Meter = m
			}
		}
		song.Meter = m
		for i := 1; i < len(song.Bars); i++ { // each written bar has its own number still
			song.Bars[i].Written++
		}
		song.Melody = slices.Clone(song.Melody)
		for i := range song.Melody {
			n := &song.Melody[i]
			p := song.PosAt(n.At)
			n.Pos.Bar, n.Pos.Beat = p.Bar, p.Beat
		}
		song.Chords = slices.Clone(song.Chords)
		for i := range song.Chords {
			c := &song.Chords[i]
			p := song.PosAt(c.At)
			c.Pos.Bar, c.Pos.Beat = p.Bar, p.Beat
		}
		song.Problems = slices.DeleteFunc(slices.Clone(song.Problems), func(p leadsheet.Problem) bool {
			return slices.Contains(barCodes, p.Code) && (p.Pos.Bar == b.Number || p.Pos.Bar == song.Bars[len(song.Bars)-1].Number)
		})
		return song
	}
}
