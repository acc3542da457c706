// Package scoretest makes scores for tests: from a compact text, and at random
// from a seed. It knows nothing of file formats and is linked by tests only.
package scoretest

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// pedals are the words for the ways to pedal.
var pedals = [...]string{score.PedalAsWritten: "as written", score.PedalByEar: "by ear", score.PedalForRolls: "for rolls"}

// Parse reads a score from lines of the form
//
//	title Small Thing          (also: subtitle, composer, arranger, rights, level 3)
//	staff 80  pedal by ear     height in tenths of a millimetre; also: pedal for rolls
//	meter 4/4                  from here on; "meter 3/4 @ 5" from the 5th bar; 3+2/8 in groups
//	key Bb                     likewise
//	pickup 1/4                 length of a first, short bar
//	bars 4                     at least so many bars
//	section A @ 1              at the 1st full bar
//	break @ 5                  a system begins there
//	tempo 120  swing 2:1  straight
//	R1 C5:1/4 r:1/4 <E4+G4>:1/2*roll   one voice, from the start
//	L2 = 3/4                   (a number after = starts the voice there)
//	chord 1/2 F7/A             a symbol at a position
//	sign 0 L pedal down        pedal up, 8va, 8va end, treble, bass, words …, dynamic p,
//	                           cresc, dim, hairpin end, rehearsal X
//
// Durations and positions are fractions of a whole note. Note marks follow a
// star: roll, ghost, stacc, tenuto, accent, fermata, slash, slur, slurend,
// courtesy, hidden, mordent, umordent, turn, trill, trem, up (on the upper
// staff), down, grace (the duration is ignored), f1 … f5, f1-3, v-30.
func Parse(text string) (score.Score, error) {
	p := parser{marks: map[int][]string{}}
	p.s.Feel = leadsheet.Unstated
	meter, key := []change{{1, "4/4"}}, []change{{1, "C"}}
	var pick, end theory.Dur
	bars := 1
	sections, breaks := map[int]string{}, map[int]bool{}
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		word, rest, _ := strings.Cut(line, " ")
		rest = strings.TrimSpace(rest)
		value, place, placed := strings.Cut(rest, " @ ")
		at := 1
		var err error
		if placed {
			at, err = strconv.Atoi(place)
		} else if v, ok := strings.CutPrefix(rest, "@ "); ok {
			at, err = strconv.Atoi(v)
		}
		if err == nil {
			switch word {
			case "", "#":
			case "title":
				p.s.Title = rest
			case "subtitle":
				p.s.Subtitle = rest
			case "composer":
				p.s.Composer = rest
			case "arranger":
				p.s.Arranger = rest
			case "rights":
				p.s.Rights = rest
			case "level":
				p.s.Level, err = strconv.Atoi(rest)
			case "staff":
				p.s.StaffHeight, err = strconv.Atoi(rest)
			case "pedal":
				how := slices.Index(pedals[:], rest)
				if p.s.Pedal = score.Pedalling(how); how < 0 {
					err = fmt.Errorf("no pedalling is called %q", rest)
				}
			case "meter":
				meter = append(meter, change{at, value})
			case "key":
				key = append(key, change{at, value})
			case "pickup":
				pick, err = dur(rest)
			case "bars":
				bars, err = strconv.Atoi(rest)
			case "section":
				sections[at] = value
			case "break":
				breaks[at] = true
			case "tempo":
				p.s.Tempo.Beat = theory.Quarter
				p.s.Tempo.PerMinute, err = strconv.Atoi(rest)
			case "swing":
				p.s.Feel = leadsheet.Swing
				_, err = fmt.Sscanf(rest, "%d:%d", &p.s.Swing.First, &p.s.Swing.Second)
			case "straight":
				p.s.Feel = leadsheet.Straight
			case "chord":
				err = p.chord(rest)
			case "sign":
				err = p.sign(rest)
			default:
				var e theory.Dur
				e, err = p.voice(word, rest)
				end = max(end, e)
			}
		}
		if err != nil {
			return score.Score{}, fmt.Errorf("line %d: %w", i+1, err)
		}
	}
	at := theory.Dur(0)
	for n := 0; at < end || n <= bars && (n > 0 || pick > 0) || n == 0; n++ {
		if n == 0 && pick == 0 {
			continue
		}
		b := score.Bar{At: at, Number: n, Section: sections[n], LineBreak: breaks[n]}
		var err error
		if b.Meter, err = parseMeter(inForce(meter, n)); err != nil {
			return score.Score{}, err
		}
		if b.Key, err = theory.ParseKey(inForce(key, n)); err != nil {
			return score.Score{}, err
		}
		b.Dur = b.Meter.Bar()
		if n == 0 {
			b.Dur, b.Pickup = pick, true
		}
		p.s.Bars = append(p.s.Bars, b)
		at = b.End()
		if n > 1<<12 {
			return score.Score{}, fmt.Errorf("too many bars")
		}
	}
	return p.s.Finish(), nil
}

// MustParse is Parse for texts that stand in a test.
func MustParse(text string) score.Score {
	s, err := Parse(text)
	if err != nil {
		panic("scoretest: " + err.Error())
	}
	return s
}

type change struct {
	bar   int
	value string
}

func inForce(list []change, bar int) string {
	v := list[0].value
	for _, c := range list {
		if c.bar <= max(bar, 1) {
			v = c.value
		}
	}
	return v
}

type parser struct {
	s     score.Score
	marks map[int][]string
}

func dur(s string) (theory.Dur, error) {
	a, b, ok := strings.Cut(s, "/")
	if !ok {
		b = "1"
	}
	n, err := strconv.ParseInt(a, 10, 64)
	if err != nil {
		return 0, err
	}
	d, err := strconv.ParseInt(b, 10, 64)
	if err != nil || d <= 0 {
		return 0, fmt.Errorf("%q is no duration", s)
	}
	v, _ := theory.Fraction(n, d)
	return v, nil
}

