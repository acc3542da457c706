package edition

import (
	"fmt"

	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// inKey moves the song to the key asked for, by the nearest spelled interval,
// and says so.
func inKey(song leadsheet.Song, opt Options) (leadsheet.Song, leadsheet.Problems, error) {
	var told leadsheet.Problems
	pos := leadsheet.Pos{File: song.File}
	switch {
	case opt.Easy:
		k, why := easyKey(song)
		told.Add(leadsheet.Info, pos, "key-easy", why, "")
		if k == song.Key {
			return song, told, nil
		}
		return song.Transpose(nearest(song.Key.Tonic, k.Tonic)), told, nil
	case opt.Key.Valid():
		k := theory.Key{Tonic: opt.Key.Tonic, Mode: song.Key.Mode}
		if f := k.Fifths(); f < -7 || f > 7 {
			told.Add(leadsheet.Error, pos, "key-signature", fmt.Sprintf("%s has no key signature: it would need %d accidentals", k.Pretty(), max(f, -f)),
				"take the key of the same sound with fewer")
			return song, nil, told
		}
		if k.Tonic == song.Key.Tonic {
			return song, nil, nil
		}
		told.Add(leadsheet.Info, pos, "key-moved", fmt.Sprintf("moved from %s to %s", song.Key.Pretty(), k.Pretty()), "")
		moved := song.Transpose(nearest(song.Key.Tonic, k.Tonic))
		for _, b := range moved.Bars { // a change of key on the way may leave the signatures
			if f := b.Key.Fifths(); b.Key.Valid() && (f < -7 || f > 7) {
				told.Add(leadsheet.Error, moved.PosAt(b.At), "key-signature", fmt.Sprintf("the tune passes through %s there, which has no key signature", b.Key.Pretty()), "choose a key with fewer accidentals")
				return song, nil, told
			}
		}
		return moved, told, nil
	}
	return song, nil, nil
}

// nearest returns the interval of at most a tritone that leads from one tonic to
// another.
func nearest(from, to theory.Name) theory.Interval {
	iv := theory.NameInterval(from, to)
	if iv.Semitones > 6 {
		iv.Steps, iv.Semitones = iv.Steps-7, iv.Semitones-12
	}
	return iv
}

// easyKey picks the key in which the tune asks for the fewest black keys and
// lies best: from middle C to the F above the next C. Of equals, the one nearest
// to the tune's own key.
func easyKey(song leadsheet.Song) (theory.Key, string) {
	best, bestCost := song.Key, 1<<30
	bestBlack := 0
	for f := -4; f <= 4; f++ {
		k := theory.KeyOf(f, song.Key.Mode)
		iv := nearest(song.Key.Tonic, k.Tonic)
		black, outside := 0, 0
		for _, n := range song.Melody {
			key := n.Pitch.MIDI() + int(iv.Semitones)
			if hand.Black(key) {
				black++
			}
			outside += max(0, 60-key) + max(0, key-77)
		}
		for _, c := range song.Chords {
			for _, n := range c.Chord.Transpose(iv).Triad().Spell() {
				if hand.Black(n.At(4).MIDI()) {
					black++
				}
			}
		}
		cost := 8*black + 4*outside + max(f, -f) + max(int(iv.Semitones), -int(iv.Semitones))
		if cost < bestCost {
			best, bestCost, bestBlack = k, cost, black
		}
	}
	why := fmt.Sprintf("%s is the friendliest key: the tune and its triads touch a black key %d times there", best.Pretty(), bestBlack)
	if bestBlack == 1 {
		why = fmt.Sprintf("%s is the friendliest key: the tune and its triads touch a black key once there", best.Pretty())
	}
	return best, why
}
