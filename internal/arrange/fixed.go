package arrange

import (
	"cmp"
	"fmt"
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// fixed is what the teacher has fixed at the level of a page, sorted by what it is.
type fixed struct {
	chords       []held[theory.Chord] // those of locked bars, too
	uses, avoids []held[string]
	octaves      []held[int]
	loud         []held[string] // in order
	figures      []held[choice.Figure]
	notes        []choice.Choice // Added, TakenAway, Moved
	fingers      []choice.Choice
	locks        map[int]*lock // by bar
}

// held is something that holds for a stretch.
type held[T any] struct {
	at, until theory.Dur
	what      T
	by        choice.Choice
}

func (h held[T]) over(at theory.Dur) bool { return h.at <= at && at < h.until }

// find returns what holds at a moment.
func find[T any](hs []held[T], at theory.Dur) *held[T] {
	for i := range hs {
		if hs[i].over(at) {
			return &hs[i]
		}
	}
	return nil
}

// lock is a bar that is kept as it is.
type lock struct {
	choice.Bar
	by   choice.Choice
	tune []lockedNote // in order
}

// lockedNote is a note of the tune in a locked bar.
type lockedNote struct {
	technique.Tone
	by    string
	event int
}

// fix sorts the choices for the level. A lock that does not fit the tune, and an octave
// that would break it in the middle, are told and left aside; so is what must be let go.
func (p *piece) fix() {
	p.fixed = fixed{locks: map[int]*lock{}}
	f := &p.fixed
	for _, c := range p.opt.Choices {
		if !c.For(p.level) {
			continue
		}
		if why, gone := p.letGo[p.song.BarAt(c.At)]; gone && ofNotes(c.Fix) {
			p.refuse(c, c.At, "choice-impossible.let-go", "Beat", why.Pos.Beat.String(), "Why", why, "Code", why.Code)
			continue
		}
		switch x := c.Fix.(type) {
		case choice.Chord:
			f.chords = append(f.chords, held[theory.Chord]{c.At, c.Until, x.Chord, c})
		case choice.Use:
			f.uses = append(f.uses, held[string]{c.At, c.Until, x.Technique, c})
		case choice.Avoid:
			f.avoids = append(f.avoids, held[string]{c.At, c.Until, x.Technique, c})
		case choice.Octave:
			if at, ok := p.wholeSections(c.At, c.Until); ok {
				f.octaves = append(f.octaves, held[int]{c.At, c.Until, x.By, c})
			} else {
				p.refuse(c, at, "choice-impossible.octave")
			}
		case choice.Loud:
			f.loud = append(f.loud, held[string]{c.At, c.Until, x.Sign, c})
		case choice.Figure:
			f.figures = append(f.figures, held[choice.Figure]{c.At, c.Until, x, c})
		case choice.Added, choice.TakenAway, choice.Moved:
			f.notes = append(f.notes, c)
		case choice.Finger:
			f.fingers = append(f.fingers, c)
		case choice.Lock:
			p.fixLock(c, x.Bar)
		default:
			panic(fmt.Sprintf("arrange: %T", c.Fix))
		}
	}
	for _, bar := range slices.Sorted(mapKeys(f.locks)) {
		l := f.locks[bar]
		for k, s := range l.Chords {
			until := p.song.Bars[bar].End()
			if k+1 < len(l.Chords) {
				until = l.Chords[k+1].At
			}
			if !s.Chord.Silent() {
				f.chords = append(f.chords, held[theory.Chord]{s.At, until, s.Chord, l.by})
			}
		}
	}
	slices.SortStableFunc(f.loud, func(a, b held[string]) int { return cmp.Compare(a.at, b.at) })
	slices.SortStableFunc(f.chords, func(a, b held[theory.Chord]) int { return int(a.at - b.at) })
}

func mapKeys(m map[int]*lock) func(func(int) bool) {
	return func(yield func(int) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// ofNotes tells whether a fix says which notes are played, and so may ask for more than
// a hand can do.
func ofNotes(f choice.Fix) bool {
	switch f.(type) {
	case choice.Figure, choice.Added, choice.Moved, choice.TakenAway, choice.Lock:
		return true
	}
	return false
}

// refuse tells that a choice cannot hold, and where.
func (p *piece) refuse(c choice.Choice, at theory.Dur, says leadsheet.Saying, parts ...any) {
	p.remarks = append(p.remarks, p.refusal(c, at, says, parts...))
}

func (p *piece) refusal(c choice.Choice, at theory.Dur, says leadsheet.Saying, parts ...any) leadsheet.Problem {
	pos := c.Pos
	if pos.File == "" {
		pos.File = p.song.File
	}
	if i := p.song.BarAt(at); i >= 0 {
		pos.Bar, pos.Beat = p.song.Bars[i].Sheet, p.song.PosAt(at).Beat
	}
	return leadsheet.Tell(leadsheet.Warning, pos, says, parts...)
}

// wholeSections tells whether a stretch of the tune begins and ends with sections, or
// where the tune does; else it returns the place where it does not.
func (p *piece) wholeSections(at, until theory.Dur) (theory.Dur, bool) {
	begins := func(at theory.Dur) bool {
		for i, n := range p.song.Melody {
			if n.At < at {
				continue
			}
			if i == 0 {
				return true
			}
			for _, b := range p.song.Bars { // a pick-up counts to its section
				if b.Section != "" && b.At > p.song.Melody[i-1].At && b.At <= n.At+b.Meter.Bar() {
					return true
				}
			}
			return false
		}
		return true
	}
	switch {
	case !begins(at):
		return at, false
	case !begins(until):
		return until, false
	}
	return 0, true
}

// lifted is by how many octaves the plan moves a note of the tune: a section with its
// upbeat. Where a teacher has chosen an octave or keeps a bar, nothing is moved.
func (p *piece) lifted(event int) int {
	if len(p.fixed.octaves) > 0 || len(p.fixed.locks) > 0 {
		return 0
	}
	for _, ph := range p.an.Phrases {
		if event >= ph.From && event < ph.To {
			return p.form.At(ph.First).Octave
		}
	}
	return 0
}

// octaveAt is by how many octaves a note of the tune is moved.
func (p *piece) octaveAt(at theory.Dur) int {
	if h := find(p.fixed.octaves, at); h != nil {
		return p.octave + h.what
	}
	return p.octave
}

// insists tells whether the teacher asks for a technique at a place.
func (p *piece) insists(id string, at theory.Dur) bool {
	return slices.ContainsFunc(p.fixed.uses, func(h held[string]) bool { return h.what == id && h.over(at) })
}

// forbids tells whether the teacher rules a technique out at a place.
func (p *piece) forbids(id string, at theory.Dur) bool {
	return slices.ContainsFunc(p.fixed.avoids, func(h held[string]) bool { return h.what == id && h.over(at) })
}

// insisted returns the technique of a stage that the teacher asks for at a cell: of several
// the one for the shortest stretch, as a bar's goes before its section's.
func (p *piece) insisted(st technique.Stage, c cell) *technique.Technique {
	var out *technique.Technique
	var shortest theory.Dur
	for _, h := range p.fixed.uses {
		if t, ok := technique.ByID(h.what); ok && t.Stage == st && h.over(c.At) && (out == nil || h.until-h.at <= shortest) {
			out, shortest = t, h.until-h.at
		}
	}
	return out
}

// chordFixed tells whether the chord at a place is the teacher's.
func (p *piece) chordFixed(at theory.Dur) bool { return find(p.fixed.chords, at) != nil }

// locked tells whether a bar is kept as it is.
func (p *piece) locked(bar int) bool { return p.fixed.locks[bar] != nil }

// fixLock takes in a locked bar if the tune still is what it was there.
func (p *piece) fixLock(c choice.Choice, b choice.Bar) {
	l := &lock{Bar: b, by: c}
	bar := p.song.BarAt(b.At)
	end := p.song.Bars[bar].End()
	for _, line := range b.Lines {
		for _, t := range line.Unfingered() {
			if line.Part == choice.Tune && t.Grace == 0 {
				l.tune = append(l.tune, lockedNote{t, line.By, choice.Event(p.song, t.At)})
			}
		}
	}
	slices.SortStableFunc(l.tune, func(a, b lockedNote) int { return cmp.Compare(a.At, b.At) })
	has := map[int]bool{}
	for _, t := range l.tune {
		if t.event < 0 || p.song.Melody[t.event].Pitch.Class() != t.Pitch.Class() || has[t.event] {
			p.refuse(c, t.At, "choice-impossible.lock-other", "Note", t.Pitch)
			return
		}
		has[t.event] = true
	}
	for i, n := range p.song.Melody { // its first note may begin early, in the bar before
		if n.At > b.At && n.At < end && !has[i] {
			p.refuse(c, n.At, "choice-impossible.lock-missing", "Note", n.Pitch)
			return
		}
	}
	p.fixed.locks[bar] = l
}

// figure returns what a hand plays in a cell of a locked bar, beside the tune and its
// ornaments.
func (l *lock) figure(h score.Hand, c *cell) (f technique.Figure, by string) {
	for _, line := range l.Lines {
		if (line.Part == choice.LeftHand) != (h == score.Left) || line.Part == choice.Tune {
			continue
		}
		tones := line.Unfingered()
		for _, t := range tones {
			if t.At < c.At || t.At >= c.End || h == score.Right && adorns(t) {
				continue
			}
			if t.Kind == 0 {
				t.Kind = purpose(c, h, t, tones)
			}
			f.Tones = append(f.Tones, t)
			by = line.By
		}
	}
	slices.SortStableFunc(f.Tones, func(a, b technique.Tone) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Pitch.MIDI(), b.Pitch.MIDI()))
	})
	return f, by
}

// adorns tells whether a tone of a page is an ornament's, a fill's or a run's.
func adorns(t technique.Tone) bool {
	return t.Grace > 0 || t.Kind == score.Ornamental || t.Kind == score.Fill || t.Kind == score.Run
}

// purpose tells what a note by hand is for: the lowest of the left hand is a bass where
// it is the chord's, others are in the chord or a tension of it.
func purpose(c *cell, h score.Hand, t technique.Tone, all []technique.Tone) score.Kind {
	lowest := h == score.Left
	for _, u := range all {
		if u.At == t.At && u.Pitch.MIDI() < t.Pitch.MIDI() {
			lowest = false
		}
	}
	switch {
	case lowest && c.Chord.HasClass(t.Pitch.Class()):
		return score.Bass
	case c.Chord.Triad().HasClass(t.Pitch.Class()):
		return score.Chord
	case c.Chord.HasClass(t.Pitch.Class()):
		if d, ok := c.Chord.Degree(t.Pitch.Name); ok && d.Number > 7 {
			return score.Tension
		}
		return score.Chord
	}
	return score.Passing
}