func (p *parser) chord(rest string) error {
	pos, text, _ := strings.Cut(rest, " ")
	at, err := dur(pos)
	if err != nil {
		return err
	}
	sym, err := theory.ParseSymbol(strings.TrimSpace(text))
	c := score.Symbol{At: at, Chord: sym.Chord}
	if err != nil {
		c.Text = text
	}
	p.s.Chords = append(p.s.Chords, c)
	return nil
}

func (p *parser) sign(rest string) error {
	f := strings.SplitN(rest, " ", 4)
	if len(f) < 3 {
		return fmt.Errorf("a sign needs a place, a hand and a kind")
	}
	at, err := dur(f[0])
	if err != nil {
		return err
	}
	d := score.Direction{At: at, Hand: score.Right}
	if f[1] == "L" {
		d.Hand = score.Left
	}
	if len(f) == 4 {
		d.Text = f[3]
	}
	switch f[2] {
	case "pedal":
		d.Kind = score.PedalDown
		if d.Text == "up" {
			d.Kind = score.PedalUp
		}
		d.Text = ""
	case "8va":
		d.Kind = score.OctaveUp
		if d.Text == "end" {
			d.Kind = score.OctaveEnd
		}
		d.Text = ""
	case "cresc":
		d.Kind = score.Crescendo
	case "dim":
		d.Kind = score.Diminuendo
	case "hairpin":
		d.Kind, d.Text = score.HairpinEnd, ""
	case "treble":
		d.Kind = score.ClefTreble
	case "bass":
		d.Kind = score.ClefBass
	case "words":
		d.Kind = score.Words
	case "dynamic":
		d.Kind = score.Dynamic
	case "rehearsal":
		d.Kind = score.Rehearsal
	default:
		return fmt.Errorf("%q is no sign", f[2])
	}
	p.s.Directions = append(p.s.Directions, d)
	return nil
}

func (p *parser) voice(word, rest string) (theory.Dur, error) {
	if len(word) != 2 || word[0] != 'R' && word[0] != 'L' || word[1] < '1' || word[1] > '8' {
		return 0, fmt.Errorf("%q is no voice and no word that is known", word)
	}
	hand := score.Right
	if word[0] == 'L' {
		hand = score.Left
	}
	at := theory.Dur(0)
	tokens := strings.Fields(rest)
	if len(tokens) > 1 && tokens[0] == "=" {
		var err error
		if at, err = dur(tokens[1]); err != nil {
			return 0, err
		}
		tokens = tokens[2:]
	}
	graces := uint8(0)
	for _, t := range tokens {
		parts := strings.Split(t, "*")
		heads, length, ok := strings.Cut(parts[0], ":")
		if !ok {
			length = "0"
		}
		d, err := dur(length)
		if err != nil {
			return 0, err
		}
		n := score.Note{Hand: hand, Voice: word[1] - '0', At: at, Dur: d}
		for _, m := range parts[1:] {
			if m == "grace" {
				graces++
				n.Grace, n.Dur = graces, 0
			} else if err := mark(&n, m); err != nil {
				return 0, err
			}
		}
		if heads != "r" {
			for _, h := range strings.Split(strings.Trim(heads, "<>"), "+") {
				if n.Pitch, err = theory.ParsePitch(h); err != nil {
					return 0, err
				}
				p.s.Notes = append(p.s.Notes, n)
			}
		}
		if n.Grace == 0 {
			graces = 0
			at += d
		}
	}
	return at, nil
}

var signs = map[string]score.Marks{
	"roll": score.Rolled, "ghost": score.Ghost, "stacc": score.Staccato, "tenuto": score.Tenuto,
	"accent": score.Accent, "fermata": score.Fermata, "slash": score.Slashed, "slur": score.SlurFrom,
	"slurend": score.SlurTo, "courtesy": score.Courtesy, "hidden": score.Hidden,
}

var ornaments = map[string]score.Ornament{
	"mordent": score.Mordent, "umordent": score.UpperMordent, "turn": score.Turn, "trill": score.Trill, "trem": score.Tremolo,
}

func mark(n *score.Note, m string) error {
	if s, ok := signs[m]; ok {
		n.Marks |= s
		return nil
	}
	if o, ok := ornaments[m]; ok {
		n.Ornament = o
		return nil
	}
	switch {
	case m == "up":
		n.Staff = score.Right
	case m == "down":
		n.Staff = score.Left
	case len(m) == 2 && m[0] == 'f' && m[1] >= '1' && m[1] <= '5':
		n.Finger = m[1] - '0'
	case len(m) == 4 && m[0] == 'f' && m[2] == '-':
		n.Finger, n.FingerTo = m[1]-'0', m[3]-'0'
	case m[0] == 'v':
		v, err := strconv.Atoi(m[1:])
		n.Velocity = int8(v)
		return err
	default:
		return fmt.Errorf("%q is no mark", m)
	}
	return nil
}

// parseMeter reads "4/4", and "3+2/8" with its groups.
func parseMeter(s string) (m leadsheet.Meter, err error) {
	beats, unit, _ := strings.Cut(s, "/")
	var parts []int
	for n := range strings.SplitSeq(beats, "+") {
		i, err := strconv.Atoi(n)
		if err != nil {
			return m, err
		}
		parts = append(parts, i)
		m.Beats += i
	}
	if m.Unit, err = strconv.Atoi(unit); err != nil || len(parts) == 1 {
		return m, err
	}
	m, _ = m.Grouped(parts...)
	m.Symbol = m.Parts
	return m, nil
}
