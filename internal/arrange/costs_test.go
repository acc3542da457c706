package arrange

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/choice"
	"gradatim/internal/technique"
	"gradatim/score"
)

var update = flag.Bool("update", false, "write the golden files anew")

// costTable names every weight of the two searches. A weight that changes shows here
// by its name.
func costTable() string {
	var b strings.Builder
	row := func(name string, v any) { fmt.Fprintf(&b, "%-52s %v\n", name, v) }
	row("weight of a technique's own preference", fitted.Taste)
	row("a figure of another technique than the phrase's", fitted.OffDress)
	row("the technique of last resort", fitted.Resort)
	row("a guide tone missing while the chord is new", fitted.Vague)
	row("the same where the kind keeps its pattern", fitted.VagueKept)
	row("a chord struck below its own bass", fitted.Upside)
	row("an altered note that nobody plays", promised)
	row("another colour that nobody plays", hinted)
	row("a suspended fourth that does not fall", unresolved)
	row("a figure repeated note for note over one chord", fitted.Bare)
	row("another rhythm where the kind keeps its pattern", fitted.Unsteady)
	row("another rhythm than the texture's habit", fitted.Strayed)
	row("…where the level keeps the hand in one place", fitted.StrayHere)
	row("the habit's rhythm in another texture", kin)
	row("the same where the phrase's texture has something to play", stranger)
	row("a line that is left where it could go on", brokenOff)
	row("what a note more is worth in a last return", grown)
	row("a key too many in a chord on a quick note", stumble)
	row("what one more note is worth on a fuller page", busy)
	row("a beat that a dance's left hand lets pass", beatless)
	row("a half step beyond a whole one in a line above a held bass", voiceLeap)
	row("a chord that stands on the very bass note before it", restruck)
	row("a hand that rests where it could play", silent)
	row("a section that begins on another note than its bass", fitted.NoRoot)
	row("a device twice running", monotony)
	row("a device that does not go where it leads", misled)
	row("what a teacher insists on", -insistence)
	for d, l := range lowLimit {
		if l.soft > 0 {
			row(fmt.Sprintf("lowest clear, lowest possible key under %2d semitones", d), fmt.Sprint(l.soft, " ", l.hard))
		}
	}
	return b.String()
}

// moveTable shows what moves of the hands and the two hands together cost, by example.
func moveTable(t *testing.T) string {
	p := prepared(t, tune(t, fourFour, "F", "F C6:8 | Bb D6:8 | C C6:8 | F A5:8"), 3)
	a, b := &p.cells[0], &p.cells[1]
	play := func(c *cell, bar int, by, text string) *option {
		f, err := choice.ParseFigure(p.song.Bars[bar], score.Left, text)
		if err != nil {
			t.Fatal(err)
		}
		return p.written(c, score.Left, technique.Figure{Tones: f.Tones}, by)
	}
	var out strings.Builder
	from := play(a, 0, "shells", "F2@1:1:bass")
	for _, to := range []string{"F2", "E2", "Bb2", "C3", "C#3", "D3", "F3", "C4", "F2 A3", "Bb2 D3 F3"} {
		words := strings.Fields(to)
		for i := range words {
			words[i] += "@1:1:chord"
		}
		for _, by := range []string{"shells", "comping"} {
			fmt.Fprintf(&out, "left hand from F2 by shells to %-21s %d\n", to+" by "+by, p.moveLeft(a, from, b, play(b, 1, by, strings.Join(words, " "))))
		}
	}
	under := play(a, 0, "guides", "A4@1:1:chord C5@1:1:chord")
	for _, to := range []string{"A4 C5", "Bb4 D5", "F4 Bb4", "C4 E4"} {
		words := strings.Fields(to)
		for i := range words {
			words[i] += "@1:1:chord"
		}
		fmt.Fprintf(&out, "right hand from A4 C5 to %-27s %d\n", to, p.moveRight(under, play(b, 1, "guides", strings.Join(words, " "))))
	}
	for _, hands := range [][2]string{{"F3", "A4"}, {"F2", "A4"}, {"A3", "A4"}, {"F3", "F#3"}, {"F3", "E3"}, {"E3", "F4"}, {"Eb3", "A4"}} {
		cost, ok := p.together(a, play(a, 0, "shells", hands[0]+"@1:1:chord"), play(a, 0, "guides", hands[1]+"@1:1:chord"))
		fmt.Fprintf(&out, "%s under %-41s %d %t\n", hands[0], hands[1], cost, ok)
	}
	return out.String()
}

func TestCostTable(t *testing.T) {
	file := filepath.Join("testdata", "costs.golden")
	got := costTable() + moveTable(t)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("the costs are\n%s\nthe golden file has\n%s", got, want)
	}
}
