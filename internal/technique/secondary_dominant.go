package technique

import "fmt"

// secondaryDominant turns a chord whose root falls a fifth into a dominant of
// the next.
var secondaryDominant = &Technique{
	ID: "secondary-dominant", Name: "Secondary dominant", Level: 4, Stage: Device,
	What:  "A chord whose root falls a fifth to the next becomes that chord's own dominant.",
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		ch, next := p.Span.Chord, p.Next
		if p.First || p.Final || !stable(next) || ch.Dominant() || classesApart(ch.Root, next.Chord.Root) != 5 || ch.Silent() || isSus(ch) {
			return nil
		}
		if ch.Diminished() {
			return nil
		}
		v := seventhOn(ch.Root)
		why := fmt.Sprintf("V of %s: %s", p.goalName(), leads(v, next.Chord))
		var out []Rewrite
		out = append(out, p.replace(v, why, 6, 1)...)
		for _, at := range p.tails(p.shortest()) {
			out = append(out, p.insert(at, v, why, 4)...)
		}
		return out
	},
	Recognise: recogniseApplied,
	Teach: Teaching{
		How:      "Raise the chord's third by a half step if it is minor and add the 7th: now it pulls to the next chord.",
		Practise: []string{"For each chord of the tune play its own V7, then the chord."},
		Listen:   "The raised third is a new leading tone: hear it rise.",
		Mistakes: []string{"losing the tune's note against the new third"},
	},
	Drill: Drill{TwoFiveOne, "V7 of each chord of the tune, then the chord."},
}

// insertedDominant gives the end of a long chord to the next chord's dominant.
var insertedDominant = &Technique{
	ID: "inserted-dominant", Name: "Inserted applied dominant", Level: 4, Stage: Device,
	What:  "The last beats of a chord become the dominant of the next.",
	Needs: []string{"secondary-dominant"},
	Rewrite: func(p Passage) []Rewrite {
		next := p.Next
		if p.Final || !stable(next) || p.Span.Chord.Silent() || next.Chord.Root == p.Span.Chord.Root || classesApart(p.Span.Chord.Root, next.Chord.Root) == 5 && p.Span.Chord.Dominant() {
			return nil
		}
		v := seventhOn(next.Chord.Root.Up(fifthUp))
		if v.Root.Class() == p.Span.Chord.Root.Class() {
			return nil
		}
		why := fmt.Sprintf("V of %s: %s", p.goalName(), leads(v, next.Chord))
		least := p.shortest()
		if p.Level >= 5 {
			least = p.weak()
		}
		var out []Rewrite
		for i, at := range p.tails(least) {
			out = append(out, p.insert(at, v, why, 4+i)...)
		}
		return out
	},
	Recognise: recogniseInserted,
	Teach: Teaching{
		How:      "Find the note a fifth above the next chord's root and play a 7th chord on it just before.",
		Practise: []string{"Say the next chord, then its V7, then play both."},
		Listen:   "Each new chord arrives as if it were home.",
		Mistakes: []string{"playing the inserted chord late"},
	},
	Drill: Drill{TwoFiveOne, "Chord, V7 of the next, next chord – round the tune."},
}
