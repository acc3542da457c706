package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// lineCliche lets one inner voice fall or rise by half steps through a chord
// that stays.
var lineCliche = &Technique{
	ID: "line-cliche", Stage: Device,
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		ch := p.Span.Chord
		bar := p.meter().Bar()
		if p.Span.Dur() < 2*bar || p.Span.Dur()%4 != 0 || ch.Slash || isSus(ch) || ch.Dominant() || ch.Diminished() || p.Final || p.plainTonic(ch) {
			return nil
		}
		root := ch.Root
		minor := [][]theory.Degree{{deg1, degB3, deg5}, {deg1, degB3, deg5, deg7}, {deg1, degB3, deg5, degB7}, {deg1, degB3, deg5, deg6}}
		major := [][]theory.Degree{{deg1, deg3, deg5}, {deg1, deg3, degS5}, {deg1, deg3, deg5, deg6}, {deg1, deg3, degS5}}
		steps := major
		why := reason.Fact("cliche-climbs")
		if ch.MinorThird() {
			steps, why = minor, "cliche-falls"
		}
		unit := p.Span.Dur() / 4
		rw := Rewrite{Cost: 4}
		for k, ds := range steps {
			c := theory.Chord{Root: root, Tones: theory.DegreesOf(ds...)}
			from, until := p.Span.At+theory.Dur(k)*unit, p.Span.At+theory.Dur(k+1)*unit
			fit := harmony.Fits(p.Song, c, from, until)
			if fit.Verdict == harmony.Refused {
				return nil
			}
			rw.Cost += fit.Cost / 4
			rw.Chords = append(rw.Chords, Chord{At: from, End: until, Chord: c, Why: why})
		}
		return []Rewrite{rw}
	},
	Recognise: recogniseCliche,
	Drill:     ChangedChords,
	Follow: func(_ theory.Key, cs []theory.Chord) []Voice { // the walking voice
		out := make([]Voice, len(cs))
		for i := range cs[:len(cs)-1] {
			for a := range cs[i].Tones.All() {
				for b := range cs[i+1].Tones.All() {
					x, y := a.On(cs[i].Root), b.On(cs[i+1].Root)
					if by := classesApart(x, y); (by == 1 || by == 11) && !cs[i+1].HasClass(x.Class()) && !cs[i].HasClass(y.Class()) && cs[i].Root == cs[i+1].Root {
						out[i], out[i+1] = Voice{x, true}, Voice{y, true}
					}
				}
			}
		}
		return out
	},
}

// recogniseCliche finds three or more chords on one root, with one third, whose
// inner note goes on by half steps (5 – ♯5 – 6 and back in major).
func recogniseCliche(page *sight.Page) []Finding {
	var out []Finding
	sps := page.Spans()
	for i := 0; i+2 < len(sps); {
		j := i
		for j+1 < len(sps) {
			a, b := sps[j].Chord(), sps[j+1].Chord()
			x, ok := lineTone(*a)
			y, ok2 := lineTone(*b)
			if !ok || !ok2 || a.Root != b.Root || a.MinorThird() != b.MinorThird() || abs(x-y) != 1 {
				break
			}
			j++
		}
		if j-i >= 2 {
			out = append(out, Finding{At: sps[i].At, End: sps[j].End, Detail: sps[i].Chord().Pretty() + " – " + sps[j].Chord().Pretty()})
		}
		i = max(j, i+1)
	}
	return out
}

// lineTone is the inner note that a line cliché moves, as half steps above the
// root: the seventh or sixth beside a plain triad, the raised fifth, else the
// octave of a minor and the fifth of a major chord.
func lineTone(ch theory.Chord) (int, bool) {
	if ch.Silent() || ch.Slash || !ch.UpperTones.Empty() {
		return 0, false
	}
	if d, ok := ch.Seventh(); ok {
		return d.Semitones(), true
	}
	if ch.Tones.Has(degS5) {
		return 8, true
	}
	if ch.MinorThird() {
		return 12, true
	}
	return 7, true
}
