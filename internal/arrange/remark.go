package arrange

import (
	"cmp"
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Remark is what a page tells of itself: what had to give way, or was taken for
// granted. It becomes a leadsheet.Problem when it is put into words.
type Remark struct {
	Pos      leadsheet.Pos
	Severity leadsheet.Severity
	Code     string // of the Problem
	Case     string // which of the code's sentences; "" where it has one
	Parts    []any  // of the sentence: names and values by turns
}

// Remarks are told all at once.
type Remarks []Remark

// Refused is the error of a song that cannot be set at all, and why.
type Refused Remarks

// Error names the codes; who knows the words says more.
func (r Refused) Error() string {
	text := "arrange: refused"
	for _, x := range r {
		text += " " + x.Code
	}
	return text
}

// Sort puts remarks in the order of their places, graver ones first, then by code.
func (rs Remarks) Sort() {
	slices.SortStableFunc(rs, func(a, b Remark) int {
		return cmp.Or(cmp.Compare(a.Pos.File, b.Pos.File), cmp.Compare(a.Pos.Line, b.Pos.Line), cmp.Compare(a.Pos.Col, b.Pos.Col), cmp.Compare(a.Pos.Bar, b.Pos.Bar),
			cmp.Compare(a.Pos.Beat, b.Pos.Beat), cmp.Compare(b.Severity, a.Severity), cmp.Compare(a.Code, b.Code))
	})
}

// remark tells something at a position of the song.
func (p *piece) remark(sev leadsheet.Severity, at theory.Dur, code string, parts ...any) {
	p.remarks = append(p.remarks, Remark{Pos: p.song.PosAt(at), Severity: sev, Code: code, Parts: parts})
}
