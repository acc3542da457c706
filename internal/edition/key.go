package edition

import (
	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// inKey moves the song to the key asked for, by the nearest spelled interval,
// and says so. A sheet in a key that has no signature is written in the one that
// sounds the same.
func inKey(song leadsheet.Song, opt Options) (leadsheet.Song, leadsheet.Problems, error) {
	pos := leadsheet.Pos{File: song.File}
	switch {
	case opt.Easy:
		k, black := easyKey(song)
		told := leadsheet.Problems{leadsheet.Tell(leadsheet.Info, pos, "key-easy", "Key", k, "n", black)}
		if k == song.Key {
			return song, told, nil
		}
		return song.Transpose(theory.NearestInterval(song.Key.Tonic, k.Tonic)), told, nil
	case opt.Key.Valid():
		k := theory.Key{Tonic: opt.Key.Tonic, Mode: song.Key.Mode}
		if f := k.Fifths(); f < -7 || f > 7 {
			return song, nil, leadsheet.Problems{leadsheet.Tell(leadsheet.Error, pos, "key-signature.key", "Key", k, "n", max(f, -f))}
		}
		if k.Tonic == song.Key.Tonic {
			return song, nil, nil
		}
		told := leadsheet.Problems{leadsheet.Tell(leadsheet.Info, pos, "key-moved", "From", song.Key, "To", k)}
		moved := song.Transpose(theory.NearestInterval(song.Key.Tonic, k.Tonic))
		for _, b := range moved.Bars { // a change of key on the way may leave the signatures
			if f := b.Key.Fifths(); b.Key.Valid() && (f < -7 || f > 7) {
				return song, nil, append(told, leadsheet.Tell(leadsheet.Error, moved.PosAt(b.At), "key-signature.passage", "Key", b.Key))
			}
		}
		return moved, told, nil
	case song.Key.Valid():
		if f := song.Key.Fifths(); f < -7 || f > 7 {
			k := theory.KeyOf(f-12*sign(f), song.Key.Mode)
			told := leadsheet.Problems{leadsheet.Tell(leadsheet.Info, pos, "key-respelled", "From", song.Key, "To", k)}
			return song.Transpose(theory.NearestInterval(song.Key.Tonic, k.Tonic)), told, nil
		}
	}
	return song, nil, nil
}

func sign(n int) int {
	if n < 0 {
		return -1
	}
	return 1
}

// easyKey picks the key in which the tune asks for the fewest black keys and
// lies best: from middle C to the F above the next C. Of equals, the one nearest
// to the tune's own key. fewest is how often a black key is touched there.
func easyKey(song leadsheet.Song) (best theory.Key, fewest int) {
	best = song.Key
	bestCost := 1 << 30
	for f := -4; f <= 4; f++ {
		k := theory.KeyOf(f, song.Key.Mode)
		iv := theory.NearestInterval(song.Key.Tonic, k.Tonic)
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
			best, bestCost, fewest = k, cost, black
		}
	}
	return best, fewest
}
