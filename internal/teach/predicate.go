package teach

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// in lists the notes that sound in a stretch, no graces.
func (p *page) in(h here) []score.Note {
	var out []score.Note
	for b := max(0, p.Score.BarAt(h.at)-3); b < len(p.byBar) && p.Score.Bars[b].At < h.end; b++ {
		for _, n := range p.byBar[b] {
			if n.Grace == 0 && n.At < h.end && n.End() > h.at {
				out = append(out, n)
			}
		}
	}
	return out
}

// some tells whether a note that sounds in a stretch is as asked.
func (p *page) some(h here, is func(score.Note) bool) bool {
	return slices.ContainsFunc(p.in(h), is)
}

// struck lists what begins in a stretch, graces too.
func (p *page) struck(h here) []score.Note {
	var out []score.Note
	for b := max(0, p.Score.BarAt(h.at)); b < len(p.byBar) && p.Score.Bars[b].At < h.end; b++ {
		for _, n := range p.byBar[b] {
			if n.At >= h.at && n.At < h.end {
				out = append(out, n)
			}
		}
	}
	return out
}

func isTune(n score.Note) bool { return n.Origin.Kind == score.Melody }

// tuneIs tells whether the tune sounds a note of this name in a stretch.
func tuneIs(p *page, h here, n theory.Name) bool {
	return p.some(here{h.at, max(h.end, h.at+1)}, func(m score.Note) bool { return isTune(m) && m.Pitch.Name == n })
}

// toneHolds tells whether a tone is of a chord in force in a stretch.
func toneHolds(p *page, h here, n theory.Name, v any) bool {
	t, ok := v.(words.Tone)
	if !ok {
		return false
	}
	d, in := t.Chord.Degree(n)
	return in && d == t.Degree && p.sets(t.Chord, h)
}

// sets tells whether a chord is printed over some of a stretch.
func (p *page) sets(c theory.Chord, h here) bool {
	if s, ok := p.Score.ChordAt(h.at); ok && s.Chord == c {
		return true
	}
	return slices.ContainsFunc(p.Score.Chords, func(s score.Symbol) bool { return s.Chord == c && s.At >= h.at && s.At < max(h.end, h.at+1) })
}

// asNamed tells whether a chord has some degrees and another has not.
func asNamed(ds []theory.Degree, has, lacks theory.Chord) bool {
	for _, d := range ds {
		if !has.Tones.Has(d) || lacks.Root == has.Root && lacks.Tones.Has(d) {
			return false
		}
	}
	return true
}

// under tests the notes that a right hand is said to play under the tune.
func under(p *page, h here, g stated) bool {
	top, ok := p.tuneNear(h.at, h.end)
	if !ok || top.Pitch.Name != g.name("Note") {
		return false
	}
	for _, n := range g.notes("notes") {
		if n.Hand != score.Right || n.At != h.at || n.Pitch.MIDI() >= top.Pitch.MIDI() {
			return false
		}
	}
	return len(g.notes("notes")) > 0
}

// octaveUnder tests that the hand doubles the tune at the octave.
func octaveUnder(p *page, h here, g stated) bool {
	top, ok := p.tuneNear(h.at, h.end)
	return ok && top.Pitch.Name == g.name("Note") && slices.ContainsFunc(p.struck(here{h.at, h.at + 1}), func(n score.Note) bool {
		return n.Hand == score.Right && top.Pitch.MIDI()-n.Pitch.MIDI() == 12
	})
}

// both joins two proofs.
func both(a, b proof) proof {
	return func(p *page, h here, g stated) bool { return a(p, h, g) && b(p, h, g) }
}

func tone(p *page, h here, g stated) bool { return toneHolds(p, h, g.name("Note"), g["Tone"]) }

func ofTune(p *page, h here, g stated) bool { return tuneIs(p, h, g.name("Note")) }

// strikesOf tests that notes are struck in a stretch by a hand.
func strikesOf(hand score.Hand) proof {
	return func(p *page, h here, g stated) bool {
		ns := g.notes("notes")
		struck := p.struck(h)
		for _, n := range ns {
			if n.Hand != hand || !slices.ContainsFunc(struck, func(m score.Note) bool { return m.ID == n.ID }) {
				return false
			}
		}
		return len(ns) > 0
	}
}

// added tests notes that are told of beside the tune: they sound where they are said to.
func added(where func(p *page, n score.Note, tune theory.Name) bool) proof {
	return func(p *page, _ here, g stated) bool {
		for _, n := range g.notes("notes") {
			if !where(p, n, g.name("Note")) {
				return false
			}
		}
		return len(g.notes("notes")) > 0
	}
}

