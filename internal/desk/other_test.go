package desk

import (
	"html"
	"log/slog"
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"
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
