package pack

import (
	"cmp"
	"fmt"
	"html/template"
	"regexp"
	"strings"

	"gradatim/internal/engrave"
)

// picture is an engraved score or a keyboard in a page.
type picture struct {
	SVG   template.HTML
	Label string
}

// glyphs are the shapes that the pictures of one page share: every note head and
// letter stands in the page once.
type glyphs struct {
	byPath map[string]string // path data to id
	defs   strings.Builder
}

func newGlyphs() *glyphs { return &glyphs{byPath: map[string]string{}} }

var (
	reDef = regexp.MustCompile(`(?s)<path id="([^"]+)" d="([^"]+)"/>`)
	reUse = regexp.MustCompile(`<use href="#([^"]+)"`)
)

// take returns what a picture draws, as far as it is not shared.
func (g *glyphs) take(svg []byte) string {
	_, rest, _ := strings.Cut(string(svg), "<defs>")
	defs, body, _ := strings.Cut(rest, "</defs>")
	body = strings.TrimSuffix(strings.TrimSpace(body), "</svg>")
	ids := map[string]string{}
	for _, m := range reDef.FindAllStringSubmatch(defs, -1) {
		id, ok := g.byPath[m[2]]
		if !ok {
			id = fmt.Sprintf("g%d", len(g.byPath)+1)
			g.byPath[m[2]] = id
			fmt.Fprintf(&g.defs, "<path id=\"%s\" d=\"%s\"/>\n", id, m[2])
		}
		ids[m[1]] = id
	}
	body = reUse.ReplaceAllStringFunc(body, func(s string) string {
		return `<use href="#` + cmp.Or(ids[reUse.FindStringSubmatch(s)[1]], "missing") + `"`
	})
	// Ink is what the picture as a whole is filled with.
	return strings.ReplaceAll(body, ` fill="currentColor"`, "")
}

// svg is the place of the shared shapes, to stand before all pictures.
func (g *glyphs) svg() template.HTML {
	return template.HTML(`<svg class="glyphs" width="0" height="0" aria-hidden="true" focusable="false"><defs>` + "\n" + g.defs.String() + `</defs></svg>`)
}

// inlineSVG is a picture in a page: cut to a box, and named for who does not see
// it.
func inlineSVG(body, id, label string, view engrave.Box, class string) template.HTML {
	return template.HTML(fmt.Sprintf(`<svg class="%s" role="img" aria-labelledby="%s" fill="currentColor" viewBox="%.2f %.2f %.2f %.2f" style="--w:%.0f"><title id="%s">%s</title>%s</svg>`,
		class, id, view.X, view.Y, view.W, view.H, view.W, id, template.HTMLEscapeString(label), body))
}

// slim leaves out of a drawing what a page has no use for: groups that have nothing but a
// class, and of each stroke what the style sheet says for all. That is a third of the
// elements that a browser has to build.
func slim(body string) string {
	var b strings.Builder
	var kept []bool // of the groups that are open
	rest := body
	for {
		i := strings.Index(rest, "<")
		if i < 0 {
			break
		}
		b.WriteString(rest[:i])
		end := strings.IndexByte(rest[i:], '>') + i + 1
		if end <= i {
			rest = rest[i:]
			break
		}
		tag := rest[i:end]
		rest = rest[end:]
		bare, keep := reBare.MatchString(tag), true
		switch {
		case tag == "</g>":
			if n := len(kept) - 1; n >= 0 {
				keep, kept = kept[n], kept[:n]
			}
		case bare && strings.HasSuffix(tag, "/>"):
			keep = false
		case strings.HasPrefix(tag, "<g ") && !strings.HasSuffix(tag, "/>") || tag == "<g>":
			keep = !bare
			kept = append(kept, keep)
		}
		if keep {
			b.WriteString(tag)
		} else {
			rest = strings.TrimPrefix(rest, "\n")
		}
	}
	b.WriteString(rest)
	return strings.ReplaceAll(b.String(), ` fill="none" stroke="currentColor" stroke-width=`, ` class="s" stroke-width=`)
}

