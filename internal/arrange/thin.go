package arrange

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Fewer chords.
//
// A beginner's hand changes chord so often in a bar and no more. Of a bar that has
// more changes those stay that tell most: all ways to keep as many as the level
// admits are compared by how long the tune sounds over a chord that does not bear
// it, how long a chord of the sheet is missing, and how weak the places are.
// Rejected: the chords on the strong beats alone; the tune may leave them at once.

// thinChords leaves out of each bar the changes of chord that are too many for the
// level, and tells how many they are.
func (p *piece) thinChords() {
	most := p.level.ChordsPerBar
	if most == 0 {
		return
	}
	spans := p.an.Spans
	var out []harmony.Span
	left, first := 0, theory.Dur(0)
	for i := 0; i < len(spans); {
		bar := p.song.BarAt(spans[i].At)
		j := i + 1
		for j < len(spans) && p.song.BarAt(spans[j].At) == bar {
			j++
		}
		here := spans[i:j]
		if changes := p.changes(out, here); changes > most {
			var before harmony.Span
			if n := len(out); n > 0 {
				before = out[n-1]
			}
			kept := p.fewer(before, here, most)
			if left == 0 {
				first = here[0].At
			}
			left += len(here) - len(kept)
			here = kept
			if n := len(out); n > 0 {
				out[n-1].End = here[0].At
			}
		}
		out = append(out, here...)
		i = j
	}
	if left == 0 {
		return
	}
	p.an.Spans = out
	p.remark(leadsheet.Info, first, "chords-fewer", "Level", p.level.Number, "n", most, "Left", left)
}

// settleChords moves chords that begin between the places where the level's hand strikes to the
// place after or before, whichever leaves less of the tune over a chord that does not bear
// it; what has no such place to itself is left out.
func (p *piece) settleChords() {
	if p.level.ChordsOn == ladder.Anywhere {
		return
	}
	var out []harmony.Span
	n, first := 0, theory.Dur(0)
	for i, s := range p.an.Spans {
		bar := p.song.Bars[p.song.BarAt(s.At)]
		step := bar.Meter.Division()
		if p.level.ChordsOn == ladder.Beats && !bar.Meter.Compound() {
			step = bar.Meter.Pulse()
		}
		early := bar.Offset(s.At) % step
		if i == 0 || early == 0 || s.At == p.home || !s.Sounding() {
			out = append(out, s)
			continue
		}
		was := out[len(out)-1]
		from := func(at theory.Dur) []harmony.Span {
			b, c := was, s
			b.End, c.At = at, at
			switch {
			case at >= c.End:
				b.End = c.End
				return []harmony.Span{b}
			case at == b.At:
				return []harmony.Span{c}
			}
			return []harmony.Span{b, c}
		}
		here, kept := []harmony.Span{was, s}, from(s.At-early+step)
		if earlier := s.At - early; earlier >= was.At {
			if other := from(earlier); p.missing(here, other) < p.missing(here, kept) {
				kept = other
			}
		}
		out = append(out[:len(out)-1], kept...)
		if n++; n == 1 {
			first = s.At
		}
	}
	if n > 0 {
		p.an.Spans = out
		p.remark(leadsheet.Info, first, "chords-settled", "Level", p.level.Number, "n", n)
	}
}

// changes counts the spans that begin another chord than the one before.
func (p *piece) changes(before, here []harmony.Span) int {
	n := 0
	for i, s := range here {
		was := harmony.Span{}
		switch {
		case i > 0:
			was = here[i-1]
		case len(before) > 0:
			was = before[len(before)-1]
		}
		if s.Sounding() && (!was.Sounding() || was.Chord != s.Chord) {
			n++
		}
	}
	return n
}

// fewer keeps the best of a bar's spans: at most so many, the first where it begins the
// bar, those without a chord, and the one that the piece ends on. before is the span that
// leads into the bar.
func (p *piece) fewer(before harmony.Span, here []harmony.Span, most int) []harmony.Span {
	bar := p.song.Bars[p.song.BarAt(here[0].At)]
	stays := func(s harmony.Span) bool { return !s.Sounding() || s.At == bar.At || s.At == p.home }
	var best []harmony.Span
	least := never
	for set := range 1 << len(here) {
		var kept []harmony.Span
		ok, price := true, 0
		for i, s := range here {
			if set>>i&1 == 1 {
				kept = append(kept, s)
				price += bar.Meter.Strength(s.At - bar.At)
			} else if stays(s) {
				ok = false
			}
		}
		if !ok || len(kept) == 0 || p.changes([]harmony.Span{before}, kept) > most {
			continue
		}
		for i := range kept {
			kept[i].End = here[len(here)-1].End
			if i+1 < len(kept) {
				kept[i].End = kept[i+1].At
			}
		}
		all := kept
		if at := here[0].At; kept[0].At > at && before.Sounding() {
			before.At, before.End = at, kept[0].At
			all = append([]harmony.Span{before}, kept...)
		}
		if price += p.missing(here, all); price < least {
			best, least = kept, price
		}
	}
	if best == nil {
		return here
	}
	return best
}

// missing is what it costs to hear some spans in the place of others, in sixteenths.
func (p *piece) missing(here, kept []harmony.Span) int {
	cost := 0
	for _, k := range kept {
		for _, s := range here {
			if shared := min(k.End, s.End) - max(k.At, s.At); shared > 0 && s.Chord != k.Chord {
				cost += int(shared / theory.Sixteenth)
				if s.Line {
					cost += 6 * int(shared/theory.Sixteenth)
				}
			}
		}
		for _, n := range p.song.Melody {
			shared := min(k.End, n.End()) - max(k.At, n.At)
			if shared <= 0 || !k.Sounding() || harmony.Bears(k.Chord, theory.Chord{}, n.Pitch.Name) {
				continue
			}
			cost += 3 * int(shared/theory.Sixteenth)
			if (n.Pitch.Class()-k.Chord.Lowest().Class()+12)%12 == 1 { // then no hand can play its bass
				cost += 40
			}
		}
	}
	return cost
}

// simplify spells roots and basses that no reader expects, F♭ outside its key, as the
// key beside them.
func (p *piece) simplify() {
	var out []harmony.Span
	for i, s := range p.an.Spans {
		simple := func(n theory.Name) theory.Name {
			if s.Key.Contains(n) {
				return n
			}
			return n.Simple()
		}
		ch := s.Chord
		if ch.Silent() {
			continue
		}
		ch.Root = simple(ch.Root)
		if ch.Slash {
			ch.Bass = simple(ch.Bass)
		}
		if ch != s.Chord {
			if out == nil {
				out = slices.Clone(p.an.Spans)
			}
			out[i].Chord = ch
		}
	}
	if out != nil {
		p.an.Spans = out
	}
}
