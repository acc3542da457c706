package technique

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/parser"
	gotoken "go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// written lists the patterns that stand in the package's source, by file and line.
func written(t *testing.T) map[string]pattern {
	t.Helper()
	fset := gotoken.NewFileSet()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]pattern{}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(fset, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			lit, ok := n.(*ast.CompositeLit)
			if !ok {
				return true
			}
			if id, ok := lit.Type.(*ast.Ident); !ok || id.Name != "pattern" || len(lit.Elts) == 0 {
				return true
			}
			var p pattern
			for _, e := range lit.Elts {
				kv := e.(*ast.KeyValueExpr)
				text := ""
				switch v := kv.Value.(type) {
				case *ast.BasicLit:
					text, _ = strconv.Unquote(v.Value)
					if text == "" {
						text = v.Value
					}
				case *ast.Ident:
					text = v.Name
				}
				n, _ := strconv.Atoi(text)
				switch kv.Key.(*ast.Ident).Name {
				case "Beats":
					p.Beats = n
				case "Compound":
					p.Compound = text == "true"
				case "Steps":
					p.Steps = text
				}
			}
			out[fset.Position(lit.Pos()).String()] = p
			return true
		})
	}
	return out
}

// qualities are chord suffixes of all kinds that a sheet may have.
var qualities = strings.Fields("maj m dim + sus4 sus2 5 6 m6 69 7 maj7 m7 m7b5 dim7 mMaj7 7sus4 9 maj9 m9 7b9 7#9 9sus4 11 m11 7#11 maj7#11 13 m13 maj13 7b13 7b9b13 7#9b13 7b5 7#5 13b9 add9 madd9 add4 madd4")

// chordsOf lists chords of every quality on some roots, plain and over their third
// and fifth.
func chordsOf(t testing.TB, roots ...string) []theory.Chord {
	t.Helper()
	var out []theory.Chord
	for _, root := range roots {
		for _, q := range qualities {
			s, err := theory.ParseSymbol(root + strings.TrimPrefix(q, "maj "))
			if q == "maj" {
				s, err = theory.ParseSymbol(root)
			}
			if err != nil {
				t.Fatalf("%s%s: %v", root, q, err)
			}
			out = append(out, s.Chord)
			if third, ok := s.Chord.Third(); ok && third.Number == 3 {
				over := s.Chord
				over.Slash, over.Bass = true, third.On(over.Root)
				out = append(out, over)
			}
		}
	}
	return out
}

// registers are those of the five levels, MIDI.
var registers = [][2]int{{43, 67}, {36, 67}, {40, 67}, {29, 69}}

var simple, compound = leadsheet.Meter{Beats: 4, Unit: 4}, leadsheet.Meter{Beats: 6, Unit: 8}

// TestEveryForm realises each pattern of the source on chords of every quality, in
// each octave of each register: what it plays lies in its cell and on the keyboard,
// in order, none twice, and belongs to the chord.
func TestEveryForm(t *testing.T) {
	patterns, chords := written(t), chordsOf(t, "C", "F#")
	if len(patterns) < 80 {
		t.Errorf("only %d patterns found in the source", len(patterns))
	}
	for at, p := range patterns {
		fs, err := parseForms(p)
		if err != nil {
			t.Errorf("%s: %v", at, err)
			continue
		}
		f := &fs[0]
		for _, ch := range chords {
			played := 0
			for _, reg := range registers {
				for _, added := range []theory.Degree{{}, add9, add4} {
					c := Cell{At: 3 * theory.Whole, BarAt: 3 * theory.Whole, Meter: simple, Chord: ch, Added: added, Low: reg[0],
						Setting: &Setting{High: reg[1], Hand: hand.Default(), Caps: Caps{AtOnce: [2]int{5, 5}, Span: [2]int{14, 16}}}}
					if f.compound {
						c.Meter = compound
					}
					if added != (theory.Degree{}) {
						if ch.Triad() != ch || isSus(ch) {
							continue // an added note joins a triad
						}
						c.Chord.Tones = ch.Tones.With(added)
					}
					c.End = c.At + theory.Dur(f.beats)*c.Pulse()
					voicings := []Voicing{{}}
					if f.upper {
						voicings = Triads(c, 48, c.High)
					}
					l := lay([]laidForm{{f, c.Pulse()}})
					for _, base := range c.basses() {
						for _, v := range voicings {
							fig, _, ok := c.realise(l, placement{base: base, upper: v.Pitches}, nil)
							if !ok {
								continue // too low for an octave below
							}
							played++
							if err := sound(c, fig); err != nil {
								t.Fatalf("%s %q on %s from %v: %v", at, p.Steps, c.Chord, base, err)
							}
						}
					}
				}
			}
			if played == 0 {
				t.Errorf("%s %q is never played on %s", at, p.Steps, ch)
			}
		}
	}
}

// sound tells what is wrong with a left-hand figure: a tone outside its cell or
// the keyboard, out of order, twice, or that the chord has not.
func sound(c Cell, f Figure) error {
	for i, x := range f.Tones {
		key := x.Pitch.MIDI()
		switch {
		case x.At < c.At || x.End() > c.End || x.Dur <= 0:
			return fmt.Errorf("%v lies at %v–%v, outside %v–%v", x.Pitch, x.At, x.End(), c.At, c.End)
		case key < lowestKey || key > 84:
			return fmt.Errorf("%v is out of the register", x.Pitch)
		case abs(int(x.Pitch.Alter)) > 2:
			return fmt.Errorf("%v cannot be written", x.Pitch)
		}
		if i > 0 {
			if o := cmp.Or(cmp.Compare(f.Tones[i-1].At, x.At), cmp.Compare(f.Tones[i-1].Pitch.MIDI(), key)); o >= 0 {
				return fmt.Errorf("%v at %v follows %v at %v", x.Pitch, x.At, f.Tones[i-1].Pitch, f.Tones[i-1].At)
			}
		}
		if !belongs(c, x) {
			return fmt.Errorf("%v, a %v, is none of the chord's", x.Pitch, x.Kind)
		}
	}
	return nil
}

// belongs tells whether a tone is of its chord, or is called what it is.
func belongs(c Cell, x Tone) bool {
	d, in := c.Chord.Degree(x.Pitch.Name)
	if c.Chord.Slash && x.Pitch.Name == c.Chord.Bass {
		in = true
	}
	switch x.Kind {
	case score.Approach, score.Passing, score.GhostNote:
		return true
	case score.Tension:
		return in && (d.Number > 7 || d == c.Added) || !in && x.Pitch.Name == deg6.On(c.Chord.Root)
	}
	return in
}
