package technique

import (
	"gradatim/internal/sight"
	"gradatim/score"
	"gradatim/theory"
)

// Finding is a place where a technique was recognised.
type Finding struct {
	At, End theory.Dur
	Notes   []string // ids, in order
	Detail  string   // "F, C, A in eighths"
}

// Find finds the technique in any two-staff score. Whoever looks for several
// reads the page once and asks each for what it recognises.
func (t *Technique) Find(s score.Score) []Finding { return t.Recognise(sight.Read(s)) }

// finding gathers plays into one Finding.
func finding(detail string, ps ...sight.Play) Finding {
	f := Finding{At: ps[0].At, Detail: detail}
	for _, p := range ps {
		f.End = max(f.End, p.End)
		f.Notes = append(f.Notes, p.IDs()...)
	}
	return f
}

// changes finds the chords that are one thing between their neighbours.
func changes(page *sight.Page, is func(sight.Harmony) bool) []Finding {
	var out []Finding
	for _, h := range page.Harmonies() {
		if is(h) {
			out = append(out, change(h))
		}
	}
	return out
}

// change is a chord with the one that it goes to.
func change(h sight.Harmony) Finding {
	d := h.Chord().Pretty()
	if !h.Next.Silent() {
		d += " – " + h.Next.Pretty()
	}
	return Finding{At: h.At, End: h.End, Detail: d}
}

// byBars cuts a long line into findings of n bars, so that each is short enough
// to be shown; a rest of fewer notes than a bar has pulses stays with the last.
func byBars(ps []sight.Play, n int) []Finding {
	var out []Finding
	for i := 0; i < len(ps); {
		j := i + 1
		for j < len(ps) && (ps[j].Bar < ps[i].Bar+n || len(ps)-j < 4) {
			j++
		}
		out = append(out, finding("", ps[i:j]...))
		i = j
	}
	return out
}

// standing is a right-hand chord under the tune.
func standing(u sight.UnderTune) Finding {
	f := Finding{At: u.At, End: u.End, Notes: u.IDs}
	if !u.Chord.Silent() {
		f.Detail = u.Chord.Pretty()
	}
	return f
}
