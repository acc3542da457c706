package claim

import (
	"cmp"
	"fmt"
	"slices"

	"gradatim/internal/harmony"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// True is the part of a reason that its place bears out: of several clauses those that
// hold; nil where none does. denied, if it is not nil, is told of each that does not.
func (p *Page) True(r reason.Reason, at Place, denied func(reason.Reason)) reason.Reason {
	if denied == nil {
		denied = func(reason.Reason) {}
	}
	switch r := r.(type) {
	case nil:
		return nil
	case reason.And:
		return reason.Clauses(p.True(r.First, at, denied), p.True(r.Then, at, denied))
	case reason.With:
		return reason.Together(p.True(r.First, at, denied), p.True(r.Then, at, denied))
	case reason.Because:
		what, why := p.True(r.What, at, denied), p.True(r.Why, at, denied)
		switch {
		case what == nil:
			return why
		case why == nil:
			return what
		}
		return reason.Because{What: what, Why: why}
	}
	if p.holds(r, at) {
		return r
	}
	denied(r)
	return p.instead(r, at)
}

// instead is what a note of the tune is over the chord that is printed, where it is not
// what was said; nil for all else.
func (p *Page) instead(r reason.Reason, at Place) reason.Reason {
	if n := at.Note; n != nil && !at.Chord.Silent() {
		switch r.(type) {
		case reason.PlaysRole, reason.IsDegree, reason.Over:
			if d, in := at.Chord.Degree(n.Pitch.Name); in {
				return reason.IsDegree{Note: n.Pitch.Name, Degree: d, Chord: at.Chord}
			}
			for _, role := range []reason.Role{"suspension", "passing tone", "neighbour", "appoggiatura", "escape tone"} {
				if n.Origin.Kind == score.Melody && p.role(role, *n, at.Chord) {
					return reason.PlaysRole{Note: n.Pitch.Name, Role: role, Chord: at.Chord}
				}
			}
			return reason.Over{Note: n.Pitch.Name, Chord: at.Chord}
		}
	}
	return nil
}

// holds tests one clause. A kind without a predicate is a mistake of the house: it
// panics, and a test asks every kind.
func (p *Page) holds(r reason.Reason, at Place) bool {
	switch r := r.(type) {
	case reason.Fact:
		test, ok := facts[r]
		if !ok {
			panic("claim: no predicate for the fact " + string(r))
		}
		return test == nil || test(p, at)
	case reason.Figure:
		return p.figure(r, at)
	case reason.Then:
		return p.figure(r.Figure, at) && p.True(r.Next, at, nil) == r.Next
	case reason.SheetCalls, reason.TitleSays:
		return true // quotes
	}
	if at.Note != nil {
		if ok, known := p.ofNote(r, *at.Note); known {
			return ok
		}
	}
	return p.ofChord(r, at)
}

// ofNote tests what is said of one note.
func (p *Page) ofNote(r reason.Reason, n score.Note) (holds, known bool) {
	switch r := r.(type) {
	case reason.Sounds:
		return n.Pitch.Name == r.Note, true
	case reason.IsDegree:
		d, in := r.Chord.Degree(r.Note)
		return in && d == r.Degree && n.Pitch.Name == r.Note && p.inForce(r.Chord, n), true
	case reason.Over:
		_, in := r.Chord.Degree(r.Note)
		return n.Pitch.Name == r.Note && !in && p.inForce(r.Chord, n), true
	case reason.PlaysRole:
		return n.Pitch.Name == r.Note && p.inForce(r.Chord, n) && p.role(r.Role, n, r.Chord), true
	case reason.Approach:
		return p.approach(r, n), true
	case reason.Encloses:
		return p.encloses(r.Note, n), true
	case reason.Answers:
		next, ok := p.tuneFrom(n.At + 1)
		return ok && next.Pitch.Name == r.Goal, true
	case reason.Lands:
		next, ok := p.tuneFrom(n.At + 1)
		d, in := r.Chord.Degree(r.Note)
		return ok && next.Pitch.Name == r.Note && (r.Degree == theory.Degree{} || in && d == r.Degree && p.inForce(r.Chord, next)), true
	case reason.TriadOver:
		for d := range r.Triad.Tones.All() {
			if !slices.ContainsFunc(p.struck(score.Right, n.At), func(m score.Note) bool { return m.Pitch.Class() == d.On(r.Triad.Root).Class() }) {
				return false, true
			}
		}
		return p.inForce(r.Chord, n), true
	}
	return false, false
}

// inForce tells whether a chord is printed over some of a note.
func (p *Page) inForce(c theory.Chord, n score.Note) bool {
	for k := max(0, p.spanAt(n.At)); k < len(p.spans) && p.spans[k].at <= max(n.At, n.End()-1); k++ {
		if p.spans[k].chord == c {
			return true
		}
	}
	return false
}

// role tests what a note of the tune is called over a chord that it does not belong to:
// how it is come to and left.
func (p *Page) role(role reason.Role, n score.Note, c theory.Chord) bool {
	if c.HasClass(n.Pitch.Class()) {
		return false
	}
	i, _ := slices.BinarySearchFunc(p.tune, n.At, func(m score.Note, at theory.Dur) int { return cmp.Compare(m.At, at) })
	if i == len(p.tune) || p.tune[i].At != n.At {
		return false
	}
	step := func(k int) int { // to the nearest note of another pitch
		for j := i + k; j >= 0 && j < len(p.tune); j += k {
			if d := p.tune[j].Pitch.MIDI() - n.Pitch.MIDI(); d != 0 {
				return d
			}
		}
		return 0
	}
	near := func(d int) bool { return d != 0 && d >= -3 && d <= 3 }
	in, out := -step(-1), step(1)
	switch role {
	case "passing tone":
		return near(in) && near(out) && in*out > 0
	case "neighbour":
		return near(in) || near(out)
	case "suspension":
		return i > 0 && p.tune[i-1].Pitch.MIDI() == n.Pitch.MIDI() && near(out) && out < 0
	case "anticipation":
		k := p.spanAt(n.At)
		return k >= 0 && k+1 < len(p.spans) && p.spans[k+1].chord.HasClass(n.Pitch.Class())
	case "appoggiatura":
		return near(out)
	case "escape tone":
		return near(in)
	case "tension":
		d, _ := harmony.DegreeOver(c, n.Pitch.Name)
		return d.Number != 1 && d.Number != 3 && d.Number != 5 && d.Number != 7 && d.Number != 8
	case "free":
		return true
	}
	return false // a chord tone, or under no chord: it has both
}

// approach tests how the line of the left hand comes to its goal, within the bar of the
// note that tells it.
func (p *Page) approach(r reason.Approach, n score.Note) bool {
	for _, x := range p.byBar[max(0, p.score.BarAt(n.At))] {
		if x.Hand != n.Hand || x.Grace > 0 || x.Marks.Has(score.Ghost) || x.At < n.At && n.Origin.Kind == score.Approach {
			continue
		}
		for _, y := range p.leftAfter(x.At) {
			by := x.Pitch.MIDI() - y.Pitch.MIDI()
			if y.Pitch.Class() != r.Goal.Class() {
				continue
			}
			switch r.From {
			case reason.HalfAbove:
				if by == 1 {
					return true
				}
			case reason.HalfBelow:
				if by == -1 {
					return true
				}
			case reason.ScaleDown:
				if by == 1 || by == 2 || by == 3 {
					return true
				}
			case reason.ScaleUp:
				if by == -1 || by == -2 || by == -3 {
					return true
				}
			case reason.Fifth:
				if by == 7 || by == -5 {
					return true
				}
			default:
				panic("claim: no predicate for the way " + string(r.From))
			}
		}
	}
	return false
}

// encloses tests that one note above and one a half step below come before a note of
// the tune, each within a step.
func (p *Page) encloses(goal theory.Name, n score.Note) bool {
	at := n.At
	if n.Grace == 0 {
		at++
	}
	next, ok := p.tuneFrom(at)
	if !ok || next.Pitch.Name != goal {
		return false
	}
	above, below := false, false
	for _, m := range p.byBar[p.score.BarAt(n.At)] {
		if m.Origin.Technique != n.Origin.Technique || m.At > next.At || m.Origin.Kind == score.Melody {
			continue
		}
		by := m.Pitch.MIDI() - next.Pitch.MIDI()
		above, below = above || by == 1 || by == 2, below || by == -1 || by == -2
	}
	return above && below
}

// ofChord tests what is said of a chord and of how it goes on.
func (p *Page) ofChord(r reason.Reason, at Place) bool {
	c, root := at.Chord, at.Chord.Root
	is := func(n theory.Name, half int) bool { return up(n, half) == root.Class() } // n and so many half steps
	switch r := r.(type) {
	case reason.LeadsTo:
		return p.steps(at, r.From, r.To, 1)
	case reason.FallsTo:
		return p.steps(at, r.From, r.To, -1)
	case reason.BassSteps:
		return p.steps(at, r.From, r.To, 0)
	case reason.MelodyIs:
		return r.Degree.Number > 0 && up(root, r.Degree.Class()) == r.Note.Class() && slices.ContainsFunc(p.tuneIn(at.At, at.End), func(n score.Note) bool { return n.Pitch.Name == r.Note })
	case reason.DominantOf:
		return isMajor(c) && !at.After.Silent() && up(root, 5) == at.After.Root.Class()
	case reason.SubstituteFor:
		return c.HasClass(r.Third.Class()) && c.HasClass(r.Seventh.Class()) && r.Dominant.HasClass(r.Third.Class()) && r.Dominant.HasClass(r.Seventh.Class())
	case reason.HalfStepAbove:
		return is(r.Goal, 1) && at.After.Root.Class() == r.Goal.Class() && !at.After.Silent()
	case reason.Rootless:
		return within(c, r.Dominant)
	case reason.StandsFor:
		return within(c, r.Dominant)
	case reason.Between:
		a, b := up(root, -r.From.Class()), up(r.To, -root.Class())
		return (a == 1 || a == 2) && (b == 1 || b == 2) || (a == 11 || a == 10) && (b == 11 || b == 10)
	case reason.StaysInBass:
		b, ok := p.bass(at.At, at.End)
		return ok && b.Pitch.Class() == r.Root.Class()
	case reason.StaysAsPedal:
		b, ok := p.bass(at.At, at.End)
		return ok && b.Pitch.Class() == r.Bass.Class() && c.Lowest().Class() == r.Bass.Class()
	case reason.BassClimbs:
		return p.basses(at, r.From, r.Via, r.To, 1)
	case reason.BassDescends:
		return p.basses(at, r.From, r.Via, r.To, -1)
	case reason.BorrowedThird:
		d, in := c.Degree(r.Third)
		return in && d == theory.Degree{Number: 3, Alter: -1} && !at.Key.Contains(r.Third)
	case reason.BorrowedFifth:
		d, in := c.Degree(r.Fifth)
		return in && d == theory.Degree{Number: 5, Alter: -1} && !at.Key.Contains(r.Fifth)
	case reason.StepBelow:
		return c.Root == r.Chord.Root && is(r.Tonic, -2)
	case reason.FallsFifth:
		return root.Class() == r.From.Class() && at.After.Root.Class() == r.To.Class() && up(r.From, 5) == r.To.Class()
	case reason.StyleDominant:
		return c.Dominant() && root.Class() == r.Root.Class()
	case reason.KeysDominant:
		return c.Dominant() && root.Class() == r.Root.Class() && is(at.Key.Tonic, 7)
	case reason.InPlaceOf:
		return root.Class() == r.Chord.Root.Class() && common(c, r.Sheet) >= 2
	case reason.SharesTwo:
		return root.Class() == r.Chord.Root.Class() && common(c, r.Sheet) >= 2
	case reason.Delays:
		return p.gives(at, r.Fourth, r.Third)
	case reason.Resolves:
		return p.sounds(r.Third.Class(), at.At, at.End)
	case reason.BothStay:
		return c.HasClass(r.Tonic.Class()) && c.HasClass(r.Fifth.Class()) && p.sounds(r.Tonic.Class(), at.At, at.End) && p.sounds(r.Fifth.Class(), at.At, at.End)
	case reason.IsThe:
		return isThe(r, c) && p.colour(r.Note, at) && p.holds(r.As, at)
	case reason.AddedSecond:
		return p.colour(r.Note, at) && up(r.Note, -root.Class()) == 2
	case reason.AddedFourth:
		return p.colour(r.Note, at) && up(r.Note, -root.Class()) == 5 && c.MinorThird()
	case reason.AddedBeside:
		return p.colour(r.Note, at)
	case reason.ColourIs:
		d, in := c.Degree(r.Note)
		return in && d == r.Degree && p.colour(r.Note, at)
	case reason.LeansTowards:
		return at.After.Root == r.Goal && !at.After.Silent()
	case reason.Sounds, reason.IsDegree, reason.Over, reason.PlaysRole, reason.Approach, reason.Encloses, reason.Answers, reason.Lands, reason.TriadOver:
		return false // of notes, and there is none
	}
	panic(fmt.Sprintf("claim: no predicate for %T", r))
}

// gives tells whether a note of the chord falls by a half or whole step to one of the
// next.
func (p *Page) gives(at Place, from, to theory.Name) bool {
	after := p.within(at.End, at.Until)
	for _, a := range p.within(at.At, at.End) {
		if a.Pitch.Class() == from.Class() && slices.ContainsFunc(after, func(b score.Note) bool {
			by := a.Pitch.MIDI() - b.Pitch.MIDI()
			return b.Pitch.Class() == to.Class() && (by == 1 || by == 2)
		}) {
			return true
		}
	}
	return false
}

// colour tells whether a note belongs to the chord and is heard in it.
func (p *Page) colour(n theory.Name, at Place) bool {
	return at.Chord.HasClass(n.Class()) && p.sounds(n.Class(), at.At, at.End)
}

// basses tests that the basses of three chords are three notes that step one way.
func (p *Page) basses(at Place, from, via, to theory.Name, dir int) bool {
	k := p.spanAt(at.At)
	if k < 1 {
		return false
	}
	before, ok1 := p.lastBass(p.spans[k-1].at, at.At)
	now, ok2 := p.bass(at.At, at.End)
	after, ok3 := p.bass(at.End, at.Until)
	step := func(a, b score.Note) bool {
		d := (b.Pitch.MIDI() - a.Pitch.MIDI()) * dir
		return d >= 1 && d <= 3
	}
	return ok1 && ok2 && ok3 && before.Pitch.Class() == from.Class() && now.Pitch.Class() == via.Class() && after.Pitch.Class() == to.Class() && step(before, now) && step(now, after)
}

// lastBass is the lowest note of the left hand in [from, to).
func (p *Page) lastBass(from, to theory.Dur) (score.Note, bool) {
	var best score.Note
	found := false
	for _, n := range p.within(from, to) {
		if n.Hand == score.Left && n.At >= from && (!found || n.Pitch.MIDI() < best.Pitch.MIDI()) {
			best, found = n, true
		}
	}
	return best, found
}

// isThe tells whether what a note is called is its degree.
func isThe(r reason.IsThe, c theory.Chord) bool {
	d, in := c.Degree(r.Note)
	as, ok := r.As.(reason.Fact)
	if !in || !ok {
		return false
	}
	want, ok := calledDegrees[as]
	return ok && d == want
}

func up(n theory.Name, half int) int { return ((n.Class()+half)%12 + 12) % 12 }

func isMajor(c theory.Chord) bool { return c.HasClass(up(c.Root, 4)) }

// within tells whether all tones of a chord are tones of another.
func within(c, all theory.Chord) bool {
	for d := range c.Tones.All() {
		if !all.HasClass(d.On(c.Root).Class()) {
			return false
		}
	}
	return !c.Silent()
}

// common counts the classes that two chords share.
func common(a, b theory.Chord) int {
	n := 0
	for class := range 12 {
		if a.HasClass(class) && b.HasClass(class) {
			n++
		}
	}
	return n
}

// Plain is what can be said of any note: what it is to the chord that is printed over it,
// or its name.
func (p *Page) Plain(n score.Note) reason.Reason {
	at := p.NotePlace(n)
	if why := p.instead(reason.Over{}, at); why != nil {
		return why
	}
	return reason.Sounds{Note: n.Pitch.Name}
}
