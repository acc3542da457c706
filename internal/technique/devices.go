package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// What the devices that rewrite harmony share: where a chord may be inserted,
// whether the tune allows it, and how a dominant is built over a target.

var (
	halfUp   = theory.Interval{Steps: 1, Semitones: 1}
	halfDown = theory.Interval{Steps: -1, Semitones: -1}
	fifthUp  = theory.Interval{Steps: 4, Semitones: 7}
	raised   = theory.Interval{Steps: 0, Semitones: 1}
)

func seventhOn(root theory.Name) theory.Chord {
	return theory.Chord{Root: root, Tones: theory.DegreesOf(deg1, deg3, deg5, degB7)}
}

func minorSeventhOn(root theory.Name) theory.Chord {
	return theory.Chord{Root: root, Tones: theory.DegreesOf(deg1, degB3, deg5, degB7)}
}

func halfDiminishedOn(root theory.Name) theory.Chord {
	return theory.Chord{Root: root, Tones: theory.DegreesOf(deg1, degB3, degB5, degB7)}
}

func diminishedOn(root theory.Name) theory.Chord {
	return theory.Chord{Root: root, Tones: theory.DegreesOf(deg1, degB3, degB5, degBB7)}
}

func flatNinthOn(root theory.Name) theory.Chord {
	return theory.Chord{Root: root, Tones: theory.DegreesOf(deg1, deg3, deg5, degB7, degB9)}
}

// friendly spells the root of an inserted chord as a reader expects it: no double
// accidentals, and E, F, B and C rather than F♭, E♯, C♭♭ and B♯ unless the key has
// them.
func (p Passage) friendly(n theory.Name) theory.Name {
	odd := n.Alter < -1 || n.Alter > 1 || (n.Letter == theory.F || n.Letter == theory.C) && n.Alter == -1 || (n.Letter == theory.E || n.Letter == theory.B) && n.Alter == 1
	if !odd || p.Span.Key.Contains(n) {
		return n
	}
	for _, alter := range []int8{0, -1, 1} {
		for l := theory.C; l <= theory.B; l++ {
			if m := (theory.Name{Letter: l, Alter: alter}); m.Class() == n.Class() {
				return m
			}
		}
	}
	return n
}

// meter is the metre at the start of the passage's span.
func (p Passage) meter() leadsheet.Meter {
	if i := p.Song.BarAt(p.Span.At); i >= 0 {
		return p.Song.Bars[i].Meter
	}
	return p.Song.Meter
}

// pulse is the unit of harmonic rhythm: the beat, but the quarter in 2/2.
func (p Passage) pulse() theory.Dur { return p.meter().Pulse() }

// shortest is the least length that a chord of its own may have at the tempo: a
// beat below 80, two to 160 beats a minute, a bar above 200 (common practice, no
// source). A chord on a weak beat that only leads on by a half step may be
// shorter: see weak.
func (p Passage) shortest() theory.Dur {
	tempo := int(theory.Dur(p.Tempo) * theory.Quarter / p.pulse())
	switch {
	case tempo <= 80 || p.meter().Compound():
		return p.pulse()
	case tempo <= 200:
		if p.meter().BeatCount() == 3 {
			return p.pulse()
		}
		return 2 * p.pulse()
	}
	return p.meter().Bar()
}

// weak is the least length of a half-step approach on a weak beat, and of other
// chords where the level plays quick ones.
func (p Passage) weak() theory.Dur {
	if tempo := int(theory.Dur(p.Tempo) * theory.Quarter / p.pulse()); tempo > 200 {
		return p.shortest()
	}
	return p.pulse()
}

// tails lists the places, from late to early, where a chord that leads on can
// begin: the last beats of the span, at least least long, leaving the span's own
// chord no less.
func (p Passage) tails(least theory.Dur) []theory.Dur {
	var out []theory.Dur
	pulse := p.pulse()
	bar := p.meter().Bar()
	for _, n := range []theory.Dur{pulse, 2 * pulse, bar} {
		at := p.Span.End - n
		switch {
		case n < least || p.Span.Dur() < 2*n || p.Span.Dur() < n+least:
		case n == 2*pulse && p.meter().BeatCount() == 3:
		case n == bar && (bar <= 2*pulse || p.Span.Dur() < 2*bar || (p.Song.Bars[p.Song.BarAt(at)].At != at)):
		default:
			out = append(out, at)
		}
	}
	return out
}

// stable tells whether a chord can be the target of a dominant: a major or minor
// chord that sounds.
func stable(s harmony.Span) bool {
	if !s.Sounding() {
		return false
	}
	_, third := s.Chord.Third()
	return third && !s.Chord.Diminished() && !s.Chord.Tones.Has(degS5)
}

// substitutes tells whether a dominant by substitution goes with the tune: no
// exposed note may be its ♭9, 11 or major 7th, the old 5th, 7th and 4th.
func (p Passage) substitutes(ch theory.Chord, from, until theory.Dur) bool {
	for _, n := range harmony.Fits(p.Song, ch, from, until).Notes {
		if n.Exposed && (n.Degree == degB9 || n.Degree == deg11 || n.Degree == deg7) {
			return false
		}
	}
	return true
}

