package notate

import (
	"fmt"
	"slices"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Of writes a piano score. The Problems tell what had to be written otherwise
// than it sounds; where one of them is an Error there is no Page.
func Of(s score.Score) (Page, leadsheet.Problems) { return of(s, 2) }

// Song writes a lead sheet: the melody with its chord symbols on one staff.
func Song(song leadsheet.Song) (Page, leadsheet.Problems) {
	p, told := of(melodyScore(song), 1)
	p.Words = song.Words
	return p, told
}

func of(s score.Score, staves int) (Page, leadsheet.Problems) {
	s = s.Finish()
	w := &writer{Page: Page{Source: s, Staves: staves}, problems: problems{s: s}}
	w.checkBars()
	if w.list.Err() != nil {
		return Page{}, w.list
	}
	w.source()
	w.bars()
	w.merge()
	w.chooseClefs()
	w.chooseOctaves()
	w.accidentals()
	for b := range w.Bars {
		w.beams(&w.Bars[b])
		w.stems(&w.Bars[b])
	}
	w.small()
	w.arpeggios()
	w.slurs()
	w.lyrics()
	w.signs()
	w.lines()
	w.leaveOut()
	w.list.Sort()
	return w.Page, w.list
}

// writer builds a Page step by step; each step reads what the ones before it
// decided.
type writer struct {
	Page
	problems
	ids     map[string]bool
	noteIDs []string // of Source.Notes
	byHand  [3][2][]int
	chords  []*chord
	clefs   [3][]ClefChange // by staff, in order
	octaves [3][]reach      // 8va, by staff, in order
}

// reach is a stretch of time.
type reach struct{ a, b theory.Dur }

func (w *writer) checkBars() {
	if len(w.Source.Bars) == 0 {
		w.list.Tell(leadsheet.Error, leadsheet.Pos{}, "score-empty.bars")
	}
	for i, b := range w.Source.Bars {
		pos := leadsheet.Pos{Bar: b.Number, Beat: leadsheet.BeatUnit}
		at := theory.Dur(0)
		if i > 0 {
			at = w.Source.Bars[i-1].End()
		}
		switch {
		case !b.Meter.Valid():
			w.list.Tell(leadsheet.Error, pos, "meter-invalid", "Metre", b.Meter)
		case b.Dur <= 0 || b.Dur%theory.SixtyFourth != 0 || b.Dur > 64*theory.Whole:
			w.list.Tell(leadsheet.Error, pos, "bar-length.unwritable", "Length", b.Dur)
		case b.At != at:
			w.list.Tell(leadsheet.Error, pos, "bar-place")
		case (!b.Key.Valid() || b.Key.Fifths() < -7 || b.Key.Fifths() > 7) && (i == 0 || b.Key != w.Source.Bars[i-1].Key):
			w.list.Tell(leadsheet.Error, pos, "key-invalid", "Key", b.Key)
		}
	}
}

// source checks the notes, cuts those that reach past the end and settles ids.
func (w *writer) source() {
	s := &w.Source
	w.ids = map[string]bool{}
	w.noteIDs = make([]string, len(s.Notes))
	for i := range s.Notes {
		n := &s.Notes[i]
		if xmlName(n.ID) && !w.ids[n.ID] {
			w.noteIDs[i] = n.ID
			w.ids[n.ID] = true
		}
		if n.End() > s.End() && n.At < s.End() && n.Grace == 0 {
			w.warn(n.At, "note-past-end", "Note", n.Pitch)
			n.Dur = s.End() - n.At
		}
		hand := n.Hand
		if hand != score.Left || w.Staves == 1 {
			hand = score.Right
		}
		switch {
		case n.At < 0 || n.At >= s.End():
			w.warn(n.At, "note-outside.bars", "Note", n.Pitch)
		case n.Dur <= 0 && n.Grace == 0:
			w.warn(n.At, "note-too-short.none", "Note", n.Pitch)
		case n.Marks.Has(score.Hidden):
			w.byHand[hand][1] = append(w.byHand[hand][1], i)
		default:
			w.byHand[hand][0] = append(w.byHand[hand][0], i)
		}
	}
	for i := range s.Notes {
		if w.noteIDs[i] == "" {
			w.noteIDs[i] = w.newID(fmt.Sprintf("n%d", i+1))
		}
	}
}

// newID returns the wanted id or, where it is taken, a variation.
func (w *writer) newID(want string) string {
	id := want
	for i := 2; w.ids[id]; i++ {
		id = fmt.Sprintf("%s-%d", want, i)
	}
	w.ids[id] = true
	return id
}

// xmlName tells whether the id is an XML name without a colon (in ASCII).
func xmlName(id string) bool {
	for i, r := range id {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '_'
		if !letter && (i == 0 || !(r >= '0' && r <= '9' || r == '-' || r == '.')) {
			return false
		}
	}
	return id != ""
}

// bars fills every bar with the voices of both hands.
func (w *writer) bars() {
	type cursor struct {
		*lane
		next int // the first chord that may still sound
	}
	var lanes [3][]*cursor
	for _, hand := range w.hands() {
		for h, hidden := range []bool{false, true} {
			ls, orphans := lanesOf(w.Source, hand, hidden, w.byHand[hand][h])
			for _, i := range orphans {
				w.warn(w.Source.Notes[i].At, "grace-alone")
			}
			for _, l := range ls {
				lanes[hand] = append(lanes[hand], &cursor{lane: l})
				w.chords = append(w.chords, l.chords...)
			}
		}
	}
	prev := score.Bar{}
	for i, b := range w.Source.Bars {
		bar := Bar{Bar: b, NewMeter: i == 0 || b.Meter != prev.Meter, NewKey: i == 0 || b.Key.Fifths() != prev.Key.Fifths()}
		bar.ID = w.newID(fmt.Sprintf("bar%d", i+1))
		for _, hand := range w.hands() {
			main := true
			for _, c := range lanes[hand] {
				for c.next < len(c.chords) && c.chords[c.next].end <= b.At {
					c.next++
				}
				if c.next == len(c.chords) || c.chords[c.next].at >= b.End() {
					continue
				}
				if c.hidden && main {
					bar.Voices = append(bar.Voices, w.silence(b, hand))
				}
				bar.Voices = append(bar.Voices, w.fill(i, len(bar.Voices), b, c.lane, c.chords[c.next:], !main || c.hidden))
				main = false
			}
			if main {
				bar.Voices = append(bar.Voices, w.silence(b, hand))
			}
		}
		w.Bars = append(w.Bars, bar)
		prev = b
	}
	for _, c := range w.chords {
		if len(c.written) == 0 {
			w.warn(c.at, "note-too-short.unwritable", "Note", w.Source.Notes[c.notes[0]].Pitch)
		}
		long := slices.ContainsFunc(c.written, func(at place) bool { return w.event(at).Value.Base >= theory.Quarter })
		for i, at := range c.written {
			e := w.event(at)
			if long && e.Value.Base < theory.Quarter {
				e.Tremolo = NoTremolo // a short note tied to it is no place to shake
			}
			for j := range e.Heads {
				h := &e.Heads[j]
				h.First, h.Last = i == 0, i == len(c.written)-1
				h.ID = w.noteIDs[h.Note]
				if i > 0 {
					h.ID = w.newID(fmt.Sprintf("%s.%d", h.ID, i+1))
				}
			}
			if i == 0 {
				e.Graces = w.graces(c)
			}
		}
	}
}

func (w *writer) hands() []score.Hand {
	if w.Staves == 1 {
		return []score.Hand{score.Right}
	}
	return []score.Hand{score.Right, score.Left}
}

// place finds an event again: the slices that hold it grow while bars are built.
type place struct{ bar, voice, event int }

func (w *writer) event(p place) *Event { return &w.Bars[p.bar].Voices[p.voice].Events[p.event] }

// silence is a bar's rest.
func (w *writer) silence(b score.Bar, hand score.Hand) Voice {
	v := Voice{Hand: hand, Lane: 1}
	if b.Dur == b.Meter.Bar() {
		v.Events = []Event{{Kind: Rest, At: b.At, Dur: b.Dur, WholeBar: true, Staff: hand, Value: Value{Base: theory.Whole}}}
		return v
	}
	at := b.Offset(b.At)
	shift := at - b.At
	m := metreOf(b.Meter)
	for _, end := range split(m.level, m.restWhole, at, at+b.Dur) {
		value, _ := valueOf(end - at)
		v.Events = append(v.Events, Event{Kind: Rest, At: at - shift, Dur: end - at, Value: value, Staff: hand})
		at = end
	}
	return v
}

// fill writes one voice of one bar.
func (w *writer) fill(bar, voice int, b score.Bar, l *lane, chords []*chord, quiet bool) Voice {
	start := b.Offset(b.At)
	shift := start - b.At
	r := rhythm{metre: metreOf(b.Meter), start: start, end: start + b.Dur, quiet: quiet}
	at := start
	for _, c := range chords {
		if c.at >= b.End() {
			break
		}
		a, z := max(c.at, b.At)+shift, min(c.end, b.End())+shift
		if at < a {
			r.spans = append(r.spans, span{at, a, nil})
		}
		r.spans = append(r.spans, span{a, z, c})
		at = z
	}
	if at < r.end {
		r.spans = append(r.spans, span{at, r.end, nil})
	}
	pieces, windows, moved := r.write()
	for _, p := range moved {
		w.warn(p-shift, "rhythm-rounded")
	}
	v := Voice{Hand: l.hand, Lane: l.number, Hidden: l.hidden}
	for i, p := range pieces {
		e := Event{Kind: Chord, At: p.a - shift, Dur: p.b - p.a, Value: p.value, Staff: l.hand}
		if p.window > 0 {
			t := windows[p.window-1]
			e.Ratio = Ratio{t.actual, t.normal}
			e.Opens = !l.hidden && (i == 0 || pieces[i-1].window != p.window)
			e.Closes = !l.hidden && (i == len(pieces)-1 || pieces[i+1].window != p.window)
		}
		if p.chord == nil {
			e.Kind = Rest
			if l.hidden || quiet && p.window == 0 {
				e.Kind, e.Value, e.Ratio = Space, Value{}, Ratio{}
			}
		} else {
			w.heads(&e, p.chord)
			p.chord.written = append(p.chord.written, place{bar, voice, i})
		}
		v.Events = append(v.Events, e)
	}
	return v
}

// heads fills in the notes of a chord.
func (w *writer) heads(e *Event, c *chord) {
	staves := [3]int{}
	for _, i := range c.notes {
		n := w.Source.Notes[i]
		h := Head{Note: i, Pitch: n.Pitch, Staff: w.staffOf(n)}
		staves[h.Staff]++
		e.Heads = append(e.Heads, h)
		if n.Ornament == score.Tremolo {
			e.Tremolo = Repeated
		}
	}
	for _, st := range w.hands() {
		if staves[st] == len(e.Heads) {
			e.Staff = st
		}
	}
	if e.Tremolo == Repeated && len(e.Heads) > 1 && e.Value.Base >= theory.Quarter && e.Ratio == (Ratio{}) {
		e.Tremolo = Alternating
	}
}

func (w *writer) staffOf(n score.Note) score.Hand {
	switch {
	case w.Staves == 1:
		return score.Right
	case n.Staff == score.Right || n.Staff == score.Left:
		return n.Staff
	case n.Hand == score.Left:
		return score.Left
	}
	return score.Right
}

// graces writes the grace notes before a chord: one as an eighth, more as
// sixteenths, beamed.
func (w *writer) graces(c *chord) []Grace {
	var out []Grace
	for k, i := range c.graces {
		n := w.Source.Notes[i]
		h := Head{Note: i, ID: w.noteIDs[i], Pitch: n.Pitch, Staff: w.staffOf(n), First: true, Last: true}
		if k > 0 && w.Source.Notes[c.graces[k-1]].Grace == n.Grace {
			out[len(out)-1].Heads = append(out[len(out)-1].Heads, h)
			continue
		}
		out = append(out, Grace{Heads: []Head{h}, Slash: n.Marks.Has(score.Slashed), Stem: Up, Value: Value{Base: theory.Eighth}})
	}
	if len(out) > 1 {
		for k := range out {
			out[k].Value.Base = theory.Sixteenth
			state := Continue
			switch k {
			case 0:
				state = Begin
			case len(out) - 1:
				state = End
			}
			out[k].Beams = []Beam{state, state}
			out[k].Slash = out[k].Slash && k == 0
		}
	}
	return out
}

// lines sets the bar lines: a double one before a new section or key.
func (w *writer) lines() {
	for i := range w.Bars {
		switch {
		case i == len(w.Bars)-1:
			if !w.Source.Continues {
				w.Bars[i].Line = Final
			}
		case w.Bars[i].Bar.Signs.DaCapo || w.Bars[i].Bar.Signs.DalSegno:
			w.Bars[i].Line = Double
		case w.Bars[i].Pickup && (i == 0 || !w.Bars[i+1].NewKey): // it belongs to what follows
		case w.Bars[i+1].Section != "" || w.Bars[i+1].NewKey || w.Bars[i+1].Part != w.Bars[i].Part,
			w.Bars[i+1].Pickup && i+2 < len(w.Bars) && w.Bars[i+2].Section != "":
			w.Bars[i].Line = Double
		}
	}
}

// each visits all events in the order in which they are written.
func (w *writer) each(f func(b *Bar, v *Voice, e *Event)) {
	for i := range w.Bars {
		b := &w.Bars[i]
		for j := range b.Voices {
			v := &b.Voices[j]
			for k := range v.Events {
				f(b, v, &v.Events[k])
			}
		}
	}
}
