package musicxml

import (
	"gradatim/leadsheet"
	"gradatim/theory"
)

// place is where in the written music something is. Bar numbers and beats are
// known only when all bars have been seen, so Problems keep a place until then.
type place struct {
	line  int
	bar   int // index of the written bar
	at    theory.Dur
	timed bool // at is meant
}

func (r *reader) warnAt(p place, says leadsheet.Saying, parts ...any) {
	r.problems.addAt(leadsheet.Warning, r.file, p, says, parts...)
}

func (r *reader) infoAt(p place, says leadsheet.Saying, parts ...any) {
	r.problems.addAt(leadsheet.Info, r.file, p, says, parts...)
}

func (r *reader) failAt(p place, says leadsheet.Saying, parts ...any) bool {
	r.problems.addAt(leadsheet.Error, r.file, p, says, parts...)
	return false
}

// posOf turns a place into bar and beat.
func posOf(bars []writtenBar, p place) leadsheet.Pos {
	pos := leadsheet.Pos{Line: p.line, Bar: p.bar + 1}
	if p.bar < 0 || p.bar >= len(bars) {
		pos.Bar = max(pos.Bar, 0)
		return pos
	}
	b := bars[p.bar]
	pos.Bar = b.number
	if pos.Line == 0 {
		pos.Line = b.line
	}
	at := p.at
	if b.pickup {
		at += b.meter.Bar() - b.dur
	}
	if p.timed || b.number == 0 {
		pos.Beat = b.meter.BeatAt(at)
	}
	return pos
}
