package harmony

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"gradatim/theory"
)

// Use says whether a tension may be added.
type Use uint8

// Uses.
const (
	Available   Use = iota + 1
	Conditional     // under the condition in Why
	Avoid
)

var uses = [...]string{Available: "available", Conditional: "conditional", Avoid: "avoid"}

// String returns the use's name in lower case; "" for none.
func (u Use) String() string {
	if int(u) >= len(uses) {
		return ""
	}
	return uses[u]
}

// MarshalText writes the name.
func (u Use) MarshalText() ([]byte, error) { return []byte(u.String()), nil }

// Tension is a note that a chord may or may not take beside its own.
type Tension struct {
	Degree   theory.Degree
	Use      Use
	InMelody bool // the tune has it already
	Why      string
}

// Colour is what may be added to a chord where it stands.
type Colour struct {
	Context  string // the row of the table that was used: "major V/ii"
	Scale    theory.Scale
	Tensions []Tension
	Rule     string
}

// Available returns the degrees that may be added freely, in the order in which
// to add them; the melody's own first.
func (c Colour) Available() []theory.Degree {
	var out []theory.Degree
	for _, mine := range []bool{true, false} {
		for _, t := range c.Tensions {
			if t.Use == Available && t.InMelody == mine {
				out = append(out, t.Degree)
			}
		}
	}
	return out
}

// Use returns how a degree may be used; Avoid for one that is not in the table.
func (c Colour) Use(d theory.Degree) Use {
	for _, t := range c.Tensions {
		if t.Degree == d {
			return t.Use
		}
	}
	return Avoid
}

// Tensions says what may be added to a span's chord, given where it goes and
// what the tune has meanwhile. next is the next sounding span (the zero Span for
// none); melody holds the names that sound over the chord, in any order.
//
// The table (tensions.tsv) gives the set for the chord's function; the target
// decides a dominant's alterations; then the melody has its say: it counts as a
// voice, so what clashes with it is to avoid, and what it has already is there.
// Tones that the chord has anyway are left out.
func Tensions(s, next Span, melody []theory.Name) Colour {
	if !s.Sounding() {
		return Colour{}
	}
	r := tensionRow(s, next)
	c := Colour{Context: r.context, Scale: r.scale, Rule: r.rule,
		Tensions: make([]Tension, 0, len(r.tensions))}
	if !holds(r.scale, s.Chord) { // the symbol says more than its place does
		if scales := s.Chord.Scales(); len(scales) > 0 {
			c.Scale = scales[0]
		}
	}
	keep := keyClasses(s.Key)
	inKey := func(d theory.Degree) bool { return keep>>((s.Chord.Root.Class()+d.Class())%12)&1 == 1 }
	for _, t := range r.tensions {
		if hasSound(s.Chord, t.Degree) {
			continue
		}
		if r.place == "vii" && r.mode == "minor" && t.Use == Available && !inKey(t.Degree) {
			t.Use, t.Why = Avoid, "not in the key"
		}
		c.Tensions = append(c.Tensions, t)
	}
	if r.place == "dim7" {
		slices.SortStableFunc(c.Tensions, func(a, b Tension) int {
			return rank(a, inKey(a.Degree)) - rank(b, inKey(b.Degree))
		})
	}
	dominant := qualityOf(s.Chord) == dominant || qualityOf(s.Chord) == augmented
	for _, n := range melody {
		d, in := DegreeOver(s.Chord, n)
		for i := range c.Tensions {
			c.Tensions[i].hear(d, in, dominant)
		}
	}
	return c
}

// rank puts what is in the key first within each use.
func rank(t Tension, inKey bool) int {
	if inKey {
		return 2 * int(t.Use)
	}
	return 2*int(t.Use) + 1
}

// hear settles one tension against one degree of the melody.
func (t *Tension) hear(d theory.Degree, in, dominant bool) {
	if d == t.Degree || !in && d.Class() == t.Degree.Class() {
		t.InMelody = true
		switch {
		case t.Use == Conditional:
			t.Use, t.Why = Available, "the melody has it"
		case t.Use == Avoid && dominant && t.Degree.Alter != 0:
			t.Use, t.Why = Available, "the melody has it: alter to match"
		}
		return
	}
	if t.InMelody {
		return
	}
	if why, hard := underMelody(t.Degree, d); why != "" {
		if hard {
			t.Use, t.Why = Avoid, why
		} else if t.Use == Available {
			t.Use, t.Why = Conditional, why
		}
	}
}

