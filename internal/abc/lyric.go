package abc

import (
	"strings"

	"gradatim/leadsheet"
)

// lyrics lays the syllables of a w: field under the notes of the line of music
// above it (ABC 2.1, section 5.1). The first verse is kept.
func (r *reader) lyrics(value string, at place) {
	if r.words {
		r.once(leadsheet.Warning, r.here(at), "verses-dropped", "")
		return
	}
	if len(r.line) == 0 {
		r.once(leadsheet.Warning, r.here(at), "words-loose", "")
		return
	}
	r.words = true
	syllables := cutSyllables(value)
	n := 0
	for i, s := range syllables {
		if n >= len(r.line) {
			for _, rest := range syllables[i:] {
				if rest.kind == wordText {
					r.once(leadsheet.Warning, r.here(at), "words-loose.many", "many")
					break
				}
			}
			break
		}
		switch s.kind {
		case wordText:
			r.line[n].lyric = s.text
			n++
		case wordHold, wordSkip:
			n++
		case wordBar:
			n = r.nextBar(n)
		}
	}
}

// nextBar finds the first note of the line that stands in a later bar than the
// note before place n.
func (r *reader) nextBar(n int) int {
	if n == 0 {
		return 0
	}
	in := r.line[n-1].bar
	for n < len(r.line) && r.line[n].bar == in {
		n++
	}
	return n
}

type wordKind uint8

const (
	wordText wordKind = iota + 1
	wordHold          // _ : the syllable before it goes on
	wordSkip          // * : a note without a syllable
	wordBar           // | : on to the next bar
)

type syllable struct {
	kind wordKind
	text string
}

// cutSyllables cuts a line of words. A hyphen ends a syllable and stays with it
// as "-", so that the word can be put together again.
func cutSyllables(s string) []syllable {
	var out []syllable
	var b strings.Builder
	end := func(hyphen bool) {
		if b.Len() > 0 {
			text := plain(b.String())
			switch {
			case text == "": // "~" alone
				out = append(out, syllable{kind: wordSkip})
			case hyphen:
				out = append(out, syllable{wordText, text + "-"})
			default:
				out = append(out, syllable{wordText, text})
			}
			b.Reset()
		} else if hyphen { // a second hyphen holds the syllable over another note
			out = append(out, syllable{kind: wordHold})
		}
	}
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c == '\\' && i+1 < len(s):
			if strings.IndexByte("-*_|~", s[i+1]) >= 0 {
				b.WriteByte(s[i+1])
			} else {
				b.WriteString(s[i : i+2])
			}
			i++
		case c == ' ' || c == '\t':
			end(false)
		case c == '-':
			end(true)
		case c == '_':
			end(false)
			out = append(out, syllable{kind: wordHold})
		case c == '*':
			end(false)
			out = append(out, syllable{kind: wordSkip})
		case c == '|':
			end(false)
			out = append(out, syllable{kind: wordBar})
		case c == '~':
			b.WriteByte(' ')
		default:
			b.WriteByte(c)
		}
	}
	end(false)
	return out
}
