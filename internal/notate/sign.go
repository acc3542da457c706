package notate

import (
	"cmp"
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// signStaff is the staff that a direction belongs to: the upper unless the
// score says otherwise.
func (w *writer) signStaff(hand score.Hand) score.Hand {
	if hand == score.Left && w.Staves == 2 {
		return score.Left
	}
	return score.Right
}

// signs places directions and chord symbols in their bars. What ends something
// at a bar line belongs to the bar before.
func (w *writer) signs() {
	add := func(s Sign, ends bool) {
		if s.At < 0 || s.At > w.Source.End() || s.At == w.Source.End() && !ends {
			w.warn(max(s.At, 0), "sign-outside")
			return
		}
		at := s.At
		if ends {
			at = max(0, at-1)
		}
		b := &w.Bars[w.Source.BarAt(at)]
		b.Signs = append(b.Signs, s)
	}
	for _, b := range w.Source.Bars {
		if b.Section != "" {
			add(Sign{At: b.At, Kind: SignRehearsal, Staff: score.Right, Text: b.Section}, false)
		}
	}
	if t := w.Source.Tempo; t.Set() || t.Words != "" || w.Source.Feel != 0 {
		add(Sign{Kind: SignTempo, Staff: score.Right}, false)
	}
	for i, c := range w.Source.Chords {
		add(Sign{At: c.At, Kind: SignChord, Staff: score.Right, Chord: i}, false)
	}
	w.pedals(add)
	for _, staff := range w.hands() {
		for _, r := range w.octaves[staff] {
			add(Sign{At: r.a, Kind: SignOctaveUp, Staff: staff}, false)
			add(Sign{At: r.b, Kind: SignOctaveEnd, Staff: staff}, true)
		}
	}
	for _, p := range w.Source.Hairpins() {
		kind := SignCrescendo
		if p.Fades {
			kind = SignDiminuendo
		}
		staff := w.signStaff(p.Hand)
		add(Sign{At: p.From, Kind: kind, Staff: staff}, false)
		add(Sign{At: min(p.To, w.Source.End()), Kind: SignHairpinEnd, Staff: staff}, true)
	}
	for _, d := range w.Source.Directions {
		s := Sign{At: d.At, Staff: w.signStaff(d.Hand), Text: d.Text}
		switch d.Kind {
		case score.Words:
			s.Kind = SignWords
		case score.Dynamic:
			s.Kind = SignDynamic
		case score.Rehearsal:
			s.Kind = SignRehearsal
		case score.TempoChange, score.PedalDepth, score.PedalDown:
			if s.Kind, s.Value = SignDepth, d.Value; d.Kind == score.TempoChange {
				s.Kind = SignPace
			}
			if d.Value > 0 || d.Kind == score.PedalDepth {
				s.Staff, s.Text = score.Right, ""
				add(s, false)
			}
			continue
		default:
			continue // pedal, 8va, hairpins and clefs are dealt with
		}
		if s.Kind == SignRehearsal && d.At >= 0 && d.At < w.Source.End() && w.Source.Bars[w.Source.BarAt(d.At)].Section == d.Text {
			continue
		}
		if s.Text != "" {
			add(s, false)
		}
	}
	for i := range w.Bars {
		slices.SortStableFunc(w.Bars[i].Signs, func(a, b Sign) int {
			return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Kind, b.Kind))
		})
		w.Bars[i].Signs = besides(w.Bars[i].Signs)
	}
}

// besides puts the words that say how loud a place is another time beside its sign, so that
// the two are read as one.
func besides(signs []Sign) []Sign {
	for i := range signs {
		if signs[i].Kind != SignDynamic {
			continue
		}
		later := func(s Sign) bool { return s.At == signs[i].At && s.Staff == signs[i].Staff && s.OnTime() }
		if k := slices.IndexFunc(signs, later); k > i {
			signs[i].Later = signs[k].Text
			return besides(slices.Delete(signs, k, k+1))
		}
	}
	return signs
}

// OnTime tells whether a sign says how loud its place is when it is played again.
func (s Sign) OnTime() bool {
	_, _, ok := score.Direction{Kind: score.Words, Text: s.Text}.OnTime()
	return ok && s.Kind == SignWords
}

// pedals pairs the pedal signs: every line that begins also ends, and one that
// is caught again ends where the next begins.
func (w *writer) pedals(add func(Sign, bool)) {
	staff := score.Left
	if w.Staves == 1 {
		staff = score.Right
	}
	down := theory.Dur(-1)
	close := func(at theory.Dur) {
		if down >= 0 && at > down {
			add(Sign{At: down, Kind: SignPedalDown, Staff: staff}, false)
			add(Sign{At: at, Kind: SignPedalUp, Staff: staff}, true)
		}
		down = -1
	}
	for _, d := range w.Source.Directions {
		if d.At < 0 || d.At > w.Source.End() {
			continue
		}
		switch d.Kind {
		case score.PedalDown:
			close(d.At)
			if d.At < w.Source.End() {
				down = d.At
			}
		case score.PedalUp:
			close(d.At)
		}
	}
	close(w.Source.End())
}

