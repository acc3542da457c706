// Package module makes the WebAssembly module that the engraver's host runs
// out of the package that the engraver's project publishes.
//
// That package is made for JavaScript. Three things stand between it and a
// host written in Go, and each has a file here:
//
//   - the module sits in a JavaScript string (literal.go);
//   - its imports and exports have one-letter names, which the JavaScript
//     around it maps to the names in the C source (glue.go);
//   - it uses the legacy form of WebAssembly exceptions, which the Go runtime
//     does not run (lower.go).
//
// spare.go takes out what costs time and shows on no page.
//
// The result depends on the input only. The package owns no host and knows
// nothing about music.
package module

import (
	"bytes"
	"errors"
	"fmt"
)

// magic opens every WebAssembly binary, version 1.
var magic = []byte("\x00asm\x01\x00\x00\x00")

// IsModule tells whether b starts as a WebAssembly binary does.
func IsModule(b []byte) bool { return bytes.HasPrefix(b, magic) }

// FromPackage reads the JavaScript file of a published package
// (dist/verovio-module.mjs) and returns a module with its C names and without
// exception handling.
func FromPackage(js []byte) ([]byte, error) {
	mod, glue, err := literal(js)
	if err != nil {
		return nil, fmt.Errorf("taking the module out of the script: %w", err)
	}
	n, err := parseGlue(glue)
	if err != nil {
		return nil, fmt.Errorf("reading the names in the script: %w", err)
	}
	out, err := rewrite(mod, n)
	if err != nil {
		return nil, fmt.Errorf("rewriting the module: %w", err)
	}
	return out, nil
}

// Section numbers of the binary format (WebAssembly Core Specification 2.0,
// 5.5.2; the tag section is that of the exception handling proposal).
const (
	sectionImport = 2
	sectionExport = 7
	sectionCode   = 10
	sectionTag    = 13
)

// rewrite renames imports and exports, lowers every function and drops the
// tag section. Everything else is copied.
func rewrite(mod []byte, n names) ([]byte, error) {
	if !IsModule(mod) {
		return nil, errors.New("not a WebAssembly binary")
	}
	r := &reader{b: mod, p: len(magic)}
	out := bytes.Clone(magic)
	for r.more() {
		id := r.u8()
		body := r.take(int(r.u32()))
		var err error
		switch id {
		case sectionImport:
			body, err = renameImports(body, n.imports)
		case sectionExport:
			body, err = renameExports(body, n.exports)
		case sectionCode:
			body, err = lowerCode(body)
		case sectionTag:
			continue
		}
		if err != nil {
			return nil, err
		}
		out = append(out, id)
		out = appendU32(out, uint32(len(body)))
		out = append(out, body...)
	}
	return out, r.err
}

func renameImports(body []byte, to map[string]string) ([]byte, error) {
	r := &reader{b: body}
	n := r.u32()
	out := appendU32(nil, n)
	for range r.count(n) {
		r.name()
		short := r.name()
		long, ok := to[short]
		if r.err == nil && !ok {
			return nil, fmt.Errorf("import %q has no name in the script", short)
		}
		out = appendName(appendName(out, "env"), long)
		from := r.p
		if kind := r.u8(); r.err == nil && kind != 0 {
			return nil, fmt.Errorf("import %q is not a function", long)
		}
		r.leb()
		out = append(out, r.since(from)...)
	}
	return out, r.err
}

func renameExports(body []byte, to map[string]string) ([]byte, error) {
	r := &reader{b: body}
	n := r.u32()
	out := appendU32(nil, n)
	for range r.count(n) {
		name := r.name()
		if long, ok := to[name]; ok {
			name = long
		}
		out = appendName(out, name)
		from := r.p
		r.u8()
		r.leb()
		out = append(out, r.since(from)...)
	}
	return out, r.err
}

// reader walks a binary; after the first short read err is set and every
// further read returns zero.
type reader struct {
	b   []byte
	p   int
	err error
}

var errShort = errors.New("the binary ends too early")

func (r *reader) more() bool { return r.err == nil && r.p < len(r.b) }

func (r *reader) take(n int) []byte {
	if r.err != nil || n < 0 || n > len(r.b)-r.p {
		r.err = errShort
		return nil
	}
	r.p += n
	return r.b[r.p-n : r.p]
}

func (r *reader) since(from int) []byte {
	if r.err != nil {
		return nil
	}
	return r.b[from:r.p]
}

func (r *reader) u8() byte {
	if b := r.take(1); b != nil {
		return b[0]
	}
	return 0
}

// u32 reads an unsigned LEB128 number of at most 32 bits.
func (r *reader) u32() uint32 {
	var v uint32
	for s := 0; s < 35; s += 7 {
		c := r.u8()
		v |= uint32(c&0x7f) << s
		if c < 0x80 {
			return v
		}
	}
	r.err = errors.New("a number is too long")
	return 0
}

// leb skips a LEB128 number of any width.
func (r *reader) leb() {
	for r.err == nil && r.u8() >= 0x80 {
	}
}

// count returns n, the number of things that follow, or 0 if so many cannot
// follow, each having a byte at least.
func (r *reader) count(n uint32) uint32 {
	if r.err == nil && int64(n) > int64(len(r.b)-r.p) {
		r.err = errShort
	}
	if r.err != nil {
		return 0
	}
	return n
}

func (r *reader) name() string { return string(r.take(int(r.u32()))) }

func appendU32(b []byte, v uint32) []byte {
	for v >= 0x80 {
		b = append(b, byte(v)|0x80)
		v >>= 7
	}
	return append(b, byte(v))
}

func appendName(b []byte, s string) []byte {
	return append(appendU32(b, uint32(len(s))), s...)
}
