package abc

import (
	"strings"
	"unicode/utf8"

	"gradatim/internal/roadmap"
)

// scanner reads one line of music code. It knows signs, not music: every byte of
// the line ends up in a token, and what is not ABC becomes tokJunk.
type scanner struct {
	s    string
	line int

	colAt, col int  // column of byte colAt, kept so that columns cost one pass in all
	afterBar   bool // the token before was a bar line: figures here are an ending
}

// scan calls yield for each token of a line until it returns false.
func scan(line string, number int, yield func(token) bool) {
	sc := &scanner{s: line, line: number, col: 1}
	for i := 0; i < len(line); {
		t, n := sc.next(i)
		sc.afterBar = t.kind == tokBar
		t.pos = place{number, sc.column(i)}
		if !yield(t) {
			return
		}
		i += n
	}
}

func (sc *scanner) column(i int) int {
	sc.col += utf8.RuneCountInString(sc.s[sc.colAt:i])
	sc.colAt = i
	return sc.col
}

// next reads the token at byte i and returns its length in bytes, at least 1.
func (sc *scanner) next(i int) (token, int) {
	s := sc.s[i:]
	switch c := s[0]; {
	case sc.afterBar && c >= '0' && c <= '9':
		nums, n := endings(s)
		return token{kind: tokEnding, nums: nums}, n
	case c == ' ' || c == '\t' || c == '`' || c == '$':
		return token{kind: tokSpace}, 1
	case c == 'y':
		_, _, n, _ := length(s[1:])
		return token{kind: tokSpace}, 1 + n
	case c == '\\' && strings.TrimSpace(s[1:]) == "":
		return token{kind: tokSpace}, len(s) // the next line continues this one
	case strings.IndexByte("^_=ABCDEFGabcdefg", c) >= 0:
		return note(s)
	case c == 'z' || c == 'x':
		num, den, n, ok := length(s[1:])
		if !ok {
			return junk(s, 1+n)
		}
		return token{kind: tokRest, num: num, den: den}, 1 + n
	case c == 'Z' || c == 'X':
		n := digits(s[1:])
		t := token{kind: tokBarRest, n: 1}
		if n > 0 {
			t.n, _ = strnum(s[1 : 1+n])
		}
		return t, 1 + n
	case c == '"':
		if end := strings.IndexByte(s[1:], '"'); end >= 0 {
			return token{kind: tokQuote, text: s[1 : 1+end]}, end + 2
		}
		return junk(s, len(s))
	case c == '!' || c == '+':
		return decoration(s, c)
	case c == '.' && !strings.HasPrefix(s, ".|"):
		return token{kind: tokDecoration, text: "."}, 1
	case c == '{':
		n := 1
		if strings.HasPrefix(s[1:], "/") {
			n = 2
		}
		return token{kind: tokGraceOpen}, n
	case c == '}':
		return token{kind: tokGraceClose}, 1
	case c == '(' && len(s) > 1 && s[1] >= '0' && s[1] <= '9':
		return tuplet(s)
	case c == '(' || c == ')':
		return token{kind: tokSlur, text: s[:1]}, 1
	case c == '>' || c == '<':
		n := 1
		for n < len(s) && s[n] == c {
			n++
		}
		t := token{kind: tokBroken, n: n}
		if c == '<' {
			t.n = -n
		}
		return t, n
	case c == '-':
		return token{kind: tokTie}, 1
	case c == '&':
		return token{kind: tokOverlay}, 1
	case c == '[':
		return sc.bracket(s)
	case c == ']':
		num, den, n, ok := length(s[1:])
		if !ok {
			return junk(s, 1+n)
		}
		return token{kind: tokChordClose, num: num, den: den}, 1 + n
	case c == '|' || c == '.' || c == ':':
		return barSign(s)
	case c == '~' || c >= 'h' && c <= 'w' || c >= 'H' && c <= 'W':
		return token{kind: tokDecoration, text: s[:1]}, 1
	default:
		_, n := utf8.DecodeRuneInString(s)
		return junk(s, n)
	}
}

func junk(s string, n int) (token, int) { return token{kind: tokJunk, text: s[:n]}, n }

// digits counts the figures at the start of s.
func digits(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}

// strnum reads figures; too many of them come out as a number beyond every limit.
func strnum(s string) (int, bool) {
	n, ok := number(s)
	if !ok {
		return 1 << 20, false
	}
	return n, true
}

// length reads a length such as "3/2", "/", "//4" or nothing, as a fraction of
// the unit. ok is false where a figure is zero or beyond five places.
func length(s string) (num, den, n int, ok bool) {
	num, den, ok = 1, 1, true
	if d := digits(s); d > 0 {
		num, ok = number(s[:d])
		n = d
	}
	for n < len(s) && s[n] == '/' {
		n++
		by := 2
		if d := digits(s[n:]); d > 0 {
			var good bool
			by, good = number(s[n : n+d])
			ok = ok && good
			n += d
		}
		if den *= by; den > 1<<15 {
			den, ok = 1, false
		}
	}
	if num == 0 || den == 0 || num > 1<<15 {
		ok = false
	}
	return num, den, n, ok
}

