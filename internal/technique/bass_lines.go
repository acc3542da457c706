package technique

import (
	"fmt"

	"gradatim/theory"
)

// steppingBass uses inversions so that the bass moves by step.
var steppingBass = &Technique{
	ID: "stepping-bass", Name: "Stepwise bass with inversions", Level: 3, Stage: Device,
	What:  "A chord stands on its third or fifth so that the bass steps instead of leaping.",
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		ch := p.Span.Chord
		if p.First || p.Final || p.Arrives || ch.Slash || !p.Prev.Sounding() || !p.Next.Sounding() || p.Span.Dur() > p.meter().Bar() || Jazzy(p.Style) || ch.Diminished() || isSus(ch) {
			return nil
		}
		third, ok := ch.Third()
		if !ok {
			return nil
		}
		bass := third.On(ch.Root)
		before, after := p.Prev.Chord.Lowest(), p.Next.Chord.Lowest()
		in, out := stepBetween(before, bass), stepBetween(bass, after)
		if in == 0 || out == 0 || in*out < 0 {
			return nil
		}
		slash := ch
		slash.Slash, slash.Bass = true, bass
		way := "down"
		if in > 0 {
			way = "up"
		}
		return []Rewrite{{Cost: 1, Chords: []Chord{{At: p.Span.At, End: p.Span.End, Chord: slash,
			Why: fmt.Sprintf("the bass steps %s: %s – %s – %s", way, before.Pretty(), bass.Pretty(), after.Pretty())}}}}
	},
	Recognise: recogniseSteppingBass,
	Teach: Teaching{
		How:      "Put the third at the bottom and join the basses into a line.",
		Practise: []string{"The bass line alone, sung, then with chords."},
		Listen:   "The bass is a tune.",
		Mistakes: []string{"doubling the bass third higher up"},
	},
	Drill: Drill{BassAlone, "The stepping bass of one phrase."},
}

// stepBetween returns +1 or −1 (or ±2) where two names are a step apart, else 0.
func stepBetween(a, b theory.Name) int {
	switch d := classesApart(a, b); d {
	case 1, 2:
		return d
	case 10, 11:
		return d - 12
	}
	return 0
}

// pedalPoint holds the dominant in the bass before a cadence.
var pedalPoint = &Technique{
	ID: "pedal-point", Name: "Pedal point", Level: 3, Stage: Device,
	What:  "The bass stays on the dominant while ii and V pass above it.",
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		ch, next := p.Span.Chord, p.Next
		if Jazzy(p.Style) || ch.Slash || !next.Sounding() || p.First {
			return nil
		}
		deg, alter := p.Span.Key.Degree(ch.Root)
		to, talter := p.Span.Key.Degree(next.Chord.Root)
		if deg != 2 && deg != 4 || to != 5 || alter != 0 || talter != 0 || next.Chord.Slash || p.Span.Dur() < p.meter().Bar() {
			return nil
		}
		slash := ch
		slash.Slash, slash.Bass = true, next.Chord.Root
		return []Rewrite{{Cost: 3, Chords: []Chord{{At: p.Span.At, End: p.Span.End, Chord: slash,
			Why: fmt.Sprintf("%s stays in the bass as a pedal until the cadence", next.Chord.Root.Pretty())}}}}
	},
	Recognise: recognisePedal,
	Teach: Teaching{
		How:      "Keep one bass note and change only what is above it.",
		Practise: []string{"ii and V over the same bass note."},
		Listen:   "Tension gathers until the bass moves.",
		Mistakes: []string{"restriking the pedal too loudly"},
	},
	Drill: Drill{BassAlone, "ii and V over one bass note."},
}

// commonTonePad keeps tonic and fifth of the key sounding over changing roots.
var commonTonePad = &Technique{
	ID: "common-tone-pad", Name: "Held tonic and fifth", Level: 2, Stage: Device,
	What:  "In pop style the key's 1 and 5 stay inside each chord while the roots change below.",
	Needs: []string{"added-notes"},
	Paint: func(t Toned) []Tint {
		key := t.Passage.Span.Key
		if Jazzy(t.Passage.Style) || key.Mode.Minorish() || isSus(t.Chord) || t.Chord.Diminished() {
			return nil
		}
		deg, alter := key.Degree(t.Chord.Root)
		if alter != 0 || t.Chord.Dominant() {
			return nil
		}
		var tones theory.Degrees
		var added theory.Degree
		switch {
		case deg == 4: // 1 of the key is its fifth, 5 of the key its 9th
			tones, added = theory.DegreesOf(deg1, deg3, deg5, deg9), deg9
		case deg == 6 && t.Chord.MinorThird(): // 1 and 5 of the key are its third and seventh
			tones, added = theory.DegreesOf(deg1, degB3, deg5, degB7), degB7
		default:
			return nil
		}
		if clashes(t, added) {
			return nil
		}
		ch := theory.Chord{Root: t.Chord.Root, Tones: tones, Slash: t.Chord.Slash, Bass: t.Chord.Bass}
		fifth := key.Tonic.Up(fifthUp).Pretty()
		return []Tint{{Chord: ch, Added: added, Cost: 3, Why: fmt.Sprintf("%s and %s of the key stay while the root moves", key.Tonic.Pretty(), fifth)}}
	},
	Recognise: recognisePad,
	Teach: Teaching{
		How:      "Keep the upper two notes down and move only the bass.",
		Practise: []string{"Hold 1 and 5 of the key in the right hand, play the roots in the left."},
		Listen:   "The held notes change their meaning with each root.",
		Mistakes: []string{"letting the held notes go"},
	},
	Drill: Drill{AroundChords, "1 and 5 of the key held over the tune's roots."},
}
