package edition

import (
	"gradatim/internal/arrange"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// told puts remarks into words. A code has one sentence, or one for each case; beside a
// text there may be a way out.
func told(w *words.Words, rs []arrange.Remark) leadsheet.Problems {
	var out leadsheet.Problems
	for _, r := range rs {
		key := "problem." + r.Code
		if r.Case != "" {
			key += "." + r.Case
		}
		p := leadsheet.Problem{Pos: r.Pos, Severity: r.Severity, Code: r.Code, Text: w.Say(key+".text", r.Parts...)}
		if w.Has(key + ".fix") {
			p.Fix = w.Say(key+".fix", r.Parts...)
		}
		out = append(out, p)
	}
	return out
}

// remark makes a Remark of what an edition itself tells.
func remark(sev leadsheet.Severity, pos leadsheet.Pos, code, which string, parts ...any) arrange.Remark {
	return arrange.Remark{Pos: pos, Severity: sev, Code: code, Case: which, Parts: parts}
}
