package arrange

import (
	"cmp"
	"context"
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/harmony"
	"gradatim/internal/technique"
	"gradatim/theory"
)

// perDevice bounds the readings of one device that are kept for one span,
// cheapest first.
const perDevice = 4

// reading is one way to play one span of the sheet.
type reading struct {
	device    string
	chords    []painted
	cost      int // in the lattice less the level's wish for colour
	chromatic int
	chain     bool
	then      theory.Chord // what the next span must begin with; zero: the sheet's chord
	in, out   [2]int8      // guide tones (pitch classes) of the first and last chord; −1: none
}

type painted struct {
	technique.Chord
	tint technique.Tint
}

// read collects, once for all densities, the readings of each span. Those of an earlier
// piece stand where no technique of the harmony came or went by choice.
func (p *piece) read(ctx context.Context, earlier *piece, changed []choice.Choice) error {
	p.readings = make([][]reading, len(p.an.Spans))
	changed = slices.DeleteFunc(slices.Clone(changed), func(c choice.Choice) bool {
		switch c.Fix.(type) {
		case choice.Use, choice.Avoid:
			return false
		}
		return true
	})
	var found []draft // of one span
	for i, s := range p.an.Spans {
		if err := context.Cause(ctx); err != nil {
			return err
		}
		if earlier != nil && !touches(changed, s.At, s.End) {
			p.readings[i] = earlier.readings[i]
			continue
		}
		p.readings[i], found = p.readingsOf(found, i)
	}
	return nil
}

// readingsOf lists what the level can make of one span.
func (p *piece) readingsOf(found []draft, i int) (out []reading, _ []draft) {
	if !p.an.Spans[i].Sounding() {
		return nil, found
	}
	pass := p.passage(i)
	found = found[:0]
	for _, rw := range p.rewrites(pass) {
		found = p.paint(found, pass, rw)
	}
	// No wish for colour wants more: it moves those that spend alike together.
	kept := few(found, perDevice, func(d *draft) int { return d.cost }, func(d *draft) spender { return spender{d.device, d.chromatic} })
	return finished(kept), found
}

// rewrites lists what the level's devices can make of a span, first the sheet's own
// chord.
func (p *piece) rewrites(pass technique.Passage) []technique.Rewrite {
	s := pass.Span
	rewrites := []technique.Rewrite{{Chords: []technique.Chord{{At: s.At, End: s.End, Chord: s.Chord}}}}
	for _, id := range p.level.Devices {
		t, _ := technique.ByID(id)
		if t.Rewrite == nil || p.forbids(id, s.At) {
			continue
		}
		for _, rw := range t.Rewrite(pass) {
			if !p.becomes(s, pass.Next.Chord, rw) {
				continue
			}
			rw.Device = id
			if p.insists(id, s.At) {
				rw.Cost -= insistence
			}
			rewrites = append(rewrites, rw)
		}
	}
	return rewrites
}

// becomes tells whether a device may do what it proposes with a span: every note of
// the tune has to go with each chord that it puts there, and a bass that the sheet
// writes out stays, with the root above it.
func (p *piece) becomes(s harmony.Span, after theory.Chord, rw technique.Rewrite) bool {
	if !rw.Then.Silent() {
		after = rw.Then
	}
	for k, c := range rw.Chords {
		if s.Line && (c.Chord.Root != s.Chord.Root || c.Chord.Lowest() != s.Chord.Lowest()) {
			return false
		}
		next := after
		if k+1 < len(rw.Chords) {
			next = rw.Chords[k+1].Chord
		}
		if c.Chord != s.Chord && !harmony.BearsAll(p.song, c.Chord, next, c.At, c.End) {
			return false
		}
	}
	return true
}

// spender is a device and how much it spends.
type spender struct {
	device    string
	chromatic int
}

// affordable returns the few cheapest readings of each device, at the level's wish
// for colour: the sheet's own chord, which spends nothing, is always among them,
// so that a way through exists.
func (p *piece) affordable(rs []reading) []reading {
	cost := func(r *reading) int { return r.cost - p.level.Colour*r.chromatic/4 }
	rs = few(slices.Clone(rs), perDevice, cost, func(r *reading) string { return r.device })
	out := ranked(rs, len(rs), cost)
	for k := range out {
		r := &out[k]
		r.cost = cost(r)
		r.in, r.out = guides(r.chords[0].tint.Chord), guides(r.chords[len(r.chords)-1].tint.Chord)
	}
	return out
}

