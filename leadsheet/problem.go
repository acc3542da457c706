package leadsheet

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Severity says how bad a Problem is.
type Severity uint8

// Severities. An Error stops the work it belongs to; a Warning tells what was
// dropped, guessed or changed; Info explains a choice.
const (
	Info Severity = iota + 1
	Warning
	Error
)

var severities = [...]string{Info: "info", Warning: "warning", Error: "error"}

// String returns "info", "warning" or "error".
func (s Severity) String() string {
	if s < Info || s > Error {
		return "unknown"
	}
	return severities[s]
}

// MarshalText writes the severity's name.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Beat is a position in a bar as musicians count it: 1-based, in 1/5040 of a
// beat, so that the second eighth of a simple bar is 1½. Zero means unknown.
type Beat int32

// BeatUnit is one beat.
const BeatUnit Beat = 5040

// String writes "2", "2.5", "1 1/3".
func (b Beat) String() string {
	if b <= 0 {
		return "?"
	}
	whole, part := b/BeatUnit, b%BeatUnit
	switch {
	case part == 0:
		return fmt.Sprint(int(whole))
	case part*2 == BeatUnit:
		return fmt.Sprintf("%d.5", whole)
	case part*4 == BeatUnit:
		return fmt.Sprintf("%d.25", whole)
	case part*4 == 3*BeatUnit:
		return fmt.Sprintf("%d.75", whole)
	}
	n, d := int(part), int(BeatUnit)
	for x, y := n, d; ; {
		if y == 0 {
			n, d = n/x, d/x
			break
		}
		x, y = y, x%y
	}
	return fmt.Sprintf("%d %d/%d", whole, n, d)
}

// Pos is where a Problem is: in a file, in the music, or both. Zero fields are
// unknown. Bar is the bar number as printed; a pick-up bar is 0 and then has a
// Beat.
type Pos struct {
	File      string
	Line, Col int
	Bar       int
	Beat      Beat
	Part      Part // of a page, whose bars are meant
}

// String writes "song.abc:12:8: bar 7, beat 2" as far as it is known.
func (p Pos) String() string {
	var b strings.Builder
	b.WriteString(Name(p.File))
	if p.Line > 0 {
		if p.File == "" {
			b.WriteString("line ")
		} else {
			b.WriteByte(':')
		}
		fmt.Fprint(&b, p.Line)
		if p.Col > 0 {
			fmt.Fprintf(&b, ":%d", p.Col)
		}
	}
	if p.Bar > 0 || p.Beat > 0 {
		if b.Len() > 0 {
			b.WriteString(": ")
		}
		if p.Part != Tune {
			fmt.Fprintf(&b, "%s, ", p.Part)
		}
		fmt.Fprintf(&b, "bar %d", p.Bar)
		if p.Beat > 0 {
			fmt.Fprintf(&b, ", beat %s", p.Beat)
		}
	}
	return b.String()
}

// Name writes the name of a file in a message: quoted where it has signs that a terminal
// would act upon or that are no UTF-8.
func Name(file string) string {
	odd := func(r rune) bool { return r == utf8.RuneError || !unicode.IsPrint(r) }
	if strings.ContainsFunc(file, odd) {
		return strconv.Quote(file)
	}
	return file
}

// Saying names what a Problem says: its code, or, of a code with several sentences,
// the code, a point and which of them: "bar-length.short".
type Saying string

// Code returns the code.
func (s Saying) Code() string {
	code, _, _ := strings.Cut(string(s), ".")
	return code
}

// Quoted is a part of what a Problem says that is quoted from what was read.
type Quoted string

// BarNumbers is a part of what a Problem says that is bars by their printed numbers; 0 is
// the pick-up.
type BarNumbers []int

// Problem is one thing to tell the reader: placed, with a stable code, and, when it has
// been put into words, plain text and, where there is one, a way out.
type Problem struct {
	Pos      Pos
	Severity Severity
	Code     string // stable, lower case with hyphens: "chord-unknown"
	Says     Saying // which sentence; who knows the words makes Text and Fix of it
	Parts    []any  // of the sentence: names and values by turns
	Times    int    // how often it was found, where only the first is told; 0: once
	Text     string
	Fix      string // what to do about it; may be empty
	Mend     string // id of what would put it right, of a suspected error of a sheet; "": none
	Likely   int    // how likely that is, in percent
}

