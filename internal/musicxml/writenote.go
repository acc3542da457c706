package musicxml

import (
	"fmt"
	"slices"
	"strconv"

	"gradatim/internal/notate"
	"gradatim/score"
	"gradatim/theory"
)

// event writes a rest, a chord, or the two chords of a tremolo, without the
// grace notes before it.
func (w *scoreWriter) event(b *notate.Bar, v *notate.Voice, e *notate.Event) {
	if e.Kind == notate.Rest {
		w.rest(b, v, e)
		return
	}
	if e.Tremolo == notate.Alternating {
		// Two chords of the full value, each sounding half of it.
		half := *e
		half.Dur /= 2
		low, top := half, half
		low.Heads, top.Heads = e.Heads[:len(e.Heads)-1], e.Heads[len(e.Heads)-1:]
		w.chord(b, v, &low, e, "start")
		w.chord(b, v, &top, e, "stop")
		return
	}
	w.chord(b, v, e, e, "single")
}

func (w *scoreWriter) rest(b *notate.Bar, v *notate.Voice, e *notate.Event) {
	w.rests++
	w.open("note", "id", w.newID(fmt.Sprintf("rest%d", w.rests)))
	if e.WholeBar {
		w.empty("rest", "measure", "yes")
	} else {
		w.empty("rest")
	}
	w.leaf("duration", w.duration(e.Dur))
	w.leaf("voice", voiceNumber(v))
	if !e.WholeBar {
		w.value(e.Value, false)
		w.ratio(e.Ratio)
	}
	w.staff(e.Staff)
	if e.Opens || e.Closes {
		w.open("notations")
		w.tuplet(e)
		w.close()
	}
	w.close()
}

// newID finds a name that no note or bar has.
func (w *scoreWriter) newID(want string) string {
	if w.ids == nil {
		w.ids = map[string]bool{}
		for _, b := range w.page.Bars {
			w.ids[b.ID] = true
			for _, v := range b.Voices {
				for _, e := range v.Events {
					for _, h := range e.Heads {
						w.ids[h.ID] = true
					}
					for _, g := range e.Graces {
						for _, h := range g.Heads {
							w.ids[h.ID] = true
						}
					}
				}
			}
		}
	}
	id := want
	for i := 2; w.ids[id]; i++ {
		id = fmt.Sprintf("%s-%d", want, i)
	}
	w.ids[id] = true
	return id
}

func (w *scoreWriter) value(v notate.Value, small bool) {
	if small {
		w.leaf("type", typeNames[v.Base], "size", "cue") // it sounds: no cue element
	} else {
		w.leaf("type", typeNames[v.Base])
	}
	for range v.Dots {
		w.empty("dot")
	}
}

func (w *scoreWriter) ratio(r notate.Ratio) {
	if r.Actual == 0 {
		return
	}
	w.open("time-modification")
	w.leaf("actual-notes", strconv.Itoa(r.Actual))
	w.leaf("normal-notes", strconv.Itoa(r.Normal))
	w.close()
}

func (w *scoreWriter) staff(s score.Hand) {
	if w.page.Staves == 2 {
		w.leaf("staff", strconv.Itoa(int(s)))
	}
}

func (w *scoreWriter) tuplet(e *notate.Event) {
	if e.Opens {
		bracket := "no"
		if e.Bracket {
			bracket = "yes"
		}
		w.empty("tuplet", "type", "start", "bracket", bracket)
	}
	if e.Closes {
		w.empty("tuplet", "type", "stop")
	}
}

// opensNote starts a note element with its id, loudness and visibility.
func (w *scoreWriter) openNote(h *notate.Head, hidden bool) {
	n := &w.src.Notes[h.Note]
	attrs := []string{"id", h.ID}
	switch {
	case n.Stroke.Velocity > 0:
		attrs = append(attrs, "dynamics", decimal(theory.Dur(n.Stroke.Velocity)*100, 90))
	case n.Velocity != 0:
		attrs = append(attrs, "dynamics", strconv.Itoa(100+int(n.Velocity)))
	case n.Marks.Has(score.Ghost):
		attrs = append(attrs, "dynamics", ghostDynamics)
	}
	if hidden {
		attrs = append(attrs, "print-object", "no")
	}
	w.open("note", attrs...)
}

// ghostDynamics is the loudness of a ghost note in percent, where the score
// says nothing closer.
const ghostDynamics = "50"

func (w *scoreWriter) pitch(p theory.Pitch) {
	w.open("pitch")
	w.leaf("step", p.Letter.String())
	if p.Alter != 0 {
		w.leaf("alter", strconv.Itoa(int(p.Alter)))
	}
	w.leaf("octave", strconv.Itoa(int(p.Octave)))
	w.close()
}

