package desk

import (
	"html"
	"log/slog"
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Another key and another hand stand beside the page, with what is harder where; nothing of
// it is kept.
func TestOther(t *testing.T) {
	r, id := atLantern(t)
	r.desk.log = slog.New(slog.NewTextHandler(os.Stderr, nil))
	r.get("/tunes/"+id+"/other?level=3", http.StatusOK).wants(t, "Compare", "Wide stretches can hurt")
	r.get("/tunes/"+id+"/other?level=3&key=H", http.StatusUnprocessableEntity).wants(t, "could not be read")
	r.get("/tunes/"+id+"/other?level=9", http.StatusNotFound)
	a := r.get("/tunes/"+id+"/other?level=4&key=B&hand=octave", http.StatusOK)
	a.wants(t, "B major", "F major", "harder, ", "The other")
	lines := regexp.MustCompile(`<polyline class="contour[^"]*" points="([^"]*)"`).FindAllStringSubmatch(a.Text, -1)
	if len(lines) != 2 || lines[0][1] == lines[1][1] {
		t.Errorf("contours %q", lines)
	}
	pictures := regexp.MustCompile(`src="([^"]*bar.svg[^"]*)"`).FindAllStringSubmatch(a.Text, -1)
	if len(pictures) < 2 || len(pictures)%2 != 0 {
		t.Fatalf("%d pictures", len(pictures))
	}
	here, there := r.get(html.UnescapeString(pictures[0][1]), http.StatusOK), r.get(html.UnescapeString(pictures[1][1]), http.StatusOK)
	if here.Text == there.Text || !strings.Contains(there.Text, "<svg") {
		t.Error("both pictures are the same")
	}
	if text := r.chosen(id); text != "" {
		t.Errorf("written: %q", text)
	}
	if p := r.page(id, 4); p.Key.String() != "F major" {
		t.Errorf("the tune stands in %s", p.Key)
	}
}

// The thumb and the little finger are counted on black keys, by hand: of F♯ (1), A (2), B♭ (5)
// and C♯ (3) two are so.
func TestOuterOnBlack(t *testing.T) {
	s := score.Score{Bars: []score.Bar{{Number: 1, Dur: theory.Whole}}}
	for i, x := range []struct {
		pitch  string
		finger uint8
	}{{"F#4", 1}, {"A4", 2}, {"Bb4", 5}, {"C#5", 3}} {
		p, err := theory.ParsePitch(x.pitch)
		if err != nil {
			t.Fatal(err)
		}
		s.Notes = append(s.Notes, score.Note{Hand: score.Right, At: theory.Dur(i) * theory.Quarter, Dur: theory.Quarter, Pitch: p, Finger: x.finger})
	}
	bar := leadsheet.Bar{Number: 1, Sheet: 1}
	if r, l := outerOnBlack(s, bar, score.Right), outerOnBlack(s, bar, score.Left); r != 2 || l != 0 {
		t.Errorf("right %d, left %d", r, l)
	}
}