// insistence outweighs every other cost of a reading: a teacher's choice.
const insistence = 100000

// draft is a reading whose chords are not yet painted: most are too dear to be kept.
type draft struct {
	reading
	plain []technique.Chord
	tints [][]technique.Tint // of each chord
	way   int                // which of each; those of the last chord change fastest
}

// paint multiplies a rewrite by the ways in which each of its chords can be
// coloured, and appends what comes out.
func (p *piece) paint(out []draft, pass technique.Passage, rw technique.Rewrite) []draft {
	n := len(rw.Chords)
	tints, ways := make([][]technique.Tint, n), 1
	for k, c := range rw.Chords {
		next := pass.Next.Chord
		if !rw.Then.Silent() {
			next = rw.Then
		}
		if k+1 < n {
			next = rw.Chords[k+1].Chord
		}
		tints[k] = []technique.Tint{{Chord: c.Chord}}
		if c.Why != teachersChord {
			tints[k] = p.tints(technique.Toned{Passage: pass, At: c.At, End: c.End, Chord: c.Chord, Device: rw.Device, Next: next})
		}
		ways *= len(tints[k])
	}
	for way := range ways {
		d := draft{reading{device: rw.Device, cost: rw.Cost, chromatic: rw.Chromatic, chain: rw.Chain, then: rw.Then}, rw.Chords, tints, way}
		for k := range d.plain {
			d.cost += d.tint(k).Cost
		}
		if !d.stands() {
			out = append(out, d)
		}
	}
	return out
}

// stands tells whether one of a device's chords is, as it is painted, the one before it.
func (d *draft) stands() bool {
	for k := 1; k < len(d.plain); k++ {
		if d.plain[k].Why != teachersChord && d.tint(k).Chord == d.tint(k-1).Chord {
			return true
		}
	}
	return false
}

// tint is the colour of a draft's k-th chord.
func (d *draft) tint(k int) technique.Tint {
	way := d.way
	for _, ts := range d.tints[k+1:] {
		way /= len(ts)
	}
	return d.tints[k][way%len(d.tints[k])]
}

// finished are the readings of drafts.
func finished(ds []draft) []reading {
	out := make([]reading, len(ds))
	for i := range ds {
		d := &ds[i]
		out[i] = d.reading
		out[i].chords = make([]painted, len(d.plain))
		for k, c := range d.plain {
			out[i].chords[k] = painted{c, d.tint(k)}
		}
	}
	return out
}

// tints lists the colours of one chord; the sheet's own form where no paint of
// the level applies.
func (p *piece) tints(t technique.Toned) []technique.Tint {
	var out []technique.Tint
	for _, id := range p.level.Devices {
		tech, _ := technique.ByID(id)
		if tech.Paint == nil || p.forbids(id, t.At) {
			continue
		}
		for _, tint := range tech.Paint(t) {
			if !tint.Plain {
				tint.Paint = id
			}
			if p.insists(id, t.At) {
				tint.Cost -= insistence
			}
			out = append(out, tint)
		}
	}
	if len(out) == 0 {
		return []technique.Tint{{Chord: t.Chord}}
	}
	slices.SortStableFunc(out, func(a, b technique.Tint) int { return cmp.Compare(a.Cost, b.Cost) })
	return out[:min(len(out), 5)]
}

func (p *piece) passage(i int) technique.Passage {
	spans := p.an.Spans
	pass := technique.Passage{Song: p.song, Analysis: p.an, Span: spans[i], Manner: p.level.Manner, Usage: p.kind.Usage, Tempo: p.quarters,
		Prev: harmony.Span{Mark: -2}, Next: harmony.Span{Mark: -2}}
	if i > 0 {
		pass.Prev = spans[i-1]
	}
	if i+1 < len(spans) {
		pass.Next = spans[i+1]
	}
	pass.First, pass.Final = i == p.firstSpan, i == p.lastSpan
	ph := p.an.PhraseAt(spans[i].At)
	if ph >= 0 {
		phrase := p.an.Phrases[ph]
		pass.Cadence = spans[i].End >= phrase.End
		pass.Arrives = pass.Cadence && phrase.Cadence == harmony.Authentic
	}
	return pass
}
