package technique

import (
	"slices"
	"sort"

	"gradatim/internal/hand"
	"gradatim/score"
	"gradatim/theory"
)

// Recognisers of the right hand: what stands under the tune, answers it or adorns
// it.

// recogniseAnticipation finds top notes that begin half a beat before a strong
// beat and are held over it.
func recogniseAnticipation(s score.Score) []Finding {
	var out []Finding
	for _, p := range plays(s, score.Right) {
		if p.bar < 0 || p.compound {
			continue
		}
		bar := s.Bars[p.bar]
		target := p.at + p.pulse/2 - bar.At
		over := target == bar.Dur || bar.Meter.BeatCount()%2 == 0 && target == bar.Dur/2
		top := p.notes[len(p.notes)-1]
		if over && top.Dur > p.pulse/2 {
			out = append(out, Finding{At: top.At, End: top.End(), Notes: []string{top.ID}, Detail: "half a beat early"})
		}
	}
	return out
}

// under returns the notes of a strike below its top note.
func (p play) under() []*score.Note { return p.notes[:len(p.notes)-1] }

// guides lists those of the notes that are neither root nor fifth of the printed
// chord.
func (p play) guides(notes []*score.Note) (ids []string) {
	for _, n := range notes {
		if d, in := p.degree(n); in && d.Number != 1 && d.Number != 5 {
			ids = append(ids, n.ID)
		}
	}
	return ids
}

// recogniseThirds finds right-hand pairs a third or a sixth apart, but those
// whose lower note is a guide tone of a seventh chord.
func recogniseThirds(s score.Score) []Finding {
	var out []Finding
	for _, p := range plays(s, score.Right) {
		if len(p.notes) != 2 {
			continue
		}
		switch p.span() {
		case 3, 4, 8, 9:
			if seventhIn(p) && len(p.guides(p.under())) > 0 {
				continue
			}
			out = append(out, finding("", p))
		}
	}
	return out
}

// recogniseEcho finds a lone right-hand note, of two beats at most, struck under
// a higher one that has been down for a beat and stays, where no new chord
// begins.
func recogniseEcho(s score.Score) []Finding {
	var out []Finding
	held, since, top := theory.Dur(0), theory.Dur(0), 0
	for _, p := range plays(s, score.Right) {
		if p.at < held && p.high() < top {
			if p.lone() && p.end <= held && p.at-since >= p.pulse && p.dur() <= 2*p.pulse && !(p.known() && p.from == p.at) && held-since >= 2*p.pulse {
				out = append(out, finding("", p))
			}
			continue
		}
		held, since, top = p.notes[len(p.notes)-1].End(), p.at, p.high()
	}
	return out
}

// recogniseGuides finds one or two notes under the top, third, seventh or colour
// of the printed chord, that hold while a chord begins or the tune goes on. Close
// chords under several notes in a row and clusters are other things.
func recogniseGuides(s score.Score) []Finding {
	ps := plays(s, score.Right)
	top, held := 0, theory.Dur(0)
	var out []Finding
	for i, p := range ps {
		if p.at < held && p.high() < top { // below a note that is held
			if !p.known() || len(p.notes) > 2 || p.dur() < p.pulse || p.from != p.at && p.off != 0 {
				continue
			}
			if ids := p.guides(p.notes); len(ids) > 0 {
				out = append(out, Finding{At: p.at, End: p.end, Notes: ids, Detail: p.chord.Pretty()})
			}
			continue
		}
		top, held = p.high(), p.notes[len(p.notes)-1].End()
		if !p.known() || len(p.notes) < 2 || len(p.notes) > 3 || p.span() > 12 {
			continue
		}
		if inBlock(ps, i) || p.span() == 12 {
			continue
		}
		if ids := p.guides(p.under()); len(ids) > 0 {
			out = append(out, Finding{At: p.at, End: p.end, Notes: ids, Detail: p.chord.Pretty()})
		}
	}
	return out
}

