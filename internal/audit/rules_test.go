package audit

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/hand"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// cases holds, for every rule, a score that breaks it and nothing else, and one
// beside it that just passes everything.
var cases = []struct {
	code string
	what string
	sheet
	hand string // profile; empty: the default
	want int    // violations of the code; 0: the score passes every rule
}{
	{BarLength, "a bar too long", sheet{rh: []string{"C5:4"}, change: func(s *score.Score) { s.Bars[0].Meter.Beats = 3 }}, "", 1},
	{BarLength, "a bar too short within the piece", sheet{rh: []string{"C5:4 C5:4 C5:4"}, change: func(s *score.Score) {
		s.Bars[1].Meter = leadsheet.Meter{Beats: 5, Unit: 4}
	}}, "", 1},
	{BarLength, "a short last bar", sheet{rh: []string{"C5:4 C5:4"}, change: func(s *score.Score) { s.Bars[1].Meter.Beats = 5 }}, "", 0},
	{BarLength, "a bar split in two", sheet{rh: []string{"C5:4 C5:2 C5:2 C5:4"}, change: func(s *score.Score) {
		b := s.Bars
		half := b[1]
		half.Dur /= 2
		late := half
		late.At += late.Dur
		s.Bars = []score.Bar{b[0], half, late, b[2]}
	}}, "", 0},
	{BarLength, "a pick-up", sheet{pickup: 1, rh: []string{"C5:1 C5:4"}}, "", 0},
	{BarLength, "no metre", sheet{rh: []string{"C5:4"}, change: func(s *score.Score) { s.Bars[0].Meter = leadsheet.Meter{} }}, "", 1},
	{BarGap, "a gap", sheet{rh: []string{"C5:4 r:4 C5:4"}, change: func(s *score.Score) { s.Bars = slices.Delete(s.Bars, 1, 2) }}, "", 1},
	{BarGap, "bars on end", sheet{rh: []string{"C5:4 r:4 C5:4"}}, "", 0},
	{NoteLength, "a note without length", sheet{rh: []string{"C5:4"}, change: func(s *score.Score) { s.Notes[0].Dur = 0 }}, "", 1},
	{NoteLength, "a grace note with one", sheet{rh: []string{"^D5 C5:4"}, change: func(s *score.Score) { s.Notes[0].Dur = 1 }}, "", 1},
	{NoteLength, "a grace note", sheet{rh: []string{"^D5 C5:4"}}, "", 0},
	{NoteOutside, "a note beyond the end", sheet{bars: 1, rh: []string{"C5:5"}}, "", 1},
	{NoteOutside, "a note to the end", sheet{bars: 1, rh: []string{"C5:4"}}, "", 0},
	{VoiceOverlap, "a note begins before the last ends", sheet{rh: []string{"C5:2 D5:2"}, change: func(s *score.Score) { s.Notes[0].Dur += theory.Eighth }}, "", 1},
	{VoiceOverlap, "a chord whose notes end apart: one is tied on", sheet{rh: []string{"E4+C5:4"}, change: func(s *score.Score) { s.Notes[0].Dur /= 2 }}, "", 0},
	{VoiceOverlap, "a chord of which one note is tied over", sheet{rh: []string{"E4+C5:2 F4:2"}, change: func(s *score.Score) { s.Notes[1].Dur = theory.Whole }}, "", 0},
	{VoiceOverlap, "a note tied over into half of the next", sheet{rh: []string{"E4+C5:2 F4:2"}, change: func(s *score.Score) { s.Notes[1].Dur = theory.Half + theory.Quarter }}, "", 1},
	{VoiceOverlap, "two voices", sheet{rh: []string{"C5:2 D5:2", "E4:4"}}, "", 0},

	{MelodyMissing, "a wrong note", sheet{melody: "C4:1 D4:1 E4:2", rh: []string{"C5:1 F5:1 E5:2"}}, "", 1},
	{MelodyMissing, "a note left out", sheet{melody: "C4:1 D4:1 E4:2", rh: []string{"C5:2 E5:2"}}, "", 1},
	{MelodyMissing, "two notes in the wrong order", sheet{melody: "C4:1 D4:1 E4:2", rh: []string{"C5:1 E5:1 D5:2"}}, "", 2},
	{MelodyMissing, "a note late", sheet{melody: "C4:1 D4:1 E4:2", rh: []string{"C5:1.5 D5:0.5 E5:2"}}, "", 1},
	{MelodyMissing, "a note a beat early", sheet{melody: "C4:2 D4:2", rh: []string{"C5:1 D5:3"}}, "", 1},
	{MelodyMissing, "a repeated note struck once", sheet{melody: "C4:0.5 C4:0.5 E4:3", rh: []string{"C5:1 E5:3"}}, "", 1},
	{MelodyMissing, "half a beat early, an octave up", sheet{melody: "C4:1 D4:1 E4:2", rh: []string{"C5:0.5 D5:1 E5:2.5"}}, "", 0},
	{MelodyMissing, "half a dotted beat early", sheet{meter: "6/8", melody: "C4:1.5 D4:1.5", rh: []string{"C5:0.75 D5:2.25"}}, "", 0},
	{MelodyMissing, "ornaments between", sheet{melody: "C4:2 D4:2", rh: []string{"C5:1 E5:0.5 G5:0.5 ^C#5 D5:1 G5:1"}}, "", 0},
	{MelodyMissing, "two repeated notes, the second pushed", sheet{melody: "C4:1 C4:1 E4:2", rh: []string{"C5:0.5 C5:1.5 E5:2"}}, "", 0},
	{MelodyMissing, "a fill ends on the next note's class", sheet{melody: "C4:2 D4:2", rh: []string{"C5:1.5 D4:0.5 D5:2"}}, "", 0},
	{MelodyMissing, "in the left hand, on top", sheet{melody: "C4:1 D4:1 E4:2", lh: []string{"C5:1 D5:1 E5:2"}, rh: []string{"E4:4"}}, "", 0},
	{MelodyOctave, "an octave up in the middle", sheet{melody: "C4:1 D4:1 E4:1 F4:1", rh: []string{"C5:1 D5:1 E6:1 F6:1"}}, "", 1},
	{MelodyOctave, "an octave up for one note", sheet{melody: "C4:1 D4:1 E4:1 F4:1", rh: []string{"C5:1 D5:1 E6:1 F5:1"}}, "", 2},
	{MelodyOctave, "an octave up with a section", sheet{melody: "C4:1 D4:1 E4:2 C4:1 D4:1 E4:2", parts: map[int]string{1: "B"}, rh: []string{"C5:1 D5:1 E5:2 C6:1 D6:1 E6:2"}}, "", 0},
	{MelodyOctave, "with a section's pick-up", sheet{melody: "C4:2 D4:1 G4:1 C4:1 D4:1 E4:2", parts: map[int]string{1: "B"}, rh: []string{"C5:2 D5:1 G5:1 C6:1 D6:1 E6:2"}}, "", 0},
	{MelodyOctave, "doubled below and above", sheet{melody: "C4:1 D4:1 E4:1 F4:1", rh: []string{"C5:1 D4+D5:1 E5+E6:1 F5:1"}}, "", 0},
	{MelodyCovered, "a chord note above", sheet{melody: "E4:2 D4:2", rh: []string{"E4+G4:2 D4:2"}}, "", 1},
	{MelodyCovered, "a note held above", sheet{melody: "G4:2 E4:2", rh: []string{"G4:4", "r:2 E4:2"}}, "", 1},
	{MelodyCovered, "a note struck above later", sheet{melody: "E4:2 D4:2", rh: []string{"E4:2 D4:2", "r:1 G4:1 r:2"}}, "", 0},

	{HandFull, "six keys struck", sheet{rh: []string{"C4+D4+E4+F4+G4+A4:4"}}, "", 1},
	{HandFull, "six keys held", sheet{melody: "A4:4", rh: []string{"E4+F4+G4+A4:4", "r:2 C4+D4:2"}}, "", 1},
	{HandFull, "five keys", sheet{rh: []string{"C4+D4+E4+F4+G4:4"}}, "", 0},
	{Reach, "a tenth", sheet{lh: []string{"C3+E4:4"}}, "", 1},
	{Reach, "a tenth for who plays it", sheet{lh: []string{"C3+E4:4"}}, "tenth", 0},
	{Reach, "a tenth on black and white for who plays tenths", sheet{lh: []string{"Db3+F4:4"}}, "tenth", 1},
	{Reach, "a ninth", sheet{lh: []string{"C3+D4:4"}}, "", 0},
	{Reach, "a ninth for a hand of an octave", sheet{lh: []string{"C3+D4:4"}}, "octave", 1},
	{Reach, "a tenth rolled", sheet{lh: []string{"~C3+E4:4"}}, "octave", 0},
	{Reach, "an eleventh rolled by a hand of an octave", sheet{lh: []string{"~C3+F4:4"}}, "octave", 1},
	{Reach, "a bass held under chords", sheet{melody: "G4:4", rh: []string{"G4:4"}, lh: []string{"C2:4", "r:1 E3+G3:1 r:2"}}, "", 1},
	{Reach, "the same in a score that leaves the pedal to the player", sheet{lh: []string{"C2:4", "r:1 E3+G3:1 r:2"}}, "", 0},
	{Reach, "the same under the pedal", sheet{lh: []string{"C2:4", "r:1 E3+G3:1 r:2"}, pedal: "0-4"}, "", 0},
	{Reach, "the pedal changed in between", sheet{lh: []string{"C2:4", "r:1 E3+G3:1 r:2"}, pedal: "0-1 1-4"}, "", 1},
	{Reach, "the lowest of a roll held", sheet{lh: []string{"~C3+E4:4", "r:2 D4:2"}}, "", 0},
	{Reach, "the rest of a roll held", sheet{lh: []string{"~C3+G3+E4:4", "r:2 D4:2"}}, "octave", 0},
	{Reach, "the rest of a roll held too far away", sheet{melody: "B4:4", rh: []string{"B4:4"}, lh: []string{"~C3+G3+E4:4", "r:2 A4:2"}}, "octave", 1},
	{Fingers, "fingers 2 to 5 over too wide a gap", sheet{rh: []string{"C4+D4+A4+B4+C5:4"}}, "", 1},
	{Fingers, "the same with a note less", sheet{rh: []string{"C4+E4+A4+C5:4"}}, "", 0},

	{HandsCross, "the hands within each other", sheet{rh: []string{"C4+E5:4"}, lh: []string{"E4:4"}}, "300mm", 1},
	{HandsCross, "side by side", sheet{rh: []string{"F4+E5:4"}, lh: []string{"E4:4"}}, "", 0},
	{HandsCross, "a held note in between", sheet{rh: []string{"E4:4"}, lh: []string{"r:2 G4:1 C4:1", "C4:2 r:2"}, change: func(s *score.Score) {
		s.Notes = append(s.Notes, score.Note{ID: "x", Hand: score.Right, Voice: 2, At: theory.Half, Dur: theory.Quarter, Pitch: theory.Name{Letter: theory.C}.At(5)})
		*s = s.Finish()
	}}, "", 1},
	{HandsCross, "the left hand over the right, on top", sheet{rh: []string{"C4+E4:4"}, lh: []string{"r:2 G4:2"}}, "", 0},
	{KeyShared, "struck while the other hand holds it", sheet{rh: []string{"C4+G4:4"}, lh: []string{"r:2 C4:2"}}, "", 1},
	{KeyShared, "struck by both", sheet{rh: []string{"C4+G4:4"}, lh: []string{"C4:4"}}, "", 1},
	{KeyShared, "struck when the other has let go", sheet{rh: []string{"C4+G4:2 E4:2"}, lh: []string{"r:2 C4:2"}}, "", 0},
	{Range, "below the keyboard", sheet{lh: []string{"Ab0:4"}}, "", 1},
	{Range, "above it", sheet{rh: []string{"C#8:4"}}, "", 1},
	{Range, "the lowest and the highest key", sheet{rh: []string{"C8:4"}, lh: []string{"A0:4"}}, "", 0},
	{Jump, "two octaves in an eighth at 120", sheet{tempo: 120, lh: []string{"C2:0.5 C4+E4:0.5 r:3"}}, "", 1},
	{Jump, "two octaves in a quarter at 120", sheet{tempo: 120, lh: []string{"C2:1 C4+E4:1 r:2"}}, "", 0},
	{Jump, "two octaves in a quarter at 220", sheet{tempo: 220, lh: []string{"C2:1 C4+E4:1 r:2"}}, "", 1},
	{Jump, "an octave and a fifth at 220", sheet{tempo: 220, lh: []string{"C2:1 G3+B3:1 r:2"}}, "", 0},
	{Jump, "without a tempo nothing is too fast", sheet{lh: []string{"C2:0.5 C4+E4:0.5 r:3"}}, "", 0},
	{Jump, "the swung eighth is short", sheet{tempo: 140, swing: true, lh: []string{"r:0.5 C3:0.5 E4+G4:1 r:2"}}, "", 1},
	{Jump, "the same straight", sheet{tempo: 140, lh: []string{"r:0.5 C3:0.5 E4+G4:1 r:2"}}, "", 0},
	{Jump, "the tune's own leap", sheet{tempo: 200, melody: "C4:0.25 C6:0.25 C4:3.5", rh: []string{"C4:0.25 C6:0.25 C4:3.5"}}, "", 0},
	{Repetition, "sixteenths at 200 on one key", sheet{tempo: 200, rh: []string{"C5:0.25 C5:0.25 r:3.5"}}, "", 1},
	{Repetition, "sixteenths at 180 on one key", sheet{tempo: 180, rh: []string{"C5:0.25 C5:0.25 r:3.5"}}, "", 0},
	{Repetition, "sixteenth chords at 150", sheet{tempo: 150, rh: []string{"C5+E5:0.25 C5+E5:0.25 r:3.5"}}, "", 2},
	{Repetition, "sixteenth chords at 120", sheet{tempo: 120, rh: []string{"C5+E5:0.25 C5+E5:0.25 r:3.5"}}, "", 0},
	{Repetition, "the tune's own repetition", sheet{tempo: 200, melody: "C4:0.25 C4:0.25 C4:3.5", rh: []string{"C5:0.25 C5:0.25 C5:3.5"}}, "", 0},

	{Haste, "2 a step above 5 in a quarter of a second", sheet{tempo: 120, rh: []string{"C5:0.5 D5:0.5 r:3"}, change: by("5 2")}, "", 1},
	{Haste, "the same with more time", sheet{tempo: 100, rh: []string{"C5:0.5 D5:0.5 r:3"}, change: by("5 2")}, "", 0},
	{Haste, "the left hand's, downwards", sheet{tempo: 120, lh: []string{"D3:0.5 C3:0.5 r:3"}, change: by("5 2")}, "", 1},
	{Haste, "the thumb passed", sheet{tempo: 120, rh: []string{"E5:0.5 F5:0.5 r:3"}, change: by("3 1")}, "", 0},
	{Haste, "the thumb passed under 5", sheet{tempo: 120, rh: []string{"G5:0.5 A5:0.5 r:3"}, change: by("5 1")}, "", 1},
	{Haste, "chords from the wrist", sheet{tempo: 120, rh: []string{"C5+E5+G5:0.5 F5+A5+C6:0.5 r:3"}, change: by("1 3 5 1 3 5")}, "", 0},
	{Haste, "fingers that are not printed", sheet{tempo: 120, rh: []string{"C5:0.5 D5:0.5 r:3"}, change: by("5 0")}, "", 0},
	{Haste, "one finger on two keys at ten a second", sheet{tempo: 150, rh: []string{"C5:0.25 D5:0.25 r:3.5"}, change: by("3 3")}, "", 1},
	{Haste, "three at six and a half a second", sheet{tempo: 98, rh: []string{"C5:0.25 D5:0.25 E5:0.25 r:3.25"}, change: by("3 3 3")}, "", 1},
	{Haste, "two of them", sheet{tempo: 98, rh: []string{"C5:0.25 D5:0.25 r:3.5"}, change: by("3 3")}, "", 0},
	{Haste, "a key again at ten a second under a held one", sheet{tempo: 150, chords: "C:4", melody: "G5:0.25 G5:0.25 r:3.5", rh: []string{"G5:0.25 G5:0.25 r:3.5", "C5:4"}, change: by("5 1 4")}, "", 1},
	{Haste, "the same with nothing held", sheet{tempo: 150, rh: []string{"G5:0.25 G5:0.25 r:3.5"}, change: by("5 4")}, "", 0},
	{Haste, "a repeat played again", sheet{tempo: 120, rh: []string{"D5:0.5 E5:0.5 r:2.5 C5:0.5 C5:4"}, change: func(s *score.Score) {
		by("2 3 5 1")(s)
		s.Bars[0].Signs.Times = 2
	}}, "", 1},
	{MinorNinth, "the seventh under its root", sheet{chords: "Cmaj7:4", melody: "C5:4", tune: "C:4", rh: []string{"C5:4"}, lh: []string{"C3+B3:4"}}, "", 1},
	{MinorNinth, "the sixth instead", sheet{chords: "C6:4", melody: "C5:4", tune: "C:4", rh: []string{"C5:4"}, lh: []string{"C3+A3:4"}}, "", 0},
	{MinorNinth, "compound", sheet{chords: "Cmaj7:4", rh: []string{"G4+C6:4"}, lh: []string{"C3+B3:4"}}, "300mm", 1},
	{MinorNinth, "the flat ninth over the root of a dominant", sheet{chords: "G7(b9):4", rh: []string{"F4+Ab4:4"}, lh: []string{"G2+B3:4"}}, "tenth", 0},
	{MinorNinth, "the third and the added fourth of V an octave apart", sheet{chords: "G(add4):4", rh: []string{"C5+D5:4"}, lh: []string{"G3+B3:4"}}, "", 1},
	{MinorNinth, "and side by side", sheet{chords: "G(add4):4", rh: []string{"D5:4"}, lh: []string{"G3+B3+C4:4"}}, "", 0},
	{MinorNinth, "a walking bass against a held melody note", sheet{tempo: 120, chords: "C:4 F:4", melody: "G4:4 A4:4", rh: []string{"G5:4 A5:4"}, lh: []string{"C3:1 E3:1 G3:1 F#3:1 F3:4"}}, "", 1},
	{MinorNinth, "the same at 160", sheet{tempo: 160, chords: "C:4 F:4", melody: "G4:4 A4:4", rh: []string{"G5:4 A5:4"}, lh: []string{"C3:1 E3:1 G3:1 F#3:1 F3:4"}}, "", 0},
	{MinorNinth, "approached from the scale", sheet{tempo: 120, chords: "C:4 F:4", melody: "G4:4 A4:4", rh: []string{"G5:4 A5:4"}, lh: []string{"C3:1 E3:1 E3:1 G3:1 F3:4"}}, "", 0},
	{MinorNinth, "in passing, half a beat", sheet{tempo: 120, chords: "C:4 F:4", melody: "G4:4 A4:4", rh: []string{"G5:4 A5:4"}, lh: []string{"C3:1 E3:1 G3:1.5 F#3:0.5 F3:4"}}, "", 0},
	{MinorNinth, "the tune passes over its chord", sheet{chords: "C:4", melody: "G4:1 F4:1 E4:2", rh: []string{"G4:1 F4:1 E4:2"}, lh: []string{"C3+E3:4"}}, "", 0},
	{MinorNinth, "the tune's long note on the beat", sheet{chords: "C:4", melody: "F4:2 E4:2", rh: []string{"F4:2 E4:2"}, lh: []string{"C3+E3:4"}}, "", 1},
	{MinorNinth, "the accompaniment yields", sheet{chords: "C:4", melody: "F4:2 E4:2", rh: []string{"F4:2 E4:2"}, lh: []string{"C3+G3:2 C3+E3:2"}}, "", 0},
	{MinorNinth, "the tune against its own bass", sheet{chords: "C:4", melody: "Db5:2 C5:2", rh: []string{"Db5:2 C5:2"}, lh: []string{"C3:4"}}, "", 0},
	{LowInterval, "a third in the low bass", sheet{lh: []string{"E2+G2:4"}}, "", 1},
	{LowInterval, "a third at its floor", sheet{lh: []string{"A2+C3:4"}}, "", 0},
	{LowInterval, "between the hands", sheet{lh: []string{"C2:4"}, rh: []string{"E2:4"}}, "", 1},
	{LowInterval, "an octave anywhere", sheet{lh: []string{"A0+A1:4"}}, "", 0},
	{LowInterval, "a tenth at its floor", sheet{lh: []string{"~G1+B2:4"}}, "", 0},
	{LowInterval, "a tenth below it", sheet{lh: []string{"~F1+A2:4"}}, "", 1},

	{TensionClash, "natural and flat ninth", sheet{chords: "G7:4", rh: []string{"F4+A4:4"}, lh: []string{"B3:4"}, change: func(s *score.Score) {
		s.Notes[1].Pitch = pitchOf("Ab4")
		s.Notes = append(s.Notes, score.Note{ID: "x", Hand: score.Left, Voice: 1, Dur: theory.Whole, Pitch: pitchOf("A3")})
		*s = s.Finish()
	}}, "", 1},
	{TensionClash, "the fourth above the third of a dominant seventh", sheet{chords: "G7:4", tune: "G7:4", melody: "C5:4", rh: []string{"B4+C5:4"}, lh: []string{"G3+F4:4"}}, "", 1},
	{TensionClash, "the third a tenth above the fourth", sheet{chords: "G7sus4:4", rh: []string{"F4+B4:4"}, lh: []string{"G3+C4:4"}}, "", 0},
	{TensionClash, "thirteenth and flat thirteenth", sheet{chords: "G7:4", rh: []string{"E4+Eb5:4"}, lh: []string{"F3+B3:4"}}, "", 1},
	{TensionClash, "thirteenth", sheet{chords: "G7:4", rh: []string{"B4+E5:4"}, lh: []string{"F3+D4:4"}}, "", 0},
	{TensionClash, "the tune passes through the natural ninth", sheet{chords: "G7(b9):4 C:4", melody: "B4:1 A4:1 B4:2 G4:4", rh: []string{"B4:1 A4:1 B4:2 G4:4"}, lh: []string{"F4+Ab4:4 E3+G3:4"}}, "", 0},

	{Unexplained, "a note outside the chord", sheet{chords: "C:4", rh: []string{"G4:4"}, lh: []string{"C3+Ab3:4"}}, "", 1},
	{Unexplained, "the bass beside the harmony", sheet{chords: "C:2 G7:2", rh: []string{"G4:2 D4:2"}, lh: []string{"C3:2 F#2:1 G2:1"}}, "", 1},
	{Unexplained, "chromatic, and leads nowhere", sheet{chords: "C:4 F:4", rh: []string{"E4:4 A4:4"}, lh: []string{"C3:3 F#3:1 C3:4"}}, "", 1},
	{Unexplained, "leads by step", sheet{chords: "C:4 F:4", rh: []string{"E4:4 A4:4"}, lh: []string{"C3:3 F#3:1 F3:4"}}, "", 0},
	{Unexplained, "two half steps", sheet{chords: "C:4 D7:4", rh: []string{"G4:4 F#4:4"}, lh: []string{"E3:2 E3:1 Eb3:1 D3:4"}}, "", 0},
	{Unexplained, "an enclosure", sheet{chords: "C:4 F:4", rh: []string{"G4:4 A4:4"}, lh: []string{"C3:2 G3:1 E3:1 F3:4"}}, "", 0},
	{Unexplained, "a fifth above the next bass", sheet{chords: "C:4 B:4", rh: []string{"E4:4 D#4:4"}, lh: []string{"C3:3 F#3:1 B2:4"}}, "", 0},
	{Unexplained, "a ghost of the bass just left", sheet{chords: "F:1 Eb7:1 D7:2", rh: []string{"A4:1 G4:1 F#4:2"}, lh: []string{"F3:1 Eb3:2/3 (F3):1/3 D3:2"}}, "", 0},
	{Unexplained, "the next chord half a beat early", sheet{chords: "C:4 B7:4", rh: []string{"G4:4 F#4:4"}, lh: []string{"C3+E3:3.5 B3+D#4:4.5"}}, "", 0},
	{Unexplained, "a tension the chord has", sheet{chords: "Am7:4", rh: []string{"E5:4"}, lh: []string{"G3+B3:4"}}, "", 0},
	{Unexplained, "the ninth on iii", sheet{chords: "Em7:4", rh: []string{"B4:4"}, lh: []string{"E3+F#3:4"}}, "", 1},
	{Unexplained, "the thirteenth on ii", sheet{chords: "Dm7:4", rh: []string{"A4:4"}, lh: []string{"C3+B3:4"}}, "", 1},
	{Unexplained, "the thirteenth on iv of a minor key", sheet{key: "Cm", chords: "Fm7:4", rh: []string{"C5:4"}, lh: []string{"F3+D4:4"}}, "", 0},
	{Unexplained, "a natural fifth over an altered chord", sheet{chords: "G7alt:4", rh: []string{"F4:4"}, lh: []string{"B3+D4:4"}}, "", 1},
	{Unexplained, "the fourth on I", sheet{chords: "C:4", rh: []string{"G4:4"}, lh: []string{"C3+F3:4"}}, "", 1},
	{Unexplained, "the fourth on V", sheet{chords: "G:4", rh: []string{"G4:4"}, lh: []string{"B3+C4:4"}}, "", 0},
	{Unexplained, "a blues third over the dominant on I", sheet{chords: "C7:4", rh: []string{"G4:1 Eb5:1 C5:2"}, lh: []string{"E3:4"}}, "", 0},
	{Unexplained, "a grace note by half step", sheet{chords: "C:4", melody: "E5:4", rh: []string{"^D#5 E5:4"}}, "", 0},
	{Unexplained, "a grace note from afar", sheet{chords: "C:4", melody: "E5:4", rh: []string{"^F#5 E5:4"}, change: func(s *score.Score) { s.Notes[0].Pitch = pitchOf("C#5") }}, "", 1},
	{Unexplained, "a grace note from afar that the tune has", sheet{chords: "C:4", melody: "^C#4 E4:4", rh: []string{"^C#5 E5:4"}}, "", 0},
	{Unexplained, "another than the tune has", sheet{chords: "C:4", melody: "^F#4 E4:4", rh: []string{"^C#5 E5:4"}}, "", 1},
	{Unexplained, "a run that lands on the chord", sheet{key: "F", chords: "C7:2 F:2", melody: "C5:2 A4:2", rh: []string{"C6:1 A5:0.25 F5:0.25 D5:0.25 C5:0.25 A5:2"}}, "", 0},
	{Unexplained, "block chords on the way", sheet{chords: "C6:4", melody: "C5:1 D5:1 E5:2", rh: []string{"E4+G4+A4+C5:1 F4+Ab4+B4+D5:1 G4+A4+C5+E5:2"}}, "", 0},
	{NoChord, "a chord where none is meant", sheet{chords: "N.C.:4", melody: "G4:4", rh: []string{"E4+G4:4"}}, "", 1},
	{NoChord, "the tune alone, doubled", sheet{chords: "N.C.:4", melody: "G4:4", rh: []string{"G4:4"}, lh: []string{"G3:4"}}, "", 0},
}