// own tells whether the span's chord is a colour of the sheet's own that a device
// should leave alone: a borrowed chord, or a dominant on its way somewhere.
func (p Passage) own() bool {
	switch p.Span.Function {
	case harmony.Borrowed, harmony.Applied, harmony.Substitute, harmony.Related:
		return true
	}
	return false
}

// insert splits the span: its own chord first, then another that leads on. nil
// where the tune refuses.
func (p Passage) insert(at theory.Dur, ch theory.Chord, why reason.Reason, cost int) []Rewrite {
	fit := harmony.Fits(p.Song, ch, at, p.Span.End)
	if fit.Verdict == harmony.Refused || grates(ch, fit) {
		return nil
	}
	return []Rewrite{{Cost: cost, Chromatic: 1, Chords: []Chord{
		{At: p.Span.At, End: at, Chord: p.Span.Chord},
		{At: at, End: p.Span.End, Chord: ch, Why: reason.Clauses(why, tuneNote(fit))},
	}}}
}

// replace puts another chord in the place of the whole span.
func (p Passage) replace(ch theory.Chord, why reason.Reason, cost, chromatic int) []Rewrite {
	fit := harmony.Fits(p.Song, ch, p.Span.At, p.Span.End)
	if fit.Verdict == harmony.Refused || grates(ch, fit) {
		return nil
	}
	return []Rewrite{{Cost: cost, Chromatic: chromatic, Chords: []Chord{
		{At: p.Span.At, End: p.Span.End, Chord: ch, Why: reason.Clauses(why, tuneNote(fit))}}}}
}

// grates tells whether a note of the tune that is heard with a chord lies a half
// step below its root, or below the third of a diminished one, without belonging
// to it. The sheet may have such a chord; we put none there.
func grates(ch theory.Chord, fit harmony.Fit) bool {
	for _, n := range fit.Notes {
		if !n.Exposed || n.In {
			continue
		}
		if d := n.Degree.Class(); d == deg7.Class() || d == deg9.Class() && ch.Diminished() {
			return true
		}
	}
	return false
}

// tuneNote names what the tune's exposed note is to the new chord.
func tuneNote(fit harmony.Fit) reason.Reason {
	for _, n := range fit.Notes {
		if n.Exposed {
			return reason.MelodyIs{Note: n.Name, Degree: n.Degree}
		}
	}
	return nil
}

// leads says how a dominant's third and seventh move into the target.
func leads(ch theory.Chord, target theory.Chord) []Lead {
	third := deg3.On(ch.Root)
	out := []Lead{{third, target.Root, reason.LeadsTo{From: third, To: target.Root}}}
	if d, ok := target.Third(); ok {
		seventh := degB7.On(ch.Root)
		goal := d.On(target.Root)
		if diff := (seventh.Class() - goal.Class() + 12) % 12; diff == 1 || diff == 2 {
			out = append(out, falls(seventh, goal))
		}
	}
	return out
}

// falls says how a note falls by step.
func falls(from, to theory.Name) Lead { return Lead{from, to, reason.FallsTo{From: from, To: to}} }

// bassSteps says how the root of a chord steps into the target's.
func bassSteps(ch, target theory.Name) []Lead {
	return []Lead{{ch, target, reason.BassSteps{From: ch, To: target}}}
}

// leading gives a rewrite's last chord, the one that leads on, its leads.
func leading(rws []Rewrite, leads []Lead) []Rewrite {
	for _, rw := range rws {
		rw.Chords[len(rw.Chords)-1].Leads = leads
	}
	return rws
}

// dominantOf says to which degree a dominant belongs, in the case of the key's own
// chord on it, as in V7/ii.
func (p Passage) dominantOf() reason.Reason {
	target := p.Next.Chord.Root
	if of := p.Span.Key.RomanOf(seventhOn(target.Up(fifthUp)), target).Of; of.Degree > 0 {
		return reason.DominantOf{Goal: of}
	}
	return reason.DominantOf{Goal: p.Span.Key.PlainRoman(p.Next.Chord.Triad()).Numeral}
}

func classesApart(from, to theory.Name) int { return (to.Class() - from.Class() + 12) % 12 }

// applied tells whether the chord is a dominant outside the key whose root moves
// to the next by so many half steps upwards: 5 a fourth (V7/x), 11 a half step
// down, 2 a step up.
func applied(h sight.Harmony, up int) bool {
	return h.Chord().Dominant() && !h.Next.Silent() && classesApart(h.Chord().Root, h.Next.Root) == up && !allInKey(h.Key, *h.Chord())
}

func allInKey(k theory.Key, ch theory.Chord) bool {
	for _, n := range ch.Spell() {
		if !k.Contains(n) && !(k.Mode == theory.Minor && classesApart(k.Tonic, n) == 11) {
			return false
		}
	}
	return true
}
