package technique

import (
	"gradatim/internal/hand"
	"gradatim/score"
	"gradatim/theory"
)

// beatOf is the length of a beat at a spot.
func beatOf(s Spot) theory.Dur { return s.Cell.Meter.BeatDur() }

// onBeat tells whether the spot's note begins on a beat and was not pushed.
func onBeat(s Spot) bool {
	return !s.Note.Pushed && (s.Note.At-s.Cell.BarAt)%s.Cell.Pulse() == 0
}

// chordTone tells whether the spot's note belongs to its chord.
func chordTone(s Spot) bool { return s.Cell.Chord.HasClass(s.Note.Pitch.Class()) }

func grace(s Spot, place uint8, p theory.Pitch) Tone {
	return Tone{At: s.Note.At, Pitch: p, Kind: score.Ornamental, Grace: place, Marks: score.Slashed}
}

// slide goes from a black key into the white one a half step above it with one
// finger.
var slide = &Technique{
	ID: "slide", Name: "Slide", Level: 3, Stage: Ornament,
	What:  "One finger slides from the black key a half step below into the white key of the tune.",
	Needs: []string{"guide-tones"},
	Adorn: func(s Spot) []Figure {
		p := s.Note.Pitch.Up(halfDown)
		if p.Letter == s.Note.Pitch.Letter || !hand.Black(p.MIDI()) {
			p = s.Note.Pitch.Up(raised.Neg())
		}
		if hand.Black(s.Note.Pitch.MIDI()) || !hand.Black(p.MIDI()) || !onBeat(s) || !chordTone(s) || s.Note.End-s.Note.At < beatOf(s) || s.Before.End > s.Note.At {
			return nil
		}
		if s.Before.Pitch.MIDI() == p.MIDI() || s.Before.Pitch.MIDI() == s.Note.Pitch.MIDI() {
			return nil
		}
		return []Figure{{Say: "a slide from the black key below, same finger", Tones: []Tone{grace(s, 1, graceSpelling(s, p))}}}
	},
	Recognise: recogniseSlides,
	Teach: Teaching{
		How:      "Let the finger fall off the black key into the white one: one movement, no lift.",
		Practise: []string{"Each of the five slides (C♯–D, D♯–E, F♯–G, G♯–A, A♯–B) alone."},
		Listen:   "Quick, and on the beat.",
		Mistakes: []string{"two separate notes"},
	},
	Drill: Drill{OrnamentDrill, "The slide into each long note of the phrase."},
}

// graceSpelling writes the note a half step below as the raised lower neighbour.
func graceSpelling(s Spot, p theory.Pitch) theory.Pitch {
	q := s.Note.Pitch.Up(halfDown)
	if q.MIDI() == p.MIDI() && q.Alter >= -1 && q.Alter <= 1 {
		return q
	}
	return p
}

// crush strikes the key a half step below and lets it go at once.
var crush = &Technique{
	ID: "crush", Name: "Crushed note", Level: 3, Stage: Ornament,
	What:  "The key a half step below is struck almost with the tune's note and let go at once.",
	Needs: []string{"guide-tones"},
	Adorn: func(s Spot) []Figure {
		p := graceSpelling(s, s.Note.Pitch.Up(halfDown))
		if !onBeat(s) || !chordTone(s) || s.Note.End-s.Note.At < beatOf(s) || s.Before.End > s.Note.At || p.MIDI() == s.Before.Pitch.MIDI() || abs(int(p.Alter)) > 1 {
			return nil
		}
		return []Figure{{Cost: 1, Say: "a crushed half step below", Tones: []Tone{grace(s, 1, p)}}}
	},
	Recognise: recogniseCrushes,
	Teach: Teaching{
		How:      "Two neighbouring fingers, the lower one off at once.",
		Practise: []string{"Crush the third of each chord of the tune."},
		Listen:   "A spark, not a note.",
		Mistakes: []string{"too slow"},
	},
	Drill: Drill{OrnamentDrill, "A crush before each long note."},
}

