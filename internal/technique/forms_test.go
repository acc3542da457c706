package technique

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/parser"
	gotoken "go/token"
	"io/fs"
	"strings"
	"testing"

	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// formTables are the tables of patterns, each with the placings of its upper
// chord.
var formTables = map[string]struct {
	forms []form
	upper func(Cell) []Voicing
}{
	"albertiForms":        {albertiForms, nil},
	"bassChordForms":      {bassChordForms, func(c Cell) []Voicing { return Triads(c, 48, c.High) }},
	"bossaForms":          {bossaForms, nil},
	"brokenClose":         {brokenClose, nil},
	"brokenForms":         {brokenForms, nil},
	"brokenSlow":          {brokenSlow, nil},
	"compingForms":        {concat(compingForms...), func(c Cell) []Voicing { return rootless(c, 48, c.High) }},
	"compoundSpreadForms": {compoundSpreadForms, nil},
	"lastForms":           {lastForms, nil},
	"oneFiveEightForms":   {oneFiveEightForms, nil},
	"rootFifthForms":      {rootFifthForms, nil},
	"rootGuideForms":      {rootGuideForms, guidesNear},
	"rootGuideStraight":   {rootGuideStraight, guidesNear},
	"rootSeventhForms":    {rootSeventhForms, nil},
	"shellForms":          {shellForms, nil},
	"shellThirdForms":     {shellThirdForms, nil},
	"shuffleForms":        {shuffleForms, nil},
	"spreadForms":         {spreadForms, nil},
	"spreadTenthForms":    {spreadTenthForms, nil},
	"threeThreeTwoForms":  {threeThreeTwoForms, nil},
}

func guidesNear(c Cell) []Voicing { return guideVoicings(c, 50, c.High) }

func concat(fs ...[]form) (out []form) {
	for _, f := range fs {
		out = append(out, f...)
	}
	return out
}

// TestFormTables holds that no table of patterns is left out above.
func TestFormTables(t *testing.T) {
	found := 0
	pkgs, err := parser.ParseDir(gotoken.NewFileSet(), ".", func(f fs.FileInfo) bool { return !strings.HasSuffix(f.Name(), "_test.go") }, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range pkgs["technique"].Files {
		for _, d := range file.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || g.Tok != gotoken.VAR {
				continue
			}
			for _, s := range g.Specs {
				v := s.(*ast.ValueSpec)
				reads := false
				ast.Inspect(v, func(n ast.Node) bool {
					call, ok := n.(*ast.CallExpr)
					if ok {
						id, isName := call.Fun.(*ast.Ident)
						reads = reads || isName && id.Name == "forms"
					}
					return true
				})
				if !reads {
					continue
				}
				found++
				if _, ok := formTables[v.Names[0].Name]; !ok {
					t.Errorf("%s is not realised by TestEveryForm", v.Names[0].Name)
				}
			}
		}
	}
	if found != len(formTables) {
		t.Errorf("%d tables in the source, %d here", found, len(formTables))
	}
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

// TestEveryForm realises each pattern on chords of every quality, in each octave
// of each register: what it plays lies in its cell and on the keyboard, in order,
// none twice, and belongs to the chord; and each pattern can be played on some
// chord.
func TestEveryForm(t *testing.T) {
	chords := chordsOf(t, "C", "F#")
	for name, table := range formTables {
		for i := range table.forms {
			f := &table.forms[i]
			played := 0
			for _, ch := range chords {
				for _, reg := range registers {
					for _, added := range []theory.Degree{{}, add9, add4} {
						c := Cell{At: 3 * theory.Whole, BarAt: 3 * theory.Whole, Meter: simple, Chord: ch, Added: added, Low: reg[0], High: reg[1],
							Manner: Manner{SlashBasses: true}, Hand: hand.Default(), Caps: Caps{AtOnce: [2]int{5, 5}, Span: [2]int{14, 16}}}
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
							voicings = table.upper(c)
						}
						l := lay([]*form{f}, c.Pulse())
						for _, base := range c.basses() {
							for _, v := range voicings {
								fig, ok := c.realise(l, placement{base: base, upper: v.Pitches})
								if !ok {
									t.Fatalf("%s %q on %s: not realised", name, f.text(), ch)
								}
								played++
								if err := sound(c, fig); err != nil {
									t.Errorf("%s %q on %s from %v: %v", name, f.text(), c.Chord, base, err)
								}
							}
						}
					}
				}
			}
			if played < 100 {
				t.Errorf("%s %q: played only %d times", name, f.text(), played)
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
