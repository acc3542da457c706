package markup

import (
	"bytes"

	"gradatim/leadsheet"
)

// scan looks through the text before it is parsed for what the parser would
// swallow whole: tags, texts and comments without end, and a DOCTYPE with
// declarations of its own. It is one pass over the bytes, many times faster
// than parsing.
func scan(data []byte) *leadsheet.Problem {
	at := func(i int, says leadsheet.Saying, parts ...any) *leadsheet.Problem {
		pos := leadsheet.Pos{Line: 1 + bytes.Count(data[:i], []byte("\n"))}
		p := leadsheet.Tell(leadsheet.Error, pos, says, parts...)
		return &p
	}
	i := 0
	for i < len(data) {
		n := bytes.IndexByte(data[i:], '<')
		if n < 0 {
			n = len(data) - i
		}
		if n > maxText {
			return at(i, "xml-text-too-long", "Most", maxText)
		}
		if i += n; i == len(data) {
			return nil
		}
		rest := data[i:]
		end, limit := -1, maxText
		switch {
		case bytes.HasPrefix(rest, []byte("<!--")):
			end = endOf(rest, 4, "-->")
		case bytes.HasPrefix(rest, []byte("<![CDATA[")):
			end = endOf(rest, 9, "]]>")
		case bytes.HasPrefix(rest, []byte("<?")):
			end = endOf(rest, 2, "?>")
		case bytes.HasPrefix(rest, []byte("<!")):
			var nested bool
			if end, nested = tagEnd(rest[2:], true); nested {
				return at(i, "xml-entities")
			}
			end, limit = end+2, maxTag
		default:
			end, _ = tagEnd(rest[1:], false)
			end, limit = end+1, maxTag
		}
		if end > limit {
			return at(i, "xml-tag-too-long", "Most", limit)
		}
		i += end
	}
	return nil
}

// endOf returns the length up to and with a closing sequence; all of it where
// that is missing.
func endOf(s []byte, from int, closing string) int {
	if n := bytes.Index(s[from:], []byte(closing)); n >= 0 {
		return from + n + len(closing)
	}
	return len(s)
}

// tagEnd returns the length up to and with the > that ends a tag; quotes hide
// it. In a directive, a bracket or another tag means declarations.
func tagEnd(s []byte, directive bool) (n int, nested bool) {
	quote := byte(0)
	for i, c := range s {
		switch {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			quote = c
		case c == '>':
			return i + 1, false
		case directive && (c == '[' || c == '<'):
			return i, true
		}
	}
	return len(s), false
}
