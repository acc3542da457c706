package grade

import (
	"gradatim/score"
	"gradatim/theory"
)

// Hear names the chords that a score sounds, for one that has no chord symbols,
// so that the recognisers of harmony have something to read.
//
// Problem: one chord for each beat, changing no more often than the notes ask.
// Objective: the sum over beats of the time that notes of the chord sound, less
// twice that of foreign ones, the lowest note counting double and the root in the
// bass once more, less a price for each change and for each rarer kind of chord.
// Method: exact best path (Viterbi) over 12 roots and the kinds below; a change
// costs the same between any two chords, so a beat takes one pass over the states:
// linear in notes and beats. Integers; ties go to the earlier kind and the lower
// root. Rejected: naming each beat by its own notes, which hears every passing
// note as a new chord.
func Hear(s score.Score) []score.Symbol {
	beats := soundingBeats(s)
	if len(beats) == 0 {
		return nil
	}
	const states = 12 * len(kinds)
	var best [states]int
	from := make([][states]int16, len(beats))
	stay := make([]int, len(beats)) // the best state before each beat
	for i, b := range beats {
		lead := 0
		if i > 0 {
			for st := range best {
				if best[st] > best[lead] {
					lead = st
				}
			}
		}
		stay[i] = lead
		top := best[lead] - b.change
		for st := range best {
			v, f := best[st], int16(st)
			if i > 0 && top > v {
				v, f = top, int16(lead)
			}
			best[st] = v + b.fit(st%12, &kinds[st/12])
			from[i][st] = f
		}
	}
	at := 0
	for st := range best {
		if best[st] > best[at] {
			at = st
		}
	}
	path := make([]int, len(beats))
	for i := len(beats) - 1; i >= 0; i-- {
		path[i] = at
		at = int(from[i][at])
	}
	return symbols(s, beats, path)
}

// kind is a quality of chord as half steps above the root, root first.
type kind struct {
	steps []int
	tones theory.Degrees
	price int // in hundredths of a beat of one note
}

func kindOf(price int, degrees string) kind {
	ds, err := theory.ParseDegrees(degrees)
	if err != nil {
		panic("grade: " + degrees)
	}
	k := kind{tones: ds, price: price}
	for _, d := range ds.List() {
		k.steps = append(k.steps, ((d.Semitones()%12)+12)%12)
	}
	return k
}

// kinds are what is heard, common ones first.
var kinds = [...]kind{
	kindOf(0, "1 3 5"), kindOf(0, "1 b3 5"), kindOf(20, "1 3 5 b7"), kindOf(30, "1 b3 5 b7"), kindOf(30, "1 3 5 7"),
	kindOf(40, "1 b3 b5 bb7"), kindOf(40, "1 b3 b5 b7"), kindOf(60, "1 3 5 6"), kindOf(70, "1 b3 5 6"), kindOf(60, "1 4 5"),
	kindOf(60, "1 3 #5"), kindOf(40, "1 b3 b5"), kindOf(60, "1 3 5 b7 9"), kindOf(70, "1 3 5 7 9"), kindOf(70, "1 b3 5 b7 9"),
	kindOf(60, "1 3 5 9"), kindOf(80, "1 3 5 6 9"), kindOf(70, "1 b3 5 4"), kindOf(90, "1 3 5 4"), kindOf(90, "1 3 b7 b9"), kindOf(90, "1 3 b7 9 13"),
}

// A new chord costs least at a bar line, more in the middle of a bar and most on
// other beats, in hundredths of a beat of one note.
var changePrice = [...]int{100, 180, 400}

// beatSound is what sounds in one beat, as time weighted by class.
type beatSound struct {
	at     theory.Dur
	full   int // length of the beat
	change int // what a new chord costs here
	weight [12]int
	total  int
	bass   int // class of the lowest note; −1 nothing sounds
}