// Tell makes a Problem that is still to be put into words.
func Tell(sev Severity, pos Pos, says Saying, parts ...any) Problem {
	return Problem{Pos: pos, Severity: sev, Code: says.Code(), Says: says, Parts: parts}
}

// String writes one line: place, text, code, way out; of what is not yet put into words
// what it says and of what.
func (p Problem) String() string {
	var b strings.Builder
	if pos := p.Pos.String(); pos != "" {
		b.WriteString(pos)
		b.WriteString(": ")
	}
	text := p.Text
	if text == "" {
		text = strings.TrimSpace(fmt.Sprintln(append([]any{p.Says}, p.Parts...)...))
	}
	fmt.Fprintf(&b, "%s: %s [%s]", p.Severity, text, p.Code)
	if p.Fix != "" {
		b.WriteString("; ")
		b.WriteString(p.Fix)
	}
	return b.String()
}

// MarshalJSON writes the shape documented in docs/formats.md.
func (p Problem) MarshalJSON() ([]byte, error) {
	out := struct {
		Severity Severity `json:"severity"`
		Code     string   `json:"code"`
		Text     string   `json:"text"`
		Fix      string   `json:"fix,omitempty"`
		File     string   `json:"file,omitempty"`
		Line     int      `json:"line,omitempty"`
		Col      int      `json:"col,omitempty"`
		Bar      *int     `json:"bar,omitempty"`
		Beat     string   `json:"beat,omitempty"`
		Part     string   `json:"part,omitempty"`
		Mend     string   `json:"mend,omitempty"`
		Likely   int      `json:"likely_percent,omitempty"`
	}{Severity: p.Severity, Code: p.Code, Text: p.Text, Fix: p.Fix,
		File: Name(p.Pos.File), Line: p.Pos.Line, Col: p.Pos.Col,
		Mend: p.Mend, Likely: p.Likely}
	if p.Pos.Bar > 0 || p.Pos.Beat > 0 {
		out.Bar = &p.Pos.Bar
	}
	if p.Pos.Beat > 0 {
		out.Beat = p.Pos.Beat.String()
	}
	if p.Pos.Part != Tune {
		out.Part = p.Pos.Part.String()
	}
	return json.Marshal(out)
}

// Problems is a list of Problems. It is an error value where it holds errors:
// see Err.
type Problems []Problem

// InFile names a file in the Problems of an error that know only their bars; another
// error comes back as it is.
func InFile(err error, file string) error {
	var ps Problems
	if !errors.As(err, &ps) {
		return err
	}
	ps = slices.Clone(ps)
	for i := range ps {
		if ps[i].Pos.File == "" {
			ps[i].Pos.File = file
		}
	}
	return ps
}

// Tell appends a Problem that is still to be put into words.
func (ps *Problems) Tell(sev Severity, pos Pos, says Saying, parts ...any) {
	*ps = append(*ps, Tell(sev, pos, says, parts...))
}

// Has tells whether the list has a Problem that says the same of the same place.
func (ps Problems) Has(p Problem) bool {
	return slices.ContainsFunc(ps, func(q Problem) bool { return q.Pos == p.Pos && q.String() == p.String() })
}

// Sort orders by file, line, column, bar, beat, then severity (worst first) and
// code, keeping equals in the order in which they were found.
func (ps Problems) Sort() {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Pos.File, b.Pos.File), cmp.Compare(a.Pos.Line, b.Pos.Line),
			cmp.Compare(a.Pos.Col, b.Pos.Col), cmp.Compare(a.Pos.Bar, b.Pos.Bar),
			cmp.Compare(a.Pos.Beat, b.Pos.Beat), cmp.Compare(b.Severity, a.Severity),
			cmp.Compare(a.Code, b.Code))
	})
}

// Err returns the list as an error if any of it is an Error, else nil.
func (ps Problems) Err() error {
	for _, p := range ps {
		if p.Severity == Error {
			return ps
		}
	}
	return nil
}

// Error writes the errors, one a line.
func (ps Problems) Error() string {
	var lines []string
	for _, p := range ps {
		if p.Severity == Error {
			lines = append(lines, p.String())
		}
	}
	return strings.Join(lines, "\n")
}
