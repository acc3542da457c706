package technique

import (
	"gradatim/score"
	"gradatim/theory"
)

// chordFill answers the tune in a gap with chord tones.
var chordFill = &Technique{
	ID: "chord-fill", Name: "Fill from the chord", Level: 3, Stage: Ornament,
	What:  "In a gap of the tune two to six chord tones answer it and lead towards its next note.",
	Needs: []string{"guide-tones"},
	Adorn: func(s Spot) []Figure {
		if s.Until-s.From < beatOf(s)*3/2 || s.Next.Event < 0 || len(s.Under) == 0 {
			return nil
		}
		unit := theory.Eighth
		from := gapStart(s, unit)
		n := int((s.Until - from) / unit)
		if n < 2 {
			return nil
		}
		n = min(n, 6)
		from = s.Until - theory.Dur(n)*unit
		line := fillLine(s, from, unit, n)
		if line == nil {
			return nil
		}
		return []Figure{{Say: "chord notes answer the tune and lead to " + s.Next.Pitch.Name.Pretty(), CutTune: from, Tones: line}}
	},
	Recognise: recogniseChordFill,
	Teach: Teaching{
		How:      "Softer than the tune; the last note is a step or a third from what follows.",
		Practise: []string{"The fill alone, then from the note before to the note after."},
		Listen:   "A question from the tune, an answer below it.",
		Mistakes: []string{"louder than the tune"},
	},
	Drill: Drill{RunDrill, "The fills of the page, one after the other."},
}

// gapStart is where a fill may begin: a beat after the note that is held, or
// with the rest.
func gapStart(s Spot, unit theory.Dur) theory.Dur {
	return max(s.From, s.Note.At+s.Cell.Pulse())
}

// fillLine walks through chord tones from the tune's note towards its next, and
// never above the tune's note.
func fillLine(s Spot, from, unit theory.Dur, n int) []Tone {
	last := s.Next.Pitch.MIDI()
	ceiling := s.Note.Pitch.MIDI()
	var line []Tone
	key := last
	dir := -1 // the line ends a step or third from the next note, from below
	for i := n - 1; i >= 0; i-- {
		at := from + theory.Dur(i)*unit
		ch := chordUnder(s, at)
		if ch.Silent() {
			return nil
		}
		p, ok := nextChordTone(ch, key, dir)
		if !ok || p.MIDI() > ceiling+7 {
			return nil
		}
		if i == n-1 && (abs(p.MIDI()-last) > 5 || p.MIDI() == last) {
			return nil
		}
		if p.MIDI() <= s.Room+1 || p.MIDI() < 55 || last-p.MIDI() > 12 {
			dir = 1
			p, ok = nextChordTone(ch, key, dir)
			if !ok {
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
		for _, x := range ch.Tones.List() {
			if n := x.On(ch.Root); n.Class() == ((k%12)+12)%12 {
				return n.Nearest(k), true
			}
		}
	}
	return theory.Pitch{}, false
}

// run is a quick scale or arpeggio through a gap that lands on the beat on a
// chord tone.
var run = &Technique{
	ID: "run", Name: "Run", Level: 5, Stage: Ornament,
	What:  "A quick line through the scale or the chord fills a gap and lands on the beat on a chord tone.",
	Needs: []string{"chord-fill", "enclosure"},
	Adorn: func(s Spot) []Figure {
		if s.Until-s.From < 3*beatOf(s)/2 || s.Next.Event < 0 || len(s.Under) == 0 || !s.Goal.HasClass(s.Next.Pitch.Class()) {
			return nil
		}
		unit := theory.Sixteenth
		// nine notes a second is the most that level 5 asks for
		if int64(s.Cell.Tempo)*4 > 9*60 {
			unit = theory.Quarter / 3
			if s.Cell.Meter.Compound() {
				unit = theory.Eighth
			}
		}
		most := min(12, int((s.Until-gapStart(s, unit))/unit))
		var out []Figure
		for _, dir := range []int{-1, 1} {
			for n := most; n >= 4; n-- {
				from := s.Until - theory.Dur(n)*unit
				line, say := runLine(s, from, unit, n, dir)
				if line == nil {
					continue
				}
				// It should start near the note it leaves and be long.
				leap := abs(line[0].Pitch.MIDI() - s.Note.Pitch.MIDI())
				out = append(out, Figure{Cost: leap + 2*max(0, leap-7) - n, CutTune: from, Clears: true, Tones: line,
					Say: say + ", landing on " + s.Next.Pitch.Name.Pretty() + ", the " + degreeOf(s.Goal, s.Next.Pitch.Name) + " of " + s.Goal.Pretty()})
			}
		}
		return out
	},
	Recognise: recogniseRuns,
	Teach: Teaching{
		How:      "Know the landing first: play it, then find the run backwards from it.",
		Practise: []string{"Split the run into hand positions; play each as a block, then in order.", "Slow with a count; the landing is on the beat."},
		Listen:   "Even and light; the last note is not the loudest, the landing is.",
		Mistakes: []string{"arriving late", "starting too loud"},
		Caution:  "Stop when the hand tightens; speed comes from looseness.",
	},
	Drill: Drill{RunDrill, "The run in hand positions, then in one."},
}

// runLine walks backwards from the landing through the scale of each chord it
// passes. dir is the direction in which the run is heard.
func runLine(s Spot, from, unit theory.Dur, n, dir int) ([]Tone, string) {
	key := s.Next.Pitch.MIDI()
	line := make([]Tone, n)
	for i := n - 1; i >= 0; i-- {
		at := from + theory.Dur(i)*unit
		ch := chordUnder(s, at)
		sc, ok := s.Cell.Key.ChordScale(ch)
		if !ok || ch.Silent() {
			return nil, ""
		}
		p, ok := nextScaleTone(ch, sc, key, -dir)
		if !ok || p.MIDI() < 57 || p.MIDI() > 98 {
			return nil, ""
		}
		key = p.MIDI()
		line[i] = Tone{At: at, Dur: unit, Pitch: p, Kind: score.Run, Velocity: -15}
	}
	if dir > 0 {
		return line, "a run up the scale"
	}
	return line, "a run down the scale"
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

func degreeOf(ch theory.Chord, n theory.Name) string {
	if d, ok := ch.Degree(n); ok {
		return degreeName(d)
	}
	return "colour"
}
