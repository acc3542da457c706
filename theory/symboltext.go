package theory

import (
	"strings"
	"unicode"
)

// plain folds the many ways of typing and printing a chord symbol into one: single
// spaces, ASCII accidentals and digits, and the four signs Δ ° ø and - in one
// form each. The private-use code points are the chord glyphs and accidentals of
// SMuFL 1.4 (U+E260 to U+E264, U+E870 to U+E874).
func plain(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r >= '!' && r <= '~':
			b.WriteRune(r)
		case r >= 0xFF01 && r <= 0xFF5E: // full width
			b.WriteRune(r - 0xFEE0)
		case unicode.IsSpace(r):
			b.WriteByte(' ')
		case unicode.Is(unicode.Cf, r): // zero width
		case r >= '₀' && r <= '₉':
			b.WriteRune(r - '₀' + '0')
		case r >= '⁴' && r <= '⁹':
			b.WriteRune(r - '⁰' + '0')
		default:
			if t, ok := plainRune(r); ok {
				b.WriteString(t)
			} else {
				b.WriteRune(r)
			}
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// unspaced takes the spaces out. An accidental that stands apart from the root
// belongs to it ("E b7"), unless it is one that alters a degree ("C b9").
func unspaced(p string) string {
	if len(p) > 3 && p[1] == ' ' && (p[2] == 'b' || p[2] == '#') {
		switch p[3] {
		case '5', '6', '9', '1':
			p = p[:1] + "(" + p[2:] + ")"
		}
	}
	return strings.ReplaceAll(p, " ", "")
}

func plainRune(r rune) (string, bool) {
	switch r {
	case '♭', 0xE260:
		return "b", true
	case '♯', 0xE262:
		return "#", true
	case '𝄫', 0xE264:
		return "bb", true
	case '𝄪', 0xE263:
		return "##", true
	case '♮', 0xE261:
		return "", true
	case '∆', '△', '▵', '▲', '⃤', 0xE873: // and U+0394 itself
		return "Δ", true
	case '˚', 'º', '○', '◦', '⁰', 0xE870:
		return "°", true
	case 'Ø', '∅', '⌀', '⦰', 0xE871:
		return "ø", true
	case '⁺', '₊', 0xE872:
		return "+", true
	case '−', '–', '—', '‐', '‑', '⁻', '₋', 0xE874:
		return "-", true
	case '¹':
		return "1", true
	case '²':
		return "2", true
	case '³':
		return "3", true
	case '⁽', '₍':
		return "(", true
	case '⁾', '₎':
		return ")", true
	case '⁄', '∕', '╱', '⧸':
		return "/", true
	case '│', '∣', '❘', '⎮':
		return "|", true
	}
	return "", false
}

// pretty replaces the ASCII accidentals of a suffix by the signs of print. In a
// suffix the letter b is always a flat.
func pretty(suffix string) string {
	suffix = strings.ReplaceAll(suffix, "bb", "𝄫")
	suffix = strings.ReplaceAll(suffix, "##", "𝄪")
	suffix = strings.ReplaceAll(suffix, "b", "♭")
	return strings.ReplaceAll(suffix, "#", "♯")
}
