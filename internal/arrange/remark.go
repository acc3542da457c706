package arrange

import (
	"gradatim/leadsheet"
	"gradatim/theory"
)

// remark tells something at a position of the song: what had to give way, or was taken
// for granted.
func (p *piece) remark(sev leadsheet.Severity, at theory.Dur, says leadsheet.Saying, parts ...any) {
	p.remarks.Tell(sev, p.song.PosAt(at), says, parts...)
}
