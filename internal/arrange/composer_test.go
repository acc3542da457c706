package arrange

import (
	"testing"

	"gradatim/leadsheet"
)

// The head of a page names the composers, or says that a tune is traditional where its
// sheet does, and nothing where the sheet says nothing.
func TestComposers(t *testing.T) {
	for _, c := range []struct {
		rights leadsheet.Rights
		want   string
	}{
		{leadsheet.Rights{Composers: []leadsheet.Person{{Name: "Ann"}, {Name: "Bo"}}, Text: "trad."}, "Ann, Bo"},
		{leadsheet.Rights{Text: "Trad.; Notation: Ann"}, "Traditional"},
		{leadsheet.Rights{Text: "Notation: Ann Trader"}, ""},
		{leadsheet.Rights{}, ""},
	} {
		if got := composers(c.rights); got != c.want {
			t.Errorf("%+v: %q, want %q", c.rights, got, c.want)
		}
	}
}