// by writes fingers on a score's notes, in their order; 0 for none.
func by(fingers string) func(*score.Score) {
	return func(s *score.Score) {
		*s = s.Finish()
		for i, f := range strings.Fields(fingers) {
			s.Notes[i].Finger = f[0] - '0'
		}
	}
}

func pitchOf(s string) theory.Pitch {
	p, err := theory.ParsePitch(s)
	if err != nil {
		panic(err)
	}
	return p
}

// Where a rule rests on a figure, its source stands beside it in this package; which
// music breaks it is worked out by hand.
func TestRules(t *testing.T) {
	broken, passed := map[string]bool{}, map[string]bool{}
	for _, tt := range cases {
		t.Run(tt.code+"/"+tt.what, func(t *testing.T) {
			s, opt := tt.score(t)
			if tt.hand != "" {
				p, err := hand.ParseProfile(tt.hand)
				if err != nil {
					t.Fatal(err)
				}
				opt.Hand = p
			}
			vs := Check(s, opt)
			n := 0
			for _, v := range vs {
				v.Problem = words.Must(words.Default).Problem(v.Problem)
				if v.Code == tt.code {
					n++
				}
				if v.Fix == "" || v.Text == "" || v.Severity != leadsheet.Error || v.Pos.Beat <= 0 {
					t.Errorf("not placed, or without a way out: %+v", v)
				}
			}
			if n != tt.want || len(vs) != n {
				t.Errorf("%d of %s, want %d and nothing else:%s", n, tt.code, tt.want, lines(vs))
			}
		})
		if tt.want > 0 {
			broken[tt.code] = true
		} else {
			passed[tt.code] = true
		}
	}
	for _, r := range Rules() {
		if !broken[r.Code] || !passed[r.Code] {
			t.Errorf("%s: no score that breaks it, or none that passes", r.Code)
		}
		if r.Says == "" {
			t.Errorf("%s says nothing", r.Code)
		}
	}
}

