package hand

import (
	"fmt"
	"strconv"
	"strings"

	"gradatim/score"
)

// Profile is what a player's hands reach: the span from the tip of the thumb to
// the tip of the little finger, stretched, for each hand. A zero span is the
// default one, so the zero Profile is the default profile.
type Profile struct {
	Name  string
	Right Length
	Left  Length
}

// Margins between span and reach: a chord is playable if the centres of its
// outer keys are at most the span less 4 mm apart, and comfortable at the span
// less 25 mm. Derived from the published zones of Boyle, Boyle and Booker
// (2015): octaves strained below a span of about 7.5 in, tenths at the edge
// from 8.5 in.
const (
	PlayableMargin    = 4 * Millimetre
	ComfortableMargin = 25 * Millimetre
)

// Spans of the named profiles. The name is the largest interval that the hand
// plays together on white keys, which is what a teacher can see; the span is
// the smallest that plays it, so that nothing is promised beyond.
const (
	OctaveSpan  = Octave + PlayableMargin
	NinthSpan   = Octave + WhiteKey + PlayableMargin
	TenthSpan   = Octave + 2*WhiteKey + PlayableMargin
	defaultSpan = NinthSpan

	smallestSpan = 100 * Millimetre
	largestSpan  = 320 * Millimetre
)

// Default returns the profile that is assumed when none is given: a ninth in
// both hands.
func Default() Profile { return Profile{Name: "ninth", Right: NinthSpan, Left: NinthSpan} }

// Span returns the span of a hand.
func (p Profile) Span(h score.Hand) Length {
	s := p.Right
	if h == score.Left {
		s = p.Left
	}
	if s <= 0 {
		return defaultSpan
	}
	return s
}

// Reach returns the largest distance between outer keys that the hand plays
// together.
func (p Profile) Reach(h score.Hand) Length { return p.Span(h) - PlayableMargin }

// EasyReach returns the largest distance that the hand plays without strain.
func (p Profile) EasyReach(h score.Hand) Length { return p.Span(h) - ComfortableMargin }

// String describes the profile: "ninth (right 192.0 mm, left 192.0 mm)".
func (p Profile) String() string {
	r, l := p.Span(score.Right), p.Span(score.Left)
	spans := r.String()
	if r != l {
		spans = fmt.Sprintf("right %s, left %s", r, l)
	}
	if p.Name == "" {
		return spans
	}
	return fmt.Sprintf("%s (%s)", p.Name, spans)
}

// ParseProfile reads a profile as a teacher states it: the largest interval
// played together on white keys ("octave", "ninth", "tenth"), or the span from
// thumb to little finger in millimetres ("215", "215mm") or inches ("8.5in",
// `8.5"`). The hands may differ: "left octave, right ninth".
func ParseProfile(s string) (Profile, error) {
	text := strings.ToLower(strings.TrimSpace(s))
	p := Profile{Name: text}
	if !strings.Contains(text, "left") && !strings.Contains(text, "right") {
		span, err := parseSpan(text)
		if err != nil {
			return Profile{}, err
		}
		p.Right, p.Left = span, span
		return p, nil
	}
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' }) {
		part = strings.TrimSpace(part)
		var field *Length
		var rest string
		switch {
		case strings.HasPrefix(part, "left"):
			field, rest = &p.Left, part[len("left"):]
		case strings.HasPrefix(part, "right"):
			field, rest = &p.Right, part[len("right"):]
		default:
			return Profile{}, fmt.Errorf("hand: %q names no hand; write for example \"left octave, right ninth\"", part)
		}
		if *field != 0 {
			return Profile{}, fmt.Errorf("hand: %q gives one hand twice", s)
		}
		span, err := parseSpan(strings.TrimLeft(rest, " :="))
		if err != nil {
			return Profile{}, err
		}
		*field = span
	}
	// One hand alone says the most that is known of the other.
	if p.Left == 0 {
		p.Left = p.Right
	}
	if p.Right == 0 {
		p.Right = p.Left
	}
	return p, nil
}

// parseSpan reads one span.
func parseSpan(s string) (Length, error) {
	s = strings.TrimSpace(s)
	switch s {
	case "octave":
		return OctaveSpan, nil
	case "ninth":
		return NinthSpan, nil
	case "tenth":
		return TenthSpan, nil
	}
	number, unit := s, Millimetre
	for _, u := range []struct {
		suffix string
		unit   Length
	}{{"inches", Inch}, {"inch", Inch}, {"in", Inch}, {`"`, Inch}, {"mm", Millimetre}, {"cm", 10 * Millimetre}} {
		if rest, ok := strings.CutSuffix(s, u.suffix); ok {
			number, unit = strings.TrimSpace(rest), u.unit
			break
		}
	}
	thousandths, ok := parseThousandths(number)
	if !ok {
		return 0, fmt.Errorf("hand: %q is not a hand: write octave, ninth, tenth, or the span from thumb to little finger as 215mm or 8.5in", s)
	}
	l := Length((thousandths*int64(unit) + 500) / 1000)
	if l < smallestSpan || l > largestSpan {
		return 0, fmt.Errorf("hand: a span of %s is not one of a human hand (%s to %s)", l, smallestSpan, largestSpan)
	}
	return l, nil
}

// parseThousandths reads an unsigned decimal number with at most three decimals
// exactly.
func parseThousandths(s string) (int64, bool) {
	whole, part, dotted := strings.Cut(s, ".")
	if whole == "" || len(whole) > 5 || dotted && (part == "" || len(part) > 3) {
		return 0, false
	}
	n, err := strconv.ParseUint(whole+(part + "000")[:3], 10, 32)
	return int64(n), err == nil
}
