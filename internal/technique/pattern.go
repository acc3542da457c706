package technique

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim/theory"
)

// A pattern is a left-hand figure for a stretch of a number of beats, as it is
// written.
//
// Steps divide the stretch evenly and are separated by spaces. "-" prolongs what
// sounds, "." is silence; several notes at once are joined with "+":
//
//	R    the bass note, in the bass register; R^ an octave higher
//	1 3 5 6 7 8 9 10   chord degrees counted from the bass root, as the chord has them
//	5_   the fifth below the bass note
//	a    the added note (level 2) above the octave; t the tenth; x y the lower and
//	     the higher of the two
//	n    the added note inside the close chord, else the third
//	c    the chord near middle C, in the inversion the search likes best
//	s    a shell: root with seventh, third or sixth
//	g    the guide tones near middle C
//	v    a rootless or colour voicing near middle C
//
// A stretch with no pattern of its own length is put together from shorter ones.
type pattern struct {
	Beats    int
	Compound bool
	Steps    string
	MaxTempo int // beats of the pulse a minute; 0 any
	MinTempo int // and at least
	Cost     int
}

// form is a pattern that has been read.
type form struct {
	beats    int
	compound bool
	maxTempo int
	minTempo int
	cost     int
	strokes  []stroke
	steps    int  // that divide the stretch
	upper    bool // takes a chord from elsewhere: c, g or v
}

// stroke is what begins on one step and how many steps it lasts.
type stroke struct {
	from, length int
	tokens       []token
}

// token stands for one note, or for a chord that is known only in its cell.
type token struct {
	sort   tokenSort
	degree int // of degreeToken
}

type tokenSort uint8

const (
	bassToken     tokenSort = iota + 1 // R
	highBassToken                      // R^
	lowFifthToken                      // 5_
	degreeToken                        // 1 3 5 6 7 8 9 10
	addedToken                         // a
	tenthToken                         // t
	lowerToken                         // x
	higherToken                        // y
	closeToken                         // n
	shellToken                         // s
	upperToken                         // c g v
)

var tokens = map[string]tokenSort{
	"R": bassToken, "R^": highBassToken, "5_": lowFifthToken,
	"a": addedToken, "t": tenthToken, "x": lowerToken, "y": higherToken,
	"n": closeToken, "s": shellToken, "c": upperToken, "g": upperToken, "v": upperToken,
}

// degrees are the numbers that a pattern may count.
var degreeNumbers = []int{1, 3, 5, 6, 7, 8, 9, 10}

// parseForms reads patterns. What is wrong with them is told all at once, each
// with its pattern.
func parseForms(ps ...pattern) ([]form, error) {
	out := make([]form, 0, len(ps))
	var errs []error
	for _, p := range ps {
		f, err := p.parse()
		if err != nil {
			errs = append(errs, fmt.Errorf("pattern %q of %d beats: %w", p.Steps, p.Beats, err))
			continue
		}
		out = append(out, f)
	}
	return out, errors.Join(errs...)
}

// forms reads the patterns of a technique; they stand in its source, so that a
// wrong one is found before anything else is done.
func forms(ps ...pattern) []form {
	fs, err := parseForms(ps...)
	if err != nil {
		panic("technique: " + err.Error())
	}
	return fs
}

func (p pattern) parse() (form, error) {
	f := form{beats: p.Beats, compound: p.Compound, maxTempo: p.MaxTempo, minTempo: p.MinTempo, cost: p.Cost}
	fields := strings.Fields(p.Steps)
	f.steps = len(fields)
	switch {
	case p.Beats < 1:
		return f, errors.New("has no beats")
	case f.steps == 0:
		return f, errors.New("has no steps")
	case p.stretch()%theory.Dur(f.steps) != 0 || p.stretch()/theory.Dur(f.steps) < shortestStep:
		return f, fmt.Errorf("%d steps do not divide it", f.steps)
	}
	for i, field := range fields {
		switch field {
		case "-":
			if len(f.strokes) == 0 || f.strokes[len(f.strokes)-1].end() != i {
				return f, fmt.Errorf("step %d prolongs nothing", i+1)
			}
			f.strokes[len(f.strokes)-1].length++
		case ".":
		default:
			s := stroke{from: i, length: 1}
			for _, t := range strings.Split(field, "+") {
				tok, err := parseToken(t)
				if err != nil {
					return f, fmt.Errorf("step %d: %w", i+1, err)
				}
				if slices.Contains(s.tokens, tok) {
					return f, fmt.Errorf("step %d has %q twice", i+1, t)
				}
				f.upper = f.upper || tok.sort == upperToken
				s.tokens = append(s.tokens, tok)
			}
			f.strokes = append(f.strokes, s)
		}
	}
	if len(f.strokes) == 0 {
		return f, errors.New("is silent")
	}
	return f, nil
}

// shortestStep is the shortest note that a pattern may ask for.
const shortestStep = theory.Sixteenth

// stretch is how long a pattern lasts where the beat is a quarter, or a dotted one.
func (p pattern) stretch() theory.Dur {
	if p.Compound {
		return theory.Dur(p.Beats) * 3 * theory.Eighth
	}
	return theory.Dur(p.Beats) * theory.Quarter
}

func (s stroke) end() int { return s.from + s.length }

func parseToken(s string) (token, error) {
	if sort, ok := tokens[s]; ok {
		return token{sort: sort}, nil
	}
	if n, err := strconv.Atoi(s); err == nil && slices.Contains(degreeNumbers, n) {
		return token{degreeToken, n}, nil
	}
	return token{}, fmt.Errorf("%q is no note", s)
}
