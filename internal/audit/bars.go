package audit

import (
	"slices"

	"gradatim/internal/hand"
	"gradatim/score"
	"gradatim/theory"
)

// bars judges the bars' lengths and that they follow one another, and each
// note's place and height.
func (p *page) bars() {
	bs := p.s.Bars
	for i, b := range bs {
		if i > 0 && b.At != bs[i-1].End() {
			p.report(b.At, BarGap, nil, "Bar", b.Number, "Gap", b.At-bs[i-1].End())
		}
		if !b.Meter.Valid() {
			p.report(b.At, BarLength+".no-metre", nil, "Bar", b.Number)
			continue
		}
		full := b.Meter.Bar()
		switch {
		case b.Dur <= 0 || b.Dur > full && !p.sheetHas(i):
			p.report(b.At, BarLength+".long", nil, "Bar", b.Number, "Length", b.Dur, "Metre", b.Meter, "Full", full)
		case b.Dur < full && !p.mayBeShort(i):
			p.report(b.At, BarLength+".short", nil, "Bar", b.Number, "Length", b.Dur, "Full", full)
		}
	}
	start := theory.Dur(0)
	if len(bs) > 0 {
		start = bs[0].At
	}
	end := p.s.End()
	for i := range p.s.Notes {
		n := &p.s.Notes[i]
		switch {
		case n.Grace == 0 && n.Dur <= 0:
			p.report(n.At, NoteLength+".none", []int{i}, "Note", n.Pitch)
		case n.Grace > 0 && n.Dur != 0:
			p.report(n.At, NoteLength+".grace", []int{i}, "Note", n.Pitch)
		}
		if n.At < start || n.At >= end || n.End() > end {
			p.report(n.At, NoteOutside, []int{i}, "Note", n.Pitch)
		}
		if k := n.Pitch.MIDI(); k < hand.LowestKey || k > hand.HighestKey {
			p.report(n.At, Range, []int{i}, "Note", n.Pitch)
		}
	}
}

// mayBeShort tells whether a bar may be shorter than its metre: a pick-up, the
// last bar, one of two that together make a full bar (a bar split by a repeat
// sign or a double line), or a bar that the sheet has just so.
func (p *page) mayBeShort(i int) bool {
	bs := p.s.Bars
	b := bs[i]
	if b.Pickup || i == len(bs)-1 {
		return true
	}
	full := b.Meter.Bar()
	if i > 0 && bs[i-1].Dur+b.Dur == full || i+1 < len(bs) && b.Dur+bs[i+1].Dur == full {
		return true
	}
	return p.sheetHas(i)
}

// sheetHas tells whether the sheet itself has the bar at this length: then the
// fault, if it is one, is the sheet's.
func (p *page) sheetHas(i int) bool {
	if p.song == nil {
		return false
	}
	b := p.s.Bars[i]
	j := p.song.BarAt(b.At)
	return j >= 0 && p.song.Bars[j].At == b.At && p.song.Bars[j].Dur == b.Dur
}

// voices judges that each voice is one line of notes or chords: a note may begin while
// another of its voice is held, if it does not outlast it, for then that one is tied on
// under it. Notes struck together may end apart: the longer are tied on.
func (p *page) voices() {
	var lines [3][256][]int // notes still sounding
	for i := 0; i < len(p.s.Notes); {
		n := &p.s.Notes[i]
		if n.Grace > 0 || n.Dur <= 0 {
			i++
			continue
		}
		// What the voice strikes at this moment.
		j := i
		for j < len(p.s.Notes) && p.s.Notes[j].At == n.At && p.s.Notes[j].Hand == n.Hand && p.s.Notes[j].Voice == n.Voice {
			j++
		}
		line := &lines[min(n.Hand, score.Left)][n.Voice]
		*line = slices.DeleteFunc(*line, func(k int) bool { return p.s.Notes[k].End() <= n.At })
		for k := i; k < j; k++ {
			m := &p.s.Notes[k]
			if m.Grace > 0 || m.Dur <= 0 {
				continue
			}
			for _, h := range *line {
				if held := &p.s.Notes[h]; held.At < m.At && held.End() < m.End() {
					p.report(m.At, VoiceOverlap+".before", []int{h, k}, "Hand", m.Hand, "Voice", int(m.Voice), "Note", m.Pitch, "Held", held.Pitch)
					break
				}
			}
			if len(*line) < most {
				*line = append(*line, k)
			}
		}
		i = j
	}
}
