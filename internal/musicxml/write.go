package musicxml

import (
	"cmp"
	"slices"
	"strconv"

	"gradatim/internal/notate"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Write writes a piano score as MusicXML 4.0, partwise, one part on two staves,
// UTF-8. The same score gives the same bytes. The error is a leadsheet.Problems
// where the score cannot be written at all; what had to be written otherwise
// than it sounds is told by notate.Of, see WritePage.
func Write(s score.Score) ([]byte, error) {
	page, problems := notate.Of(s)
	if err := problems.Err(); err != nil {
		return nil, err
	}
	return WritePage(page), nil
}

// WriteSong writes a lead sheet: melody, chord symbols and verses on one staff, in the
// order in which it stands, with its signs for repeats.
func WriteSong(song leadsheet.Song) ([]byte, error) {
	page, problems := notate.Song(song)
	if err := problems.Err(); err != nil {
		return nil, err
	}
	return WritePage(page), nil
}

// WritePage writes a page whose notation is decided.
func WritePage(p notate.Page) []byte {
	w := &scoreWriter{page: p, src: p.Source, unit: unitOf(p)}
	w.raw(`<?xml version="1.0" encoding="UTF-8" standalone="no"?>` + "\n")
	w.raw(`<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">` + "\n")
	w.open("score-partwise", "version", "4.0")
	w.header()
	w.open("part", "id", "P1")
	for i := range p.Bars {
		w.measure(i)
	}
	w.close()
	w.close()
	return []byte(w.b.String())
}

// scoreWriter holds what the elements of one file share.
type scoreWriter struct {
	xmlWriter
	page  notate.Page
	src   score.Score
	unit  theory.Dur // the length of one division
	rests int        // rests so far, for their ids
	ids   map[string]bool
}

// unitOf returns the longest unit that every length on the page is a multiple
// of, so that the file's divisions are as small as they can be.
func unitOf(p notate.Page) theory.Dur {
	g := theory.Quarter
	add := func(d theory.Dur) {
		for b := g; d != 0; {
			b, d = d, b%d
			g = b
		}
	}
	for _, b := range p.Bars {
		for _, v := range b.Voices {
			for _, e := range v.Events {
				add(e.At - b.At)
				add(e.Dur)
				if e.Tremolo == notate.Alternating {
					add(e.Dur / 2)
				}
			}
		}
		for _, s := range b.Signs {
			add(s.At - b.At)
		}
		for _, c := range b.Clefs {
			add(c.At - b.At)
		}
	}
	return g
}

func (w *scoreWriter) duration(d theory.Dur) string { return strconv.FormatInt(int64(d/w.unit), 10) }

// staffHeight is the height of five lines in millimetres.
func staffHeight(s score.Score) string {
	h := cmp.Or(s.StaffHeight, usualStaff)
	return strconv.FormatFloat(float64(h)/10, 'f', -1, 64)
}

// usualStaff is the staff height of a page that asks for none, in tenths of a
// millimetre (common practice, no source).
const usualStaff = 70

// wordsCredit is the type of the credit with the verses below the music.
const wordsCredit = "lyrics"

// pedalWords say in a file how the player pedals.
var pedalWords = [...]string{score.PedalByEar: "by ear", score.PedalForRolls: "for rolls"}

func (w *scoreWriter) header() {
	s := w.src
	if s.Title != "" {
		w.open("work")
		w.leaf("work-title", s.Title)
		w.close()
	}
	w.open("identification")
	if s.Composer != "" {
		w.leaf("creator", s.Composer, "type", "composer")
	}
	if s.Arranger != "" {
		w.leaf("creator", s.Arranger, "type", "arranger")
	}
	if s.Rights != "" {
		w.leaf("rights", s.Rights)
	}
	w.open("encoding")
	w.leaf("software", "gradatim")
	for _, e := range []string{"accidental", "beam", "stem"} {
		w.empty("supports", "element", e, "type", "yes")
	}
	w.empty("supports", "element", "print", "type", "yes", "attribute", "new-system", "value", "yes")
	w.close()
	if s.Level > 0 || s.LevelName != "" || s.Pedal != score.PedalAsWritten {
		w.open("miscellaneous")
		if s.Level > 0 {
			w.leaf("miscellaneous-field", strconv.Itoa(s.Level), "name", "level")
		}
		if s.LevelName != "" {
			w.leaf("miscellaneous-field", s.LevelName, "name", "level-name")
		}
		if how := pedalWords[s.Pedal]; how != "" {
			w.leaf("miscellaneous-field", how, "name", "pedal")
		}
		w.close()
	}
	w.close()
	w.open("defaults")
	w.open("scaling")
	w.leaf("millimeters", staffHeight(s))
	w.leaf("tenths", "40")
	w.close()
	w.close()
	for _, c := range []struct{ kind, text, justify string }{
		{"title", s.Title, "center"}, {"subtitle", s.Subtitle, "center"}, {"composer", s.Composer, "right"},
		{"arranger", s.Arranger, "right"}, {"rights", s.Rights, "center"},
	} {
		if c.text != "" {
			w.open("credit", "page", "1")
			w.leaf("credit-type", c.kind)
			w.leaf("credit-words", c.text, "justify", c.justify)
			w.close()
		}
	}
	if len(w.page.Words) > 0 {
		w.open("credit", "page", "1")
		w.leaf("credit-type", wordsCredit)
		for _, line := range w.page.Words {
			w.leaf("credit-words", line)
		}
		w.close()
	}
	w.open("part-list")
	w.open("score-part", "id", "P1")
	name := "Piano"
	if w.page.Staves == 1 {
		name = "Melody"
	}
	w.leaf("part-name", name, "print-object", "no")
	w.open("score-instrument", "id", "P1-I1")
	w.leaf("instrument-name", "Piano")
	w.leaf("instrument-sound", "keyboard.piano.grand")
	w.close()
	w.open("midi-instrument", "id", "P1-I1")
	w.leaf("midi-channel", "1")
	w.leaf("midi-program", "1")
	w.close()
	w.close()
	w.close()
}

func (w *scoreWriter) measure(i int) {
	b := &w.page.Bars[i]
	attrs := []string{"number", strconv.Itoa(b.Number), "id", b.ID}
	// A short bar within a lead sheet says that nothing is missing: readers would
	// fill it up. The staves of a piano score agree on it.
	short := w.page.Staves == 1 && b.Dur < b.Meter.Bar() && i < len(w.page.Bars)-1
	if b.Pickup || short || b.Part != score.Tune { // not counted with the tune
		attrs = []string{"number", strconv.Itoa(b.Number), "implicit", "yes", "id", b.ID}
	}
	w.open("measure", attrs...)
	if b.LineBreak && i > 0 {
		w.empty("print", "new-system", "yes")
	}
	clefs := b.Clefs
	w.attributes(i, &clefs)
	newPart := i == 0 && b.Part != score.Tune || i > 0 && b.Part != w.page.Bars[i-1].Part
	if b.PhraseStart || newPart {
		w.open("grouping", "type", "start")
		if b.PhraseStart {
			w.empty("feature", "type", phraseFeature)
		}
		if newPart {
			w.leaf("feature", b.Part.String(), "type", partFeature)
		}
		w.close()
	}
	w.roadBefore(b)
	cursor := b.At
	signs := carriers(b)
	for j := range b.Voices {
		v := &b.Voices[j]
		w.move(cursor, b.At)
		cursor = w.voice(b, v, signs[j], &clefs)
	}
	w.move(cursor, b.End())
	w.roadAfter(b, i)
	w.close()
}

// phraseFeature marks a bar in which a phrase begins (MusicXML 4.0, types grouping
// and feature, which are there for what an analysis finds).
const phraseFeature = "phrase"

// partFeature marks the bar in which a part of the page begins, beside the tune.
const partFeature = "part"

// move takes the cursor of the measure from one moment to another.
func (w *scoreWriter) move(from, to theory.Dur) {
	switch {
	case from < to:
		w.open("forward")
		w.leaf("duration", w.duration(to-from))
		w.close()
	case from > to:
		w.open("backup")
		w.leaf("duration", w.duration(from-to))
		w.close()
	}
}

// attributes writes what stands at the start of a measure, and takes the clefs
// that change there from the list.
func (w *scoreWriter) attributes(i int, clefs *[]notate.ClefChange) {
	b := &w.page.Bars[i]
	starts := takeClefs(clefs, b.At, 0)
	if i > 0 && !b.NewKey && !b.NewMeter && len(starts) == 0 {
		return
	}
	w.open("attributes")
	if i == 0 {
		w.leaf("divisions", w.duration(theory.Quarter))
	}
	if b.NewKey {
		w.open("key")
		w.leaf("fifths", strconv.Itoa(b.Key.Fifths()))
		w.leaf("mode", b.Key.Mode.String())
		w.close()
	}
	if b.NewMeter {
		switch b.Meter.Symbol {
		case "C":
			w.open("time", "symbol", "common")
		case "C|":
			w.open("time", "symbol", "cut")
		case leadsheet.FreeSymbol:
			w.open("time", "print-object", "no")
		default:
			w.open("time")
		}
		beats := strconv.Itoa(b.Meter.Beats)
		if b.Meter.Given() {
			beats = b.Meter.Parts
		}
		w.leaf("beats", beats)
		w.leaf("beat-type", strconv.Itoa(b.Meter.Unit))
		w.close()
	}
	if i == 0 && w.page.Staves == 2 {
		w.leaf("staves", "2")
	}
	if i == 0 {
		for _, h := range w.page.Hands() {
			w.clef(h, w.page.Clefs[h-1])
		}
	}
	for _, c := range starts {
		w.clef(c.Staff, c.Clef)
	}
	w.close()
}

// takeClefs removes the changes up to a moment, of one staff or (0) of both.
func takeClefs(clefs *[]notate.ClefChange, until theory.Dur, staff score.Hand) (taken []notate.ClefChange) {
	var left []notate.ClefChange
	for _, c := range *clefs {
		if c.At <= until && (staff == 0 || staff == c.Staff) {
			taken = append(taken, c)
		} else {
			left = append(left, c)
		}
	}
	*clefs = left
	return taken
}

func (w *scoreWriter) clef(staff score.Hand, c notate.Clef) {
	if w.page.Staves == 2 {
		w.open("clef", "number", strconv.Itoa(int(staff)))
	} else {
		w.open("clef")
	}
	sign, line := "G", "2"
	if c == notate.BassClef {
		sign, line = "F", "4"
	}
	w.leaf("sign", sign)
	w.leaf("line", line)
	w.close()
}

// voice writes one voice of a bar with the signs that it carries and returns
// where the cursor stands after it. What is signed at the end of the bar follows
// the last note.
func (w *scoreWriter) voice(b *notate.Bar, v *notate.Voice, signs []notate.Sign, clefs *[]notate.ClefChange) theory.Dur {
	cursor := b.At
	to := func(at theory.Dur) {
		w.move(cursor, at)
		cursor = at
	}
	for k := range v.Events {
		e := &v.Events[k]
		var symbols []notate.Sign // they stand at the note itself, after its grace notes
		for _, s := range signs {
			switch {
			case s.At < e.At || s.At >= e.At+e.Dur:
			case s.Kind == notate.SignChord:
				symbols = append(symbols, s)
			default:
				to(e.At)
				w.sign(s, s.At-e.At)
			}
		}
		if changes := takeClefs(clefs, e.At, v.Hand); len(changes) > 0 {
			to(e.At)
			w.open("attributes")
			for _, c := range changes {
				w.clef(c.Staff, c.Clef)
			}
			w.close()
		}
		if e.Kind == notate.Space && len(symbols) == 0 {
			continue
		}
		to(e.At)
		for i := range e.Graces {
			w.grace(v, &e.Graces[i])
		}
		for _, s := range symbols {
			w.sign(s, s.At-e.At)
		}
		if e.Kind == notate.Space {
			continue
		}
		w.event(b, v, e)
		cursor = e.At + e.Dur
	}
	for _, s := range signs {
		if s.At >= b.End() {
			to(b.End())
			w.sign(s, 0)
		}
	}
	return cursor
}

// carriers gives each sign of a bar to a voice of its staff: the first that has
// something at that moment, so that no offset is needed, else the main voice.
func carriers(b *notate.Bar) [][]notate.Sign {
	out := make([][]notate.Sign, len(b.Voices))
	for _, s := range b.Signs {
		best := -1
		for j := range b.Voices {
			v := &b.Voices[j]
			if v.Hand != s.Staff {
				continue
			}
			if best < 0 {
				best = j
				if s.At >= b.End() || s.Kind == notate.SignChord {
					break // chord symbols of one staff stay together
				}
			}
			if slices.ContainsFunc(v.Events, func(e notate.Event) bool { return e.At == s.At }) {
				best = j
				break
			}
		}
		out[best] = append(out[best], s)
	}
	return out
}

var typeNames = map[theory.Dur]string{
	notate.Breve: "breve", theory.Whole: "whole", theory.Half: "half", theory.Quarter: "quarter",
	theory.Eighth: "eighth", theory.Sixteenth: "16th", theory.ThirtySecond: "32nd", theory.SixtyFourth: "64th",
}

var beamNames = map[notate.Beam]string{
	notate.Begin: "begin", notate.Continue: "continue", notate.End: "end",
	notate.ForwardHook: "forward hook", notate.BackwardHook: "backward hook",
}

// voiceNumber numbers the voices of the part: 1 to 4 for the right hand and 5
// to 8 for the left, as is common; odd numbers from 9 and even numbers from 10
// where a hand has more, or has voices that only sound.
func voiceNumber(v *notate.Voice) string {
	lane, left := v.Lane, 0
	if v.Hand == score.Left {
		left = 1
	}
	if v.Hidden {
		lane += 16
	}
	if lane <= 4 {
		return strconv.Itoa(lane + 4*left)
	}
	return strconv.Itoa(2*lane - 1 + left)
}