// mordent goes to the lower neighbour and back.
var mordent = &Technique{
	ID: "mordent", Name: "Mordent", Level: 4, Stage: Ornament,
	What:  "The note, its lower neighbour and the note again, quickly, on the beat.",
	Needs: []string{"slide"},
	Adorn: func(s Spot) []Figure {
		if !onBeat(s) || s.Note.End-s.Note.At < beatOf(s) || s.Cell.beatTempo() > 120 {
			return nil
		}
		return []Figure{{Cost: 1, Say: "a mordent: the lower neighbour and back", Sign: score.Mordent}}
	},
	Recognise: recogniseSign(score.Mordent),
	Teach: Teaching{
		How:      "Three quick notes in the time of one, the first on the beat.",
		Practise: []string{"Slowly as a triplet, then faster, loose wrist."},
		Listen:   "The beat does not wait.",
		Mistakes: []string{"starting before the beat"},
	},
	Drill: Drill{OrnamentDrill, "A mordent on each long note."},
}

// turn goes round the note.
var turn = &Technique{
	ID: "turn", Name: "Turn", Level: 4, Stage: Ornament,
	What:  "Upper neighbour, note, lower neighbour, note: once round a longer note.",
	Needs: []string{"mordent"},
	Adorn: func(s Spot) []Figure {
		if s.Note.End-s.Note.At < beatOf(s)*3/2 || !onBeat(s) {
			return nil
		}
		return []Figure{{Say: "a turn: once round the note", Sign: score.Turn}}
	},
	Recognise: recogniseSign(score.Turn),
	Teach: Teaching{
		How:      "Play the note, then go round it late in its length and on to the next.",
		Practise: []string{"Four even notes first; then delay them."},
		Listen:   "It leans into the next note.",
		Mistakes: []string{"turning too early"},
	},
	Drill: Drill{OrnamentDrill, "A turn on each long note of the phrase."},
}

// enclosure surrounds the next target from above and below.
var enclosure = &Technique{
	ID: "enclosure", Name: "Enclosure", Level: 4, Stage: Ornament,
	What:  "The note above and the half step below come before the tune's next strong note.",
	Needs: []string{"chord-fill"},
	Adorn: func(s Spot) []Figure {
		if s.Next.Event < 0 || s.Until-s.From < beatOf(s) || s.Until != s.Next.At || !s.Goal.HasClass(s.Next.Pitch.Class()) {
			return nil
		}
		unit := theory.Eighth
		if s.Cell.Meter.Unit == 2 {
			unit = theory.Eighth
		}
		above := s.Next.Pitch.Up(theory.Interval{Steps: 1, Semitones: 2})
		if !s.Cell.Key.Contains(above.Name) {
			above = s.Next.Pitch.Up(halfUp)
		}
		below := s.Next.Pitch.Up(halfDown)
		if abs(int(below.Alter)) > 1 || abs(int(above.Alter)) > 1 {
			return nil
		}
		at := s.Until - 2*unit
		if at < s.From || at < s.Note.At+unit {
			return nil
		}
		return []Figure{{Cost: 1, CutTune: at, Say: "encloses " + s.Next.Pitch.Name.Pretty() + " from above and below", Tones: []Tone{
			{At: at, Dur: unit, Pitch: above, Kind: score.Ornamental},
			{At: at + unit, Dur: unit, Pitch: below, Kind: score.Ornamental}}}}
	},
	Recognise: recogniseEnclosures,
	Teach: Teaching{
		How:      "Scale step above, half step below, then the note: aim for the third of the three.",
		Practise: []string{"Enclose root, third and fifth of each chord of the tune."},
		Listen:   "The target is the loudest.",
		Mistakes: []string{"arriving late"},
	},
	Drill: Drill{OrnamentDrill, "Enclose each chord tone of I."},
}

// tremolo shakes an octave or third through a long note.
var tremolo = &Technique{
	ID: "tremolo", Name: "Tremolo", Level: 5, Stage: Ornament,
	What:  "A long note shakes with its chord tone below, as fast as comes easily.",
	Needs: []string{"octaves"},
	Adorn: func(s Spot) []Figure {
		if s.Note.Pushed || s.Note.End-s.Note.At < 4*beatOf(s) || s.Next.Event < 0 {
			return nil
		}
		return []Figure{{Cost: 3, Say: "a tremolo through the long note", Sign: score.Tremolo}}
	},
	Recognise: recogniseSign(score.Tremolo),
	Teach: Teaching{
		How:      "Rotate the forearm; the fingers stay near the keys.",
		Practise: []string{"Four seconds, then rest."},
		Listen:   "A shimmer, no hammering.",
		Mistakes: []string{"a locked wrist"},
		Caution:  "Stop as soon as the forearm tires.",
	},
	Drill: Drill{OrnamentDrill, "Tremolo on one long note, four seconds, rest."},
}