// leads tests that the left hand's next note lies so many half steps away.
func leads(by int) proof {
	return func(p *page, _ here, g stated) bool {
		next, ok := p.leftAfter(g.note())
		d := next.Pitch.MIDI() - g.note().Pitch.MIDI()
		return ok && g.note().Pitch.Name == g.name("Note") && next.Pitch.Name == g.name("Next") && (d == by || d == -by)
	}
}

// goesOn tests that the tune's next note has this name.
func goesOn(p *page, h here, g stated) bool {
	next, ok := p.tuneAfter(h.end)
	return ok && next.Pitch.Name == g.name("Note")
}

// as tests a function: the chord, read between its neighbours, has it.
func as(fs ...harmony.Function) proof {
	return func(_ *page, _ here, g stated) bool {
		f, _ := g["function"].(harmony.Function)
		return slices.Contains(fs, f)
	}
}

// goal tests whether the chord spoken of goes where it is said to, or is said not to.
func goal(goes bool) proof {
	return func(_ *page, _ here, g stated) bool {
		next, to := g.chord("next"), g.name("Target")
		return (!next.Silent() && next.Root.Class() == to.Class()) == goes
	}
}

// fromOutside tests that a chord has a note that the key has not.
func fromOutside(_ *page, _ here, g stated) bool {
	k, _ := g["key"].(theory.Key)
	c := g.chord("chord")
	for _, n := range c.Spell() {
		if !slices.ContainsFunc(slices.Collect(func(yield func(int) bool) {
			for _, x := range k.Scale() {
				if !yield(x.Class()) {
					return
				}
			}
		}), func(class int) bool { return class == n.Class() }) {
			return true
		}
	}
	return false
}

func common(a, b theory.Chord) int {
	n := 0
	for class := range 12 {
		if a.HasClass(class) && b.HasClass(class) {
			n++
		}
	}
	return n
}

// tuneAlone tells whether the right hand has the tune and nothing else in a stretch.
func tuneAlone(p *page, h here, _ stated) bool {
	return !slices.ContainsFunc(p.struck(h), func(n score.Note) bool { return n.Hand == score.Right && !isTune(n) })
}

func leftRests(p *page, h here, _ stated) bool {
	return !slices.ContainsFunc(p.struck(h), func(n score.Note) bool { return n.Hand == score.Left })
}

// shownHere tests that each of some techniques shows in some bar of a stretch.
func shownHere(key string) proof {
	return func(p *page, h here, g stated) bool {
		ids, _ := g[key].([]string)
		for _, id := range ids {
			if !p.showsIn(id, h) {
				return false
			}
		}
		return true
	}
}

// theChords tests that a page prints just these chords in the bar of a place.
func theChords(side, part string) proof {
	return func(p *page, h here, g stated) bool {
		q, _ := g[side].(*page)
		bar, ok := g["bar"].(score.Bar)
		if !ok { // one chord of the sheet
			chords, _ := g["chords"].([]theory.Chord)
			return len(chords) > 0 && !slices.ContainsFunc(chords, func(c theory.Chord) bool { return !p.sets(c, h) })
		}
		want, _ := g[part].(string)
		if q == nil {
			return true // the sheet's, as the decisions tell
		}
		got := ""
		for i, c := range q.chordsIn(bar) {
			if i > 0 {
				got += " – "
			}
			got += c
		}
		return got == want
	}
}

func always(*page, here, stated) bool { return true }

// early tests that a note of the tune is struck off the beat and held over the next.
func early(p *page, _ here, g stated) bool {
	n := g.note()
	b := p.Score.Bars[max(0, p.Score.BarAt(n.At))]
	beat := b.Meter.OrCommon().BeatDur()
	off := b.Offset(n.At) % beat
	return off > 0 && n.At-off+beat < n.End() && n.Pitch.Name == g.name("Note")
}

// comesEarly tells whether a note of the tune was pushed ahead of its beat.
func (p *page) comesEarly(h here) bool {
	return slices.ContainsFunc(p.struck(h), func(n score.Note) bool {
		t, ok := technique.ByID(n.Origin.Technique)
		return ok && isTune(n) && t.Stage == technique.Line && early(p, h, stated{"note": n, "Note": n.Pitch.Name})
	})
}

