package ear

import (
	"fmt"

	"gradatim/internal/audit"
	"gradatim/theory"
)

// fingers counts fingers that are late.
func (e *ear) fingers() {
	e.out.Of[LateFinger] = 0
	for _, n := range e.s.Notes {
		if n.Finger > 0 && n.Grace == 0 {
			e.out.Of[LateFinger]++
		}
	}
	last := theory.Dur(-1)
	for _, v := range audit.Check(e.s, audit.Options{Song: &e.song}) {
		if v.Code == audit.Haste && v.At != last {
			e.mark(LateFinger, v.At, fmt.Sprint(v.Says, " ", v.Parts))
			last = v.At
		}
	}
}
