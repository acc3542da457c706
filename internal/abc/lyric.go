package abc

import (
	"slices"
	"strings"

	"gradatim/leadsheet"
)

// sings is what a verse is in the middle of.
type sings uint8

const (
	nothing sings = iota
	aWord         // a word has ended, and may be held
	inWord        // the word goes on with the next syllable
)

// lyrics lays the syllables of a w: field under the notes of the line of music
// above it, one field for each verse (ABC 2.1, sections 5.1 and 5.2).
func (r *reader) lyrics(value string, at place) {
	if len(r.line) == 0 {
		r.once(leadsheet.Warning, r.here(at), "words-loose", "")
		return
	}
	if r.verse == leadsheet.MaxVerses {
		r.once(leadsheet.Warning, r.here(at), "verses-dropped", "", "Most", leadsheet.MaxVerses)
		return
	}
	r.verse++
	if r.singing == nil {
		r.singing = map[int]sings{}
	}
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
			r.line[n].sung = append(r.line[n].sung, leadsheet.Syllable{Verse: r.verse, Text: s.text, Hyphen: s.hyphen})
			r.singing[r.verse] = aWord
			if s.hyphen {
				r.singing[r.verse] = inWord
			}
			n++
		case wordHold:
			if r.singing[r.verse] == aWord { // within a word its hyphen is drawn
				r.line[n].sung = append(r.line[n].sung, leadsheet.Syllable{Verse: r.verse, Held: true})
			}
			n++
		case wordSkip:
			if r.singing[r.verse] == aWord {
				r.singing[r.verse] = nothing
			}
			n++
		case wordBar:
			n = r.nextBar(n)
		}
	}
}

// begun is what a note sings of whose first part has one list and its tied second part
// another: what is held is one note.
func begun(first, second []leadsheet.Syllable) []leadsheet.Syllable {
	for _, s := range second {
		if _, has := leadsheet.In(first, s.Verse); !has && !s.Held {
			first = append(slices.Clip(first), s)
		}
	}
	return first
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
	kind   wordKind
	text   string
	hyphen bool // the word goes on
}

// cutSyllables cuts a line of words.
func cutSyllables(s string) []syllable {
	var out []syllable
	var b strings.Builder
	end := func(hyphen bool) {
		if b.Len() > 0 {
			text := plain(b.String())
			switch {
			case text == "": // "~" alone
				out = append(out, syllable{kind: wordSkip})
			default:
				out = append(out, syllable{wordText, text, hyphen})
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