// inBlock tells whether a strike and a neighbour in its bar, joined to it under
// the same chord, are both chords of three notes and more.
func inBlock(ps []play, i int) bool {
	return i > 0 && blockPair(ps[i-1], ps[i]) || i+1 < len(ps) && blockPair(ps[i], ps[i+1])
}

func blockPair(a, b play) bool {
	return len(a.notes) >= 3 && len(b.notes) >= 3 && a.span() < 12 && b.span() < 12 && a.bar == b.bar && b.at == a.end && a.from == b.from
}

// recogniseBlocks finds runs of two or more close right-hand chords of three
// notes and more under one chord of the sheet: the tune's notes each have theirs.
func recogniseBlocks(s score.Score) []Finding {
	ps := plays(s, score.Right)
	var out []Finding
	for i := 0; i < len(ps); {
		j := i
		for j+1 < len(ps) && blockPair(ps[j], ps[j+1]) {
			j++
		}
		if j > i {
			f := Finding{At: ps[i].at, End: ps[j].end}
			for _, p := range ps[i : j+1] {
				for _, n := range p.under() {
					f.Notes = append(f.Notes, n.ID)
				}
			}
			out = append(out, f)
		}
		i = j + 1
	}
	return out
}

// recogniseOctaves finds right-hand octaves, with one note between or none.
func recogniseOctaves(s score.Score) []Finding {
	var out []Finding
	for _, p := range plays(s, score.Right) {
		if (len(p.notes) == 2 || len(p.notes) == 3) && p.span() == 12 {
			out = append(out, finding("", p))
		}
	}
	return out
}

// recogniseClusters finds right-hand chords of four notes with a second in them
// or built in fourths, and of three with two seconds; with the tune's note, none
// below E3.
func recogniseClusters(s score.Score) []Finding {
	var out []Finding
	for _, c := range chordsUnder(s) {
		k := c.keys
		seconds, fourths := 0, 0
		for i := 1; i < len(k); i++ {
			switch d := k[i] - k[i-1]; {
			case d <= 2:
				seconds++
			case d == 5 || d == 6:
				fourths++
			}
		}
		if k[0] >= 52 && (len(k) >= 4 && (seconds > 0 || fourths >= 2) || seconds >= 2) {
			out = append(out, c.Finding)
		}
	}
	return out
}

// recogniseFull finds right-hand chords of four notes and more that hold the
// printed chord's third and seventh.
func recogniseFull(s score.Score) []Finding {
	var out []Finding
	for _, c := range chordsUnder(s) {
		if len(c.keys) >= 4 && c.third && c.seventh {
			out = append(out, c.Finding)
		}
	}
	return out
}

// underTune is a right-hand chord with the tune's note above it, whether struck
// with it or held.
type underTune struct {
	Finding              // the notes below the tune
	keys           []int // ascending, the tune's last
	third, seventh bool
	chord          *theory.Chord
}

// chordsUnder lists the right-hand chords of two and more notes below the top
// line.
func chordsUnder(s score.Score) []underTune {
	var out []underTune
	top, held := 0, theory.Dur(0)
	for _, p := range plays(s, score.Right) {
		under := p.notes
		if p.at < held && p.high() < top {
			if p.end-p.at < p.pulse/2 {
				continue
			}
		} else {
			top, held = p.high(), p.notes[len(p.notes)-1].End()
			under = p.under()
		}
		if len(under) < 2 {
			continue
		}
		u := underTune{Finding: Finding{At: p.at, End: p.end}, chord: p.chord}
		for _, n := range under {
			u.Notes = append(u.Notes, n.ID)
			u.keys = append(u.keys, n.Pitch.MIDI())
			d, in := p.degree(n)
			u.third = u.third || in && (d.Number == 3 || d.Number == 4)
			u.seventh = u.seventh || in && (d.Number == 6 || d.Number == 7)
		}
		u.keys = append(u.keys, top)
		if p.known() {
			u.Detail = p.chord.Pretty()
		}
		out = append(out, u)
	}
	return out
}

