package choice

import (
	"slices"

	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Choice is one thing that a teacher has fixed at one level, from a moment of the song
// until another, in the order of playing.
type Choice struct {
	Level     int
	At, Until theory.Dur // Until is exclusive
	Fix       Fix
	Pos       leadsheet.Pos // where it was written; Bar is the sheet's
}

// For tells whether the choice is one for a level.
func (c Choice) For(l ladder.Level) bool { return c.Level == l.Number }

// Fix is what a choice fixes: a Chord, Use, Avoid, Figure, Added, TakenAway, Moved,
// Finger, Octave, Loud or Lock.
type Fix interface {
	// In returns the same in another key.
	In(iv theory.Interval) Fix
}

// Chord is the chord there.
type Chord struct{ Chord theory.Chord }

// Use asks for a technique, Avoid rules one out, by its id.
type (
	Use   struct{ Technique string }
	Avoid struct{ Technique string }
)

// Figure is what one hand plays, the tune left aside.
type Figure struct {
	Hand  score.Hand
	By    string // technique id; "" is by hand
	Tones []technique.Tone
}

// Added is a note more.
type Added struct {
	Hand score.Hand
	Tone technique.Tone // Dur 0: as long as what is struck with it; Kind 0: what it is to the chord
}

// TakenAway is a note less: the one of this key that is struck at the choice's At.
type TakenAway struct {
	Hand  score.Hand // 0: whichever has it
	Pitch theory.Pitch
}

// Moved is a note moved: the one of the key From that is struck at the choice's At.
type Moved struct {
	Hand score.Hand // 0: whichever has it
	From theory.Pitch
	To   technique.Tone // Dur 0: as long as it was
}

// Finger is the finger for a note that is struck at the choice's At.
type Finger struct {
	Hand   score.Hand // 0: whichever has it
	Pitch  theory.Pitch
	Finger uint8 // 1 to 5
}

// Octave moves the tune by octaves from where the page would have it.
type Octave struct{ By int }

// Loud is how loud it is: the sign that stands at the choice's At, "mf", and holds.
type Loud struct{ Sign string }

// Lock is a bar as it is.
type Lock struct{ Bar }

// In moves the choice with the tune.
func (c Choice) In(iv theory.Interval) Choice {
	c.Fix = c.Fix.In(iv)
	return c
}

// In moves choices with the tune into another key.
func In(cs []Choice, iv theory.Interval) []Choice {
	out := slices.Clone(cs)
	for i := range out {
		out[i] = out[i].In(iv)
	}
	return out
}

// In returns the chord in another key.
func (c Chord) In(iv theory.Interval) Fix { return Chord{c.Chord.Transpose(iv)} }

// In returns the same: a technique has no key.
func (u Use) In(theory.Interval) Fix { return u }

// In returns the same: a technique has no key.
func (a Avoid) In(theory.Interval) Fix { return a }

// In returns the figure in another key.
func (f Figure) In(iv theory.Interval) Fix {
	f.Tones = tonesIn(f.Tones, iv)
	return f
}

// In returns the note in another key.
func (a Added) In(iv theory.Interval) Fix {
	a.Tone.Pitch = a.Tone.Pitch.Up(iv)
	return a
}

// In returns the note in another key.
func (t TakenAway) In(iv theory.Interval) Fix {
	t.Pitch = t.Pitch.Up(iv)
	return t
}

// In returns both notes in another key.
func (m Moved) In(iv theory.Interval) Fix {
	m.From, m.To.Pitch = m.From.Up(iv), m.To.Pitch.Up(iv)
	return m
}

// In returns the note in another key, with its finger.
func (f Finger) In(iv theory.Interval) Fix {
	f.Pitch = f.Pitch.Up(iv)
	return f
}

// In returns the same.
func (o Octave) In(theory.Interval) Fix { return o }

// In returns the same: a sign has no key.
func (l Loud) In(theory.Interval) Fix { return l }

// In returns the bar in another key.
func (l Lock) In(iv theory.Interval) Fix { return Lock{l.Bar.In(iv)} }

func tonesIn(ts []technique.Tone, iv theory.Interval) []technique.Tone {
	out := slices.Clone(ts)
	for i := range out {
		out[i].Pitch = out[i].Pitch.Up(iv)
	}
	return out
}
