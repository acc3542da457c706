package musicxml

import (
	"fmt"
	"strconv"
	"strings"

	"gradatim/internal/notate"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// sign writes a direction or chord symbol; off is how long after the cursor it
// takes effect.
func (w *scoreWriter) sign(s notate.Sign, off theory.Dur) {
	switch s.Kind {
	case notate.SignChord:
		w.symbol(w.src.Chords[s.Chord], off)
	case notate.SignTempo:
		w.tempo()
	case notate.SignRehearsal:
		w.direction(s, off, "above", func() { w.leaf("rehearsal", s.Text) })
	case notate.SignWords:
		if s.Text == "N.C." && w.silentAt(s.At) {
			return // printed with the chord symbol
		}
		place := "above"
		if s.OnTime() {
			place = "below" // where all loudness stands
		}
		w.direction(s, off, place, func() { w.leaf("words", s.Text) })
	case notate.SignDynamic:
		w.direction(s, off, "below", func() {
			if dynamicNames[s.Text] {
				w.open("dynamics")
				w.empty(s.Text)
				w.close()
			} else {
				w.leaf("words", s.Text, "font-style", "italic") // "dolce"
			}
			if s.Later != "" {
				w.close()
				w.open("direction-type")
				w.leaf("words", s.Later, "font-style", "italic")
			}
		})
	case notate.SignCrescendo, notate.SignDiminuendo:
		kind := "crescendo"
		if s.Kind == notate.SignDiminuendo {
			kind = "diminuendo"
		}
		w.direction(s, off, "below", func() { w.empty("wedge", "type", kind, "number", staffNumber(s)) })
	case notate.SignHairpinEnd:
		w.direction(s, off, "below", func() { w.empty("wedge", "type", "stop", "number", staffNumber(s)) })
	case notate.SignPedalDown:
		w.direction(s, off, "below", func() { w.empty("pedal", "type", "start", "line", "yes", "sign", "no") })
	case notate.SignPedalUp:
		w.direction(s, off, "below", func() { w.empty("pedal", "type", "stop", "line", "yes", "sign", "no") })
	case notate.SignOctaveUp:
		w.direction(s, off, "above", func() { w.empty("octave-shift", "type", "down", "size", "8", "number", staffNumber(s)) })
	case notate.SignOctaveEnd:
		w.direction(s, off, "above", func() { w.empty("octave-shift", "type", "stop", "size", "8", "number", staffNumber(s)) })
	case notate.SignPace:
		if s.At == 0 && w.src.Tempo.Set() {
			return // said with the mark
		}
		w.heard("tempo", decimal(60_000_000, theory.Dur(max(s.Value, 1))), off)
	case notate.SignDepth:
		w.heard("damper-pedal", decimal(theory.Dur(s.Value)*100, 127), off)
	default:
		panic(fmt.Sprintf("musicxml: unknown sign %d", s.Kind))
	}
}

// heard writes what is played and not printed.
func (w *scoreWriter) heard(what, value string, off theory.Dur) {
	if off == 0 {
		w.empty("sound", what, value)
		return
	}
	w.open("sound", what, value)
	w.leaf("offset", w.duration(off))
	w.close()
}

// staffNumber numbers what a staff has one of at a time.
func staffNumber(s notate.Sign) string { return strconv.Itoa(int(s.Staff)) }

// dynamicNames are the dynamics that MusicXML 4.0 has an element for.
var dynamicNames = map[string]bool{
	"p": true, "pp": true, "ppp": true, "pppp": true, "f": true, "ff": true, "fff": true, "ffff": true,
	"mp": true, "mf": true, "sf": true, "sfp": true, "fp": true, "rf": true, "rfz": true, "sfz": true,
	"sffz": true, "fz": true, "n": true, "pf": true, "sfzp": true,
}

func (w *scoreWriter) direction(s notate.Sign, off theory.Dur, place string, body func()) {
	w.open("direction", "placement", place)
	w.open("direction-type")
	body()
	w.close()
	if off > 0 {
		w.leaf("offset", w.duration(off))
	}
	w.staff(s.Staff)
	w.close()
}

// tempo writes the words, the metronome mark and how eighths are played. Source
// of the swing element: MusicXML 4.0.
func (w *scoreWriter) tempo() {
	t, feel := w.src.Tempo, w.src.Feel
	words := t.Words
	if feel == leadsheet.Swing && !strings.Contains(strings.ToLower(words), "swing") {
		words = strings.TrimSpace(words + " Swing")
		if t.Words != "" {
			words = t.Words + ", swing"
		}
	}
	beat, known := valueOfBeat(t.Beat)
	mark := t.Set() && known
	if words == "" && !mark && feel == leadsheet.Unstated {
		return
	}
	if words != "" || mark {
		w.open("direction", "placement", "above")
	} else {
		w.open("sound")
		w.swing()
		w.close()
		return
	}
	if words != "" {
		w.open("direction-type")
		if mark {
			words += " " // so that the metronome mark stands apart
		}
		w.leaf("words", words, "font-weight", "bold")
		w.close()
	}
	if mark {
		w.open("direction-type")
		w.open("metronome", "parentheses", "no")
		w.leaf("beat-unit", typeNames[beat.Base])
		for range beat.Dots {
			w.empty("beat-unit-dot")
		}
		w.leaf("per-minute", strconv.Itoa(t.PerMinute))
		w.close()
		w.close()
	}
	w.staff(score.Right)
	if t.Set() || feel != leadsheet.Unstated {
		var attrs []string
		if t.Set() {
			attrs = []string{"tempo", decimal(theory.Dur(t.PerMinute)*t.Beat, theory.Quarter)}
			for _, d := range w.src.Directions {
				if d.Kind == score.TempoChange && d.At == 0 && d.Value > 0 {
					attrs[1] = decimal(60_000_000, theory.Dur(d.Value))
				}
			}
		}
		if feel == leadsheet.Unstated {
			w.empty("sound", attrs...)
		} else {
			w.open("sound", attrs...)
			w.swing()
			w.close()
		}
	}
	w.close()
}

func valueOfBeat(d theory.Dur) (notate.Value, bool) {
	for base := theory.Whole; base >= theory.SixtyFourth; base /= 2 {
		for dots := range 2 {
			if v := (notate.Value{Base: base, Dots: dots}); v.Dur() == d {
				return v, true
			}
		}
	}
	return notate.Value{}, false
}

func (w *scoreWriter) swing() {
	w.open("swing")
	if w.src.Feel == leadsheet.Straight {
		w.empty("straight")
	} else {
		r := w.src.Swing
		if r.First <= 0 || r.Second <= 0 {
			r = score.Ratio{First: 2, Second: 1}
		}
		w.leaf("first", strconv.Itoa(r.First))
		w.leaf("second", strconv.Itoa(r.Second))
		w.leaf("swing-type", "eighth")
	}
	w.close()
}

// decimal writes a fraction with up to three places, rounded.
func decimal(num, den theory.Dur) string {
	milli := (num*1000 + den/2) / den
	s := strconv.FormatInt(int64(milli/1000), 10)
	if f := milli % 1000; f != 0 {
		s += strings.TrimRight(fmt.Sprintf(".%03d", f), "0")
	}
	return s
}

// silentAt tells whether a printed "no chord" stands at a moment.
func (w *scoreWriter) silentAt(at theory.Dur) bool {
	for _, c := range w.src.Chords {
		if c.At == at && noChord(c) {
			return true
		}
	}
	return false
}

func noChord(c score.Symbol) bool { return c.Chord.Silent() && (c.Text == "" || c.Text == "N.C.") }

// symbol writes a chord symbol: its meaning in root, kind, degrees and bass, its
// looks in the texts. A symbol whose meaning is unknown is words only.
func (w *scoreWriter) symbol(c score.Symbol, off theory.Dur) {
	words := func(text string) {
		w.direction(notate.Sign{Staff: score.Right}, off, "above", func() { w.leaf("words", text, "font-style", "normal") })
	}
	if c.Chord.Silent() && !noChord(c) {
		words(c.Text)
		return
	}
	if noChord(c) {
		// Programs print a chord of no kind in many ways; the words look the same
		// everywhere.
		words("N.C.")
		w.open("harmony", "print-object", "no")
		w.open("root")
		w.leaf("root-step", "C", "text", "")
		w.close()
		w.leaf("kind", "none", "text", "N.C.")
	} else {
		w.open("harmony", "print-frame", "no", "placement", "above")
		if up := c.Chord.UpperTones; !up.Empty() {
			// The second chord stands below the first (MusicXML 4.0,
			// harmony-arrangement).
			w.harmonyChord(theory.Chord{Root: c.Chord.UpperRoot, Tones: up}, "")
			c.Chord.UpperTones, c.Text = theory.Degrees{}, ""
		}
		w.harmonyChord(c.Chord, c.Text)
	}
	if off > 0 {
		w.leaf("offset", w.duration(off))
	}
	w.staff(score.Right)
	w.close()
}

// harmonyChord writes one chord with the texts that it is printed by.
func (w *scoreWriter) harmonyChord(c theory.Chord, text string) {
	root, kindText := symbolText(c, text)
	w.open("root")
	if root == "" {
		w.leaf("root-step", c.Root.Letter.String())
	} else {
		w.leaf("root-step", c.Root.Letter.String(), "text", root)
	}
	w.alter("root-alter", c.Root)
	w.close()
	kind, changes := kindOf(c.Tones)
	w.leaf("kind", kind, "text", kindText)
	if c.Slash && c.Bass != c.Root {
		w.open("bass")
		w.leaf("bass-step", c.Bass.Letter.String())
		w.alter("bass-alter", c.Bass)
		w.close()
	}
	for _, d := range changes {
		w.open("degree", "print-object", "no")
		w.leaf("degree-value", strconv.Itoa(d.Value))
		w.leaf("degree-alter", strconv.Itoa(d.Alter))
		w.leaf("degree-type", d.Type)
		w.close()
	}
}

func (w *scoreWriter) alter(name string, n theory.Name) {
	if n.Alter != 0 {
		w.leaf(name, strconv.Itoa(int(n.Alter)))
	}
}

// symbolText returns the texts of root and kind: those of the house style or,
// where the score has a text of its own, what that says. root is empty where it
// is the plain name.
func symbolText(c theory.Chord, text string) (root, kind string) {
	if text == "" {
		text = c.Pretty()
	}
	rest, open := strings.CutPrefix(text, "(")
	for _, name := range []string{c.Root.Pretty(), c.Root.String()} {
		tail, ok := strings.CutPrefix(rest, name)
		if !ok {
			continue
		}
		if open {
			root = "(" + c.Root.Letter.String()
		}
		if c.Slash {
			for _, bass := range []string{"/" + c.Bass.Pretty(), "/" + c.Bass.String()} {
				if i := strings.LastIndex(tail, bass); i >= 0 {
					tail = tail[:i] + tail[i+len(bass):]
					break
				}
			}
		}
		return root, tail
	}
	return text, ""
}
