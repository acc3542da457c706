package perform

import (
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// A Tempo is a wish: a part of the score's tempo or beats a minute. The zero
// value is the score's tempo.
type Tempo struct {
	Percent   int // of the score's tempo
	PerMinute int // beats a minute, the beat being the score's; rules over Percent
}

// The slowest and the fastest tempo, against the score's, that is played.
const (
	MinPercent = 20
	MaxPercent = 300
)

// ParseTempo reads "60%" or "92".
func ParseTempo(s string) (Tempo, error) {
	num, percent := strings.CutSuffix(s, "%")
	n, err := strconv.Atoi(num)
	if err != nil {
		return Tempo{}, fmt.Errorf("%q: say a percentage like 60%% or beats a minute like 92", s)
	}
	if percent {
		if n < MinPercent || n > MaxPercent {
			return Tempo{}, fmt.Errorf("%s: say %d%% to %d%%", s, MinPercent, MaxPercent)
		}
		return Tempo{Percent: n}, nil
	}
	if n < 1 || n > 1000 {
		return Tempo{}, fmt.Errorf("%s: that is no number of beats a minute", s)
	}
	return Tempo{PerMinute: n}, nil
}

// tempoAt is a tempo to play at.
type tempoAt struct {
	beat     theory.Dur
	written  float64 // beats a minute in the score
	actual   float64 // beats a minute played
	quarters float64 // quarter notes a minute played
}

func (t tempoAt) String() string {
	return fmt.Sprintf("%g beats of %s a minute", t.actual, t.beat)
}

// unit is the length of the smallest duration in seconds.
func (t tempoAt) unit() float64 { return 60 / t.actual / float64(t.beat) }

// words gives a tempo to scores that name theirs and do not number it. Common
// practice, no source.
var words = []struct {
	word  string
	tempo int
}{
	{"larghetto", 63}, {"largo", 50}, {"grave", 44}, {"lento", 54}, {"adagio", 66},
	{"andantino", 84}, {"andante", 78}, {"moderato", 104}, {"allegretto", 116},
	{"allegro", 132}, {"vivace", 152}, {"presto", 176},
	{"slow", 66}, {"medium", 120}, {"fast", 176}, {"quick", 160},
}

// plainTempo is for scores that say nothing: quarter notes a minute.
const plainTempo = 100

// of applies the wish to a score.
func (t Tempo) of(s score.Score) (tempoAt, bool, error) {
	at := tempoAt{beat: s.Tempo.Beat, written: float64(s.Tempo.PerMinute)}
	assumed := false
	if at.beat <= 0 {
		at.beat = theory.Quarter
		if m := s.Bars[0].Meter; m.Valid() && m.Compound() {
			at.beat = m.BeatDur()
		}
	}
	if at.written <= 0 {
		assumed = true
		at.written = plainTempo * float64(theory.Quarter) / float64(at.beat)
		for _, w := range words {
			if strings.Contains(strings.ToLower(s.Tempo.Words), w.word) {
				at.written = float64(w.tempo)
				if at.beat > theory.Quarter {
					at.written *= float64(theory.Quarter) / float64(at.beat)
				}
				break
			}
		}
	}
	at.actual = at.written
	switch {
	case t.PerMinute != 0:
		at.actual = float64(t.PerMinute)
	case t.Percent != 0:
		at.actual = at.written * float64(t.Percent) / 100
	}
	part := at.actual / at.written * 100
	if part < MinPercent-1e-9 || part > MaxPercent+1e-9 {
		return at, false, fmt.Errorf("%g beats a minute is %.0f%% of the score's tempo", at.actual, part)
	}
	at.quarters = at.actual * float64(at.beat) / float64(theory.Quarter)
	if at.quarters < leadsheet.MinQuarters || at.quarters > leadsheet.MaxQuarters {
		return at, false, fmt.Errorf("%g quarter notes a minute cannot be played", at.quarters)
	}
	return at, assumed, nil
}

// pace is how long the smallest duration lasts from a place on, in seconds.
type pace struct {
	at   theory.Dur
	unit float64
}

// findPaces lists the tempi of the score, as the wish makes them slower or faster. A live
// one that is to be played evenly keeps to its first.
func (r *reading) findPaces() {
	r.paces = []pace{{0, r.tempo.unit()}}
	if r.score.Live && !r.live {
		return
	}
	for _, d := range r.score.Directions {
		if d.Kind != score.TempoChange || d.Value <= 0 {
			continue
		}
		p := pace{d.At, float64(d.Value) / 1e6 / float64(theory.Quarter) * r.tempo.written / r.tempo.actual}
		if last := &r.paces[len(r.paces)-1]; p.at <= last.at {
			last.unit = p.unit
		} else {
			r.paces = append(r.paces, p)
		}
	}
}

// changes tells whether the score itself changes its tempo between two places: then
// nobody slows down there beside it.
func (r *reading) changes(from, to theory.Dur) bool {
	return slices.ContainsFunc(r.paces[1:], func(p pace) bool { return p.at > from && p.at < to })
}

// unitAt is how long the smallest duration lasts at a place.
func (r *reading) unitAt(at theory.Dur) float64 {
	i := sort.Search(len(r.paces), func(i int) bool { return r.paces[i].at > at })
	return r.paces[max(i-1, 0)].unit
}

// unitOver is that on the mean of a stretch, with the places where it changes within.
func (r *reading) unitOver(from, dur theory.Dur) (unit float64, within []pace) {
	i := sort.Search(len(r.paces), func(i int) bool { return r.paces[i].at > from })
	unit = r.paces[max(i-1, 0)].unit
	j := i
	for j < len(r.paces) && r.paces[j].at < from+dur {
		j++
	}
	if i == j {
		return unit, nil
	}
	sum, at := 0.0, from
	for _, p := range r.paces[i:j] {
		sum += unit * float64(p.at-at)
		at, unit = p.at, p.unit
	}
	return (sum + unit*float64(from+dur-at)) / float64(dur), r.paces[i:j]
}

// feel is the ratio at which eighths are swung. What is printed is what is
// heard, at practice tempi too: a slow tempo keeps the ratio of the written
// one. Only the 100 ms that the short note needs (see score.SwingRatio) lower
// it, at the written tempo or at a faster one.
func feel(s score.Score, t tempoAt) score.Ratio {
	even := score.Ratio{First: 1, Second: 1}
	if s.Feel != leadsheet.Swing {
		return even
	}
	printed := s.Swing
	if printed.First <= 0 || printed.Second <= 0 {
		printed = score.Ratio{First: 2, Second: 1}
	}
	fastest := max(t.written, t.actual) * float64(t.beat) / float64(theory.Quarter)
	if bound := score.SwingRatio(int(fastest + 0.5)); bound.Less(printed) {
		return bound
	}
	return printed
}
