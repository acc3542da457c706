package codec

import (
	"encoding/binary"
	"unicode/utf16"
)

// vendor is what files say they were written by.
const vendor = "gradatim"

// utf16BOM encodes text as little-endian UTF-16 behind a byte order mark.
func utf16BOM(s string) []byte {
	b := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(s)) {
		b = binary.LittleEndian.AppendUint16(b, u)
	}
	return b
}

// vorbisComment encodes tags as Xiph's comment header does, without framing.
func vorbisComment(t Tags) []byte {
	text := func(b []byte, s string) []byte {
		return append(binary.LittleEndian.AppendUint32(b, uint32(len(s))), s...)
	}
	b := text(nil, vendor)
	fields := t.fields()
	b = binary.LittleEndian.AppendUint32(b, uint32(len(fields)))
	for _, f := range fields {
		b = text(b, f[0]+"="+f[1])
	}
	return b
}
