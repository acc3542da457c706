// Package settings reads what a teacher writes in TOML: levels, kinds of tune,
// choices, hands, rights. It tells what is wrong with a file as TOML, and where; what
// its values mean is for those who ask.
package settings

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/BurntSushi/toml"

	"gradatim/leadsheet"
)

// Form is the form of a kind of file, by what is said of a file that does not keep it.
type Form struct {
	Encoding leadsheet.Saying // of what is no text
	Syntax   leadsheet.Saying // of what is no TOML, or of another form; the part Error
	Key      leadsheet.Saying // of a key that the form does not have, the part Key; "": who asks looks himself
}

// Decode reads a file into a value, as the TOML library does. Keys that the value has
// no place for are reported, all of them; ok is false where the file cannot be read at all.
func (f Form) Decode(name string, data []byte, to any) (ps leadsheet.Problems, ok bool) {
	if !utf8.Valid(data) {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, f.Encoding)
		return ps, false
	}
	meta, err := toml.NewDecoder(bytes.NewReader(data)).Decode(to)
	if err != nil {
		pos, text := placed(err)
		pos.File = name
		ps.Tell(leadsheet.Error, pos, f.Syntax, "Error", text)
		return ps, false
	}
	for _, k := range meta.Undecoded() {
		if f.Key == "" {
			break
		}
		pos := leadsheet.Pos{File: name}
		pos.Line, pos.Col = Place(data, k...)
		ps.Tell(leadsheet.Error, pos, f.Key, "Key", leadsheet.Quoted(k.String()))
	}
	return ps, true
}

// placed parts an error of the library into its place and what is wrong.
func placed(err error) (pos leadsheet.Pos, text string) {
	var pe toml.ParseError
	if errors.As(err, &pe) {
		return leadsheet.Pos{Line: pe.Position.Line, Col: pe.Position.Col}, pe.Message
	}
	text = strings.TrimPrefix(err.Error(), "toml: ")
	var key string
	if n, _ := fmt.Sscanf(text, "line %d (last key %q): ", &pos.Line, &key); n == 2 {
		if _, what, ok := strings.Cut(text, "): "); ok {
			text = key + ": " + what
		}
	}
	return pos, text
}

// Place finds the line and column of a key, or of the heading of its table, from the
// parts of its name; zeros where it is not written plainly. Of several the first.
func Place(data []byte, key ...string) (line, col int) {
	var table []string
	for l := range strings.Lines(string(data)) {
		line++
		t := strings.TrimLeft(l, " \t[")
		heading := strings.HasPrefix(strings.TrimLeft(l, " \t"), "[")
		end := strings.IndexAny(t, "=]")
		if end < 0 || t[0] == '#' {
			continue
		}
		path := parts(t[:end])
		if heading {
			table = path
		} else {
			path = append(table[:len(table):len(table)], path...)
		}
		if leads(key, path) || !heading && leads(path, key) { // the latter: in an inline table
			return line, utf8.RuneCountInString(l[:len(l)-len(t)]) + 1
		}
	}
	return 0, 0
}

// parts splits a dotted key.
func parts(key string) []string {
	var out []string
	for p := range strings.SplitSeq(key, ".") {
		out = append(out, strings.Trim(strings.TrimSpace(p), `"'`))
	}
	return out
}

// leads tells whether a path is the beginning of another.
func leads(a, b []string) bool {
	if len(a) == 0 || len(a) > len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
