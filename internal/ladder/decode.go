package ladder

import (
	"bytes"
	"errors"
	"fmt"

	"github.com/BurntSushi/toml"

	"gradatim/leadsheet"
)

// Decode reads a TOML file and reports every key that is not known; ok is false
// where it is no TOML of this form. kind begins the codes, what names the file to
// the reader.
func Decode(name string, data []byte, to any, kind, what string) (ps leadsheet.Problems, ok bool) {
	meta, err := toml.NewDecoder(bytes.NewReader(data)).Decode(to)
	if err != nil {
		pos := leadsheet.Pos{File: name}
		var pe toml.ParseError
		if errors.As(err, &pe) {
			pos.Line, pos.Col = pe.Position.Line, pe.Position.Col
		}
		ps.Add(leadsheet.Error, pos, kind+"-syntax", err.Error(), "the form of "+what+" is in docs/formats.md")
		return ps, false
	}
	for _, k := range meta.Undecoded() {
		ps.Add(leadsheet.Error, leadsheet.Pos{File: name}, kind+"-key", fmt.Sprintf("unknown key %q", k), "the keys of "+what+" are in docs/formats.md")
	}
	return ps, true
}