func (w *scoreWriter) accidental(h *notate.Head) {
	if h.Accidental == notate.Unneeded {
		return
	}
	name := "natural"
	switch h.Pitch.Alter {
	case 1:
		name = "sharp"
	case 2:
		name = "double-sharp"
	case -1:
		name = "flat"
	case -2:
		name = "flat-flat"
	case 3:
		name = "triple-sharp"
	case -3:
		name = "triple-flat"
	}
	if h.Accidental == notate.Courtesy {
		w.leaf("accidental", name, "cautionary", "yes", "parentheses", "yes")
	} else {
		w.leaf("accidental", name)
	}
}

func (w *scoreWriter) stem(s notate.Stem) {
	switch s {
	case notate.Up:
		w.leaf("stem", "up")
	case notate.Down:
		w.leaf("stem", "down")
	}
}

func (w *scoreWriter) notehead(h *notate.Head) {
	if w.src.Notes[h.Note].Marks.Has(score.Ghost) {
		w.leaf("notehead", "normal", "parentheses", "yes")
	}
}

func (w *scoreWriter) beams(beams []notate.Beam) {
	for l, s := range beams {
		w.leaf("beam", beamNames[s], "number", strconv.Itoa(l+1))
	}
}

// chord writes the heads of one event. whole is the event that it is part of,
// which differs only in a tremolo.
func (w *scoreWriter) chord(b *notate.Bar, v *notate.Voice, e, whole *notate.Event, tremolo string) {
	for i := range e.Heads {
		h := &e.Heads[i]
		w.openNote(h, v.Hidden)
		if i > 0 {
			w.empty("chord")
		}
		w.pitch(h.Pitch)
		w.leaf("duration", w.duration(e.Dur))
		tied := e.Tremolo != notate.Alternating // a tremolo is struck anew in the next bar
		if tied && !h.First {
			w.empty("tie", "type", "stop")
		}
		if tied && !h.Last {
			w.empty("tie", "type", "start")
		}
		w.leaf("voice", voiceNumber(v))
		ratio := e.Ratio
		if e.Tremolo == notate.Alternating {
			ratio = notate.Ratio{Actual: 2, Normal: 1}
		}
		w.value(e.Value, e.Small)
		w.accidental(h)
		w.ratio(ratio)
		w.stem(e.Stem)
		w.notehead(h)
		w.staff(h.Staff)
		if i == 0 {
			w.beams(e.Beams)
		}
		w.notations(b, v, e, whole, i, tremolo)
		if i == 0 && tremolo != "stop" {
			w.sung(whole.Sung)
		}
		if h.First {
			w.play(h)
		}
		w.close()
	}
}

// notations writes what belongs to one head, and with one of them what belongs to the
// chord: its signs stand once, whichever of its notes have them. What a note begins
// with stands at the first that begins, and not again where a tie goes on.
func (w *scoreWriter) notations(b *notate.Bar, v *notate.Voice, e, whole *notate.Event, i int, tremolo string) {
	h := &e.Heads[i]
	n := &w.src.Notes[h.Note]
	var begun, marks score.Marks
	var ornaments [score.Tremolo + 1]bool
	if tremolo != "stop" {
		begins := slices.IndexFunc(e.Heads, func(h notate.Head) bool { return h.First })
		for _, o := range whole.Heads {
			if n := w.src.Notes[o.Note]; i == begins && o.First {
				begun |= n.Marks
				ornaments[n.Ornament] = true
			}
			if i == 0 {
				marks |= w.src.Notes[o.Note].Marks
			}
		}
	}
	w.begin("notations")
	tied := e.Tremolo != notate.Alternating
	if tied && !h.First {
		w.empty("tied", "type", "stop")
	}
	if tied && !h.Last {
		w.empty("tied", "type", "start")
	}
	if h.SlurTo > 0 {
		w.empty("slur", "type", "stop", "number", strconv.Itoa(h.SlurTo))
	}
	switch {
	case h.SlurFrom > 0 && h.SlurOver:
		w.empty("slur", "type", "start", "number", strconv.Itoa(h.SlurFrom), "placement", "above")
	case h.SlurFrom > 0:
		w.empty("slur", "type", "start", "number", strconv.Itoa(h.SlurFrom))
	}
	if i == 0 {
		w.tuplet(e)
	}
	w.begin("ornaments")
	if h.First {
		for _, o := range []struct {
			kind score.Ornament
			name string
		}{{score.Mordent, "mordent"}, {score.UpperMordent, "inverted-mordent"}, {score.Turn, "turn"}, {score.Trill, "trill-mark"}} {
			if ornaments[o.kind] {
				w.empty(o.name)
			}
		}
	}
	if i == 0 && e.Tremolo != notate.NoTremolo {
		w.leaf("tremolo", "3", "type", tremolo)
	}
	w.end()
	w.begin("technical")
	if h.First && n.Finger > 0 {
		w.fingering(v, n)
	}
	w.end()
	w.begin("articulations")
	if h.First {
		for _, a := range []struct {
			mark score.Marks
			name string
		}{{score.Accent, "accent"}, {score.Staccato, "staccato"}, {score.Tenuto, "tenuto"}} {
			if begun&a.mark != 0 {
				w.empty(a.name)
			}
		}
	}
	w.end()
	if h.Last && marks&score.Fermata != 0 {
		place := "upright"
		if v.Hand == score.Left || v.Lane > 1 {
			place = "inverted" // below the notes
		}
		w.leaf("fermata", "normal", "type", place)
	}
	if e.Arpeggio > 0 && h.First {
		w.empty("arpeggiate", "number", strconv.Itoa(e.Arpeggio))
	}
	w.end()
}

