package technique

import (
	"slices"

	"gradatim/internal/hand"
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// stride leaps between a low note (or octave) and the chord near middle C.
var stride = &Technique{
	ID: "stride", Stage: LeftHand, Defines: true,
	Needs:     []string{"bass-and-chord", "walking-bass"},
	Left:      func(c Cell) []Figure { return strideFigures(c, false) },
	Recognise: recogniseStride,
	Unseen:    "a chord that lies within a ninth of the low note needs no leap",
	Also:      []string{"root-then-guides", "bass-and-chord", "octave-bass", "repeated-chords", "bass-line"},
	Drill:     OwnBars,
}

// strideFigures builds low element and chord on the beats of a cell.
func strideFigures(c Cell, tenths bool) []Figure {
	if c.Chord.Silent() {
		return nil
	}
	pulse := c.Pulse()
	if c.Dur()%pulse != 0 {
		return nil
	}
	n := int(c.Dur() / pulse)
	if n == 1 && !c.Meter.Compound() { // a chord each beat does not leap
		out := rootSeventh.Left(c)
		for i := range out {
			out[i].By = rootSeventh.ID
		}
		return out
	}
	unit := pulse
	if c.Meter.Compound() { // low note on the dotted beat, chord on its last third
		unit = pulse / 3
	} else if c.Meter.Beats == 2 && c.Meter.Unit == 4 && c.beatTempo() <= 100 { // ragtime in eighths
		unit, n = pulse/2, 2*n
	}
	chords := strideChords(c)
	if len(chords) == 0 {
		return nil
	}
	var out []Figure
	for _, base := range strideBasses(c) {
		for _, low := range lowElements(c, base, tenths) {
			for _, v := range chords {
				for _, back := range []bool{false, true} {
					if back && !(c.Closes && n == 4) {
						continue
					}
					f := Figure{Cost: low.cost + v.Cost, Say: reason.Then{Figure: "stride", Next: low.say}}
					if back {
						f.Cost += 4
						say := low.say
						if len(low.second) > 0 { // no low note comes first
							say = reason.Figure("stride.note")
						}
						f.Say = reason.Then{Figure: "stride.back", Next: say}
					}
					strideLine(c, &f, low, v, n, unit, back)
					f.Pedal = tenths && low.rolled
					out = append(out, f)
				}
			}
		}
	}
	return out
}

func strideLine(c Cell, f *Figure, low lowElement, v Voicing, n int, unit theory.Dur, back bool) {
	strong := func(i int) bool {
		place := int((c.At-c.BarAt)/unit) + i
		s := i == 0 || place%2 == 0 // a new chord is begun from below, wherever it comes
		if c.Meter.BeatCount() == 3 {
			s = i == 0 || place == 0
		}
		if c.Meter.Uneven() {
			s = i == 0 || slices.Contains(c.Meter.Groups(), theory.Dur(place)*unit)
		}
		return s != back
	}
	f.Tones = make([]Tone, 0, n*max(len(low.first), len(v.Pitches)))
	at := c.At
	for i := range n {
		step := unit
		if c.Meter.Compound() {
			// low note for two thirds of the beat, chord on the last third
			for _, p := range low.first {
				f.Tones = append(f.Tones, Tone{At: at, Dur: 2 * unit, Pitch: p, Kind: score.Bass, Marks: low.marks()})
			}
			addChord(c, f, v, at+2*unit, unit)
			at += 3 * unit
			continue
		}
		if strong(i) {
			ps := low.first
			if i > 0 && len(low.second) > 0 {
				ps = low.second
			}
			for k, p := range ps {
				kind := score.Bass
				if k > 0 {
					kind = score.Chord
				}
				f.Tones = append(f.Tones, Tone{At: at, Dur: step, Pitch: p, Kind: kind, Marks: low.marks()})
			}
		} else {
			addChord(c, f, v, at, step)
		}
		at += step
	}
}

func addChord(c Cell, f *Figure, v Voicing, at, dur theory.Dur) {
	for _, p := range v.Pitches {
		f.Tones = append(f.Tones, Tone{At: at, Dur: dur, Pitch: p, Kind: c.kindOf(p, score.Chord)})
	}
}

type lowElement struct {
	first, second []theory.Pitch // on the first strong beat, and on later ones
	rolled        bool
	cost          int
	say           reason.Figure
}

func (l lowElement) marks() score.Marks {
	if l.rolled {
		return score.Rolled
	}
	return 0
}

func strideBasses(c Cell) []theory.Pitch {
	name := c.Chord.Lowest()
	var out []theory.Pitch
	for p := name.Above(max(c.Low, 28)); p.MIDI() <= 50; p.Octave++ {
		out = append(out, p)
	}
	return out
}

// lowElements lists what may stand on the strong beats over a bass note.
func lowElements(c Cell, base theory.Pitch, tenths bool) []lowElement {
	fifthBelow := base.Up(fifthOf(c.Chord).Interval())
	fifthBelow.Octave--
	five := []theory.Pitch{fifthBelow}
	if fifthBelow.MIDI() < 28 || c.Chord.Slash {
		five = nil
	}
	if tenths {
		if c.Chord.Slash {
			return nil
		}
		top := tenthOf(c.Chord, base)
		keys := []int{base.MIDI(), top.MIDI()}
		if top.MIDI()-base.MIDI() < 15 || top.MIDI() > 62 {
			return nil
		}
		e := lowElement{first: []theory.Pitch{base, top}, say: "stride.tenth"}
		if !c.Hand.Reaches(score.Left, keys) {
			if !c.Hand.Rolls(score.Left, keys) {
				return nil
			}
			e.rolled, e.say = true, "stride.rolled"
			if e.second = five; len(five) == 0 { // one roll is enough
				e.second = []theory.Pitch{base}
			}
		}
		return []lowElement{e}
	}
	out := []lowElement{{first: []theory.Pitch{base}, second: five, say: "stride.note"}}
	oct := base
	oct.Octave--
	if oct.MIDI() >= 28 && hand.Distance(oct.MIDI(), base.MIDI()) <= c.Hand.Reach(score.Left) {
		e := lowElement{first: []theory.Pitch{oct, base}, say: "stride.octave", cost: 3} // for where a page is to be fuller
		if len(five) > 0 {
			e.second = five
		}
		out = append(out, e)
	}
	return out
}

// strideChords lists the chord shapes of the weak beats: three notes with third
// and seventh, top note A3 to A4.
func strideChords(c Cell) []Voicing {
	ch := c.Chord
	third, ok := ch.Third()
	if !ok {
		return Triads(c, 50, 69)
	}
	sev, ok := ch.Seventh()
	if !ok {
		return Triads(c, 50, 69)
	}
	colours := []degree{}
	for d := range ch.Tones.All() {
		if d.Number >= 9 {
			colours = append(colours, d)
		}
	}
	if _, altered := altersFifth(ch); !altered {
		colours = append(colours, fifthOf(ch))
	}
	var out []Voicing
	for k, x := range colours {
		for _, shape := range [][]degree{{third, sev, x}, {sev, third, x}, {third, x, sev}, {sev, x, third}, {x, third, sev}} {
			for _, v := range Placements(ch.Root, shape, 50, 69, 12, k) {
				if top := v.Pitches[2].MIDI(); top < 57 {
					continue
				}
				out = append(out, v)
			}
		}
	}
	out = append(out, guideVoicings(c, 50, 69)...)
	return append(out, c.unseventh(50, 69)...)
}

// altersFifth tells whether the chord's own fifth gives way to a neighbour.
func altersFifth(ch theory.Chord) (degree, bool) {
	for _, d := range []degree{degB13, degS5, degB5} {
		if ch.Tones.Has(d) {
			return d, true
		}
	}
	return degree{}, false
}

// recogniseStride finds a low note, octave, fifth or tenth and a full chord that
// the hand has to leap to.
func recogniseStride(page *sight.Page) []Finding {
	var out []Finding
	for _, x := range page.LowChords() {
		wide := x.Low.Span() >= 12 && x.Chord.Dur() <= x.Chord.Pulse
		if x.Low.Low() <= 52 && (x.Leap || wide) && (x.Chord.Rich() || wide || !x.Chord.Known()) {
			out = append(out, finding("", x.Low, x.Chord))
		}
	}
	return out
}
