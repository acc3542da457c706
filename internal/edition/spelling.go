package edition

import (
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// raised returns the song with its diminished chords spelled after where they go, and tells
// of each chord once. The song given stays as the sheet has it.
//
// Problem: a sheet's G♭dim before G is played as it is called, and its G♭ stands beside the
// F♯ of the tune; what leads up is read as the raised degree. A chord with a lowered third
// and fifth is spelled as the leading tone of the next root a half step above it, or as the
// second degree whose root falls a fifth. Names with two signs, and white keys by the name of
// another, are not taken, nor a name that the tune contradicts while the chord sounds.
// Linear. (Common practice of harmony, no source: vii° and ii° of what follows.)
func raised(song leadsheet.Song) (leadsheet.Song, leadsheet.Problems) {
	var told leadsheet.Problems
	var said [][2]theory.Chord
	note := 0
	chords := slices.Clone(song.Chords)
	for i, c := range song.Chords {
		end := song.End()
		if i+1 < len(song.Chords) {
			end = song.Chords[i+1].At
		}
		next, ok := following(song.Chords[i:])
		if !ok || c.Unknown || c.Chord.Silent() || !c.Chord.Diminished() || !c.Chord.UpperTones.Empty() {
			continue
		}
		root, ok := leadingName(c.Chord.Root, next.Root)
		if !ok {
			continue
		}
		read := c.Chord
		read.Root = root
		if read.Slash {
			if i := slices.IndexFunc(read.Triad().Spell(), func(n theory.Name) bool { return n.Class() == read.Bass.Class() }); i >= 0 {
				read.Bass = read.Triad().Spell()[i]
			}
		}
		for note < len(song.Melody) && song.Melody[note].End() <= c.At {
			note++
		}
		if !agrees(song.Melody[note:], end, read) {
			continue
		}
		chords[i].Chord, chords[i].Text = read, read.String()
		if again := slices.Contains(said, [2]theory.Chord{c.Chord, read}); !again {
			said = append(said, [2]theory.Chord{c.Chord, read})
			told.Tell(leadsheet.Info, song.PosAt(c.At), "chord-respelled", "Chord", c.Chord, "Read", read, "Next", next)
		}
	}
	if told == nil {
		return song, nil
	}
	song.Chords = chords
	return song, told
}

// following is the next chord of another root than the first, ok is false where none sounds.
func following(chords []leadsheet.ChordMark) (theory.Chord, bool) {
	for _, c := range chords[1:] {
		if c.Unknown || c.Chord.Silent() {
			return theory.Chord{}, false
		}
		if c.Chord.Root.Class() != chords[0].Chord.Root.Class() {
			return c.Chord, true
		}
	}
	return theory.Chord{}, false
}

// leadingName names a root after the next one; ok is false where it keeps its name.
func leadingName(root, next theory.Name) (name theory.Name, ok bool) {
	switch (next.Class() - root.Class() + 12) % 12 {
	case 1:
		name = next.Up(theory.Interval{Steps: -1, Semitones: -1})
	case 5:
		name = next.Up(theory.Interval{Steps: -3, Semitones: -5})
	default:
		return root, false
	}
	white := name.Alter != 0 && name.Simple().Alter == 0
	return name, name != root && !white && name.Alter >= -1 && name.Alter <= 1
}

// agrees tells whether no note until a moment calls a tone of a chord by another name.
func agrees(tune []leadsheet.Note, until theory.Dur, c theory.Chord) bool {
	tones := c.Triad().Spell()
	for _, n := range tune {
		if n.At >= until {
			break
		}
		for _, t := range tones {
			if t.Class() == n.Pitch.Class() && t != n.Pitch.Name {
				return false
			}
		}
	}
	return true
}
