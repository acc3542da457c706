package abc

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gradatim/leadsheet"
)

// WithChords writes chord symbols over a tune of a file and leaves all else of its text as
// it is: symbols that are there go, annotations stay. marks are by written bar, in order.
// A mark inside a note or rest divides it where it can be divided, with a tie; one that
// stands over nothing that is written is not written, and told (chord-unplaced). Of a file
// of several tunes the result has the file's header and the tune. The error is a
// leadsheet.Problems, as of Read.
func WithChords(data []byte, opt Options, marks []leadsheet.BarChord) ([]byte, leadsheet.Problems, error) {
	var ps leadsheet.Problems
	text, ok := decode(data, opt.File, &ps)
	if !ok {
		return nil, nil, ps
	}
	head, tunes, _ := split(text)
	t, ok := choose(tunes, opt, &ps)
	if !ok {
		return nil, nil, ps
	}
	r := newReader(opt.File)
	r.header(head)
	r.tune(t)
	if _, found := r.song(false); found.Err() != nil {
		return nil, nil, found
	}
	var told leadsheet.Problems
	edits := map[int][]edit{}
	for _, m := range marks {
		e, at, ok := r.editFor(m)
		if !ok {
			told.Tell(leadsheet.Warning, leadsheet.Pos{File: opt.File}, "chord-unplaced", "Symbol", leadsheet.Quoted(m.Text), "Bar", m.Measure+1)
			continue
		}
		edits[at] = append(edits[at], e)
	}
	if len(tunes) == 1 {
		// Everything, also what stands before and after the tune.
		head, t.source = source{}, source{text, 1}
	}
	return []byte(head.text + chorded(t.source, r, edits)), told, nil
}

// edit is a symbol to be written before a token of a line, or inside it.
type edit struct {
	col    int    // of the token, in characters from 1
	symbol string // in quotes
	into   frac   // how much of the token's length stands before it; 0: none does
}

// editFor finds what a mark stands over.
func (r *reader) editFor(m leadsheet.BarChord) (e edit, line int, ok bool) {
	if m.Measure < 0 || m.Measure >= len(r.bars) {
		return edit{}, 0, false
	}
	at, b := m.Offset, &r.bars[m.Measure]
	for i, it := range b.items {
		if at >= b.onsets[i+1] || b.onsets[i] > at {
			continue
		}
		e = edit{col: it.pos.col, symbol: quoted(m.Text)}
		if long := b.onsets[i+1] - b.onsets[i]; at > b.onsets[i] {
			e.into = reduce(int64(at-b.onsets[i]), int64(long))
		}
		return e, it.pos.line, it.pos.line > 0
	}
	return edit{}, 0, false
}

// chorded rewrites the lines of music.
func chorded(t source, r *reader, edits map[int][]edit) string {
	ours := map[int]bool{}
	for _, b := range r.bars {
		for _, it := range b.items {
			ours[it.pos.line] = true
		}
	}
	var out strings.Builder
	rest := t.text
	for n, line := range t.lines() {
		if !ours[n] || isField(line, true) {
			out.WriteString(line)
		} else {
			out.WriteString(r.rewritten(line, n, edits[n]))
		}
		rest = rest[len(line):]
		end := min(1, len(rest))
		if strings.HasPrefix(rest, "\r\n") {
			end = 2
		}
		out.WriteString(rest[:end])
		rest = rest[end:]
	}
	return out.String()
}

// rewritten writes the symbols of one line.
func (r *reader) rewritten(line string, number int, edits []edit) string {
	slices.SortStableFunc(edits, func(a, b edit) int { return cmp.Compare(a.col, b.col) })
	music := uncomment(line)
	var out strings.Builder
	var tokens []token
	var starts []int
	scan(music, number, func(t token) bool {
		tokens = append(tokens, t)
		starts = append(starts, byteOf(music, t.pos.col))
		return true
	})
	open, tuplet := -1, 0 // the token that opens notes struck together; notes of a tuplet to come
	for i, t := range tokens {
		end := len(music)
		if i+1 < len(tokens) {
			end = starts[i+1]
		}
		if t.kind == tokChordOpen {
			open = i
		}
		text := music[starts[i]:end]
		if t.kind == tokQuote && r.isSymbol(t.text) {
			text = ""
		}
		last := t.pos.col
		if open >= 0 { // all that is struck together is one
			last = lastColumn(tokens, i)
		}
		if t.kind == tokTuplet && len(t.nums) > 0 {
			tuplet = max(t.nums[0], 1)
		}
		first := true
		for len(edits) > 0 && edits[0].col <= last && (open < 0 || open == i) && (t.kind == tokNote || t.kind == tokRest || t.kind == tokBarRest || t.kind == tokChordOpen) {
			e := edits[0]
			edits = edits[1:]
			broken := i+1 < len(tokens) && tokens[i+1].kind == tokBroken || i > 0 && tokens[i-1].kind == tokBroken
			if before, after, ok := divided(t, text, e); e.into.n > 0 && ok && open < 0 && tuplet == 0 && !broken && first {
				out.WriteString(before + e.symbol)
				text, first = after, false
				continue
			}
			if first {
				out.WriteString(e.symbol)
				first = false
			}
		}
		if tuplet > 0 && (t.kind == tokNote && open < 0 || t.kind == tokRest || t.kind == tokChordClose) {
			tuplet--
		}
		if t.kind == tokChordClose {
			open = -1
		}
		out.WriteString(text)
	}
	return out.String() + line[len(music):]
}

// lastColumn is where what is struck together at a token ends.
func lastColumn(tokens []token, i int) int {
	for ; i < len(tokens); i++ {
		if tokens[i].kind == tokChordClose {
			return tokens[i].pos.col
		}
	}
	return tokens[len(tokens)-1].pos.col
}

// isSymbol tells a chord symbol from an annotation or a jump in words, as quote does.
func (r *reader) isSymbol(text string) bool {
	text = plain(text)
	return text != "" && strings.IndexByte("^_<>@", text[0]) < 0 && symbolLike(text) &&
		!slices.ContainsFunc(jumps, func(j jump) bool { return j.re.MatchString(text) })
}

func byteOf(s string, col int) int {
	n := 1
	for i := range s {
		if n == col {
			return i
		}
		n++
	}
	return len(s)
}

// divided divides a note or rest: what stands before the symbol, and what after it. A
// note is tied.
func divided(t token, text string, e edit) (before, after string, ok bool) {
	if t.kind != tokNote && t.kind != tokRest || e.into.n <= 0 {
		return "", "", false
	}
	body := strings.TrimRight(text, "0123456789/")
	whole := reduce(int64(t.num), int64(t.den))
	one := whole.mul(e.into)
	two := reduce(whole.n*one.d-one.n*whole.d, whole.d*one.d)
	tie := ""
	if t.kind == tokNote {
		tie = "-"
	}
	again := strings.TrimLeft(body, "^_=")
	return body + multiple(one) + tie, again + multiple(two), true
}

// multiple writes a length as a multiple of the unit.
func multiple(f frac) string {
	switch {
	case f.n == 1 && f.d == 1:
		return ""
	case f.d == 1:
		return fmt.Sprint(f.n)
	case f.n == 1:
		return fmt.Sprintf("/%d", f.d)
	}
	return fmt.Sprintf("%d/%d", f.n, f.d)
}