// recogniseDropTwo finds three right-hand notes that would be a close four-note
// chord with one more chord tone below the top, where the left hand sounds that
// tone an octave lower.
func recogniseDropTwo(s score.Score) []Finding { return dropped(s, score.Right) }

// recogniseDropTwoBass finds the left hand's part of it: the dropped voice, struck
// after the bass.
func recogniseDropTwoBass(s score.Score) []Finding { return dropped(s, score.Left) }

func dropped(s score.Score, of score.Hand) []Finding {
	left := plays(s, score.Left)
	pedals := pedalSigns(s)
	first := 0
	var out []Finding
	for _, c := range chordsUnder(s) {
		k := c.keys
		for first < len(left) && left[first].end <= c.At {
			first++
		}
		if len(k) != 3 || k[2]-k[0] > 12 || k[2]-k[1] < 4 || c.chord.Silent() {
			continue
		}
		for i := first; i < len(left) && left[i].at < c.End; i++ {
			for _, n := range left[i].notes {
				voice := n.Pitch.MIDI() + 12
				if voice <= k[1] || voice >= k[2] || !c.chord.HasClass(n.Pitch.Class()) || n.End() <= c.At {
					continue
				}
				f := c.Finding
				f.Notes = append(slices.Clone(f.Notes), n.ID)
				if of == score.Left {
					if i == 0 || !left[i].lone() || !left[i-1].lone() || left[i-1].from != left[i].from || left[i-1].low() >= left[i].low() || left[i].dur() < left[i].pulse || !pedalled(pedals, left[i-1].at, left[i].at) {
						continue // not the voice alone, after its bass, both held by the pedal
					}
					f = Finding{At: n.At, End: n.End(), Notes: []string{n.ID}}
				}
				f.Detail = n.Pitch.Pretty() + " is dropped"
				out = append(out, f)
				i = len(left)
				break
			}
		}
	}
	return out
}

// pedalSigns lists the pedal signs of a score, in order.
func pedalSigns(s score.Score) []score.Direction {
	var out []score.Direction
	for _, d := range s.Directions {
		if d.Kind == score.PedalDown || d.Kind == score.PedalUp {
			out = append(out, d)
		}
	}
	return out
}

// pedalled tells whether the damper pedal is held from one moment to another.
func pedalled(signs []score.Direction, from, to theory.Dur) bool {
	i := sort.Search(len(signs), func(i int) bool { return signs[i].At > from })
	return i > 0 && signs[i-1].Kind == score.PedalDown && (i == len(signs) || signs[i].At > to)
}

// aside tells whether a lone note does not belong to the tune: it stands in the
// second voice, or is to be played softer.
func aside(p play) bool { return p.lone() && (p.notes[0].Voice > 1 || p.notes[0].Velocity < 0) }

// answers finds lines of right-hand notes aside from the tune, each joined to the
// next, of at least so many notes.
func answers(s score.Score, least int) [][]play {
	var out [][]play
	var line []play
	flush := func() {
		if len(line) >= least {
			out = append(out, line)
		}
		line = nil
	}
	for _, p := range plays(s, score.Right) {
		if !aside(p) {
			if len(line) > 0 && p.at >= line[len(line)-1].end {
				flush()
			}
			continue
		}
		if k := len(line); k > 0 && (p.at != line[k-1].end || p.dur() > 2*line[k-1].dur()) {
			flush()
		}
		if p.dur() <= p.pulse/2 {
			line = append(line, p)
		} else {
			flush()
		}
	}
	flush()
	return out
}

// encloses tells whether two notes surround a third: a step above it, then a half
// step below.
func encloses(a, b, goal int) bool { return a > goal && a-goal <= 2 && goal-b == 1 }

// topAt returns the top right-hand key struck at a moment.
func topAt(s score.Score, at theory.Dur) (int, bool) {
	top, ok := 0, false
	for _, n := range notesIn(s, at, at+1) {
		if n.Hand == score.Right && n.Grace == 0 {
			top, ok = max(top, n.Pitch.MIDI()), true
		}
	}
	return top, ok
}

