package workbook

import (
	"regexp"
	"strings"

	"gradatim/internal/engrave"
	"gradatim/internal/engrave/vector"
)

// style is how words look. Lengths are in millimetres; 3.9 mm are 11 points,
// below which no text of the workbook goes.
type style struct {
	body               float64
	h1, h2, h3         float64
	plain, bold, lean  vector.Face // lean: for captions
	leading            float64     // from line to line, in ems
	measure            float64     // the longest line of running text, in ems
	staff              float64     // of pictures; 0: the engraver's own
	keyWidth           float64     // of a white key, at most
	columns            int         // of cards
	between, paragraph float64     // free between columns, and between paragraphs
	fill               float64     // of a page, below which a block is divided for it
}

var (
	ordinary = style{body: 3.9, h1: 8, h2: 5.6, h3: 4.4, plain: vector.Regular, bold: vector.Bold, lean: vector.Italic,
		leading: 1.32, measure: 40, staff: 6, keyWidth: 6, columns: 2, between: 8, paragraph: 1.4, fill: 0.6}
	// Large print: 16 points and more, without serifs, nothing slanted (RNIB,
	// clear print guidance, as the trade quotes it: large print is 16 to 18 points).
	large = style{body: 5.65, h1: 9.5, h2: 7.4, h3: 6.4, plain: vector.Sans, bold: vector.SansBold, lean: vector.Sans,
		leading: 1.25, measure: 60, staff: 8, keyWidth: 7.5, columns: 1, between: 6, paragraph: 1.4, fill: 0.95}
)

// seg is a stretch of text in one face.
type seg struct {
	text string
	face vector.Face
	to   string // the place that it leads to, by its id; "": none
}

// setter breaks text into lines.
type setter struct {
	engrave.Setter
	style
	widths   map[seg]float64 // of words, in ems
	together *regexp.Regexp  // words that a line must not end between: "bar 3", "level 2"

	pageNumber func(id string) int // of a place, where pages are numbered; 0: of none
}

func newSetter(s engrave.Setter, st style, together []string) *setter {
	return &setter{Setter: s, style: st, widths: map[seg]float64{}, together: regexp.MustCompile(`(?i)\b(` + strings.Join(together, "|") + `) (\d)`)}
}

func (s *setter) width(w seg) float64 {
	w.to = ""
	if v, ok := s.widths[w]; ok {
		return v
	}
	v := s.Line(w.text, 0, 0, 1, w.face).Width()
	s.widths[w] = v
	return v
}

// doubles writes double accidentals as two: their own signs lie beyond what text
// in our files can hold.
var doubles = strings.NewReplacer("𝄫", "♭♭", "𝄪", "♯♯")

const hard = '\u00a0' // a blank that no line ends at

// wrap breaks text into lines of a width in millimetres, each a list of words in
// their faces with the blanks between them. A word longer than a line is cut.
func (s *setter) wrap(segs []seg, size, width float64) [][]seg {
	type word struct {
		parts []seg // without blanks between
		width float64
	}
	var words []word
	open := false // the last word goes on
	for _, sg := range segs {
		text := doubles.Replace(sg.text)
		text = s.together.ReplaceAllString(text, "$1"+string(hard)+"$2")
		for i, f := range strings.Split(text, " ") {
			if i > 0 {
				open = false
			}
			if f == "" {
				continue
			}
			p := seg{text: strings.ReplaceAll(f, string(hard), " "), face: sg.face, to: sg.to}
			if !open {
				words = append(words, word{})
			}
			w := &words[len(words)-1]
			w.parts = append(w.parts, p)
			w.width += s.width(p) * size
			open = true
		}
	}
	var lines [][]seg
	var line []seg
	used := 0.0
	flush := func() {
		if len(line) > 0 {
			lines = append(lines, line)
		}
		line, used = nil, 0
	}
	for _, w := range words {
		blank := s.width(seg{text: " ", face: w.parts[0].face}) * size
		if used > 0 && used+blank+w.width > width {
			flush()
		}
		if w.width > width { // cut it
			for _, p := range w.parts {
				for _, r := range p.text {
					c := seg{text: string(r), face: p.face, to: p.to}
					v := s.width(c) * size
					if used > 0 && used+v > width {
						flush()
					}
					line, used = append(line, c), used+v
				}
			}
			continue
		}
		if used > 0 {
			between := seg{text: " ", face: w.parts[0].face}
			if to := w.parts[0].to; to == line[len(line)-1].to {
				between.to = to
			}
			line, used = append(line, between), used+blank
		}
		line, used = append(line, w.parts...), used+w.width
	}
	flush()
	return lines
}

// text makes a line at a place; x is its left end. Words with signs that only the
// music font has are parts of their own, so that the others stay letters.
func (s *setter) text(line []seg, x, y, size float64) []vector.Node {
	var out []vector.Node
	var run seg
	flush := func() {
		if strings.TrimSpace(run.text) != "" {
			t := s.Line(run.text, x, y, size, run.face)
			if run.to != "" && s.pageNumber != nil {
				t.Leads = s.pageNumber(run.to)
			}
			out = append(out, t)
		}
		if run.text != "" {
			x += s.Line(run.text, 0, 0, size, run.face).Width()
		}
		run.text = ""
	}
	signed := false
	for _, p := range line {
		_, plain := s.Spans(p.text, size, p.face)
		if p.face != run.face || p.to != run.to || signed || !plain {
			flush()
		}
		run.face, run.to, signed = p.face, p.to, !plain
		run.text += p.text
	}
	flush()
	return out
}

// undrawable returns the letters of a text that no font of ours has.
func undrawable(s string) string {
	var out []rune
	for _, r := range s {
		if !vector.CanDraw(r) && !strings.ContainsRune("♩♪♭♮♯", r) && !strings.ContainsRune(string(out), r) {
			out = append(out, r)
		}
	}
	return string(out)
}
