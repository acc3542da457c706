package words

import (
	"errors"

	"gradatim/leadsheet"
)

// Problem puts a Problem into words, in place of those that it may have. A code has one
// sentence, or one for each case; beside a text there may be a way out, for the case or for
// all of the code.
func (w *Words) Problem(p leadsheet.Problem) leadsheet.Problem {
	if p.Says == "" {
		return p
	}
	key := "problem." + string(p.Says)
	p.Text, p.Fix = w.Say(key+".text", p.Parts...), ""
	if p.Times > 1 {
		p.Text = w.Say("problem-times", "Text", p.Text, "n", p.Times)
	}
	for _, k := range [...]string{key, "problem." + p.Says.Code()} {
		if w.Has(k + ".fix") {
			p.Fix = w.Say(k+".fix", p.Parts...)
			break
		}
	}
	if p.Mend != "" && p.Code != "sheet-mended" {
		mend := w.Say("problem-mend", "Likely", p.Likely, "ID", p.Mend)
		if p.Fix != "" {
			mend = p.Fix + "; " + mend
		}
		p.Fix = mend
	}
	return p
}

// Problems puts Problems into words. The list is a new one.
func (w *Words) Problems(ps leadsheet.Problems) leadsheet.Problems {
	if ps == nil {
		return nil
	}
	out := make(leadsheet.Problems, len(ps))
	for i, p := range ps {
		out[i] = w.Problem(p)
	}
	return out
}

// Err puts an error into words where it is one of Problems; others are as they are.
func (w *Words) Err(err error) error {
	if ps := (leadsheet.Problems)(nil); errors.As(err, &ps) {
		return w.Problems(ps)
	}
	return err
}

// Line tells a Problem in one line: place, text, code, way out. In English it is what the
// Problem's String is once it has its words.
func (w *Words) Line(p leadsheet.Problem) string {
	p = w.Problem(p)
	pos := p.Pos
	pos.Bar, pos.Beat = 0, 0
	parts := []any{"Severity", w.Say("problem-line." + p.Severity.String()), "Text", p.Text, "Code", p.Code, "Fix", p.Fix, "Bar", p.Pos.Bar, "Beat", p.Pos.Beat.String()}
	line := w.Say("problem-line.text", parts...)
	if p.Fix != "" {
		line = w.Say("problem-line.with-fix", parts...)
	}
	switch {
	case p.Pos.Beat > 0:
		line = w.Say("problem-line.beat", parts...) + ": " + line
	case p.Pos.Bar > 0:
		line = w.Say("problem-line.bar", parts...) + ": " + line
	}
	if where := pos.String(); where != "" {
		line = where + ": " + line
	}
	return line
}
