package abc

import (
	"fmt"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// bar is one written bar.
type bar struct {
	line     int
	meter    leadsheet.Meter
	free     bool // no metre is in force
	unmetred bool // as the page says
	key      theory.Key
	declared bool // the page states the key
	items    []*item
	signs    roadmap.Signs

	part   string // label in force, "" before the first
	opens  bool   // the label stands before this bar
	double bool   // a double bar stands before this bar

	onsets []theory.Dur // of the items, and the end of the bar last
}

func (b *bar) dur() theory.Dur { return b.onsets[len(b.onsets)-1] }

// item is a note or a rest with what hangs on it.
type item struct {
	pos    place
	bar    int // written bar that it stands in
	rest   bool
	pitch  theory.Pitch
	apart  bool // no beam joins it to the note before
	bare   bool // no accidental of its own: a tie into it brings the alteration along
	tied   bool // to the next note
	len    frac
	graces []theory.Pitch
	chords []symbol // before it; of several, each belongs to one pass
	sung   []leadsheet.Syllable

	joined bool   // the tie has met its note
	heard  uint64 // which of its chords have been used, one bit each
}

// symbol is a quoted chord symbol.
type symbol struct {
	text string
	at   where
	bars int // number of bars before it: tells whether a bar line follows
}

// measure gives the items their onsets. Positions are summed exactly and rounded
// one by one, so that the bar as a whole stays as long as it is written even
// where its parts cannot be held.
func (b *bar) measure(r *report, index int) {
	b.onsets = make([]theory.Dur, 1, len(b.items)+1)
	at := frac{0, 1}
	for i, it := range b.items {
		at = at.plus(it.len)
		d, exact := at.dur()
		if !exact {
			r.once(leadsheet.Warning, where{it.pos, index, i}, "duration-rounded", fmt.Sprint(index))
		}
		if d <= b.onsets[i] {
			r.warn(where{it.pos, index, i}, "note-too-short")
		}
		b.onsets = append(b.onsets, d)
	}
}

// splitLong cuts a bar that is an exact number of full bars into that number;
// a bar line is missing on the page. The later ones get numbers of written bars
// of their own.
func splitLong(b leadsheet.Bar) []leadsheet.Bar {
	full := b.Meter.Bar()
	if b.Dur <= full || b.Dur%full != 0 || b.Dur/full >= leadsheet.PageParts {
		return []leadsheet.Bar{b}
	}
	n := int(b.Dur / full)
	out := make([]leadsheet.Bar, n)
	for i := range out {
		out[i] = b
		out[i].At, out[i].Dur = b.At+theory.Dur(i)*full, full
		out[i].Written += i
	}
	return out
}