// Origins are never looked at: whatever they claim, the verdict stands.
func TestNoOriginIsTrusted(t *testing.T) {
	for _, tt := range cases {
		s, opt := tt.score(t)
		want := lines(Check(s, opt))
		s.Notes = slices.Clone(s.Notes)
		for i := range s.Notes {
			s.Notes[i].Origin = score.Origin{Kind: score.Melody, Melody: i + 1, Technique: "walking-bass", Why: nil}
		}
		if got := lines(Check(s, opt)); got != want {
			t.Errorf("%s, %s: the Origins changed the verdict:%s\nwant%s", tt.code, tt.what, got, want)
		}
	}
}

// The verdict depends on the score, not on the order of its notes.
func TestOrderOfNotes(t *testing.T) {
	for _, tt := range cases {
		s, opt := tt.score(t)
		want := lines(Check(s, opt))
		before := slices.Clone(s.Notes)
		slices.Reverse(before)
		r := s
		r.Notes = slices.Clone(before)
		if got := lines(Check(r, opt)); got != want {
			t.Errorf("%s, %s: the order of notes changed the verdict:%s\nwant%s", tt.code, tt.what, got, want)
		}
		if !slices.Equal(r.Notes, before) {
			t.Errorf("%s, %s: the argument was changed", tt.code, tt.what)
		}
	}
}

