package technique

import (
	"fmt"

	"gradatim/internal/harmony"
	"gradatim/theory"
)

// leadingDiminished slips the diminished chord on the target's leading tone into
// the weak beat before it.
var leadingDiminished = &Technique{
	ID: "leading-diminished", Name: "Leading-tone diminished", Level: 4, Stage: Device,
	What:  "Before a chord stands the diminished seventh a half step below its root.",
	Needs: []string{"secondary-dominant"},
	Rewrite: func(p Passage) []Rewrite {
		if p.Final || !stable(p.Next) || p.Span.Chord.Silent() {
			return nil
		}
		dim := diminishedOn(p.friendly(p.Next.Chord.Root.Up(halfDown)))
		if apart := classesApart(p.Span.Chord.Root, p.Next.Chord.Root); apart == 2 || apart == 0 || apart == 1 {
			return nil // the passing diminished, or nowhere to go
		}
		v := p.Next.Chord.Root.Up(fifthUp)
		why := fmt.Sprintf("a rootless %s7(♭9): the bass leads from %s up to %s", v.Pretty(), dim.Root.Pretty(), p.Next.Chord.Root.Pretty())
		return p.insertFirst(p.weak(), dim, why, 6)
	},
	Recognise: recogniseLeading,
	Teach: Teaching{
		How:      "Stack minor thirds on the note a half step below the next root.",
		Practise: []string{"vii°7 and its chord, for each chord of the tune."},
		Listen:   "The bass is the leading tone.",
		Mistakes: []string{"holding it too long"},
	},
	Drill: Drill{AroundChords, "Each chord of the tune, approached by its diminished seventh."},
}

// insertFirst inserts a chord at the latest possible place.
func (p Passage) insertFirst(least theory.Dur, ch theory.Chord, why string, cost int) []Rewrite {
	for _, at := range p.tails(least) {
		if rw := p.insert(at, ch, why, cost); rw != nil {
			return rw
		}
	}
	return nil
}

// passingDiminished fills the whole step between two roots, upwards or down from
// iii to ii.
var passingDiminished = &Technique{
	ID: "passing-diminished", Name: "Passing diminished", Level: 4, Stage: Device,
	What:  "Between two chords a whole step apart the bass passes through the half step, under a diminished seventh.",
	Needs: []string{"leading-diminished"},
	Rewrite: func(p Passage) []Rewrite {
		ch, next := p.Span.Chord, p.Next
		if p.Final || !next.Sounding() || ch.Silent() || ch.Slash || ch.Diminished() {
			return nil
		}
		deg, alter := p.Span.Key.Degree(ch.Root)
		to, talter := p.Span.Key.Degree(next.Chord.Root)
		switch classesApart(ch.Root, next.Chord.Root) {
		case 2:
			dim := diminishedOn(p.friendly(ch.Root.Up(raised)))
			why := fmt.Sprintf("the bass passes %s – %s – %s; it stands for %s7(♭9) without its root", ch.Root.Pretty(), dim.Root.Pretty(),
				next.Chord.Root.Pretty(), next.Chord.Root.Up(fifthUp).Pretty())
			return p.insertFirst(p.shortest(), dim, why, 1)
		case 10:
			if deg == 3 && to == 2 && alter == 0 && talter == 0 && !p.Span.Key.Mode.Minorish() {
				dim := diminishedOn(p.friendly(next.Chord.Root.Up(halfUp)))
				why := fmt.Sprintf("the bass passes down %s – %s – %s; two diatonic chords joined by a half step, no dominant", ch.Root.Pretty(), dim.Root.Pretty(), next.Chord.Root.Pretty())
				return p.insertFirst(p.shortest(), dim, why, 1)
			}
		}
		return nil
	},
	Recognise: recognisePassing,
	Teach: Teaching{
		How:      "Raise the bass by a half step and build minor thirds on it; the other voices hardly move.",
		Practise: []string{"I – ♯i°7 – ii – ♯ii°7 – iii, slowly, left hand alone."},
		Listen:   "The bass climbs by half steps.",
		Mistakes: []string{"moving all voices instead of the bass"},
	},
	Drill: Drill{AroundChords, "I – ♯i°7 – ii in the tune's key."},
}

// commonToneDiminished colours a chord that stays with the diminished seventh on
// its own root.
var commonToneDiminished = &Technique{
	ID: "common-tone-diminished", Name: "Common-tone diminished", Level: 4, Stage: Device,
	What:  "A chord that lasts leaves for the diminished seventh on its own root and comes back.",
	Needs: []string{"passing-diminished"},
	Rewrite: func(p Passage) []Rewrite {
		ch := p.Span.Chord
		bar := p.meter().Bar()
		if p.Span.Dur() < 2*bar || ch.MinorThird() || ch.Dominant() || ch.Silent() || ch.Slash || isSus(ch) || p.Final {
			return nil
		}
		from := p.Span.At + bar/2
		if p.meter().BeatCount()%2 == 1 {
			from = p.Span.At + bar - p.pulse()
		}
		to := p.Span.At + bar
		dim := diminishedOn(ch.Root)
		fit := harmony.Fits(p.Song, dim, from, to)
		if fit.Verdict != harmony.Fitting {
			return nil
		}
		why := fmt.Sprintf("%s stays in the bass while the others leave by a half step and return", ch.Root.Pretty())
		return []Rewrite{{Cost: 5 + fit.Cost/4, Chromatic: 1, Chords: []Chord{
			{At: p.Span.At, End: from, Chord: ch},
			{At: from, End: to, Chord: dim, Why: why},
			{At: to, End: p.Span.End, Chord: ch},
		}}}
	},
	Recognise: recogniseCommonTone,
	Teach: Teaching{
		How:      "Hold the root; third, fifth and sixth move by a half step and come back.",
		Practise: []string{"I – i°7 – I with the root held down."},
		Listen:   "A breath in place: nothing goes anywhere.",
		Mistakes: []string{"letting the root go"},
	},
	Drill: Drill{OnOneChord, "I – i°7 – I, the root held."},
}
