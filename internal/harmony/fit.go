package harmony

import (
	"fmt"
	"strings"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Verdict says how a melody goes with a chord.
type Verdict uint8

// Verdicts, best first.
const (
	Fitting Verdict = iota + 1
	Caution         // possible with care: see the note's Why
	Refused
)

var verdicts = [...]string{Fitting: "fits", Caution: "caution", Refused: "refuse"}

// String returns "fits", "caution" or "refuse".
func (v Verdict) String() string {
	if int(v) >= len(verdicts) {
		return ""
	}
	return verdicts[v]
}

// MarshalText writes the name.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// NoteFit is one melody note against the chord.
type NoteFit struct {
	Note    int // melody index
	Name    theory.Name
	Degree  theory.Degree // over the chord's root
	In      bool          // a tone of the chord
	Exposed bool          // long and strong enough to be heard with the chord
	Verdict Verdict
	Why     string // for Caution and Refused
}

// Fit is a stretch of melody against a chord.
type Fit struct {
	Chord   theory.Chord
	Verdict Verdict // the worst of the notes; Fitting over silence
	Notes   []NoteFit
	Cost    int // 0 for chord tones only; grows with the weight of what does not belong
}

// String says it in a line: "A7 fits: G is b7, Bb is b9".
func (f Fit) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s", f.Chord, f.Verdict)
	sep := ": "
	for i, n := range f.Notes {
		if i > 0 && n.Name == f.Notes[i-1].Name && n.Verdict == f.Notes[i-1].Verdict {
			continue
		}
		fmt.Fprintf(&b, "%s%s is %s", sep, n.Name, n.Degree)
		if n.Why != "" {
			fmt.Fprintf(&b, " (%s)", n.Why)
		}
		sep = ", "
	}
	return b.String()
}

// Fits judges a chord under the melody that sounds from ≤ t < to, the notes held
// into it included. A note that is exposed (a beat or more on a strong beat or
// under the chord's arrival, or two beats anywhere) must be a chord tone or a
// tension that such a chord may carry; a shorter or weaker one should move on by
// step, which earns a caution where it does not. What the chord's own symbol alters counts: over A7(♭9) a B is refused.
// Common practice, no source. Cost: a binary search and the notes inside.
func Fits(song leadsheet.Song, chord theory.Chord, from, to theory.Dur) Fit {
	return FitsSpan(song, Span{At: from, End: to, Chord: chord})
}

// FitsSpan judges like Fits, and knows what the chord does: a substitute dominant
// (and the backdoor one) bears no flat ninth, a related ii no thirteenth.
func FitsSpan(song leadsheet.Song, s Span) Fit {
	chord, from, to := s.Chord, s.At, s.End
	f := Fit{Chord: chord, Verdict: Fitting}
	if chord.Silent() || len(song.Bars) == 0 {
		return f
	}
	i := noteIndex(song.Melody, from)
	for i > 0 && song.Melody[i-1].End() > from { // held into the chord
		i--
	}
	for ; i < len(song.Melody) && song.Melody[i].At < to; i++ {
		n := song.Melody[i]
		at, end := max(n.At, from), min(n.End(), to)
		if end <= at {
			continue
		}
		bar := song.BarAt(at)
		m := song.Bars[bar].Meter.OrCommon()
		beat := m.BeatDur()
		d, in := DegreeOver(chord, n.Pitch.Name)
		in = in || chord.HasClass(n.Pitch.Class())
		nf := NoteFit{Note: i, Name: n.Pitch.Name, Degree: d, In: in, Verdict: Fitting}
		w := weight(song, bar, at, end)
		strong := at == from || w-int(min((end-at)*2/beat, 8)) >= 6
		nf.Exposed = end-at >= 2*beat || end-at >= beat && strong
		v, why := judge(chord, d, in)
		if stricter, reason := judgeFunction(s.Function, chord, d); stricter > v {
			v, why = stricter, reason
		}
		switch {
		case v == Fitting || nf.Exposed, v == Refused && end-at > beat && !leavesByStep(song.Melody, i):
			nf.Verdict, nf.Why = v, why
		case v == Refused && (end-at > beat || !leavesByStep(song.Melody, i)):
			nf.Verdict, nf.Why = Caution, why
		}
		f.Cost += noteCost(nf, w)
		f.Verdict = max(f.Verdict, nf.Verdict)
		f.Notes = append(f.Notes, nf)
	}
	return f
}

func noteCost(n NoteFit, weight int) int {
	switch {
	case n.Verdict == Refused:
		return 20 * weight
	case n.Verdict == Caution:
		return 4 * weight
	case n.In:
		return 0
	}
	return weight
}

