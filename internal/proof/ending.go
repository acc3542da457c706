package proof

import (
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Endings.
//
// Problem: where the signs of a first and second ending are lost, a section is played twice
// with its first ending, and the second stands behind it as a bar or two too many. Source:
// sections of tunes have four bars or a multiple (common practice, no source). A section that
// comes again at once, is of so many bars, and is followed by one or two bars more than such
// a number before the next repeat or the end, has lost its endings.

// mostEnding is how many bars of an ending are looked for.
const mostEnding = 2

func (r *reader) endings() []Suspicion {
	bars := r.song.Bars
	first := 0
	if bars[0].Pickup {
		first = 1
	}
	if bars[first].Page[0] == 0 {
		return nil
	}
	before, after := again(bars)
	block := func(i int) int { return block(bars, i, after[i]) }
	var out []Suspicion
	for i := first; i < len(bars); {
		n := block(i)
		if n == 0 {
			i++
			continue
		}
		done := i + 2*n
		end := done // of what is played once
		for end < len(bars) && block(end) == 0 && before[end] < i {
			end++
		}
		extra := (end - done) % 4
		if n%4 == 0 && extra > 0 && extra <= mostEnding && end-done >= extra && r.fullBars(i, i+n) && r.fullBars(i+n, done-1) {
			out = append(out, r.ending(i, n, extra, end-done == extra))
		}
		i = done
	}
	return out
}

// again tells for each bar which one before it and which after it are the same on the page;
// −1: none.
func again(bars []leadsheet.Bar) (before, after []int) {
	last := map[int]int{}
	before, after = make([]int, len(bars)), make([]int, len(bars))
	for i, b := range bars {
		before[i], after[i] = -1, -1
		if k, ok := last[b.Page[0]]; ok {
			before[i], after[k] = k, i
		}
		last[b.Page[0]] = i
	}
	return before, after
}

// block is the length of the section that begins with a bar and comes again at once, with
// bar j; 0: none does.
func block(bars []leadsheet.Bar, i, j int) int {
	n := j - i
	if j < 0 || j+n > len(bars) {
		return 0
	}
	for k := range n {
		if bars[i+k].Page[0] != bars[j+k].Page[0] {
			return 0
		}
	}
	return n
}

// fullBars tells whether the bars of a stretch are full.
func (r *reader) fullBars(from, to int) bool {
	return !slices.ContainsFunc(r.song.Bars[from:to], func(b leadsheet.Bar) bool { return b.Dur != b.Meter.Bar() })
}

// ending is what is suspected of a section of n bars from bar i and as many again, which
// extra bars follow; alone: and nothing else before the next repeat.
func (r *reader) ending(i, n, extra int, alone bool) Suspicion {
	bars := r.song.Bars
	second := i + 2*n // the second ending
	one := i + n - extra
	s := Suspicion{Kind: Ending, Pos: r.pos(bars[one].At), ID: r.id(Ending, bars[one].At), Likely: 60,
		Says: "ending-lost", Parts: []any{"n", extra, "From", bars[one].Number, "Second", bars[second].Number}}
	if alone && r.closes(one, extra) && r.closes(second, extra) || r.begins(one) == r.begins(second) {
		s.Likely = 85
	}
	s.strays = map[int]bool{}
	for k := second - extra; k < second+extra && k < len(bars); k++ {
		s.strays[bars[k].Number] = true
	}
	from, to := bars[second-extra].At, bars[second].At
	s.mend = cut(second-extra, extra, from, to)
	return s
}

// begins is the pitch with which a bar begins; 0: none does.
func (r *reader) begins(i int) int {
	b := r.song.Bars[i]
	for k := r.noteFrom(b.At); k < len(r.song.Melody) && r.song.Melody[k].At < b.End(); k++ {
		return r.song.Melody[k].Pitch.MIDI()
	}
	return -i - 1
}

// closes tells whether a stretch ends with a note of the tonic triad or a long one.
func (r *reader) closes(i, n int) bool {
	b := r.song.Bars[i+n-1]
	k := r.noteFrom(b.End()) - 1
	if k < 0 {
		return false
	}
	note := r.song.Melody[k]
	key := r.a.Key
	home := theory.Chord{Root: key.Tonic, Tones: triadIn(key, key.Tonic)}
	return home.HasClass(note.Pitch.Class()) || note.Dur >= 2*b.Meter.OrCommon().Pulse()
}

// cut is the mend that leaves bars out.
func cut(bar, n int, from, to theory.Dur) func(leadsheet.Song) leadsheet.Song {
	return func(song leadsheet.Song) leadsheet.Song {
		out := song
		out.Bars, out.Melody, out.Chords = nil, nil, nil
		by := to - from
		for i, b := range song.Bars {
			if i >= bar && i < bar+n {
				continue
			}
			if i >= bar+n {
				b.At -= by
				b.Number -= n
			}
			out.Bars = append(out.Bars, b)
		}
		for _, m := range song.Melody {
			if m.At >= to {
				m.At -= by
			} else if m.At >= from {
				continue
			} else if m.End() > from {
				m.Dur = from - m.At
			}
			out.Melody = append(out.Melody, m)
		}
		var held *leadsheet.ChordMark // what is in force where the music goes on
		for k := range song.Chords {
			c := song.Chords[k]
			switch {
			case c.At >= to:
				if held != nil && c.At > to {
					held.At = from
					out.Chords = append(out.Chords, *held)
				}
				held = nil
				c.At -= by
				out.Chords = append(out.Chords, c)
			case c.At >= from:
				held = &c
			default:
				out.Chords = append(out.Chords, c)
			}
		}
		place := func(p *leadsheet.Pos, at theory.Dur) {
			q := out.PosAt(at)
			p.Bar, p.Beat = q.Bar, q.Beat
		}
		for i := range out.Melody {
			place(&out.Melody[i].Pos, out.Melody[i].At)
		}
		for i := range out.Chords {
			place(&out.Chords[i].Pos, out.Chords[i].At)
		}
		first := song.Bars[bar].Number
		out.Problems = slices.DeleteFunc(slices.Clone(song.Problems), func(p leadsheet.Problem) bool {
			return slices.Contains(barCodes, p.Code) && p.Pos.Bar >= first && p.Pos.Bar < first+n
		})
		for i := range out.Problems {
			if p := &out.Problems[i]; p.Pos.Bar >= first+n {
				p.Pos.Bar -= n
			}
		}
		return out
	}
}
