package musicxml

import (
	"cmp"
	"slices"
	"strings"

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
	for _, l := range mains {
		for i := range l.bars {
			b := &l.bars[i]
			for _, c := range b.clefs {
				r.clef(s, c, at[i], &clefs)
			}
			for _, d := range b.signs {
				here := place{line: d.line, bar: i, at: d.at, timed: true}
				r.tempo(&s.Tempo, d, here)
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
				switch d.pedal {
				case "start", "sostenuto":
					add(score.PedalDown, "")
				case "stop", "discontinue":
					add(score.PedalUp, "")
				case "change":
					add(score.PedalUp, "")
					add(score.PedalDown, "")
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
	for _, l := range lanes {
		r.systemTempo(&s.Tempo, &s.Feel, &s.Swing, l)
	}
	slices.SortStableFunc(s.Directions, func(a, b score.Direction) int { return cmp.Compare(a.At, b.At) })
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
