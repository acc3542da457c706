package words

import (
	"fmt"
	"strconv"
	"strings"

	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// Kinds of parts beside those of music.
type (
	// Bars are bars by their printed numbers; 0 is the pick-up, and those of an
	// introduction or a tag are numbered as leadsheet.Part.Place has it.
	Bars []int
	// Tone is a chord's note by its degree: "the third of F".
	Tone struct {
		Degree theory.Degree
		Chord  theory.Chord
	}
	// Tenths is a number with one decimal, in tenths.
	Tenths int
	// Listed are parts with commas between them.
	Listed []any
	// HalfSteps is the width of an interval by the number of its half steps.
	HalfSteps int
)

// Value says one part by itself.
func (w *Words) Value(v any) string { return w.value(v, "") }

// value says one part in the form that is asked for. Chord symbols and numerals
// are the same in every language: they stand on the page.
func (w *Words) value(v any, form string) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return v
	case int:
		return strconv.Itoa(v)
	case float64:
		whole, part, dotted := strings.Cut(strconv.FormatFloat(v, 'g', -1, 64), ".")
		if !dotted {
			return whole
		}
		return w.Say("decimal", "Whole", whole, "Tenths", part)
	case []string:
		return w.List(v)
	case theory.Name:
		return w.Name(v)
	case theory.Pitch:
		return w.pitch(v)
	case theory.Chord:
		return v.Pretty()
	case []theory.Chord:
		return w.List(each(v, theory.Chord.Pretty))
	case theory.Caution:
		return w.Say("caution."+string(v.Usage), "Written", v.Written, "Read", v.Read, "Other", v.Other)
	case theory.Degree:
		if form == "symbol" {
			return v.Pretty()
		}
		return w.Word("degree", v.String(), form, v.Pretty())
	case theory.Numeral:
		return v.Pretty()
	case theory.Roman:
		return v.Pretty()
	case theory.Mode:
		return w.Word("mode", v.String(), form, v.String())
	case theory.Key:
		return w.Key(v)
	case theory.Dur:
		if form == "fraction" {
			return v.String() // of a whole note
		}
		return w.Word("value", values[v], form, "")
	case leadsheet.Meter:
		return v.String()
	case leadsheet.Beat:
		return w.beat(v)
	case leadsheet.Feel:
		return w.Word("feel", v.String(), form, v.String())
	case reason.Technique:
		if name := w.Say("technique." + string(v) + ".name"); form != "title" {
			return name
		} else {
			return Upper(name)
		}
	case reason.Signature:
		if v < 0 {
			return w.Say("signature.flats", "n", int(-v))
		}
		return w.Say("signature.sharps", "n", int(v))
	case reason.Role:
		return w.Word("role", string(v), form, string(v))
	case score.Hand:
		return w.Word("hand", v.String(), form, v.String())
	case []theory.Pitch:
		return strings.Join(each(v, w.pitch), "–")
	case hand.Length:
		return w.Say("millimetres", "Length", Tenths((v+5)/10))
	case leadsheet.Quoted:
		q := strconv.Quote(string(v))
		return w.Say("quoted", "Text", q[1:len(q)-1])
	case leadsheet.Problem:
		if form == "fix" {
			return w.Problem(v).Fix
		}
		return w.Problem(v).Text
	case Message:
		return w.inForm(v.Key, form, v.Parts...)
	case Bars:
		return w.bars(v, form)
	case leadsheet.BarNumbers:
		return w.bars(Bars(v), form)
	case Tone:
		return w.inForm("tone", form, "Degree", v.Degree, "Chord", v.Chord)
	case Tenths:
		return w.Say("decimal", "Whole", int(v)/10, "Tenths", int(v)%10)
	case []any:
		return strings.Join(each(v, w.Value), ", ")
	case Listed:
		return strings.Join(each(v, w.Value), ", ")
	case HalfSteps:
		return w.interval(int(v), form)
	case reason.Reason:
		return w.Reason(v)
	}
	panic(fmt.Sprintf("words: no way to say a %T", v))
}

// values are the note values that have names.
var values = map[theory.Dur]string{
	theory.Whole * 3 / 2: "dotted-whole", theory.Whole: "whole", theory.Half * 3 / 2: "dotted-half", theory.Half: "half",
	theory.Quarter * 3 / 2: "dotted-quarter", theory.Quarter: "quarter", theory.Eighth * 3 / 2: "dotted-eighth", theory.Eighth: "eighth",
	theory.Sixteenth * 3 / 2: "dotted-sixteenth", theory.Sixteenth: "sixteenth", theory.Sixteenth / 2: "thirty-second",
}

// Word returns a word of the vocabulary in a form. A word that has not the form has
// its full one, and one without forms is the same in all. otherwise is for what the
// language has no word of its own.
func (w *Words) Word(of, id, form, otherwise string) string {
	key := of + "." + id
	for _, k := range [...]string{key + "." + form, key + ".full", key} {
		if t, ok := w.messages[k]; ok {
			return w.fill(t, nil)
		}
	}
	return otherwise
}

// Name says the name of a note: "B♭" in English is "B" in German.
func (w *Words) Name(n theory.Name) string { return w.Word("note", n.Pretty(), "", n.Pretty()) }

// pitch says a note with its octave: "F4" in English is "f¹" in German.
func (w *Words) pitch(p theory.Pitch) string {
	name := w.Name(p.Name)
	key := "octave." + strconv.Itoa(int(p.Octave))
	if !w.Has(key) {
		return name + strconv.Itoa(int(p.Octave))
	}
	return w.Say(key, "Name", name, "name", strings.ToLower(name))
}

// Key says a key: "F major", "d-Moll".
func (w *Words) Key(k theory.Key) string {
	if !k.Valid() {
		return w.Say("key.none")
	}
	name := w.Name(k.Tonic)
	return w.Say("key."+k.Mode.String(), "Tonic", name, "tonic", strings.ToLower(name))
}

// beat says a place in a bar: "1", "the “and” of 4".
func (w *Words) beat(b leadsheet.Beat) string {
	n, part := int(b/leadsheet.BeatUnit), b%leadsheet.BeatUnit
	switch {
	case part == 0:
		return w.Say("beat.on", "n", n)
	case part*2 == leadsheet.BeatUnit:
		return w.Say("beat.half", "n", n)
	case part*3 == leadsheet.BeatUnit:
		return w.Say("beat.third", "n", n)
	case part*3 == 2*leadsheet.BeatUnit:
		return w.Say("beat.two-thirds", "n", n)
	}
	return w.Say("beat.after", "n", n)
}

// interval says how wide so many half steps are.
func (w *Words) interval(n int, form string) string {
	if s := w.Word("interval", strconv.Itoa(n), form, ""); s != "" {
		return s
	}
	if n%12 == 0 {
		return w.inForm("interval.octaves", form, "n", n/12)
	}
	return w.inForm("interval.beyond", form, "n", n/12, "Interval", HalfSteps(n%12))
}

// inForm says a message in the form that is asked for, else in its full one.
func (w *Words) inForm(key, form string, parts ...any) string {
	for _, k := range [...]string{key + "." + form, key + ".full"} {
		if w.Has(k) {
			return w.Say(k, parts...)
		}
	}
	return w.Say(key, parts...)
}

// List joins words: "C", "C and E", "C, E and G".
func (w *Words) List(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return w.Say("list.and", "before", strings.Join(words[:n-1], ", "), "last", words[n-1])
	}
}

func each[T any](xs []T, say func(T) string) []string {
	out := make([]string, len(xs))
	for i, x := range xs {
		out[i] = say(x)
	}
	return out
}
