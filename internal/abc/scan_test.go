package abc

import (
	"fmt"
	"strings"
	"testing"
)

// show writes tokens so that a table can state them.
func show(line string) string {
	var out []string
	scan(line, 1, func(t token) bool {
		s := ""
		switch t.kind {
		case tokSpace:
			return true
		case tokNote:
			s = fmt.Sprintf("%s%d", t.letter, t.octave)
			if t.signed {
				s += fmt.Sprintf("%+d", t.alter)
			}
			s += fmt.Sprintf(":%d/%d", t.num, t.den)
		case tokRest:
			s = fmt.Sprintf("rest:%d/%d", t.num, t.den)
		case tokBarRest:
			s = fmt.Sprintf("bars:%d", t.n)
		case tokChordOpen:
			s = "["
		case tokChordClose:
			s = fmt.Sprintf("]:%d/%d", t.num, t.den)
		case tokGraceOpen:
			s = "{"
		case tokGraceClose:
			s = "}"
		case tokBar:
			s = fmt.Sprintf("bar(%d,%d", t.bar.closes, t.bar.opens)
			if t.bar.double {
				s += ",double"
			}
			s += ")"
		case tokEnding:
			s = fmt.Sprintf("ending%v", t.nums)
		case tokQuote:
			s = fmt.Sprintf("%q", t.text)
		case tokDecoration:
			s = "!" + t.text + "!"
		case tokTuplet:
			s = fmt.Sprintf("tuplet%v", t.nums)
		case tokBroken:
			s = fmt.Sprintf("broken%+d", t.n)
		case tokTie:
			s = "-"
		case tokSlur:
			s = t.text
		case tokOverlay:
			s = "&"
		case tokField:
			s = fmt.Sprintf("%c:%s", t.field, t.text)
		case tokJunk:
			s = fmt.Sprintf("junk%q", t.text)
		}
		out = append(out, s)
		return true
	})
	return strings.Join(out, " ")
}

var lines = []struct{ in, want string }{
	{"CDEF", "C4:1/1 D4:1/1 E4:1/1 F4:1/1"},
	{"c'C,c''D,,", "C6:1/1 C3:1/1 C7:1/1 D2:1/1"},
	{"^C _d =e ^^f __g", "C4+1:1/1 D5-1:1/1 E5+0:1/1 F5+2:1/1 G5-2:1/1"},
	{"A2 A/ A// A/4 A3/2 A3/ A12", "A4:2/1 A4:1/2 A4:1/4 A4:1/4 A4:3/2 A4:3/2 A4:12/1"},
	{"A0 A99999999 A/0", `junk"A0" junk"A99999999" junk"A/0"`},
	{"z2 x Z Z4 X2", "rest:2/1 rest:1/1 bars:1 bars:4 bars:2"},
	{"[CEG]2 [C2E2]", "[ C4:1/1 E4:1/1 G4:1/1 ]:2/1 [ C4:2/1 E4:2/1 ]:1/1"},
	{"{abc}d {/a}b", "{ A5:1/1 B5:1/1 C5:1/1 } D5:1/1 { A5:1/1 } B5:1/1"},
	{"(3abc (5:4:6a (3::2a (3:a", "tuplet[3] A5:1/1 B5:1/1 C5:1/1 tuplet[5 4 6] A5:1/1 tuplet[3 0 2] A5:1/1 tuplet[3 0] A5:1/1"},
	{"(ab) a-b", "( A5:1/1 B5:1/1 ) A5:1/1 - B5:1/1"},
	{"a>b c<<d", "A5:1/1 broken+1 B5:1/1 C5:1/1 broken-2 D5:1/1"},
	{"|: a :| b :: c || d |] e [| f", "bar(0,2) A5:1/1 bar(2,0) B5:1/1 bar(2,2) C5:1/1 bar(0,0,double) D5:1/1 bar(0,0,double) E5:1/1 bar(0,0,double) F5:1/1"},
	{"|:: a ::| :|: :||: .| |:|", "bar(0,3) A5:1/1 bar(3,0) bar(2,2) bar(2,2,double) bar(0,0) bar(0,2,double)"},
	{"|1 a :|2 b [3 c [1,3 d [2-4 e", "bar(0,0) ending[1] A5:1/1 bar(2,0) ending[2] B5:1/1 ending[3] C5:1/1 ending[1 3] D5:1/1 ending[2 3 4] E5:1/1"},
	{"|[1 a |[CE]|", "bar(0,0) ending[1] A5:1/1 bar(0,0) [ C4:1/1 E4:1/1 ]:1/1 bar(0,0)"},
	{`"Am"a "^slow"b "open`, `"Am" A5:1/1 "^slow" B5:1/1 junk"\"open"`},
	{"!trill!a +f+b ~c .d Ta !", "!trill! A5:1/1 !f! B5:1/1 !~! C5:1/1 !.! D5:1/1 !T! A5:1/1"},
	{"[K:G]a [M:3/4] [P:A]", "K:G A5:1/1 M:3/4 P:A"},
	{"a & b", "A5:1/1 & B5:1/1"},
	{"a y0 b y2 c`d \\", "A5:1/1 B5:1/1 C5:1/1 D5:1/1"},
	{"[ ] : ^ ^/c # ß [9", `junk"[" ]:1/1 junk":" junk"^" junk"^/" C5:1/1 junk"#" junk"ß" ending[9]`},
}

func TestScan(t *testing.T) {
	for _, tt := range lines {
		if got := show(tt.in); got != tt.want {
			t.Errorf("%s\n got %s\nwant %s", tt.in, got, tt.want)
		}
	}
}

func TestScanColumns(t *testing.T) {
	var got []string
	scan(`"Ré"a b|ß c`, 7, func(t token) bool {
		if t.kind != tokSpace {
			got = append(got, fmt.Sprintf("%d:%d", t.pos.line, t.pos.col))
		}
		return true
	})
	if s := strings.Join(got, " "); s != "7:1 7:5 7:7 7:8 7:9 7:11" {
		t.Errorf("columns %s", s)
	}
}
