package musicxml

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// score turns a document into a piano page.
func (r *reader) score(doc *document) (score.Score, bool) {
	parts, ok := r.pianoParts(doc)
	if !ok {
		return score.Score{}, false
	}
	lanes, mains, ok := r.layPiano(doc, parts)
	if !ok {
		return score.Score{}, false
	}
	n := 0
	for _, l := range mains {
		n = max(n, len(l.bars))
	}
	for _, l := range mains {
		l.extend(n)
	}
	content := reach(lanes, n)
	turns := r.turns(lanes, content)
	bars, _ := r.bars(mains[0], content, turns, false)
	s := score.Score{
		Title: doc.title(), Rights: strings.Join(doc.rights, "; "), Level: doc.level, LevelName: doc.levelName,
		StaffHeight: doc.staffHeight, Pedal: doc.pedal,
	}
	for _, c := range doc.creators {
		switch c.role {
		case "composer":
			s.Composer = cmp.Or(s.Composer, c.name)
		case "arranger":
			s.Arranger = cmp.Or(s.Arranger, c.name)
		}
	}
	for _, c := range doc.credits {
		if c.kind == "subtitle" {
			s.Subtitle = cmp.Or(s.Subtitle, c.words)
		}
	}
	at := r.scoreBars(&s, bars, mains[0], r.signs(turns))
	voices := hands(mains)
	r.scoreNotes(&s, mains, voices, at)
	if !allStruck(s.Notes) {
		for i := range s.Notes {
			s.Notes[i].Stroke = score.Stroke{}
		}
	} else {
		for i := range s.Notes {
			s.Notes[i].Velocity = 0
		}
	}
	if len(s.Notes) == 0 {
		return score.Score{}, r.fail(leadsheet.Pos{Line: parts[0].line}, "no-notes.score")
	}
	r.scoreChords(&s, lanes, mains, bars, at)
	r.scoreDirections(&s, lanes, mains, at)
	r.names(&s)
	return s.Finish(), true
}

// scoreBars fills in the bars and returns where each written bar begins.
func (r *reader) scoreBars(s *score.Score, bars []writtenBar, l *lane, signs []leadsheet.Signs) []theory.Dur {
	at := make([]theory.Dur, len(bars)+1)
	var now theory.Dur
	belongs, before := score.Tune, 0 // the part of the page, and the bars counted before it
	for i, b := range bars {
		at[i] = now
		if p, ok := leadsheet.ParsePart(l.bars[i].part); ok && p != belongs {
			if belongs, before = p, b.number; !b.pickup && !b.second {
				before--
			}
		}
		part := b.dur / theory.Dur(b.parts)
		for p := range b.parts {
			bar := score.Bar{At: now, Dur: part, Meter: b.meter, Key: b.key, Number: b.number - before + p, Part: belongs,
				Pickup: b.pickup || b.second || l.measures[i].implicit && b.dur < b.meter.Bar() && belongs == score.Tune}
			if p == 0 {
				bar.LineBreak = i > 0 && l.bars[i].newLine
				bar.PhraseStart = l.bars[i].phrase
			}
			bar.Signs = partOf(signs[i], p == 0, p == b.parts-1)
			s.Bars = append(s.Bars, bar)
			now += part
		}
	}
	at[len(bars)] = now
	return at
}

// partOf is what of the signs of a written bar belongs to one of the bars in it.
func partOf(s leadsheet.Signs, first, last bool) leadsheet.Signs {
	if !first {
		s.Start, s.Break, s.EndingOpens, s.Segno, s.Coda = false, false, false, false, false
	}
	if !last {
		s.Times, s.ToCoda, s.Fine, s.DaCapo, s.DalSegno = 0, false, false, false, false
	}
	return s
}

