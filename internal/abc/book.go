package abc

import (
	"strings"

	"gradatim/leadsheet"
)

// Extract is one tune of a file as a sheet of its own.
type Extract struct {
	Heading
	Data []byte // UTF-8: the fields that hold for all tunes of the file, then the tune
}

// Extracts cuts a file into sheets that each read as their tune does in the file. A file
// of one tune is its own sheet, byte for byte. The error is a leadsheet.Problems.
func Extracts(file string, data []byte) ([]Extract, error) {
	var ps leadsheet.Problems
	text, ok := decode(data, file, &ps)
	if !ok {
		return nil, ps
	}
	head, tunes, all := split(text)
	if !all {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: file, Line: tunes[MaxTunes-1].line}, "too-many-tunes", "Most", MaxTunes)
		return nil, ps
	}
	headings := headings(tunes)
	if len(tunes) == 1 {
		return []Extract{{headings[0], data}}, nil
	}
	shared := strings.TrimRight(head.text, "\r\n")
	if shared != "" {
		shared += "\n\n"
	}
	out := make([]Extract, len(tunes))
	for i, t := range tunes {
		out[i] = Extract{headings[i], []byte(shared + strings.TrimRight(t.text, "\r\n\t ") + "\n")}
	}
	return out, nil
}