// fingering puts the right hand's numbers above and the left hand's below, those
// of an inner voice too: between the staves they would stand among the other
// hand's notes.
func (w *scoreWriter) fingering(v *notate.Voice, n *score.Note) {
	place := "above"
	if v.Hand == score.Left {
		place = "below"
	}
	w.leaf("fingering", strconv.Itoa(int(n.Finger)), "placement", place)
	if n.FingerTo > 0 {
		w.leaf("fingering", strconv.Itoa(int(n.FingerTo)), "substitution", "yes", "placement", place)
	}
}

// grace writes a grace chord: no duration, small, before its main note.
func (w *scoreWriter) grace(v *notate.Voice, g *notate.Grace) {
	for i := range g.Heads {
		h := &g.Heads[i]
		n := &w.src.Notes[h.Note]
		w.openNote(h, v.Hidden)
		if g.Slash {
			w.empty("grace", "slash", "yes")
		} else {
			w.empty("grace")
		}
		if i > 0 {
			w.empty("chord")
		}
		w.pitch(h.Pitch)
		w.leaf("voice", voiceNumber(v))
		w.value(g.Value, false)
		w.accidental(h)
		w.stem(g.Stem)
		w.notehead(h)
		w.staff(h.Staff)
		if i == 0 {
			w.beams(g.Beams)
		}
		w.begin("notations")
		if h.SlurTo > 0 {
			w.empty("slur", "type", "stop", "number", strconv.Itoa(h.SlurTo))
		}
		if h.SlurFrom > 0 {
			w.empty("slur", "type", "start", "number", strconv.Itoa(h.SlurFrom))
		}
		w.begin("technical")
		if n.Finger > 0 {
			place := "above"
			if v.Hand == score.Left {
				place = "below"
			}
			w.leaf("fingering", strconv.Itoa(int(n.Finger)), "placement", place)
		}
		w.end()
		w.end()
		w.play(h)
		w.close()
	}
}

// sung writes what the verses have under a chord.
func (w *scoreWriter) sung(ss []notate.Sung) {
	for _, s := range ss {
		w.open("lyric", "number", strconv.Itoa(s.Verse))
		if s.Text != "" {
			w.leaf("syllabic", [...]string{notate.Single: "single", notate.First: "begin", notate.Middle: "middle", notate.Last: "end"}[s.Syllabic])
			w.leaf("text", s.Text)
		}
		if s.Extend != notate.NoExtend {
			w.empty("extend", "type", [...]string{notate.ExtendFrom: "start", notate.ExtendOn: "continue", notate.ExtendTo: "stop"}[s.Extend])
		}
		w.close()
	}
}

// play writes what a note is for, and which note of the tune it is: a player
// needs it to make the page sound as it was meant (MusicXML 4.0, type play).
func (w *scoreWriter) play(h *notate.Head) {
	o := w.src.Notes[h.Note].Origin
	if w.page.Staves == 1 { // a lead sheet is all tune
		return
	}
	w.begin("play")
	if o.Kind != 0 {
		w.leaf("other-play", o.Kind.String(), "type", playRole)
	}
	if o.Melody > 0 {
		w.leaf("other-play", strconv.Itoa(o.Melody), "type", playTune)
	}
	w.end()
}

// What our own pages say of a note for its player.
const (
	playRole = "role"      // a score.Kind
	playTune = "tune-note" // its place in the melody as played, from 1
)