// recogniseChordFill finds lines of two and more notes in eighths (or their like)
// beside the tune.
func recogniseChordFill(s score.Score) []Finding {
	var out []Finding
	for _, line := range answers(s, 2) {
		if quick(line) {
			continue
		}
		if len(line) == 2 {
			if goal, ok := topAt(s, line[1].end); ok && encloses(line[0].low(), line[1].low(), goal) {
				continue
			}
		}
		out = append(out, finding("", line...))
	}
	return out
}

// quick tells whether a line goes in more than three notes to a simple beat, or
// in three or more where it is long.
func quick(line []play) bool {
	step := line[0].next - line[0].at
	if line[0].compound {
		return 6*step <= line[0].pulse && len(line) >= 4
	}
	return 3*step <= line[0].pulse && len(line) >= 4
}

// recogniseRuns finds quick lines: beside the tune from four notes, in the tune
// itself from six, going by steps, thirds and the like.
func recogniseRuns(s score.Score) []Finding {
	var out []Finding
	for _, line := range answers(s, 4) {
		if quick(line) {
			out = append(out, finding("", line...))
		}
	}
	ps := plays(s, score.Right)
	for i := 0; i < len(ps); {
		j := i
		for j < len(ps) && ps[j].lone() && !aside(ps[j]) && 3*ps[j].dur() <= ps[j].pulse && (j == i || ps[j].at == ps[j-1].end && abs(ps[j].low()-ps[j-1].low()) <= 5) {
			j++
		}
		if j-i >= 6 && quick(ps[i:j]) {
			out = append(out, finding("", ps[i:j]...))
		}
		i = max(j, i+1)
	}
	return out
}

// recogniseEnclosures finds, in the top line or the second voice, a note above
// and a note a half step below the one that follows on a beat.
func recogniseEnclosures(s score.Score) []Finding {
	ps := plays(s, score.Right)
	var out []Finding
	for i := 0; i+2 < len(ps); i++ {
		a, b, c := ps[i], ps[i+1], ps[i+2]
		if !a.lone() || !b.lone() || a.dur() > a.pulse/2 || b.dur() > b.pulse/2 || b.at != a.end || c.at != b.end || c.off%c.pulse != 0 {
			continue
		}
		if encloses(a.low(), b.low(), c.high()) {
			out = append(out, finding(c.notes[len(c.notes)-1].Pitch.Pretty(), a, b))
		}
	}
	return out
}

// graces finds grace notes of the right hand a half step below the note that they
// belong to.
func graces(s score.Score, is func(grace, main int) bool) []Finding {
	var out []Finding
	for i, n := range s.Notes {
		if n.Grace == 0 || n.Hand != score.Right {
			continue
		}
		for _, m := range s.Notes[i+1:] {
			if m.At != n.At {
				break
			}
			if m.Hand == n.Hand && m.Grace == 0 {
				if m.Pitch.MIDI()-n.Pitch.MIDI() == 1 && is(n.Pitch.MIDI(), m.Pitch.MIDI()) {
					out = append(out, Finding{At: n.At, End: n.At + 1, Notes: []string{n.ID}, Detail: n.Pitch.Pretty() + " – " + m.Pitch.Pretty()})
					break
				}
			}
		}
	}
	return out
}

// recogniseSlides finds graces from a black key to a white one.
func recogniseSlides(s score.Score) []Finding {
	return graces(s, func(from, to int) bool { return hand.Black(from) && !hand.Black(to) })
}

// recogniseCrushes finds all graces of a half step from below: a slide can be
// crushed too.
func recogniseCrushes(s score.Score) []Finding {
	return graces(s, func(int, int) bool { return true })
}

// recogniseSign finds the notes that have an ornament sign.
func recogniseSign(o score.Ornament) func(score.Score) []Finding {
	return func(s score.Score) []Finding {
		var out []Finding
		for _, n := range s.Notes {
			if n.Ornament == o || o == score.Mordent && n.Ornament == score.UpperMordent {
				out = append(out, Finding{At: n.At, End: n.End(), Notes: []string{n.ID}})
			}
		}
		return out
	}
}
