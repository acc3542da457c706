package engrave

import (
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/engrave/vector"
	"gradatim/internal/musicxml"
	"gradatim/internal/scoretest"
)

// groups returns the texts of all groups of a class, by the ids of their bars.
func (d *Document) groups(class string) map[string]string {
	out := map[string]string{}
	for _, p := range d.pages {
		vector.Walk(&p.Root, vector.Identity, func(n vector.Node, _ vector.Matrix) bool {
			m, ok := n.(*vector.Group)
			if !ok || !hasWord(m.Class, "measure") {
				return true
			}
			for _, k := range m.Kids {
				if g, ok := k.(*vector.Group); ok && hasWord(g.Class, class) {
					out[m.ID] += textOf(g)
				}
			}
			return false
		})
	}
	return out
}

// Every system but the first begins with the number of its bar, also where a
// rehearsal mark stands.
func TestBarNumbers(t *testing.T) {
	files, err := filepath.Glob("testdata/*.musicxml")
	if err != nil || len(files) == 0 {
		t.Fatal(len(files), err)
	}
	marked := 0
	for _, f := range files {
		d := pages(t, readFile(t, f), Layout{IDPrefix: "p"})
		numbers, rehearsals := d.groups("mNum"), d.groups("reh")
		for _, p := range d.pages {
			vector.Walk(&p.Root, vector.Identity, func(n vector.Node, _ vector.Matrix) bool {
				s, ok := n.(*vector.Group)
				if !ok || !hasWord(s.Class, "system") {
					return true
				}
				for _, k := range s.Kids {
					m, ok := k.(*vector.Group)
					if !ok || !hasWord(m.Class, "measure") {
						continue
					}
					first := strings.HasSuffix(m.ID, "bar1")
					if got := strings.TrimSpace(numbers[m.ID]); (got == "") != first {
						t.Errorf("%s: a system begins with %s and shows the number %q", filepath.Base(f), m.ID, got)
					}
					if rehearsals[m.ID] != "" && !first {
						marked++
					}
					break
				}
				return false
			})
		}
	}
	if marked == 0 {
		t.Error("no system begins with a rehearsal mark")
	}
}

// The equation stands beside the tempo of a score whose eighths are swung, and
// nowhere else.
func TestSwingEquation(t *testing.T) {
	const tempo = `<direction placement="above"><direction-type><words>Swing</words></direction-type>` +
		`<direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>120</per-minute></metronome></direction-type>` +
		`<staff>1</staff><sound tempo="120"><swing>%</swing></sound></direction>`
	bar := `<measure number="1"><attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>` + tempo +
		`<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type></note></measure>`
	for _, c := range []struct {
		swing string
		want  bool
	}{
		{"<first>2</first><second>1</second><swing-type>eighth</swing-type>", true},
		{"<first>3</first><second>2</second>", true},
		{"<first>2</first><second>1</second><swing-type>16th</swing-type>", false},
		{"<straight/>", false},
	} {
		score := `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1">` +
			strings.Replace(bar, "%", c.swing, 1) + `</part></score-partwise>`
		text := ""
		for _, s := range pages(t, score, Layout{}).groups("tempo") {
			text += s
		}
		if got := strings.Contains(text, "="); !strings.Contains(text, "Swing") || strings.Contains(text, "3 )") != c.want || !got {
			t.Errorf("%s: the tempo reads %q", c.swing, text)
		}
	}
}

// Hairpins are drawn as lines between dynamic signs.
func TestHairpinsAreDrawn(t *testing.T) {
	xml, err := musicxml.Write(scoretest.MustParse(readFile(t, "../notate/testdata/dynamics.score")))
	if err != nil {
		t.Fatal(err)
	}
	d := pages(t, string(xml), Layout{})
	if len(d.Warnings) > 0 {
		t.Error(d.Warnings)
	}
	count := map[string]int{}
	for _, p := range d.pages {
		vector.Walk(&p.Root, vector.Identity, func(n vector.Node, _ vector.Matrix) bool {
			if g, ok := n.(*vector.Group); ok && !g.Bounds(vector.Identity).Empty() {
				kind, _, _ := strings.Cut(g.Class, " ")
				count[kind]++
			}
			return true
		})
	}
	if count["hairpin"] != 5 || count["dynam"] != 4 || count["fermata"] != 2 {
		t.Errorf("%d hairpins, %d dynamic signs and %d fermatas, want 5, 4 and 2", count["hairpin"], count["dynam"], count["fermata"])
	}
}
