package musicxml

import (
	"cmp"
	"slices"
	"strings"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// scoreChords reads the chord symbols: of the piano's part, or where it has none,
// of the first part that has.
func (r *reader) scoreChords(s *score.Score, lanes, mains []*lane, bars []writtenBar, at []theory.Dur) {
	l := chordLane(append(slices.Clone(mains), lanes...)...)
	for i, marks := range r.chordMarks(l, bars, false) {
		for _, m := range marks {
			if m.unknown {
				continue
			}
			sym := score.Symbol{At: at[i] + m.at, Chord: m.chord, Text: m.text}
			if m.text == m.chord.String() || m.text == m.chord.Pretty() {
				sym.Text = ""
			}
			s.Chords = append(s.Chords, sym)
		}
	}
	slices.SortStableFunc(s.Chords, func(a, b score.Symbol) int { return cmp.Compare(a.At, b.At) })
	s.Chords = slices.CompactFunc(s.Chords, func(a, b score.Symbol) bool { return a.At == b.At })
}

// scoreDirections reads what stands between and over the staves.
// What belongs to the whole system (tempo, feel) may stand in another part.
func (r *reader) scoreDirections(s *score.Score, lanes, mains []*lane, at []theory.Dur) {
	clefs := [3]string{"", "G", "F"}
	silence := map[theory.Dur]bool{}
	for _, c := range s.Chords {
		silence[c.At] = silence[c.At] || c.Chord.Silent()
	}
	shifted := [3]bool{}
	wedges := map[string]score.Hand{} // hairpins under way, by number
	starts := map[theory.Dur]int{}    // bar that begins there
	for i := range s.Bars {
		starts[s.Bars[i].At] = i
	}
	r.paces(s, mains, lanes, at)
	type footed struct {
		when theory.Dur
		hand score.Hand
		*direction
	}
	var feet []footed // in the order of the file, which goes back for each voice
	for _, l := range mains {
		for i := range l.bars {
			b := &l.bars[i]
			for _, c := range b.clefs {
				r.clef(s, c, at[i], &clefs)
			}
			for _, d := range b.signs {
				here := place{line: d.line, bar: i, at: d.at, timed: true}
				r.feel(&s.Feel, &s.Swing, d, here)
				hand := score.Hand(d.staff)
				if d.staff > 2 {
					hand = score.Left
				}
				when := at[i] + d.at
				addOn := func(hand score.Hand, kind score.DirectionKind, text string) {
					s.Directions = append(s.Directions, score.Direction{At: when, Kind: kind, Hand: hand, Text: text})
				}
				add := func(kind score.DirectionKind, text string) { addOn(hand, kind, text) }
				if d.rehearsal != "" {
					if k, ok := starts[when]; ok && s.Bars[k].Section == "" {
						s.Bars[k].Section = d.rehearsal
					} else {
						add(score.Rehearsal, d.rehearsal)
					}
				}
				for _, w := range d.words {
					switch {
					case when == 0 && s.Tempo.Words == "" && (d.sound.tempo.d != 0 || d.tempo.Set() || d.sound.swing || d.sound.straight):
						s.Tempo.Words = tempoText(w, d.sound.swing)
					case silence[when] && silent(w), d.guide.any(): // said by the bars' signs
					default:
						add(score.Words, w)
					}
				}
				for _, t := range d.dynamics {
					add(score.Dynamic, t)
				}
				switch d.wedge {
				case "crescendo":
					add(score.Crescendo, "")
					wedges[d.wedgeName] = hand
				case "diminuendo":
					add(score.Diminuendo, "")
					wedges[d.wedgeName] = hand
				case "stop":
					if began, ok := wedges[d.wedgeName]; ok { // it ends on the staff where it began
						addOn(began, score.HairpinEnd, "")
						delete(wedges, d.wedgeName)
					}
				}
				if d.pedal != "" || d.sound.pedal > 0 {
					feet = append(feet, footed{when, hand, d.direction})
				}
				switch d.shift {
				case "down":
					if d.shiftSize != 8 {
						r.infoAt(here, "octave-sign.two")
					}
					add(score.OctaveUp, "")
					shifted[hand] = true
				case "up":
					r.infoAt(here, "octave-sign.below")
				case "stop":
					if shifted[hand] {
						add(score.OctaveEnd, "")
						shifted[hand] = false
					}
				}
			}
		}
	}
	slices.SortStableFunc(feet, func(a, b footed) int { return cmp.Compare(a.when, b.when) })
	down := 0 // how far the pedal is
	for _, f := range feet {
		down = pedalMove(f.direction, down, func(kind score.DirectionKind, value int) {
			s.Directions = append(s.Directions, score.Direction{At: f.when, Kind: kind, Hand: f.hand, Value: value})
		})
	}
	for _, l := range lanes {
		r.systemTempo(&s.Tempo, &s.Feel, &s.Swing, l)
	}
	slices.SortStableFunc(s.Directions, func(a, b score.Direction) int { return cmp.Compare(a.At, b.At) })
}

// pedalMove adds what a direction does with the pedal, which is so far down before, and
// returns how far it is afterwards. A sign says what is printed, the sound how far.
func pedalMove(d *direction, before int, add func(kind score.DirectionKind, value int)) int {
	const all = 127
	depth := all
	if d.sound.pedal > 1 {
		depth = d.sound.pedal - 1
	}
	press := func() int {
		add(score.PedalDown, depth%all)
		return depth
	}
	switch d.pedal {
	case "start", "sostenuto":
		return press()
	case "resume": // of a line; the foot may be down already
		if before == 0 {
			return press()
		}
		return before
	case "change":
		add(score.PedalUp, 0)
		return press()
	case "stop", "discontinue":
		add(score.PedalUp, 0)
		return 0
	}
	switch {
	case d.sound.pedal == 0 || d.sound.pedal-1 == before:
		return before
	case d.sound.pedal == 1:
		add(score.PedalUp, 0)
		return 0
	case before == 0:
		return press()
	}
	add(score.PedalDepth, depth)
	return depth
}

// paces reads the tempi that hold for the system, from whichever part they stand in; of
// several at one moment the first. The first is the score's, others are changes, as is one
// that the score's tempo, in whole beats, cannot hold.
func (r *reader) paces(s *score.Score, mains, others []*lane, at []theory.Dur) {
	type pace struct {
		when   theory.Dur
		tempo  leadsheet.Tempo
		micros int
		words  string // that stand with it, in another part
	}
	var all []pace
	seen := map[*direction]bool{}
	for k, l := range append(slices.Clone(mains), others...) {
		for i := range min(len(l.bars), len(at)) {
			for _, d := range l.bars[i].signs {
				if seen[d.direction] {
					continue
				}
				seen[d.direction] = true
				words := ""
				if k >= len(mains) && len(d.words) > 0 && isTempo(d.words[0], d.direction) {
					words = d.words[0]
				}
				t, micros, ok := r.pace(d, place{line: d.line, bar: i, at: d.at, timed: true})
				if ok {
					all = append(all, pace{at[i] + d.at, t, micros, words})
				}
			}
		}
	}
	slices.SortStableFunc(all, func(a, b pace) int { return cmp.Compare(a.when, b.when) })
	all = slices.CompactFunc(all, func(a, b pace) bool { return a.when == b.when })
	now := 0
	for i, p := range all {
		if i == 0 {
			s.Tempo = p.tempo
			s.Tempo.Words = p.words
			now = microsOf(p.tempo)
		}
		if p.micros != now {
			s.Directions = append(s.Directions, score.Direction{At: p.when, Kind: score.TempoChange, Value: p.micros})
			now = p.micros
		}
	}
}

// microsOf is how long a quarter lasts, in microseconds.
func microsOf(t leadsheet.Tempo) int {
	beats := theory.Dur(t.PerMinute) * t.Beat
	return int((60_000_000*theory.Quarter + beats/2) / beats)
}

// pace is the tempo of a direction, and how long a quarter of it lasts in microseconds:
// what a metronome mark says is printed, what the sound with it says is played.
func (r *reader) pace(d placedDirection, here place) (t leadsheet.Tempo, micros int, ok bool) {
	if r.tempo(&t, d, here); !t.Set() {
		return t, 0, false
	}
	if q := d.sound.tempo; q.d != 0 && q.n >= leadsheet.MinQuarters*q.d && q.n <= leadsheet.MaxQuarters*q.d {
		return t, int((60_000_000*q.d + q.n/2) / q.n), true
	}
	return t, microsOf(t), true
}

// tempoText takes what a writer adds for the feel off the words of the tempo.
func tempoText(words string, swing bool) string {
	if !swing {
		return words
	}
	if strings.EqualFold(words, "swing") {
		return ""
	}
	return strings.TrimSuffix(words, ", swing")
}

func silent(words string) bool {
	sym, err := theory.ParseSymbol(words)
	return err == nil && sym.NoChord
}

// clef keeps a change between treble and bass.
func (r *reader) clef(s *score.Score, c placedClef, at theory.Dur, now *[3]string) {
	staff := max(c.staff, 1)
	if staff > 2 || c.sign == now[staff] {
		return
	}
	kind := score.ClefTreble
	switch c.sign {
	case "G":
	case "F":
		kind = score.ClefBass
	default: // a C clef: the notes sound as meant, and we print our own clefs
		return
	}
	now[staff] = c.sign
	s.Directions = append(s.Directions, score.Direction{At: at + c.at, Kind: kind, Hand: score.Hand(staff)})
}