// fit is how well a chord agrees with what sounds.
func (b *beatSound) fit(root int, k *kind) int {
	if b.bass < 0 {
		return 0
	}
	in := 0
	for _, st := range k.steps {
		in += b.weight[(root+st)%12]
	}
	v := in - 2*(b.total-in) - k.price*b.full/100
	if root == b.bass {
		v += 3 * b.full / 2
	}
	for _, st := range k.steps[:min(3, len(k.steps))] { // a chord wants its own notes
		if b.weight[(root+st)%12] == 0 {
			v -= b.full / 2
		}
	}
	return v
}

// soundingBeats cuts the score into beats with what sounds in each.
func soundingBeats(s score.Score) []beatSound {
	var out []beatSound
	for _, bar := range s.Bars {
		beat := bar.Meter.OrCommon().Pulse()
		for at := bar.At; at < bar.End(); at += beat {
			if len(out) == maxBeats {
				return out
			}
			full := int(min(beat, bar.End()-at))
			strength := 2
			switch off := at - bar.At; {
			case off == 0:
				strength = 0
			case 2*off == bar.Dur:
				strength = 1
			}
			out = append(out, beatSound{at: at, full: full, change: changePrice[strength] * full / 100, bass: -1})
		}
	}
	low := make([]int, len(out))
	first := 0
	for k, n := range s.Notes {
		if n.Grace > 0 || n.Dur <= 0 {
			continue
		}
		// A lone note of the right hand is more likely the tune's than the chord's.
		parts := theory.Dur(2)
		if n.Hand == score.Right && !together(s.Notes, k, k-1) && !together(s.Notes, k, k+1) {
			parts = 1
		}
		for first+1 < len(out) && out[first+1].at <= n.At {
			first++
		}
		// A note that is held counts for two bars at most: a pedal is no chord.
		for i := first; i < len(out) && out[i].at < n.End() && i < first+8; i++ {
			b := &out[i]
			t := int(min(n.End(), b.at+theory.Dur(b.full)) - max(n.At, b.at))
			if t <= 0 {
				continue
			}
			c, key := n.Pitch.Class(), n.Pitch.MIDI()
			t = t * int(parts) / 2
			b.weight[c] += t
			b.total += t
			if b.bass < 0 || key < low[i] {
				low[i], b.bass = key, c
			}
		}
	}
	for i := range out {
		if b := &out[i]; b.bass >= 0 {
			b.weight[b.bass] += b.full / 2
			b.total += b.full / 2
		}
	}
	return out
}

// together tells whether two notes are struck together by one hand; an index out
// of range stands for none.
func together(notes []score.Note, i, j int) bool {
	return j >= 0 && j < len(notes) && notes[i].At == notes[j].At && notes[i].Hand == notes[j].Hand
}

// maxBeats bounds what is heard of one score.
const maxBeats = 1 << 20

// symbols writes the path as chord symbols, each root spelled as the notes that
// sound it are, or as the key has it.
func symbols(s score.Score, beats []beatSound, path []int) []score.Symbol {
	var out []score.Symbol
	at := 0
	for i := 0; i < len(path); {
		j := i
		for j < len(path) && path[j] == path[i] {
			j++
		}
		until := s.End()
		if j < len(beats) {
			until = beats[j].at
		}
		for at < len(s.Notes) && s.Notes[at].At < beats[i].at {
			at++
		}
		root, ok := theory.Name{}, false
		for k := at; k < len(s.Notes) && s.Notes[k].At < until; k++ {
			if s.Notes[k].Pitch.Class() == path[i]%12 {
				root, ok = s.Notes[k].Pitch.Name, true
				break
			}
		}
		if !ok {
			key := theory.Key{}
			if b := s.BarAt(beats[i].at); b >= 0 {
				key = s.Bars[b].Key
			}
			root = theory.HarmonicSpelling(key, theory.Chord{}, 60+path[i]%12).Name
		}
		out = append(out, score.Symbol{At: beats[i].at, Chord: theory.Chord{Root: root, Tones: kinds[path[i]/12].tones}})
		i = j
	}
	return out
}
