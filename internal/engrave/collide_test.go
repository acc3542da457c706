package engrave

import (
	"fmt"
	"strings"

	"gradatim/internal/engrave/vector"
)

// thing is something printed that must not run into others.
type thing struct {
	kind string
	text string
	box  vector.Rect
}

// things collects, for each page, what is printed and where.
func (d *Document) things() [][]thing {
	var out [][]thing
	for _, p := range d.pages {
		var ts []thing
		vector.Walk(&p.Root, vector.Identity, func(n vector.Node, m vector.Matrix) bool {
			g, ok := n.(*vector.Group)
			if !ok {
				return true
			}
			kind, _, _ := strings.Cut(g.Class, " ")
			switch kind {
			case "harm":
				// The symbol and the degrees below it are two things.
				for _, k := range g.Kids {
					switch k := k.(type) {
					case *vector.Text:
						ts = append(ts, thing{"chord symbol", k.String(), k.Bounds(m.Mul(g.Matrix()))})
					case *vector.Group:
						ts = append(ts, thing{"degrees", textOf(k), k.Bounds(m.Mul(g.Matrix()))})
					}
				}
				return false
			case "fing", "tempo", "reh", "dir", "dynam", "mNum", "syl", "title-block", "foot",
				"notehead", "stem", "accid", "flag", "artic", "fermata", "mordent", "turn", "trill", "rest", "dots":
				if b := g.Bounds(m); !b.Empty() {
					ts = append(ts, thing{kind, textOf(g), b})
				}
				return kind == "title-block"
			case "slur":
				for _, k := range g.Kids {
					if s, ok := k.(*vector.Shape); ok {
						for _, r := range s.Path.Strips(space / 4) {
							ts = append(ts, thing{kind, "", m.Mul(g.Matrix()).Box(r)})
						}
					}
				}
			case "beam": // its own shapes
				for _, k := range g.Kids {
					if s, ok := k.(*vector.Shape); ok {
						ts = append(ts, thing{kind, "", m.Mul(g.Matrix()).Box(s.Path.Bounds())})
					}
				}
			case "system":
				ts = append(ts, thing{"system", "", g.Bounds(m)})
			}
			return true
		})
		out = append(out, ts)
	}
	return out
}

func textOf(g *vector.Group) string {
	var s []string
	vector.Walk(g, vector.Identity, func(n vector.Node, _ vector.Matrix) bool {
		if t, ok := n.(*vector.Text); ok {
			s = append(s, strings.TrimSpace(t.String()))
		}
		return true
	})
	return strings.Join(s, " ")
}

// mayNotMeet lists what may not touch what.
var mayNotMeet = map[string][]string{
	"chord symbol": {"chord symbol", "degrees", "fing", "tempo", "reh", "dir", "notehead", "stem", "accid", "flag", "artic", "fermata", "rest", "mordent", "turn", "trill", "beam", "slur"},
	"degrees":      {"degrees", "fing", "tempo", "reh", "dir", "notehead", "stem", "accid", "flag", "artic", "fermata", "rest", "mordent", "turn", "trill", "beam"},
	"fing":         {"fing", "tempo", "reh", "dir", "dynam", "notehead", "stem", "accid", "flag", "artic", "fermata", "mordent", "turn", "trill", "beam", "slur"},
	"tempo":        {"reh", "dir", "notehead", "stem", "accid", "mNum"},
	"reh":          {"mNum", "notehead"},
	"dynam":        {"notehead", "dynam"},
	"syl":          {"syl", "notehead"},
	"system":       {"system", "title-block", "foot"},
}

// collisions lists what touches by more than a twentieth of a millimetre,
// fingerings that come nearer than a tenth to notes and a fifth to a tempo, what
// comes nearer than three quarters to a chord symbol, and what leaves the page.
func (d *Document) collisions() []string {
	var out []string
	tolerance := func(a, b thing) float64 {
		if a.kind == "fing" && (b.kind == "notehead" || b.kind == "stem" || b.kind == "accid") {
			return -0.1 // figures keep their distance
		}
		if a.kind == "fing" && b.kind == "tempo" {
			return -0.2
		}
		if a.kind == "chord symbol" && (b.kind == "fing" || b.kind == "tempo" || b.kind == "reh") {
			return -0.75 // seen apart at a music stand
		}
		return 0.05
	}
	for i, ts := range d.things() {
		w, h := d.Size()
		page := vector.Rect{X0: 2, Y0: 2, X1: w - 2, Y1: h - 2}
		for j, a := range ts {
			if o := a.box.Overlap(page); o != a.box {
				out = append(out, fmt.Sprintf("page %d: %s %q leaves the page: %.1f", i+1, a.kind, a.text, a.box))
			}
			for k, b := range ts {
				if k == j || a.kind == b.kind && k < j {
					continue
				}
				for _, other := range mayNotMeet[a.kind] {
					if other != b.kind {
						continue
					}
					if o, tol := a.box.Overlap(b.box), tolerance(a, b); o.X1-o.X0 > tol && o.Y1-o.Y0 > tol {
						out = append(out, fmt.Sprintf("page %d: %s %q touches %s %q: %.1f, %.1f", i+1, a.kind, a.text, b.kind, b.text, a.box, b.box))
					}
				}
			}
		}
	}
	return out
}