// kindOfNotes tests whether a hand strikes chords, single notes, or both by turns.
func kindOfNotes(hand score.Hand, chords, single bool) proof {
	return func(p *page, h here, _ stated) bool {
		many, one := false, false
		at := map[theory.Dur]int{}
		for _, n := range p.struck(h) {
			if n.Hand == hand && n.Grace == 0 && (hand == score.Left || !isTune(n)) {
				at[n.At]++
			}
		}
		for _, k := range at {
			many, one = many || k > 1, one || k == 1
		}
		return many == chords && one == single
	}
}

func hasValues(p *page, _ here, g stated) bool {
	vs, _ := g["values"].([]theory.Dur)
	return !slices.ContainsFunc(vs, func(v theory.Dur) bool {
		return !slices.ContainsFunc(p.Score.Notes, func(n score.Note) bool { return n.Grace == 0 && n.Dur == v })
	})
}

// inEach tests something of each bar that is named, by index.
func inEach(part string, is func(p *page, b int) bool) proof {
	return func(p *page, _ here, g stated) bool {
		bars, _ := g[part].(words.Bars)
		for _, number := range bars {
			if !slices.ContainsFunc(p.indexes(number), func(b int) bool { return is(p, b) }) {
				return false
			}
		}
		return len(bars) > 0
	}
}

// indexes are the bars with a printed number; 0 is a pick-up.
func (p *page) indexes(number int) []int {
	var out []int
	for i, b := range p.Score.Bars {
		if b.Number == number {
			out = append(out, i)
		}
	}
	return out
}

// together tests how many notes a hand strikes at once, and how wide.
func together(hand score.Hand) proof {
	return func(p *page, _ here, g stated) bool {
		most, _ := g["n"].(int)
		width, _ := g["Width"].(words.HalfSteps)
		at := map[theory.Dur][]int{}
		for _, n := range p.Score.Notes {
			if n.Hand == hand && n.Grace == 0 && !n.Marks.Has(score.Rolled) {
				at[n.At] = append(at[n.At], n.Pitch.MIDI())
			}
		}
		for _, keys := range at {
			if len(keys) > most || slices.Max(keys)-slices.Min(keys) > int(width) {
				return false
			}
		}
		return true
	}
}

// leapsInto tests a leap over a bar line, leapsInside one within the bar.
func leapsInto(p *page, _ here, g stated) bool   { return leapAt(p, g, -1) }
func leapsInside(p *page, _ here, g stated) bool { return leapAt(p, g, 0) }

func leapAt(p *page, g stated, from int) bool {
	width, _ := g["Width"].(words.HalfSteps)
	lowest := func(b int) [][2]int { // moment, key
		var out [][2]int
		for _, n := range p.byBar[b] {
			if n.Hand != score.Left || n.Grace > 0 || n.Marks.Has(score.Rolled) {
				continue
			}
			if k := len(out) - 1; k >= 0 && out[k][0] == int(n.At) {
				out[k][1] = min(out[k][1], n.Pitch.MIDI())
				continue
			}
			out = append(out, [2]int{int(n.At), n.Pitch.MIDI()})
		}
		return out
	}
	for _, b := range p.indexes(g.number("Bar")) {
		line := lowest(b)
		if from < 0 {
			if b == 0 || len(line) == 0 {
				continue
			}
			before := lowest(b - 1)
			if len(before) == 0 {
				continue
			}
			line = [][2]int{before[len(before)-1], line[0]}
		}
		for i := 1; i < len(line); i++ {
			if abs(line[i][1]-line[i-1][1]) == int(width) {
				return true
			}
		}
	}
	return false
}

// shownBelow tests that what is said to have been there shows on the page below.
func shownBelow(_ *page, h here, g stated) bool {
	below, _ := g["below"].(*page)
	ids, _ := g["was"].([]string)
	for _, id := range ids {
		if below == nil || !below.showsIn(id, h) {
			return false
		}
	}
	return true
}

// notHere tests that what is said to be gone does not show.
func notHere(p *page, h here, g stated) bool {
	ids, _ := g["was"].([]string)
	return !slices.ContainsFunc(ids, func(id string) bool { return p.showsIn(id, h) && p.names(id, h) })
}

// names tells whether a note of a stretch says that it is of a technique.
func (p *page) names(id string, h here) bool {
	return slices.ContainsFunc(p.struck(h), func(n score.Note) bool { return n.Origin.Technique == id })
}

func halfAbove(_ *page, _ here, g stated) bool {
	return g.chord("chord").Root.Class() == (g.name("Target").Class()+1)%12
}

// moreAndLess tests what a chord has more than the sheet's, and less.
func moreAndLess(_ *page, _ here, g stated) bool {
	return asNamed(g.degrees("more"), g.chord("Now"), g.chord("Was")) && asNamed(g.degrees("less"), g.chord("Was"), g.chord("Now"))
}