func TestViolationJSON(t *testing.T) {
	s, opt := sheet{lh: []string{"C3+E4:4"}}.score(t)
	vs := Check(s, opt)
	for i := range vs {
		vs[i].Problem = words.Must(words.Default).Problem(vs[i].Problem)
	}
	b, err := json.Marshal(vs)
	if err != nil {
		t.Fatal(err)
	}
	const want = `[{"severity":"error","code":"reach","text":"the left hand cannot strike C3–E4 together: 211.5 mm, it reaches 188.0 mm","fix":"roll the chord, leave out an outer note, or give it to the other hand","bar":1,"beat":"1","notes":["b1-l0","b1-l0-2"]}]`
	if string(b) != want {
		t.Errorf("%s", b)
	}
}

func TestEmpty(t *testing.T) {
	if vs := Check(score.Score{}, Options{}); len(vs) > 0 {
		t.Errorf("an empty score:%s", lines(vs))
	}
	song := leadsheet.Song{Melody: []leadsheet.Note{{Dur: theory.Quarter, Pitch: pitchOf("C4")}}}
	if vs := Check(score.Score{}, Options{Song: &song}); len(vs) != 1 || vs[0].Code != MelodyMissing {
		t.Errorf("a tune and no score:%s", lines(vs))
	}
}

