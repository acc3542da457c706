package musicxml

import (
	"slices"

	"gradatim/leadsheet"
	"gradatim/score"
)

// ReadSolo reads a piano score with a singer's or player's part above it: that part as a
// song, and what accompanies it. ok is false where the tune stands in no part of its own;
// then ReadScore says what there is. What there is to tell is in the song's Problems.
func ReadSolo(data []byte, opt Options) (solo leadsheet.Song, piano score.Score, ok bool) {
	r := newReader(opt)
	doc, ok := r.document(data)
	if !ok || len(doc.parts) < 2 {
		return solo, piano, false
	}
	silent := newReader(opt) // what is told is told in the song
	hands, ok := silent.pianoParts(doc)
	if !ok {
		return solo, piano, false
	}
	first := slices.IndexFunc(doc.parts, func(p *part) bool { pitched, _ := p.has(); return pitched })
	if first < 0 || slices.Contains(hands, doc.parts[first]) || doc.parts[first].check().staves != 1 {
		return solo, piano, false
	}
	var err error
	if piano, _, err = ReadScore(data, opt); err != nil { // a reader changes what it has parsed
		return solo, piano, false
	}
	if solo, ok = r.song(doc); !ok {
		return solo, piano, false
	}
	solo.Problems = r.problems.list()
	return solo, piano, true
}
