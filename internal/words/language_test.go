package words_test

import (
	"testing"

	"gradatim/internal/technique"
	"gradatim/internal/words"
)

// TestTechniquesAreTold holds that each technique is named, explained and taught in
// each language.
func TestTechniquesAreTold(t *testing.T) {
	for _, id := range words.Languages() {
		w := words.Must(id)
		for _, x := range technique.All() {
			key := "technique." + x.ID + "."
			for _, part := range []string{"name", "what", "how", "practise.0", "listen", "mistakes.0"} {
				if !w.Has(key + part) {
					t.Errorf("%s: no %s", id, key+part)
				}
			}
		}
	}
}