// Whatever a file holds, the audit ends: all notes at once, all notes held to
// the end, notes of no hand, voices beyond two, keys beyond the keyboard.
func TestHostileScores(t *testing.T) {
	bars := []score.Bar{{Dur: theory.Whole, Meter: leadsheet.Meter{Beats: 4, Unit: 4}}}
	const n = 20000
	together := score.Score{Bars: bars, Tempo: leadsheet.Tempo{Beat: 1, PerMinute: 1 << 30}}
	held := score.Score{Bars: []score.Bar{{Dur: n * theory.Whole, Meter: leadsheet.Meter{Beats: 64, Unit: 1}}}}
	for i := range n {
		p := pitchOf("C4")
		p.Octave = int8(i % 128)
		together.Notes = append(together.Notes, score.Note{Hand: score.Hand(i % 5), Voice: uint8(i), Dur: theory.Quarter, Pitch: p})
		held.Notes = append(held.Notes, score.Note{Hand: score.Hand(i % 3), Voice: uint8(i), At: theory.Dur(i) * theory.Whole, Dur: n * theory.Whole, Pitch: p, Grace: uint8(i % 2)})
	}
	for _, s := range []score.Score{together, held} {
		s.Chords = []score.Symbol{{Chord: theory.Chord{Root: theory.Name{Letter: theory.C}, Tones: theory.DegreesOf(theory.Degree{Number: 1})}}}
		if len(Check(s.Finish(), Options{})) == 0 {
			t.Error("a hostile score stands")
		}
	}
}
