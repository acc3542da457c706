package words

import (
	"strings"

	"gradatim/leadsheet"
)

// Rights is what a page prints about the rights, at its foot: who made the tune, what
// stands on the sheet, and what may be done with it.
func (w *Words) Rights(r leadsheet.Rights) string {
	var parts []string
	if len(r.Composers) > 0 {
		parts = append(parts, w.Say("rights.composer", "Names", strings.Join(each(r.Composers, w.Person), ", ")))
	}
	if r.Arranger != "" {
		parts = append(parts, w.Say("rights.arranger", "Name", r.Arranger))
	}
	if text := r.Notice(); text != "" && !r.Named(text) {
		parts = append(parts, text)
	}
	parts = append(parts, w.rightsStatus(r))
	for i, p := range parts {
		parts[i] = Upper(strings.TrimRight(strings.Join(strings.Fields(p), " "), "."))
	}
	return strings.Join(parts, ". ") + "."
}

func (w *Words) rightsStatus(r leadsheet.Rights) string {
	text := w.Say("rights.line." + r.Status.String())
	if r.Status != leadsheet.Licensed {
		return text
	}
	if r.Licence != "" {
		text = w.Say("rights.licence", "Licence", r.Licence)
	}
	switch {
	case r.Reference != "" && r.ReferenceDate != "":
		text = w.Say("rights.permission-of", "Line", text, "Reference", r.Reference, "Date", r.ReferenceDate)
	case r.Reference != "":
		text = w.Say("rights.permission", "Line", text, "Reference", r.Reference)
	}
	return text
}

// Person names somebody, with the year of death where it is known.
func (w *Words) Person(p leadsheet.Person) string {
	if p.Died == 0 {
		return p.Name
	}
	return w.Say("rights.died", "Name", p.Name, "Year", p.Died)
}
