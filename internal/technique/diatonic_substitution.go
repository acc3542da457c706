package technique

import (
	"fmt"

	"gradatim/internal/harmony"
	"gradatim/theory"
)

// diatonicSubstitution takes another chord of the same function, with two notes
// in common.
var diatonicSubstitution = &Technique{
	ID: "diatonic-substitution", Name: "Substitute with two common tones", Level: 3, Stage: Device,
	What:  "A chord of the same function that shares two notes takes its place, or its second half: iii or vi for I, ii for IV.",
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		if p.First || p.Final || p.Arrives || p.Span.Chord.Slash {
			return nil
		}
		key := p.Span.Key
		deg, alter := key.Degree(p.Span.Chord.Root)
		if alter != 0 || key.Mode.Minorish() || p.Span.Chord.Dominant() || isSus(p.Span.Chord) || p.Span.Chord.Diminished() {
			return nil
		}
		var others []int
		switch deg {
		case 1:
			others = []int{6, 3}
		case 4:
			others = []int{2}
		}
		half := p.Span.Dur() / 2
		if half < p.shortest() || half%p.pulse() != 0 {
			return nil
		}
		mid := p.Span.At + half
		var out []Rewrite
		for _, o := range others {
			sub := minorSeventhOn(key.Scale()[o-1])
			fit := harmony.Fits(p.Song, sub, mid, p.Span.End)
			if fit.Verdict != harmony.Fitting {
				continue
			}
			if p.Next.Sounding() && p.Next.Chord.Root == sub.Root {
				continue
			}
			why := fmt.Sprintf("%s shares two notes with %s and keeps the function", sub.Root.Pretty()+"m7", p.Span.Chord.Triad().Pretty())
			out = append(out, Rewrite{Cost: 3 + fit.Cost/4, Chords: []Chord{
				{At: p.Span.At, End: mid, Chord: p.Span.Chord},
				{At: mid, End: p.Span.End, Chord: sub, Why: why},
			}})
		}
		return out
	},
	Recognise: recogniseSubstitution,
	Teach: Teaching{
		How:      "Keep two notes and move the bass by a third: I becomes vi or iii, IV becomes ii.",
		Practise: []string{"I – vi7, I – iii7, IV – ii7: say the two notes that stay."},
		Listen:   "The harmony turns without leaving.",
		Mistakes: []string{"substituting the last tonic"},
	},
	Drill: Drill{ChordShapes, "I – vi7 – iii7 with the common notes held."},
}

// lineCliche lets one inner voice fall or rise by half steps through a chord
// that stays.
var lineCliche = &Technique{
	ID: "line-cliche", Name: "Line cliché", Level: 3, Stage: Device,
	What:  "While one chord lasts, one voice walks by half steps: 1–7–♭7–6 in minor, 5–♯5–6 in major.",
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		ch := p.Span.Chord
		bar := p.meter().Bar()
		if p.Span.Dur() < 2*bar || p.Span.Dur()%4 != 0 || ch.Slash || isSus(ch) || ch.Dominant() || ch.Diminished() || p.Final {
			return nil
		}
		root := ch.Root
		minor := [][]theory.Degree{{deg1, degB3, deg5}, {deg1, degB3, deg5, deg7}, {deg1, degB3, deg5, degB7}, {deg1, degB3, deg5, deg6}}
		major := [][]theory.Degree{{deg1, deg3, deg5}, {deg1, deg3, degS5}, {deg1, deg3, deg5, deg6}, {deg1, deg3, degS5}}
		steps := major
		why := "one voice climbs 5 – ♯5 – 6"
		if ch.MinorThird() {
			steps, why = minor, "one voice falls 1 – 7 – ♭7 – 6"
		}
		unit := p.Span.Dur() / 4
		rw := Rewrite{Cost: 4}
		for k, ds := range steps {
			c := theory.Chord{Root: root, Tones: theory.DegreesOf(ds...)}
			from, until := p.Span.At+theory.Dur(k)*unit, p.Span.At+theory.Dur(k+1)*unit
			fit := harmony.Fits(p.Song, c, from, until)
			if fit.Verdict == harmony.Refused {
				return nil
			}
			rw.Cost += fit.Cost / 4
			rw.Chords = append(rw.Chords, Chord{At: from, End: until, Chord: c, Why: why})
		}
		return []Rewrite{rw}
	},
	Recognise: recogniseCliche,
	Teach: Teaching{
		How:      "Hold the chord and let one finger walk down (or up) a half step at a time.",
		Practise: []string{"The walking voice alone, then with the chord held."},
		Listen:   "A second tune inside the chord.",
		Mistakes: []string{"restriking the notes that stay"},
	},
	Drill: Drill{OnOneChord, "The moving voice over the held chord."},
}
