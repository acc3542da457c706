package abc

import (
	"regexp"
	"strings"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
)

// quote reads a text in double quotes: an annotation (its first sign says where
// it is printed), a jump in words, or a chord symbol.
func (b *builder) quote(t token) {
	text := plain(t.text)
	if text != "" && strings.IndexByte("^_<>@", text[0]) >= 0 {
		words := strings.TrimSpace(strings.TrimLeft(text[1:], "0123456789.,- "))
		if !b.jump(words) {
			b.annotation(t, words)
		}
		return
	}
	if b.jump(text) {
		return
	}
	if text != "" && !symbolLike(text) {
		b.annotation(t, text)
		return
	}
	if len(b.pending) == roadmap.MaxPasses {
		b.once(leadsheet.Warning, b.here(t.pos), "chord-dropped.many", "many")
		return
	}
	b.pending = append(b.pending, symbol{text: text, at: b.here(t.pos), bars: len(b.bars)})
}

func (b *builder) annotation(t token, words string) {
	if f := feelOf(words, true); f != leadsheet.Unstated && b.feel == leadsheet.Unstated {
		b.feel = f
		return
	}
	if len(words) > 40 {
		words = strings.ToValidUTF8(words[:40], "") + "…"
	}
	b.once(leadsheet.Warning, b.here(t.pos), "annotation-dropped", words, "Words", leadsheet.Quoted(words))
}

// symbolLike tells whether a quoted text can be meant as a chord symbol at all;
// "last time" cannot.
func symbolLike(text string) bool {
	t := strings.TrimLeft(text, "([ ")
	if t == "" {
		return false
	}
	c := t[0]
	switch {
	case c >= 'A' && c <= 'G', c == '%', c == 'N', c == '/':
	case c >= 'a' && c <= 'g':
		return len(t) <= 6 && !strings.Contains(t, " ")
	default:
		return false
	}
	// Words: a blank followed by two small letters that begin no suffix.
	for _, w := range strings.Fields(t)[1:] {
		if len(w) > 3 && w != "over" && strings.Trim(w, "abcdefghijklmnopqrstuvwxyz") == "" && !strings.HasPrefix(w, "maj") && !strings.HasPrefix(w, "min") && !strings.HasPrefix(w, "dim") && !strings.HasPrefix(w, "aug") && !strings.HasPrefix(w, "sus") {
			return false
		}
	}
	return true
}

// jump is a jump in words.
type jump struct {
	re  *regexp.Regexp
	set func(b *builder)
}

var jumps = []jump{
	{regexp.MustCompile(`(?i)^(d\.? ?c\.?|da ?capo)( ?al ?(fine|coda|segno).*)?$`), func(b *builder) { b.next.DaCapo = true }},
	{regexp.MustCompile(`(?i)^(d\.? ?s\.?|dal ?segno)( ?al ?(fine|coda).*)?$`), func(b *builder) { b.next.DalSegno = true }},
	{regexp.MustCompile(`(?i)^(al )?fine\.?$`), func(b *builder) { b.next.Fine = true }},
	{regexp.MustCompile(`(?i)^(to ?coda|da ?coda|al ?coda)$`), func(b *builder) { b.next.ToCoda, b.toCoda = true, true }},
	{regexp.MustCompile(`(?i)^coda$`), func(b *builder) { b.codas = append(b.codas, len(b.bars)) }},
	{regexp.MustCompile(`(?i)^segno$`), func(b *builder) {
		if len(b.cur.items) > 0 {
			b.cur.signs.Segno = true
		} else {
			b.next.Segno = true
		}
	}},
}

// jump reads words that change the order of playing.
func (b *builder) jump(words string) bool {
	if len(words) > 40 {
		return false
	}
	for _, j := range jumps {
		if j.re.MatchString(words) {
			j.set(b)
			return true
		}
	}
	return false
}

// shorthand is what the letters of ABC 2.1, section 4.14, stand for.
var shorthand = map[byte]string{
	'.': "staccato", '~': "roll", 'H': "fermata", 'L': "accent", 'M': "lowermordent", 'O': "coda",
	'P': "uppermordent", 'S': "segno", 'T': "trill", 'u': "upbow", 'v': "downbow",
}

// decoration reads !name! and the one-letter decorations. Those that change the
// order of playing are followed; the others are ornaments, bowings and the like,
// which the sheet's melody does without.
func (b *builder) decoration(t token) {
	name := t.text
	if len(name) == 1 {
		var ok bool
		if name, ok = b.nicknames[t.text[0]]; !ok {
			name, ok = shorthand[t.text[0]]
		}
		if !ok {
			b.junk(t, t.text)
			return
		}
		if name == "nil" || name == "none" {
			return
		}
	}
	if b.jump(name) {
		return
	}
	b.once(leadsheet.Warning, b.here(t.pos), "decoration-dropped", name, "Sign", leadsheet.Quoted(name))
}