// leavesByStep tells whether a note moves on by step, with no rest as long as
// itself between.
func leavesByStep(notes []leadsheet.Note, i int) bool {
	if i+1 >= len(notes) {
		return false
	}
	n, q := notes[i], notes[i+1]
	return step(n, q) != 0 && q.At-n.End() < n.Dur
}

// judge says whether an exposed melody degree goes with a chord.
func judge(c theory.Chord, d theory.Degree, in bool) (Verdict, string) {
	t := c.Tones
	if in {
		if d == dg(1, 0) && t.Has(degree7) {
			return Caution, "the root over a major seventh: use 6"
		}
		return Fitting, ""
	}
	if why := againstAlterations(t, d); why != "" {
		return Refused, why
	}
	q := qualityOf(c)
	verdict := func(fits, caution string) (Verdict, string) {
		switch name := d.String(); {
		case among(fits, name):
			return Fitting, ""
		case among(caution, name):
			return Caution, "delicate on this chord"
		}
		return Refused, against(t, d)
	}
	switch {
	case q == dominant && t.Has(degree4) && !t.Has(degree3):
		return verdict("5 9 13", "3 b9 9 #9 b13 b3")
	case q == dominant && t.Has(degreeS5):
		return verdict("9 #11 b9", "#9")
	case q == dominant:
		if d == dg(9, 1) {
			return Caution, "the sharp 9, with the 3 a major seventh below it"
		}
		return verdict("5 9 b9 #11 b13 13", "")
	case q == augmented:
		return verdict("9 #11 b7", "7 b13")
	case q == major && (t.Has(degree7) || t.Has(dg(6, 0))):
		return verdict("5 9 13 7", "#11")
	case q == major:
		return verdict("5 9 13 7", "#11 b7")
	case q == minor && t.Has(degree7):
		return verdict("5 9 11 13", "")
	case q == minor:
		return verdict("5 9 11 b7", "13 7")
	case q == halfDiminished:
		return verdict("11 b13", "9")
	case q == diminished:
		return verdict("9 11 b13 7", "")
	}
	return verdict("3 b3 5 9 13", "11 b7 7 4") // no third: the tune may supply it
}

// judgeFunction adds what the chord's function forbids; zero where it adds
// nothing.
func judgeFunction(f Function, c theory.Chord, d theory.Degree) (Verdict, string) {
	q := qualityOf(c)
	switch {
	case q == dominant && (f == Substitute || f == Borrowed):
		switch d {
		case dg(9, -1):
			return Refused, "the 5 of the dominant that it stands for"
		case dg(13, -1), dg(9, 1):
			return Caution, "altered, which makes it sound like the dominant that it stands for"
		}
	case f == Related && q == minor && (d == dg(13, 0) || d == degree7):
		return Refused, "the third of the dominant that it prepares"
	}
	return 0, ""
}

func among(list, word string) bool {
	for list != "" {
		var w string
		w, list, _ = strings.Cut(list, " ")
		if w == word {
			return true
		}
	}
	return false
}

// againstAlterations names what the symbol's own alterations forbid.
func againstAlterations(t theory.Degrees, d theory.Degree) string {
	switch d {
	case dg(9, 0):
		if t.Has(dg(9, -1)) || t.Has(dg(9, 1)) {
			return "the chord alters its 9"
		}
	case dg(9, -1), dg(9, 1):
		if t.Has(dg(9, 0)) {
			return "the chord has a natural 9"
		}
	case dg(13, 0):
		if t.Has(dg(13, -1)) || t.Has(degreeS5) {
			return "the chord has a flat 13"
		}
	case dg(13, -1):
		if t.Has(dg(13, 0)) || t.Has(dg(6, 0)) {
			return "the chord has a natural 13"
		}
	case dg(5, 0):
		if t.Has(degreeS5) || t.Has(degreeB5) || t.Has(dg(13, -1)) {
			return "the chord alters its 5"
		}
	case dg(11, 0):
		if t.Has(dg(11, 1)) {
			return "the chord has a sharp 11"
		}
	case dg(11, 1):
		if t.Has(dg(11, 0)) {
			return "the chord has a natural 11"
		}
	}
	return ""
}

// against names the chord tone that a degree rubs against.
func against(t theory.Degrees, d theory.Degree) string {
	for tone := range t.All() {
		if (d.Class()-tone.Class()+12)%12 == 1 {
			return "a half step above the " + tone.String()
		}
	}
	for tone := range t.All() {
		if (tone.Class()-d.Class()+12)%12 == 1 {
			return "a half step below the " + tone.String()
		}
	}
	return "foreign to the chord"
}
