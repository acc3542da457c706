package abc

import (
	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
)

// barLine closes the bar and takes note of what the line says about repeats.
func (b *builder) barLine(t token) {
	b.closeGroups()
	b.overlay = false
	b.dropGraces(t.pos)
	if len(b.cur.items) > 0 {
		b.finish()
		if b.stopped {
			return
		}
	} else if n := len(b.bars); n > 0 {
		b.bars[n-1].signs = leave(b.bars[n-1].signs, &b.next)
	}
	n := len(b.bars)
	l := t.bar
	if l.closes > 0 {
		b.closeRepeat(t)
	}
	if l.opens > 0 {
		if b.open && n > b.section {
			b.repeatOpen(b.here(t.pos))
		}
		b.next.Start, b.open, b.openTimes = true, true, l.opens
		b.section = n
	}
	if l.double && n > 0 {
		b.double = true
	}
	if l.closes > 0 || l.opens > 0 || l.double {
		b.ending = nil
	}
}

// leave moves the signs that stand at the end of a bar from those waiting.
func leave(s roadmap.Signs, next *roadmap.Signs) roadmap.Signs {
	s.ToCoda = s.ToCoda || next.ToCoda
	s.Fine = s.Fine || next.Fine
	s.DaCapo = s.DaCapo || next.DaCapo
	s.DalSegno = s.DalSegno || next.DalSegno
	next.ToCoda, next.Fine, next.DaCapo, next.DalSegno = false, false, false, false
	return s
}

// repeatOpen tells of a repeat that is never closed.
func (b *builder) repeatOpen(at where) {
	b.warn(at, "repeat-open")
}

// closeRepeat makes the last bar close a repeat.
func (b *builder) closeRepeat(t token) {
	n := len(b.bars)
	if n == 0 || n == b.section && b.next.Start {
		b.warn(b.here(t.pos), "repeat-empty")
		return
	}
	times := max(t.bar.closes, b.openTimes)
	if times > roadmap.MaxPasses {
		b.fail(b.here(t.pos), "too-many-passes.section", "Most", roadmap.MaxPasses)
		return
	}
	last := &b.bars[n-1]
	last.signs.Times = max(last.signs.Times, times)
	if !b.open && b.lastSplit > b.section {
		// The sign has no partner: it may go back to the double bar or beyond it.
		// The pick-up decides where it can.
		says := leadsheet.Saying("repeat-start-guessed.double")
		if !b.balanced(b.section) && b.balanced(b.lastSplit) {
			b.bars[b.lastSplit].signs.Break = true
		} else {
			says = "repeat-start-guessed.section"
		}
		b.warn(b.here(t.pos), says)
	}
	b.open, b.openTimes = false, 0
	b.section = n
}

// balanced tells whether the last bar and the bar that a repeat would go back to
// are full, or fill each other.
func (b *builder) balanced(to int) bool {
	last, first := b.bars[len(b.bars)-1], b.bars[to]
	if first.free {
		return false
	}
	full := first.meter.Bar()
	return last.dur()+first.dur() == full || last.dur() == full && first.dur() == full
}

// startEnding begins a first, second … ending.
func (b *builder) startEnding(t token) {
	b.closeGroups()
	for _, n := range append(t.nums[:len(t.nums):len(t.nums)], len(t.nums)) {
		if n < 1 || n > roadmap.MaxPasses {
			b.fail(b.here(t.pos), "too-many-passes.ending", "Most", roadmap.MaxPasses)
			return
		}
	}
	if len(b.cur.items) > 0 {
		b.finish()
	}
	b.ending = t.nums
	b.next.EndingOpens = true
}

// label starts a part.
func (b *builder) label(name string) {
	b.closeGroups()
	if len(b.cur.items) > 0 {
		b.finish()
	}
	b.part, b.partOpens = name, true
	b.ending = nil
	if !b.open {
		b.next.Break = true
		b.section = len(b.bars)
	}
}