// underMelody says why a tension below a melody degree is wrong (hard) or
// delicate; "" where nothing speaks against it.
func underMelody(t, melody theory.Degree) (why string, hard bool) {
	type pair struct{ t, m theory.Degree }
	switch (pair{t, melody}) {
	case pair{degreeB9, degree9}, pair{degreeS9, degree9}:
		return "the melody has the natural 9", true
	case pair{degree9, degreeB9}:
		return "the melody has b9", true
	case pair{degree9, degreeS9}:
		return "the melody has #9", true
	case pair{degreeB13, degree13}, pair{degreeB13, degree6}:
		return "the melody has the natural 13", true
	case pair{degree13, degreeB13}, pair{degree13, degreeS5}:
		return "the melody has the flat 13", true
	case pair{degreeB13, degree5}:
		return "the melody has the natural 5", true
	case pair{degreeS11, degree5}:
		return "a half step under the melody's 5", true
	case pair{degreeS11, degree11}, pair{degreeS11, degree4}:
		return "the melody has the natural 11", true
	case pair{degree11, degreeS11}, pair{degree11, degreeB5}:
		return "the melody has #11", true
	case pair{degree11, degree3}:
		return "the melody has the 3", true
	case pair{degreeS9, degree3}:
		return "a half step under the melody's 3", true
	case pair{degree13, degreeB7}:
		return "a half step under the melody's b7: only a major seventh above it", false
	case pair{degree7, degree1}:
		return "a half step under the melody's root", true
	}
	return "", false
}

// holds tells whether a scale has every tone of a chord by sound.
func holds(s theory.Scale, c theory.Chord) bool {
	for d := range c.Tones.All() {
		if !s.Has(d) {
			return false
		}
	}
	return true
}

// hasSound tells whether the chord's tones hold a degree by sound: C6 has the 13.
func hasSound(c theory.Chord, d theory.Degree) bool {
	for t := range c.Tones.All() {
		if t.Class() == d.Class() {
			return true
		}
	}
	return false
}

// useOf tells how a span may carry a degree; Avoid where the table is silent. A
// triad may carry the seventh that the key gives it.
func useOf(s Span, d theory.Degree) Use {
	if d.Number == 7 {
		if _, has := s.Chord.Seventh(); !has && keyClasses(s.Key)>>((s.Chord.Root.Class()+d.Class())%12)&1 == 1 {
			return Available
		}
		return Avoid
	}
	for _, t := range tensionRow(s, Span{}).tensions {
		if t.Degree == d {
			return t.Use
		}
	}
	return Avoid
}

// row is one line of the table.
type row struct {
	mode, place, note, rule string
	context                 string // mode and place
	scale                   theory.Scale
	tensions                []Tension // Available, Conditional, Avoid; each in the order of use
}

//go:embed tensions.tsv
var tensionsTSV string

var tensionTable = sync.OnceValue(func() map[[2]string]row {
	t := make(map[[2]string]row)
	for line := range strings.Lines(tensionsTSV) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		r, err := parseRow(strings.TrimSuffix(line, "\n"))
		if err != nil {
			panic(fmt.Sprintf("harmony: tensions.tsv: %v", err)) // the table is ours: a test reads every row
		}
		t[[2]string{r.mode, r.place}] = r
	}
	return t
})

func parseRow(line string) (row, error) {
	f := strings.Split(line, "\t")
	if len(f) != 8 {
		return row{}, fmt.Errorf("%d fields in %q", len(f), line)
	}
	r := row{mode: f[0], place: f[1], note: f[6], rule: f[7], context: f[0] + " " + f[1]}
	var ok bool
	if r.scale, ok = theory.ParseScale(f[2]); !ok {
		return row{}, fmt.Errorf("%q is no scale", f[2])
	}
	for i, use := range []Use{Available, Conditional, Avoid} {
		for _, w := range strings.Fields(f[3+i]) {
			d, err := theory.ParseDegree(w)
			if err != nil {
				return row{}, err
			}
			t := Tension{Degree: d, Use: use}
			if use != Available {
				t.Why = r.note
			}
			r.tensions = append(r.tensions, t)
		}
	}
	return r, nil
}

// tensionRow finds the row for a span: by the sound of chords that are the same
// everywhere, then by function and place, then by quality alone.
func tensionRow(s, next Span) row {
	table := tensionTable()
	mode, place := tensionPlace(s, next)
	r, ok := table[[2]string{mode, place}]
	if !ok {
		panic(fmt.Sprintf("harmony: no tensions for %s %s", mode, place))
	}
	return r
}

