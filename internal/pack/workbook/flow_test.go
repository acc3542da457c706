package workbook

import (
	"slices"
	"testing"

	"gradatim/internal/engrave"
	"gradatim/internal/engrave/vector"
)

// flowed puts pieces on pages that are 100 mm deep, and tells by page what was drawn, in order, and that
// nothing reaches lower.
func flowed(t *testing.T, fill float64, pieces ...piece) [][]string {
	t.Helper()
	f := flow{setter: &setter{style: style{fill: fill}}, paper: engrave.Paper{Width: 100, Height: 100}, bottom: 100}
	for _, p := range pieces {
		f.add(p)
	}
	f.close()
	var out [][]string
	for _, l := range f.leaves {
		var on []string
		for i, p := range l.pieces {
			if l.at[i]+p.height > f.bottom {
				t.Errorf("a piece reaches down to %g", l.at[i]+p.height)
			}
			for _, g := range p.draw(l.at[i]) {
				on = append(on, g.Class)
			}
		}
		out = append(out, on)
	}
	return out
}

// box is a piece that is known by a name.
func box(name string, height float64) piece {
	return piece{height: height, draw: func(float64) []*vector.Group { return []*vector.Group{{Class: name}} }}
}

// TestDivide: a block that does not fit begins a page, unless that leaves the page before too empty;
// then it is divided where it may be, and nowhere else.
func TestDivide(t *testing.T) {
	tied := func(p piece, loose bool) piece { p.keep, p.loose = true, loose; return p }
	words := []piece{tied(box("name", 10), false), tied(box("words", 10), true), box("music", 40)}
	column := func(name string) []piece {
		return []piece{tied(box(name+" sign", 10), false), box(name+" keys", 10), box(name+" uses", 30)}
	}
	row := beside(0, false, column("C"), column("F"))
	high := beside(0, false, []piece{box("G", 60)}, column("F"))
	for _, tt := range []struct {
		name   string
		fill   float64
		pieces []piece
		want   [][]string
	}{
		{"room for all", 0.8, append([]piece{box("a", 40)}, words...), [][]string{{"a", "name", "words", "music"}}},
		{"full enough", 0.5, append([]piece{box("a", 60)}, words...), [][]string{{"a"}, {"name", "words", "music"}}},
		{"too empty", 0.8, append([]piece{box("a", 60)}, words...), [][]string{{"a", "name", "words"}, {"music"}}},
		{"no room for what is tied", 0.9, append([]piece{box("a", 85)}, words...), [][]string{{"a"}, {"name", "words", "music"}}},
		{"columns", 0.8, []piece{box("a", 70), row}, [][]string{{"a", "C sign", "C keys", "F sign", "F keys"}, {"C uses", "F uses"}}},
		{"columns, of which nothing would begin", 0.9, []piece{box("a", 85), row}, [][]string{{"a"}, {"C sign", "C keys", "C uses", "F sign", "F keys", "F uses"}}},
		{"a column that is whole", 0.8, []piece{box("a", 60), high}, [][]string{{"a"}, {"G", "F sign", "F keys", "F uses"}}},
	} {
		got := flowed(t, tt.fill, tt.pieces...)
		if !slices.EqualFunc(got, tt.want, slices.Equal) {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}