// scoreNotes turns placed notes into sounding ones: ties joined, grace notes
// before their main notes, signs of a chord on all of it.
func (r *reader) scoreNotes(s *score.Score, mains []*lane, voices map[voiceKey]voiceHand, at []theory.Dur) {
	j := &joiner{r: r, open: map[int][]int{}}
	var held []endless
	graces := map[string][]graceNote{} // by voice, waiting for their main note
	for li, l := range mains {
		j.last = -1
		for i := range l.bars {
			notes := slices.Clone(l.bars[i].notes)
			slices.SortStableFunc(notes, func(a, b placed) int { return cmp.Compare(a.at, b.at) })
			for k := range notes {
				n := &notes[k]
				here := place{line: n.line, bar: i, at: n.at, timed: true}
				if n.rest || !r.usable(n, here) {
					continue
				}
				if n.staff > 2 {
					continue
				}
				v := voices[voiceKey{lane: li, voice: n.voice}]
				if v.hand == 0 {
					v = voices[voiceKey{li, n.voice, score.Hand(n.staff)}]
				}
				note := score.Note{ID: n.id, Hand: v.hand, Voice: v.number, At: at[i] + n.at, Dur: n.end - n.at, Pitch: n.pitch,
					Finger: n.finger, FingerTo: n.fingerTo, Marks: n.marks, Ornament: n.ornament, Velocity: n.velocity(), Stroke: n.stroke(),
					Origin: score.Origin{Kind: n.role, Melody: n.tuneNote}}
				if n.sung.twice {
					r.warnAt(here, "syllable-twice")
				}
				if int(v.hand) != n.staff {
					note.Staff = score.Hand(n.staff)
				}
				if n.inverted {
					r.warnAt(here, "turn-inverted")
				}
				if n.grace {
					if g := graces[n.voice]; len(g) < maxGraces {
						note.Dur, note.Grace = 0, 1
						if len(g) > 0 {
							note.Grace = g[len(g)-1].Grace
							if !n.chord {
								note.Grace++
							}
						}
						note.Marks &^= score.Rolled | score.Fermata
						graces[n.voice] = append(g, graceNote{note, n.tieFrom})
					}
					continue
				}
				if note.Dur <= 0 {
					r.warnAt(here, "note-without-length")
					continue
				}
				tied := n.tieTo
				for _, g := range graces[n.voice] {
					if g.tied && tied && g.Pitch.MIDI() == note.Pitch.MIDI() {
						tied = false // the main note itself, begun early
						continue
					}
					g.At = note.At
					if g.Hand != note.Hand || g.Voice != note.Voice {
						staff := cmp.Or(g.Staff, g.Hand)
						g.Hand, g.Voice, g.Staff = note.Hand, note.Voice, 0
						if staff != g.Hand {
							g.Staff = staff
						}
					}
					s.Notes = append(s.Notes, g.Note)
				}
				delete(graces, n.voice)
				for _, y := range n.sung.syllables {
					if !tied || !y.Held {
						s.Lyrics = append(s.Lyrics, score.Lyric{At: note.At, Hand: note.Hand, Syllable: y})
					}
				}
				for _, v := range n.sung.endless {
					held = append(held, endless{note.Hand, note.Voice, note.At, v})
				}
				j.add(s, note, n, tied, here)
			}
		}
		left := 0
		for _, g := range graces {
			left += len(g)
		}
		if left > 0 {
			r.warnAt(place{bar: len(l.bars) - 1, line: l.measures[len(l.bars)-1].line}, "grace-left-out")
		}
		clear(graces)
	}
	j.finish(s)
	r.lyrics(s, held)
}

// graceNote is a grace note that waits for its main note; tied to it, where that
// is the same note.
type graceNote struct {
	score.Note
	tied bool
}

// maxGraces is more grace notes than stand before one note.
const maxGraces = 32

// velocity is the loudness in percent of the note's surroundings, as far as a
// Velocity can hold it. A ghost note is soft by itself.
func (n *placed) velocity() int8 {
	if n.dynamics.d == 0 {
		return 0
	}
	p := n.dynamics.n / n.dynamics.d
	if n.marks.Has(score.Ghost) && p == 50 {
		return 0
	}
	return int8(min(max(p-100, -100), 100))
}

// stroke is how hard the note was struck: in percent of 90 (MusicXML 4.0, dynamics of the
// element note).
func (n *placed) stroke() score.Stroke {
	if n.dynamics.d == 0 || n.dynamics.n <= 0 {
		return score.Stroke{}
	}
	return score.Stroke{Velocity: uint8(min(max((90*n.dynamics.n+50*n.dynamics.d)/(100*n.dynamics.d), 1), 127))}
}

// allStruck tells whether loudness is that of a playing: every note has its own, and nothing
// is said of what it is for. Where only some have it, they are louder or softer than the
// signs over them say.
func allStruck(ns []score.Note) bool {
	return !slices.ContainsFunc(ns, func(n score.Note) bool { return n.Stroke.Velocity == 0 || n.Origin.Kind != 0 })
}

// names keeps the ids that can be kept; the other notes get new ones in the end.
func (r *reader) names(s *score.Score) {
	used := map[string]bool{}
	slices.SortStableFunc(s.Notes, score.Compare)
	for i := range s.Notes {
		id := s.Notes[i].ID
		if !validID(id) || used[id] {
			s.Notes[i].ID = ""
			continue
		}
		used[id] = true
	}
}

// validID tells whether a text is a name of XML without a colon.
func validID(id string) bool {
	if id == "" || len(id) > 100 {
		return false
	}
	for i, c := range id {
		switch {
		case c == '_', unicode.IsLetter(c):
		case i > 0 && (c == '-' || c == '.' || unicode.IsDigit(c)):
		default:
			return false
		}
	}
	return true
}