func tensionPlace(s, next Span) (mode, place string) {
	c, t := s.Chord, s.Chord.Tones
	q, rel := qualityOf(c), above(s.Key.Tonic, c.Root)
	minorKey := s.Key.Mode.Minorish()
	switch {
	case t.Has(degree4) && !t.Has(degree3) && !t.Has(degreeB3):
		return "any", "sus"
	case q == diminished && minorKey && rel == 11:
		return "minor", "vii"
	case q == diminished:
		return "any", "dim7"
	case t.Has(degree3) && t.Has(degreeS5) && t.Has(degree7):
		return "any", "maj7#5"
	case q == dominant && altered(t):
		return "any", "alt"
	case q == augmented, q == dominant && t.Has(degreeS5):
		return "any", "7#5"
	case q == open:
		return "any", "open"
	}
	switch s.Function {
	case Applied, Substitute:
		return appliedPlace(s, next, q, rel)
	case Related:
		if q == halfDiminished {
			return "any", "m7b5"
		}
		return "any", "m"
	case Borrowed:
		switch {
		case q == dominant && rel == 10:
			return "major", "bVII7"
		case q == halfDiminished:
			return "major", "iim7b5"
		case q == minor && rel == 5:
			return "major", "iv"
		case q == major:
			return "major", "bmaj"
		}
	case Tonic, Subdominant, Dominant, Cadential:
		if m, p := diatonicPlace(s, next, q, rel); p != "" {
			return m, p
		}
	}
	switch q {
	case minor:
		return "any", "m"
	case halfDiminished:
		return "any", "m7b5"
	case dominant:
		return "any", "dominant"
	}
	return "any", "maj"
}

// altered: a dominant with both kinds of alteration and no natural fifth.
func altered(t theory.Degrees) bool {
	ninth := t.Has(theory.Degree{Number: 9, Alter: -1}) || t.Has(theory.Degree{Number: 9, Alter: 1})
	fifth := t.Has(degreeS5) || t.Has(degreeB13) || t.Has(degreeB5)
	return ninth && fifth && !t.Has(theory.Degree{Number: 5})
}

func appliedPlace(s, next Span, q quality, rel int) (mode, place string) {
	if s.Function == Substitute {
		return "any", "subV"
	}
	switch q {
	case halfDiminished:
		return "any", "m7b5"
	case minor:
		return "any", "m"
	}
	if !s.Resolves {
		if s.Key.Mode.Minorish() {
			return "any", "V/minor"
		}
	} else if next.Sounding() && above(s.Chord.Root, next.Chord.Root) == 5 {
		// The target as it is played counts more than the one in the key.
		if next.Chord.MinorThird() && rel == 0 {
			return "any", "V/minor"
		}
	}
	if !s.Key.Mode.Minorish() {
		switch rel {
		case 9:
			return "major", "V/ii"
		case 11:
			return "major", "V/iii"
		case 0:
			return "major", "V/IV"
		case 2:
			return "major", "V/V"
		case 4:
			return "major", "V/vi"
		}
		return "any", "V/major"
	}
	switch rel { // degrees of a minor key whose chord a fifth below is major
	case 10, 3, 8, 1:
		return "any", "V/major"
	}
	return "any", "V/minor"
}

func diatonicPlace(s, next Span, q quality, rel int) (mode, place string) {
	if !s.Key.Mode.Minorish() {
		switch {
		case rel == 0 && q == dominant && s.Key.Mode == theory.Major:
			return "blues", "I7"
		case rel == 5 && q == dominant:
			return "blues", "IV7"
		case rel == 7 && (q == dominant || q == major):
			if next.Sounding() && above(s.Chord.Root, next.Chord.Root) == 5 && next.Chord.MinorThird() {
				return "any", "V/minor"
			}
			return "major", "V"
		case q == dominant:
			return "any", "dominant"
		case rel == 0 && q == major:
			return "major", "I"
		case rel == 5 && q == major:
			return "major", "IV"
		case rel == 2 && q == minor:
			return "major", "ii"
		case rel == 4 && q == minor:
			return "major", "iii"
		case rel == 9 && q == minor:
			return "major", "vi"
		case rel == 11 && q == halfDiminished:
			return "major", "vii"
		}
		return "", ""
	}
	t := s.Chord.Tones
	switch {
	case rel == 0 && q == minor && (t.Has(theory.Degree{Number: 6}) || t.Has(degree7)):
		return "minor", "i6"
	case rel == 0 && q == minor:
		return "minor", "i"
	case rel == 2 && q == halfDiminished:
		return "minor", "ii"
	case rel == 3 && q == major:
		return "minor", "bIII"
	case rel == 5 && q == minor:
		return "minor", "iv"
	case rel == 5 && q == dominant:
		return "blues", "IV7"
	case rel == 7 && q == minor:
		return "minor", "v"
	case rel == 7 && (q == dominant || q == major):
		return "minor", "V"
	case rel == 8 && q == major:
		return "minor", "bVI"
	case rel == 10 && (q == major || q == dominant):
		return "minor", "bVII"
	}
	return "", ""
}