// chordNow tests that a chord is printed in a stretch.
func chordNow(p *page, h here, g stated) bool { return p.sets(g.chord("Now"), h) }

// nearest tests how far below the tune the next note of the hand lies.
func nearest(p *page, h here, g stated) bool {
	top, ok := p.tuneNear(h.at, h.end)
	by, _ := g["Interval"].(words.HalfSteps)
	if !ok || top.Pitch.MIDI()-g.note().Pitch.MIDI() != int(by) {
		return false
	}
	return !slices.ContainsFunc(p.struck(here{h.at, h.at + 1}), func(n score.Note) bool {
		return n.Hand == score.Right && !isTune(n) && n.Pitch.MIDI() > g.note().Pitch.MIDI() && n.Pitch.MIDI() < top.Pitch.MIDI()
	})
}

func signed(p *page, h here, g stated) bool {
	return p.some(here{h.at, max(h.end, h.at+1)}, func(n score.Note) bool {
		return isTune(n) && n.Pitch.Name == g.name("Note") && n.Ornament != score.NoOrnament
	})
}

// halfBelow tests that graces stand a half step below the note that they go before.
func halfBelow(p *page, _ here, g stated) bool {
	for _, n := range g.notes("notes") {
		main, ok := p.tuneAt(n.At)
		if !ok || main.Pitch.MIDI()-n.Pitch.MIDI() != 1 || main.Pitch.Name != g.name("Note") {
			return false
		}
	}
	return len(g.notes("notes")) > 0
}

// sameAs tests that two stretches of bars, by index, strike the same notes.
func sameAs(p *page, _ here, g stated) bool {
	a, _ := g["bars"].([2]int)
	b, _ := g["like"].([2]int)
	return a[1]-a[0] == b[1]-b[0] && heard(p, a[0], a[1]) == heard(p, b[0], b[1])
}

// cadence tests the last two chords that a page prints before a moment.
func cadence(is func(k theory.Key, a, b theory.Chord) bool) proof {
	return func(p *page, h here, g stated) bool {
		var last []theory.Chord
		for _, s := range p.Score.Chords {
			if s.At < h.end && !s.Chord.Silent() && (len(last) == 0 || last[len(last)-1] != s.Chord) {
				last = append(last, s.Chord)
			}
		}
		k, _ := g["key"].(theory.Key)
		if len(last) < 2 {
			return false
		}
		return is(k, last[len(last)-2], last[len(last)-1])
	}
}

// step is how many half steps above the tonic a chord stands.
func step(k theory.Key, c theory.Chord) int { return ((c.Root.Class()-k.Tonic.Class())%12 + 12) % 12 }

// showsIn tells whether a technique shows in some bar of a stretch: it is recognised
// there, or a note of it still says which figure it belongs to, which its notes have
// borne out.
func (p *page) showsIn(id string, h here) bool {
	t, ok := technique.ByID(id)
	if !ok {
		return false
	}
	fs, known := p.found[id]
	if !known {
		fs = t.Recognise(p.seen)
		p.found[id] = fs
	}
	if slices.ContainsFunc(fs, func(f technique.Finding) bool { return f.At < h.end && max(f.End, f.At+1) > h.at }) {
		return true
	}
	return slices.ContainsFunc(p.struck(h), func(n score.Note) bool { return n.Origin.Technique == id && tells(n.Origin.Why, id) })
}

// tells tells whether a reason names a figure of a technique.
func tells(r reason.Reason, id string) bool {
	is := func(f reason.Figure) bool {
		return string(f) == id || len(f) > len(id) && string(f[:len(id)]) == id && f[len(id)] == '.'
	}
	switch r := r.(type) {
	case reason.Figure:
		return is(r)
	case reason.Then:
		return is(r.Figure) || tells(r.Next, id)
	case reason.And:
		return tells(r.First, id) || tells(r.Then, id)
	case reason.With:
		return tells(r.First, id) || tells(r.Then, id)
	case reason.Because:
		return tells(r.What, id) || tells(r.Why, id)
	}
	return false
}

// inPlace: the bars are bars of the page, and none is outside the place that is named with them.
func inPlace(p *page, _ here, g stated) bool {
	bars, _ := g["Bars"].(words.Bars)
	place, _ := g["place"].([2]int)
	var there []int
	for _, q := range p.parts() {
		there = append(there, q.numbers()...)
	}
	return len(bars) > 0 && !slices.ContainsFunc(bars, func(n int) bool { return n < place[0] || n > place[1] || !slices.Contains(there, n) })
}
