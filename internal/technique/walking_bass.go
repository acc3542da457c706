package technique

import (
	"slices"

	"gradatim/internal/hand"
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// walkingBass is a line of quarters from target to target.
var walkingBass = &Technique{
	ID: "walking-bass", Stage: LeftHand, Defines: true,
	Needs:     []string{"seventh-chords", "secondary-dominant"},
	Left:      func(c Cell) []Figure { return walk(c, false) },
	Recognise: recogniseWalking,
	Also:      []string{"held-root", "two-feel"}, // where it comes to rest
	Drill:     BassAlone,
}

// walk makes the lines of a cell. A line begins on a target (the root; the third
// or fifth too where the chord goes on), moves by chord notes and steps, and its
// last beat approaches the next target: from a half step below or above, a step,
// or the fifth above, in this order of strength. Each line names the key it
// leads to, so that the search joins only lines that arrive (common practice;
// kinds of approach after Fitzgerald's walking-bass handout).
func walk(c Cell, ghosts bool) []Figure {
	pulse := c.Pulse()
	if c.Dur()%pulse != 0 || c.Chord.Silent() {
		return nil
	}
	if c.Meter.Compound() {
		if ghosts {
			return nil
		}
		return walkCompound(c)
	}
	n := int(c.Dur() / pulse)
	if n < 1 || n > 4 || c.beatTempo() > 240 || c.beatTempo() < 60 {
		return nil
	}
	if ghosts && !c.Swing { // its place is the last triplet of a swung beat
		return nil
	}
	var out []Figure
	for _, start := range walkStarts(c) {
		if c.Next.Silent() {
			if f, ok := walkHome(c, start, n); ok && !ghosts {
				out = append(out, f)
			}
			continue
		}
		for _, goal := range walkGoals(c, start.MIDI()) {
			for k, a := range approaches(c, goal) {
				for j, mid := range middles(c, start, a, n) {
					line := append(make([]theory.Pitch, 0, n), start)
					line = append(line, mid...)
					if n > 1 {
						line = append(line, a.pitch)
					} else if k > 0 || j > 0 {
						continue
					}
					ghosted := ghosts && (n > 1 || leadsOn(c))
					f := walkFigure(c, line, ghosted)
					f.Lead = goal.MIDI()
					f.Cost += k + min(j, 4) + leaps(line, goal)
					if c.Held > 0 && start.Class() == c.Chord.Root.Class() {
						f.Cost++
					}
					f.Say = a.say
					if n == 1 {
						f.Say = reason.Figure("walking-bass.beat")
					}
					if ghosts && !ghosted {
						f.By = "walking-bass"
					}
					if ghosted {
						f.Under, f.Say = f.Say, reason.Then{Figure: "ghost-notes", Next: f.Say}
						f.Cost--
					}
					out = append(out, f)
				}
			}
		}
	}
	return out
}

// walkCompound walks in dotted beats: a target on each, the fifth or octave
// between, and an approach on the last third before the next.
func walkCompound(c Cell) []Figure {
	third := c.Pulse() / 3
	n := int(c.Dur() / c.Pulse())
	if n > 4 || c.Next.Silent() {
		return nil
	}
	var out []Figure
	for _, start := range walkStarts(c) {
		if start.Class() != c.Chord.Lowest().Class() {
			continue
		}
		fifth, low := c.fifths(start)
		for _, five := range []theory.Pitch{fifth, low} {
			if five.MIDI() < 28 {
				continue
			}
			for _, goal := range walkGoals(c, five.MIDI()) {
				for k, a := range approaches(c, goal) {
					if k > 3 || a.pitch == five {
						continue
					}
					f := Figure{Cost: k, Lead: goal.MIDI(), Say: reason.Then{Figure: "walking-bass.compound", Next: a.say}}
					for i := range n {
						at := c.At + theory.Dur(i)*c.Pulse()
						p, kind := start, score.Bass
						if i%2 == 1 {
							p = five
						}
						t := Tone{At: at, Dur: 3 * third, Pitch: p, Kind: kind}
						if i == n-1 {
							t.Dur = 2 * third
						}
						f.Tones = append(f.Tones, t)
					}
					f.Tones = append(f.Tones, Tone{At: c.End - third, Dur: third, Pitch: a.pitch, Kind: score.Approach})
					if n == 1 && five == low {
						continue
					}
					out = append(out, f)
				}
			}
		}
	}
	return out
}

func walkStarts(c Cell) []theory.Pitch {
	names := []theory.Name{c.Chord.Lowest()}
	if c.Held > 0 {
		if d, ok := c.Chord.Third(); ok {
			names = append(names, d.On(c.Chord.Root))
		}
		names = append(names, fifthOf(c.Chord).On(c.Chord.Root))
	}
	var out []theory.Pitch
	for _, n := range names {
		for p := n.Above(max(c.Low, 29)); p.MIDI() <= 57; p.Octave++ {
			out = append(out, p)
		}
	}
	return out
}

// walkGoals lists the places of the next target: its root in the octaves near
// the start; the same chord may go on from its third or fifth.
func walkGoals(c Cell, from int) []theory.Pitch {
	names := []theory.Name{c.Next.Lowest()}
	if c.Next == c.Chord {
		names = nil
		if d, ok := c.Chord.Third(); ok {
			names = append(names, d.On(c.Chord.Root))
		}
		names = append(names, fifthOf(c.Chord).On(c.Chord.Root), c.Chord.Root)
	}
	var out []theory.Pitch
	for _, n := range names {
		for p := n.Above(max(c.Low, 29)); p.MIDI() <= 57; p.Octave++ {
			if abs(p.MIDI()-from) <= 9 {
				out = append(out, p)
			}
		}
	}
	return out
}

type approach struct {
	pitch theory.Pitch
	say   reason.Reason
}

func approaches(c Cell, goal theory.Pitch) []approach {
	below, above := goal.Up(halfDown), goal.Up(halfUp)
	below = plain(c.Key, theory.ApproachSpelling(c.Key, below.MIDI(), goal))
	above = plain(c.Key, theory.ApproachSpelling(c.Key, above.MIDI(), goal))
	by := func(w reason.Way) reason.Reason { return reason.Approach{From: w, Goal: goal.Name} }
	out := []approach{
		{above, by(reason.HalfAbove)},
		{below, by(reason.HalfBelow)},
	}
	for _, d := range []int8{1, -1} { // scale steps
		for _, semis := range []int8{2, 1} {
			p := goal.Up(theory.Interval{Steps: d, Semitones: d * semis})
			if c.Key.Contains(p.Name) && p != above && p != below {
				way := reason.ScaleDown
				if d < 0 {
					way = reason.ScaleUp
				}
				out = append(out, approach{p, by(way)})
				break
			}
		}
	}
	out = append(out, approach{goal.Up(fifthUp), by(reason.Fifth)})
	if c.Usage.Palette != AllColours { // a bass under a tune that is sung or danced keeps to the scale
		out = slices.DeleteFunc(out, func(a approach) bool {
			return !c.Key.Contains(a.pitch.Name) && !c.Chord.HasClass(a.pitch.Class()) && !c.Next.HasClass(a.pitch.Class())
		})
	}
	return out
}

// plain writes a white key as one where the key does not name it otherwise: a
// reader takes B before B♭ sooner than C♭.
func plain(k theory.Key, p theory.Pitch) theory.Pitch {
	if p.Alter == 0 || hand.Black(p.MIDI()) && abs(int(p.Alter)) < 2 || k.Contains(p.Name) {
		return p
	}
	for l := theory.C; l <= theory.B; l++ {
		for _, alter := range []int8{0, -1, 1} {
			if q := (theory.Name{Letter: l, Alter: alter}).Nearest(p.MIDI()); q.MIDI() == p.MIDI() && (alter == 0 || hand.Black(q.MIDI())) {
				return q
			}
		}
	}
	return p
}

// middles lists what stands between start and approach, for lines of three and
// four beats.
func middles(c Cell, start theory.Pitch, a approach, n int) [][]theory.Pitch {
	switch {
	case n <= 2:
		return [][]theory.Pitch{nil}
	case n == 3:
		var out [][]theory.Pitch
		for _, p := range chordNear(c, start, 9) {
			if p != a.pitch {
				out = append(out, []theory.Pitch{p})
			}
		}
		return out
	}
	var out [][]theory.Pitch
	near := chordNear(c, start, 12)
	for _, p := range near {
		for _, q := range near {
			if p == q || q == a.pitch || abs(q.MIDI()-a.pitch.MIDI()) > 7 {
				continue
			}
			turn := (p.MIDI() - start.MIDI()) * (q.MIDI() - p.MIDI())
			if abs(p.MIDI()-start.MIDI()) > 7 && turn > 0 {
				continue // after a leap the line turns back
			}
			out = append(out, []theory.Pitch{p, q})
		}
	}
	// A chord note, then the scale step that leads into the approach.
	for _, p := range near {
		for d := -2; d <= 2; d++ {
			key := a.pitch.MIDI() + d
			q, ok := scaleNote(c, key)
			if d == 0 || !ok || key == p.MIDI() || abs(key-p.MIDI()) > 4 || key < max(c.Low, 28) || key > 60 {
				continue
			}
			out = append(out, []theory.Pitch{p, q})
		}
	}
	// A scale step between root and third is the oldest walk of all.
	if d, ok := c.Chord.Third(); ok && start.Class() == c.Chord.Root.Class() {
		third := start.Up(theory.Interval{Steps: 2, Semitones: int8(d.Semitones())})
		second := start.Up(theory.Interval{Steps: 1, Semitones: 2})
		if d.Number == 3 && third != a.pitch && abs(third.MIDI()-a.pitch.MIDI()) <= 7 && c.Key.Contains(second.Name) {
			out = append([][]theory.Pitch{{second, third}}, out...)
		}
	}
	return out
}

// scaleNote returns the note of the key on a piano key, if it has one there.
func scaleNote(c Cell, key int) (theory.Pitch, bool) {
	for _, n := range c.Key.Scale() {
		if n.Class() == key%12 {
			return n.Nearest(key), true
		}
	}
	return theory.Pitch{}, false
}

// chordNear lists notes of the chord within a distance of a note, nearest first,
// the note itself left out.
func chordNear(c Cell, from theory.Pitch, reach int) []theory.Pitch {
	names := make([]theory.Name, 0, 8)
	for d := range c.Chord.Tones.All() {
		if d.Number <= 7 {
			names = append(names, d.On(c.Chord.Root))
		}
	}
	var out []theory.Pitch
	for dist := 1; dist <= reach; dist++ {
		for _, sign := range []int{1, -1} {
			key := from.MIDI() + sign*dist
			if key < max(c.Low, 28) || key > 60 {
				continue
			}
			for _, n := range names {
				if n.Class() == key%12 {
					out = append(out, n.Nearest(key))
				}
			}
		}
	}
	return out
}

// walkHome ends the piece: root, and its octave or fifth if there is time.
func walkHome(c Cell, start theory.Pitch, n int) (Figure, bool) {
	if start.Class() != c.Chord.Lowest().Class() {
		return Figure{}, false
	}
	return Figure{Say: reason.Figure("walking-bass.home"), Tones: []Tone{{At: c.At, Dur: c.Dur(), Pitch: start, Kind: score.Bass}}}, true
}

func walkFigure(c Cell, line []theory.Pitch, ghosts bool) Figure {
	pulse := c.Pulse()
	f := Figure{Tones: make([]Tone, 0, len(line)+1)}
	for i, p := range line {
		t := Tone{At: c.At + theory.Dur(i)*pulse, Dur: pulse, Pitch: p, Kind: score.Passing}
		switch {
		case i == 0:
			t.Kind = score.Bass
		case i == len(line)-1:
			t.Kind = score.Approach
		default:
			if _, ok := c.Chord.Degree(p.Name); ok {
				t.Kind = score.Chord
			}
		}
		if ghosts && i == len(line)-1 {
			left := c.Prev.Lowest().Nearest(p.MIDI()) // the root just left
			if i > 0 {
				left = line[i-1]
			}
			for left.MIDI() < lowestKey {
				left.Octave++
			}
			t.Dur = pulse / 2 // a swung pair: the ghost sounds on the last triplet
			f.Tones = append(f.Tones, t, Tone{At: t.At + t.Dur, Dur: pulse - t.Dur, Pitch: left, Kind: score.GhostNote, Marks: score.Ghost, Velocity: -50})
			continue
		}
		f.Tones = append(f.Tones, t)
	}
	return f
}

// leadsOn tells whether a chord of one beat is itself the approach: on a weak
// beat, another chord before and after it.
func leadsOn(c Cell) bool {
	weak := (c.At-c.BarAt)/c.Pulse()%2 == 1
	return weak && !c.Prev.Silent() && c.Prev.Root != c.Chord.Root && c.Next.Root != c.Chord.Root
}

// leaps is what a line costs by its intervals: steps nothing, thirds little, wide
// leaps more, since a bass walks.
func leaps(line []theory.Pitch, goal theory.Pitch) int {
	sum := 0
	for i := 1; i <= len(line); i++ {
		to := goal
		if i < len(line) {
			to = line[i]
		}
		switch d := abs(to.MIDI() - line[i-1].MIDI()); {
		case d == 0:
			sum += 2
		case d > 7:
			sum += 5
		case d > 4:
			sum += 3
		case d > 2:
			sum++
		}
	}
	return sum
}

// recogniseWalking finds lines of at least four single notes, one on each beat
// and perhaps one more before the next, that go by step at least once in four and
// are not the printed chords' lowest notes at least once in four.
func recogniseWalking(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	for i := 0; i < len(ps); {
		j, beats, steps, others := i, 0, 0, 0
		for ; j < len(ps); j++ {
			p := ps[j]
			onBeat := p.Off%p.Pulse == 0
			if !p.Lone() || j == i && !onBeat || p.Dur() > p.Pulse || !onBeat && p.Off%p.Pulse*2 < p.Pulse {
				break
			}
			if j > i {
				q := ps[j-1]
				if gap := p.At - q.At; gap > p.Pulse || p.At > q.End || onBeat && gap == p.Pulse && q.Off%q.Pulse != 0 {
					break
				}
				if d := abs(p.Low() - q.Low()); d == 1 || d == 2 {
					steps++
				}
			}
			if onBeat {
				beats++
			}
			if !p.Known() || p.Notes[0].Pitch.Class() != p.Chord.Lowest().Class() {
				others++
			}
		}
		if beats >= 4 && steps*3 >= j-i-1 && others*4 >= j-i && 2*beats >= j-i {
			out = append(out, byBars(ps[i:j], 2)...)
		}
		i = max(j, i+1)
	}
	return out
}