// arpeggios numbers the wavy lines: one line joins all chords of a moment that
// are rolled, across the staves.
func (w *writer) arpeggios() {
	rolled := map[theory.Dur]int{} // notes that begin in rolled chords
	mine := func(e *Event) bool {
		for _, h := range e.Heads {
			if h.First && w.Source.Notes[h.Note].Marks.Has(score.Rolled) {
				return true
			}
		}
		return false
	}
	w.each(func(_ *Bar, _ *Voice, e *Event) {
		if mine(e) {
			for _, h := range e.Heads {
				if h.First {
					rolled[e.At]++
				}
			}
		}
	})
	w.each(func(_ *Bar, _ *Voice, e *Event) {
		if mine(e) && rolled[e.At] > 1 {
			e.Arpeggio = 1
		}
	})
}

// small marks the ornaments of a tune that are written out. All else that the right
// hand adds, fills and runs, is there to be played like the tune and is as large: small
// notes would say that it may be left out.
func (w *writer) small() {
	tune := slices.ContainsFunc(w.Source.Notes, func(n score.Note) bool { return n.Origin.Kind == score.Melody })
	added := func(h Head) bool {
		n := w.Source.Notes[h.Note]
		return n.Origin.Kind == score.Ornamental && n.Hand == score.Right
	}
	w.each(func(_ *Bar, _ *Voice, e *Event) {
		e.Small = tune && e.Kind == Chord && !slices.ContainsFunc(e.Heads, func(h Head) bool { return !added(h) })
	})
}

// slurs pairs slur marks within a voice, slurs grace notes to their main note,
// and numbers the slurs so that no two alive in the same bars share a number.
func (w *writer) slurs() {
	type slur struct {
		from, to       *Head
		fromBar, toBar int
	}
	var all []slur
	type key struct {
		hand  score.Hand
		voice uint8
	}
	type start struct {
		head *Head
		bar  int
	}
	open := map[key][]start{}
	bar := 0
	visit := func(h *Head) {
		n := w.Source.Notes[h.Note]
		k := key{n.Hand, n.Voice}
		if st := open[k]; h.Last && n.Marks.Has(score.SlurTo) && len(st) > 0 {
			s := st[len(st)-1]
			open[k] = st[:len(st)-1]
			all = append(all, slur{s.head, h, s.bar, bar})
		}
		if h.First && n.Marks.Has(score.SlurFrom) {
			open[k] = append(open[k], start{h, bar})
		}
	}
	for bar = range w.Bars {
		for _, e := range w.inOrder(&w.Bars[bar]) {
			marked := false
			for i := range e.Graces {
				for j := range e.Graces[i].Heads {
					h := &e.Graces[i].Heads[j]
					marked = marked || w.Source.Notes[h.Note].Marks.Has(score.SlurFrom)
					visit(h)
				}
			}
			if len(e.Graces) > 0 && !marked {
				g := e.Graces[0].Heads
				all = append(all, slur{&g[len(g)-1], &e.Heads[len(e.Heads)-1], bar, bar})
			}
			for i := range e.Heads {
				visit(&e.Heads[i])
			}
		}
	}
	slices.SortStableFunc(all, func(a, b slur) int { return cmp.Compare(a.fromBar, b.fromBar) })
	const numbers = 16 // MusicXML 4.0, type number-level
	var busy [numbers + 1]int
	for i := range busy {
		busy[i] = -1
	}
	for _, s := range all {
		for n := 1; n <= numbers; n++ {
			if busy[n] < s.fromBar && s.from.SlurFrom == 0 && s.to.SlurTo == 0 {
				s.from.SlurFrom, s.to.SlurTo, busy[n] = n, n, s.toBar
				from, to := w.Source.Notes[s.from.Note], w.Source.Notes[s.to.Note]
				s.from.SlurOver = w.accompanied(from, to) || w.sung(s.from.Staff, s.fromBar, s.toBar)
				break
			}
		}
	}
}

// sung tells whether words stand under a staff from one bar to another: a slur between
// them and the notes would brush them, so it lies above (Elaine Gould, Behind Bars (2011),
// on slurs in vocal music, from memory).
func (w *writer) sung(staff score.Hand, from, to int) bool {
	return slices.ContainsFunc(w.Source.Lyrics, func(y score.Lyric) bool {
		b := w.Source.BarAt(y.At)
		return b >= from && b <= to && w.signStaff(y.Hand) == staff
	})
}

// accompanied tells whether the right hand plays more than one line between two of
// its notes: a slur below would run through the others.
func (w *writer) accompanied(from, to score.Note) bool {
	if from.Hand != score.Right || from.Grace > 0 {
		return false
	}
	notes := w.Source.Notes
	first, _ := slices.BinarySearchFunc(notes, from.At, func(n score.Note, at theory.Dur) int { return cmp.Compare(n.At, at) })
	end := theory.Dur(-1) // of the note before
	for _, n := range notes[first:] {
		if n.At > to.At {
			break
		}
		if n.Hand != score.Right || n.Grace > 0 {
			continue
		}
		if n.At < end {
			return true
		}
		end = n.End()
	}
	return false
}

// inOrder lists the chords of a bar in time order, voice by voice.
func (w *writer) inOrder(b *Bar) []*Event {
	var out []*Event
	for i := range b.Voices {
		for j := range b.Voices[i].Events {
			if e := &b.Voices[i].Events[j]; e.Kind == Chord {
				out = append(out, e)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b *Event) int { return cmp.Compare(a.At, b.At) })
	return out
}