var reBare = regexp.MustCompile(`^<g class="[^"]*"/?>$`)

// systems cuts what a page draws into its systems: the groups of that class.
func systems(body string) []string {
	var out []string
	for {
		i := strings.Index(body, `<g class="system"`)
		if i < 0 {
			return out
		}
		body = body[i:]
		end := groupEnd(body)
		out = append(out, body[:end])
		body = body[end:]
	}
}

// groupEnd finds where the group ends with which the text begins.
func groupEnd(s string) int {
	depth := 0
	for i := 0; i < len(s); i++ {
		switch {
		case strings.HasPrefix(s[i:], "<g ") || strings.HasPrefix(s[i:], "<g>"):
			end := strings.IndexByte(s[i:], '>')
			if end < 0 {
				return len(s)
			}
			if i += end; s[i-1] != '/' {
				depth++
			}
		case strings.HasPrefix(s[i:], "</g>"):
			if depth--; depth == 0 {
				return i + len("</g>")
			}
		}
	}
	return len(s)
}

// scorePictures takes a score into the page, a picture a system: so a system is
// never cut by the end of a sheet of paper.
func (s *site) scorePictures(g *glyphs, d *engrave.Document, prefix string, v *levelView) []picture {
	var parts []string
	for i := range d.Pages() {
		parts = append(parts, systems(g.take(d.SVG(i)))...)
	}
	held := make([][]int, len(d.Systems)) // numbers of the bars in each
	for _, b := range v.Player.Bars {
		if box, ok := d.Boxes[b.ID]; ok {
			if k := systemOf(d, box); k >= 0 {
				held[k] = append(held[k], b.Number)
			}
		}
	}
	w, _ := d.Size()
	var out []picture
	for k, body := range parts[:min(len(parts), len(d.Systems))] {
		box := d.Systems[k]
		level := s.words.Form("level.label", "inside", "n", v.L.Number, "name", v.L.Name)
		name := s.say("level.score-of", "Level", level)
		if n := len(held[k]); n > 0 {
			name = s.say("level.score-of-bars", "Level", level, "Bars", s.bars(held[k]))
		}
		view := engrave.Box{X: min(0, box.X-0.5), Y: box.Y - 2, W: w - min(0, box.X-0.5), H: box.H + 4}
		out = append(out, picture{inlineSVG(slim(body), fmt.Sprintf("%s-system%d", prefix, k+1), name, view, "music"), name})
	}
	return out
}

// systemOf finds the system that a box belongs to: the nearest on its page.
func systemOf(d *engrave.Document, b engrave.Box) int {
	best, far := -1, 0.0
	mid := b.Y + b.H/2
	for k, s := range d.Systems {
		if s.Page != b.Page {
			continue
		}
		off := max(s.Y-mid, mid-s.Y-s.H, 0)
		if best < 0 || off < far {
			best, far = k, off
		}
	}
	return best
}

func (s *site) excerptPicture(g *glyphs, d *engrave.Document, x excerpt) picture {
	ink := d.Ink(0)
	ink.X, ink.Y, ink.W, ink.H = ink.X-1, ink.Y-1, ink.W+2, ink.H+2
	label := strings.TrimSuffix(x.music.Caption, ".") + ": " + s.inWords(x.music.Score)
	return picture{inlineSVG(slim(g.take(d.SVG(0))), x.id+"-title", label, ink, "music"), x.music.Caption}
}

// boxes are the places of notes and bars: the system counted from 0, then x, y,
// width and height with a tenth of a millimetre.
func boxes(d *engrave.Document) map[string][5]float64 {
	out := map[string][5]float64{}
	for id, b := range d.Boxes {
		out[id] = [5]float64{float64(systemOf(d, b)), tenth(b.X), tenth(b.Y), tenth(b.W), tenth(b.H)}
	}
	return out
}
