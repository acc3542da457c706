package abc

import (
	"strings"

	"gradatim/leadsheet"
)

// ReadLiteral reads a tune that is played as another reader plays it, every repeat and
// part at its word.
func ReadLiteral(data []byte, opt Options) (leadsheet.Song, error) { return read(data, opt, true) }

// Mended is a sheet as abc2midi is given it: see exceptions.
func Mended(base, text string) string {
	if e, ok := exceptions[base]; ok {
		return strings.Replace(text, e.old, e.new, 1)
	}
	return text
}
