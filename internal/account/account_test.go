package account_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/account"
	"gradatim/internal/edition"
	"gradatim/internal/sharedtest"
)

// TestRomanAsPrinted: the numeral of a chord in the account is the one that stands
// under its symbol on the page.
func TestRomanAsPrinted(t *testing.T) {
	plain := strings.NewReplacer("♭", "b", "♯", "#", "°", "o")
	for i, name := range []string{"lantern", "thistle", "harbour", "ferry"} {
		if testing.Short() && i > 0 {
			break
		}
		data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", name+".abc"))
		if err != nil {
			t.Fatal(err)
		}
		song, err := abc.Read(data, abc.Options{})
		if err != nil {
			t.Fatal(err)
		}
		pages, err := edition.Make(t.Context(), song, edition.Options{Repeats: edition.RepeatsWritten})
		if err != nil {
			t.Fatal(err)
		}
		met := 0
		for _, p := range pages {
			type place struct {
				bar          int
				beat, symbol string
			}
			printed := map[place]string{}
			for _, c := range p.Score.Chords {
				at := p.Score.PosAt(c.At)
				printed[place{at.Bar, at.Beat.String(), c.Chord.String()}] = c.Roman
			}
			text, err := account.Of(p)
			if err != nil {
				t.Fatal(err)
			}
			var told struct {
				Harmony []struct {
					Chords []struct {
						Bar                 int
						Beat, Symbol, Roman string
					}
				}
			}
			if err := json.Unmarshal(text, &told); err != nil {
				t.Fatal(err)
			}
			for _, h := range told.Harmony {
				for _, c := range h.Chords {
					roman, ok := printed[place{c.Bar, c.Beat, c.Symbol}]
					if !ok {
						continue // a chord that stays, or whose symbol lost a colour that nobody plays
					}
					met++
					if plain.Replace(roman) != plain.Replace(c.Roman) {
						t.Errorf("%s level %d, bar %d, beat %s: %s is %s on the page and %s in the account", name, p.Level.Number, c.Bar, c.Beat, c.Symbol, roman, c.Roman)
					}
				}
			}
		}
		if met < 50 {
			t.Errorf("%s: only %d numerals met", name, met)
		}
	}
}
