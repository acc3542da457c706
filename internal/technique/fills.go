package technique

import (
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// gapStart is where an answer to the tune may begin: so many beats after the note
// that is held, or with the rest.
func gapStart(s Spot, beats theory.Dur) theory.Dur {
	return max(s.From, min(s.Note.End, s.Note.At+beats*s.Cell.Pulse()))
}

// fillLine walks through chord tones towards the tune's next note; under a note that
// is held it stays below that, with a whole step between or more.
func fillLine(s Spot, from, unit theory.Dur, n int) []Tone {
	last := s.Next.Pitch.MIDI()
	ceiling := func(at theory.Dur) int {
		if at < s.Note.End {
			return s.Note.Pitch.MIDI() - 2
		}
		return s.Note.Pitch.MIDI() + 7
	}
	var line []Tone
	key := last
	dir := -1 // the line ends a step or third from the next note, from below
	for i := n - 1; i >= 0; i-- {
		at := from + theory.Dur(i)*unit
		ch := chordUnder(s, at)
		if ch.Silent() {
			return nil
		}
		if dir < 0 {
			key = min(key, ceiling(at)+1)
		}
		p, ok := nextChordTone(ch, key, dir)
		if !ok || p.MIDI() > ceiling(at) {
			return nil
		}
		if i == n-1 && (abs(p.MIDI()-last) > 5 || p.MIDI() == last) {
			return nil
		}
		if p.MIDI() <= s.Room+1 || p.MIDI() < 55 || last-p.MIDI() > 12 {
			dir = 1
			p, ok = nextChordTone(ch, key, dir)
			if !ok || p.MIDI() > ceiling(at) {
				return nil
			}
		}
		key = p.MIDI()
		line = append([]Tone{{At: at, Dur: unit, Pitch: p, Kind: score.Fill, Velocity: -20}}, line...)
	}
	return line
}

func chordUnder(s Spot, at theory.Dur) theory.Chord {
	for _, c := range s.Under {
		if at >= c.At && at < c.End {
			return c.Chord
		}
	}
	return s.Cell.Chord
}

// nextChordTone returns the chord tone next to a key in a direction.
func nextChordTone(ch theory.Chord, key, dir int) (theory.Pitch, bool) {
	for d := 1; d <= 9; d++ {
		k := key + dir*d
		for x := range ch.Tones.All() {
			if n := x.On(ch.Root); n.Class() == ((k%12)+12)%12 {
				return n.Nearest(k), true
			}
		}
	}
	return theory.Pitch{}, false
}

// runLine walks backwards from the landing through the scale of each chord it
// passes. dir is the direction in which the run is heard.
func runLine(s Spot, from, unit theory.Dur, n, dir int) ([]Tone, reason.Reason) {
	key := s.Next.Pitch.MIDI()
	line := make([]Tone, n)
	var over theory.Chord // whose scale sc is
	var sc theory.Scale
	for i := n - 1; i >= 0; i-- {
		at := from + theory.Dur(i)*unit
		ch := chordUnder(s, at)
		if i == n-1 || ch != over {
			var ok bool
			if sc, ok = s.Cell.Key.ChordScale(ch); !ok || ch.Silent() {
				return nil, nil
			}
			over = ch
		}
		p, ok := nextScaleTone(ch, sc, key, -dir)
		if !ok || p.MIDI() < 57 || p.MIDI() > 98 {
			return nil, nil
		}
		key = p.MIDI()
		line[i] = Tone{At: at, Dur: unit, Pitch: p, Kind: score.Run, Velocity: -15}
	}
	if dir > 0 {
		return line, reason.Figure("run.up")
	}
	return line, reason.Figure("run.down")
}

func nextScaleTone(ch theory.Chord, sc theory.Scale, key, dir int) (theory.Pitch, bool) {
	for d := 1; d <= 4; d++ {
		k := key + dir*d
		for _, n := range sc.On(ch.Root) {
			if n.Class() == ((k%12)+12)%12 {
				return n.Reading().Nearest(k), true
			}
		}
	}
	return theory.Pitch{}, false
}
