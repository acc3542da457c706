package codec

import (
	"encoding/binary"
	"fmt"
)

// vendor is what files say they were written by.
const vendor = "gradatim"

// comments are the tags and chapters of a stream as Vorbis comments. (Chapters: Xiph wiki,
// "Chapter Extension", from memory; checked by ffprobe.)
func comments(s Stream) [][2]string {
	out := s.Tags.fields()
	for i, c := range s.chapters() {
		ms := c.start
		name := fmt.Sprintf("CHAPTER%03d", i)
		out = append(out, [2]string{name, fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3600000, ms/60000%60, ms/1000%60, ms%1000)}, [2]string{name + "NAME", c.title})
	}
	return out
}

// vorbisComment encodes tags as Xiph's comment header does, without framing.
func vorbisComment(fields [][2]string) []byte {
	text := func(b []byte, s string) []byte {
		return append(binary.LittleEndian.AppendUint32(b, uint32(len(s))), s...)
	}
	b := text(nil, vendor)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(fields)))
	for _, f := range fields {
		b = text(b, f[0]+"="+f[1])
	}
	return b
}
