package abc

import (
	"html"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// marks maps the accent of a mnemonic to the combining sign that Unicode gives
// it (ABC 2.1, section 8.2).
var marks = map[byte]rune{
	'`': 0x300, '\'': 0x301, '^': 0x302, '~': 0x303, '"': 0x308,
	'c': 0x327, 'v': 0x30C, 'u': 0x306, 'H': 0x30B, 'r': 0x30A, '=': 0x304, ';': 0x328, '.': 0x307,
}

// ligatures are the mnemonics that are letters of their own.
var ligatures = map[string]string{
	"ss": "ß", "AE": "Æ", "ae": "æ", "OE": "Œ", "oe": "œ", "/O": "Ø", "/o": "ø",
	"/D": "Đ", "/d": "đ", "/L": "Ł", "/l": "ł", "AA": "Å", "aa": "å",
	"DH": "Ð", "dh": "ð", "TH": "Þ", "th": "þ",
}

// plain reads a text string of ABC: mnemonics such as \'e, named entities such
// as &eacute; and four-figure code points such as \u00e9 become the letters that
// they stand for; \\ \& \% and \- lose their backslash.
func plain(s string) string {
	s = strings.TrimSpace(uncontrolled(s))
	if !strings.ContainsAny(s, "\\&") {
		return s
	}
	var b strings.Builder
	rest := s
	for len(rest) > 0 {
		switch rest[0] {
		case '\\':
			out, n := escape(rest[1:])
			b.WriteString(out)
			rest = rest[1+n:]
		case '&':
			i := strings.IndexByte(rest, ';')
			if i < 0 || i > 10 || strings.ContainsAny(rest[:i], " \\") {
				b.WriteByte('&')
				rest = rest[1:]
				continue
			}
			b.WriteString(html.UnescapeString(rest[:i+1]))
			rest = rest[i+1:]
		default:
			i := strings.IndexAny(rest, "\\&")
			if i < 0 {
				i = len(rest)
			}
			b.WriteString(rest[:i])
			rest = rest[i:]
		}
	}
	return strings.TrimSpace(b.String())
}

// escape reads what follows a backslash and returns its letters and how many
// bytes they took.
func escape(s string) (string, int) {
	if s == "" {
		return "", 0
	}
	if len(s) >= 2 {
		if l, ok := ligatures[s[:2]]; ok {
			return l, 2
		}
	}
	if s[0] == 'u' && len(s) >= 5 {
		if n, err := strconv.ParseUint(s[1:5], 16, 32); err == nil && unicode.IsPrint(rune(n)) {
			return string(rune(n)), 5
		}
	}
	if len(s) >= 2 && isLetter(s[1]) {
		if m, ok := marks[s[0]]; ok {
			letter := string(s[1])
			if composed := norm.NFC.String(letter + string(m)); utf8.RuneCountInString(composed) == 1 {
				return composed, 2
			}
		}
	}
	_, n := utf8.DecodeRuneInString(s)
	return s[:n], n
}

// guarded writes text so that plain reads it back: the inverse of plain for
// every text without control characters.
func guarded(s string) string {
	return strings.NewReplacer(`\`, `\\`, `&`, `\&`, `%`, `\%`).Replace(strings.TrimSpace(uncontrolled(s)))
}

// uncontrolled turns control characters into blanks.
func uncontrolled(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, s)
}

func isLetter(c byte) bool { return c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' }

// uncomment cuts a line at its first % that no backslash guards.
func uncomment(s string) string {
	for i := 0; i < len(s); i++ {
		switch s[i] {
		case '\\':
			i++
		case '%':
			return s[:i]
		}
	}
	return s
}
