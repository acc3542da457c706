package module

import (
	"bytes"
	"errors"
	"fmt"
	"unicode/utf8"
)

// literal splits the script into the module, which it holds as the argument of
// binaryDecode('…'), and the rest.
//
// The string has one character per byte: the byte itself, save that zero
// stands as U+0100. (~c>>8)&c undoes this; it is the decoder that the script
// carries.
func literal(js []byte) (mod, glue []byte, err error) {
	mark := []byte("binaryDecode('")
	i := bytes.Index(js, mark)
	if i < 0 {
		return nil, nil, errors.New("it has no binaryDecode('…')")
	}
	start := i + len(mark)
	mod = make([]byte, 0, len(js)-start)
	put := func(c rune) { mod = append(mod, byte((^c>>8)&c)) }
	for p := start; p < len(js); {
		c, n := utf8.DecodeRune(js[p:])
		if c == utf8.RuneError && n <= 1 {
			return nil, nil, fmt.Errorf("byte %d is not UTF-8", p)
		}
		p += n
		switch c {
		case '\'':
			if !IsModule(mod) {
				return nil, nil, errors.New("the string is not a WebAssembly binary")
			}
			glue = append(bytes.Clone(js[:start]), js[p-1:]...)
			return mod, glue, nil
		case '\\':
			if p == len(js) {
				continue
			}
			e, ok := escapes[js[p]]
			if !ok {
				return nil, nil, fmt.Errorf("unknown escape \\%c at byte %d", js[p], p)
			}
			p++
			put(e)
		default:
			put(c)
		}
	}
	return nil, nil, errors.New("the string does not end")
}

var escapes = map[byte]rune{
	'n': '\n', 'r': '\r', 't': '\t', 'b': '\b', 'f': '\f', 'v': '\v', '0': 0,
	'\\': '\\', '\'': '\'', '"': '"', '`': '`',
}