func note(s string) (token, int) {
	t := token{kind: tokNote, num: 1, den: 1}
	i := 0
	for i < len(s) && strings.IndexByte("^_=", s[i]) >= 0 {
		i++
	}
	if i > 0 {
		var ok bool
		if t.alter, ok = accidental(s[:i]); !ok {
			return junk(s, i)
		}
		t.signed = true
	}
	if i == len(s) {
		return junk(s, i)
	}
	l, ok := noteLetter(s[i])
	if !ok {
		// Quarter tones (^/F, _3/2B): the fraction is read as part of the junk.
		n := i
		for n < len(s) && (s[n] == '/' || s[n] >= '0' && s[n] <= '9') {
			n++
		}
		return junk(s, max(n, 1))
	}
	t.letter, t.octave = l, 4
	if s[i] >= 'a' {
		t.octave = 5
	}
	i++
	for i < len(s) && (s[i] == '\'' || s[i] == ',') {
		if s[i] == '\'' {
			t.octave++
		} else {
			t.octave--
		}
		i++
	}
	num, den, n, ok := length(s[i:])
	if !ok {
		return junk(s, i+n)
	}
	t.num, t.den = num, den
	return t, i + n
}

// decoration reads !name! or +name+. A lone ! is the line break of older ABC.
func decoration(s string, c byte) (token, int) {
	for i := 1; i < len(s) && i < 40; i++ {
		switch s[i] {
		case c:
			if i == 1 {
				return junk(s, 2)
			}
			return token{kind: tokDecoration, text: s[1:i]}, i + 1
		case ' ', '"', '|', '[', ']':
			i = len(s)
		}
	}
	if c == '!' {
		return token{kind: tokSpace}, 1
	}
	return junk(s, 1)
}

// tuplet reads (p, (p:q, (p:q:r, (p::r.
func tuplet(s string) (token, int) {
	t := token{kind: tokTuplet}
	i := 1
	for k := 0; k < 3; k++ {
		n := digits(s[i:])
		v := 0
		if n > 0 {
			v, _ = strnum(s[i : i+n])
		}
		t.nums = append(t.nums, v)
		i += n
		if k == 2 || i >= len(s) || s[i] != ':' || strings.HasPrefix(s[i:], ":|") {
			break
		}
		i++
	}
	return t, i
}

// bracket reads what starts with [: an inline field, an ending, a bar line or
// notes struck together.
func (sc *scanner) bracket(s string) (token, int) {
	if len(s) == 1 {
		return junk(s, 1)
	}
	switch c := s[1]; {
	case isLetter(c) && len(s) > 2 && s[2] == ':':
		if end := strings.IndexByte(s, ']'); end >= 0 {
			return token{kind: tokField, field: c, text: strings.TrimSpace(s[3:end])}, end + 1
		}
		return junk(s, len(s))
	case c >= '0' && c <= '9':
		nums, n := endings(s[1:])
		return token{kind: tokEnding, nums: nums}, 1 + n
	case c == '|' || c == ']':
		return barSign(s)
	case c == '"', strings.IndexByte("^_=ABCDEFGabcdefg!~.", c) >= 0, c >= 'H' && c <= 'W', c >= 'h' && c <= 'x', c == 'z':
		return token{kind: tokChordOpen}, 1
	default:
		return junk(s, 1)
	}
}

// endings reads "1", "1,3", "1-3".
func endings(s string) (nums []int, n int) {
	for {
		d := digits(s[n:])
		if d == 0 {
			return nums, n
		}
		v, _ := strnum(s[n : n+d])
		from := v
		n += d
		if n+1 < len(s) && s[n] == '-' && digits(s[n+1:]) > 0 {
			d = digits(s[n+1:])
			v, _ = strnum(s[n+1 : n+1+d])
			n += 1 + d
		}
		for e := from; e <= v && e <= roadmap.MaxPasses+1 && len(nums) <= roadmap.MaxPasses; e++ {
			nums = append(nums, e)
		}
		if n+1 < len(s) && s[n] == ',' && digits(s[n+1:]) > 0 {
			n++
			continue
		}
		return nums, n
	}
}

// barSign reads a bar line: any run of | : [ ] that ABC 2.1 (section 4.8) asks a
// reader to accept. Colons before the first line close a repeat, colons after
// the last one open one; figures right behind it are an ending, which comes as a
// token of its own.
func barSign(s string) (token, int) {
	i := 0
	if s[0] == '.' {
		i = 1
	}
run:
	for i < len(s) {
		switch s[i] {
		case '|', ':', ']':
			i++
		case '[':
			if i+1 < len(s) && (s[i+1] == '|' || s[i+1] == ']') {
				i++
				continue
			}
			break run
		default:
			break run
		}
	}
	sign := s[:i]
	t := token{kind: tokBar, text: sign}
	lead := len(sign) - len(strings.TrimLeft(sign, ":"))
	trail := len(sign) - len(strings.TrimRight(sign, ":"))
	switch {
	case lead == len(sign) && lead == 1: // a colon alone
		return junk(s, 1)
	case lead == len(sign): // "::"
		t.bar.closes, t.bar.opens = 2, 2
	default:
		if lead > 0 {
			t.bar.closes = 1 + lead
		}
		if trail > 0 {
			t.bar.opens = 1 + trail
		}
		inner := sign[lead : len(sign)-trail]
		if strings.Contains(inner, ":") { // ":|:" joined to more lines, "|:|"
			if t.bar.closes == 0 && t.bar.opens == 0 {
				t.bar.opens = 2
			}
		}
		t.bar.double = strings.Count(inner, "|") > 1 || strings.ContainsAny(inner, "[]")
		t.bar.plain = inner == "|" || inner == ".|"
	}
	return t, i
}
