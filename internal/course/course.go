// Package course counts how an accompaniment goes over a section: where a left hand keeps
// its pattern and where it leaves it, what it does while the tune rests, how the bass comes
// to a cadence, what differs when a phrase of the tune comes again. It reads a score, whoever
// made it, beside the lead sheet in it; it refuses to say what is good.
package course

import (
	"cmp"
	"fmt"
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Codes of the counts, in the order of a table.
const (
	KeptInside   = "kept-inside"
	KeptBefore   = "kept-before-close"
	KeptClose    = "kept-close"
	KeptOpening  = "kept-opening"
	FewerClose   = "fewer-close"
	MoreClose    = "more-close"
	LineInside   = "line-inside"
	LineClose    = "line-close"
	AnswerMore   = "answer-more"
	AnswerLine   = "answer-line"
	AnswerStops  = "answer-stops"
	BassStep     = "bass-step"
	BassLeap     = "bass-leap"
	PlaceMoved   = "place-moved"
	CadenceFifth = "cadence-fifth"
	CadenceStep  = "cadence-step"
	CadenceHop   = "cadence-octave"
	HopInside    = "octave-inside"
	AgainSame    = "again-same"
	AgainRhythm  = "again-rhythm"
	AgainFuller  = "again-fuller"
	AgainThinner = "again-thinner"
	AgainHigher  = "again-higher"
	NextRhythm   = "next-rhythm"
	OneRhythm    = "one-rhythm"
	QuickerClose = "quicker-close"
	ThickStrong  = "thick-strong"
)

// Count is what is counted, of what.
type Count struct{ Code, Says string }

// Counts lists what is counted. The list is fresh at each call.
func Counts() []Count {
	return []Count{
		{KeptInside, "bars inside a phrase whose left hand strikes when it did in the bar before, of bars inside"},
		{KeptBefore, "the same of the last bar but one of a phrase"},
		{KeptClose, "the same of the last bar of a phrase"},
		{KeptOpening, "first bars of a phrase whose left hand strikes as in the first bar of the phrase before, of first bars"},
		{FewerClose, "last bars of a phrase in which the left hand strikes less often than mostly in the phrase, of last bars"},
		{MoreClose, "the same, more often"},
		{LineInside, "bars inside a phrase in which three and more of the left hand's lowest notes go by step one way, one after another, of bars inside"},
		{LineClose, "the same of the last two bars of a phrase, counted together, and the note after them"},
		{AnswerMore, "stretches of half a bar and more in which the tune rests or holds on and the left hand strikes more keys a beat than mostly, of such stretches"},
		{AnswerLine, "the same, and three of its lowest notes go by step one way"},
		{AnswerStops, "the same stretches in which the left hand strikes nothing after their first beat"},
		{BassStep, "bar lines over which the bass goes a step, of bar lines"},
		{BassLeap, "the same, by more than a fifth"},
		{PlaceMoved, "first bass notes of a bar in another octave than the same note last had in the eight bars before, of those that were there"},
		{CadenceFifth, "last changes of bass in a phrase that fall a fifth or rise a fourth, of phrases"},
		{CadenceStep, "the same by a step"},
		{CadenceHop, "phrases whose last two bars have a bass note and its octave one after the other, of phrases"},
		{HopInside, "bars inside a phrase with the same, of bars inside"},
		{AgainSame, "bars of a phrase of the tune that comes again in which the left hand has the keys that it had, of such bars"},
		{AgainRhythm, "the same in which it strikes when it did, on other keys"},
		{AgainFuller, "phrases that come again with a tenth more keys and more, of such phrases"},
		{AgainThinner, "the same with a tenth fewer and less"},
		{AgainHigher, "the same with the tune in another octave"},
		{NextRhythm, "phrases whose left hand mostly strikes when it mostly did in the phrase before, of phrases but the first"},
		{OneRhythm, "phrases whose left hand strikes alike in all but the last bar, of phrases of four bars and more"},
		{QuickerClose, "phrases whose last two bars have more changes of chord a bar than those before, of phrases of four bars and more"},
		{ThickStrong, "bars in which the right hand strikes more keys on the first beat than on the other notes of the tune, on average, of bars with two notes of the tune and more"},
	}
}

// Ratio is how often something was found, of how many places.
type Ratio struct{ Hits, Of int }

func (r *Ratio) add(hit bool) {
	r.Of++
	if hit {
		r.Hits++
	}
}

// Course is what a page showed, by code.
type Course map[string]Ratio

// Add adds the counts of another page.
func (c Course) Add(d Course) {
	for code, r := range d {
		s := c[code]
		c[code] = Ratio{s.Hits + r.Hits, s.Of + r.Of}
	}
}

func (c Course) count(code string, hit bool) {
	r := c[code]
	r.add(hit)
	c[code] = r
}

// bar is what the counts ask of one bar.
type bar struct {
	whole  bool
	left   []sight.Strike
	right  []sight.Strike
	rhythm string
	keys   string
	n      int // keys struck by both hands
	chords int // that begin in it
}

// Of counts a page: the score in its own order, and the lead sheet in it bar for bar, as
// reduction.OfPage gives it. Linear in the notes.
func Of(s score.Score, song leadsheet.Song) Course {
	out := Course{}
	if len(s.Bars) == 0 || len(s.Bars) != len(song.Bars) {
		return out
	}
	bars := barsOf(s, song)
	phrases := harmony.Analyse(song).Phrases
	mostly := make([]string, len(phrases))
	for i, ph := range phrases {
		mostly[i] = most(bars[ph.First : ph.Last+1])
		out.patterns(bars, ph, mostly[i])
		out.cadence(bars, ph)
		if i == 0 {
			continue
		}
		before := phrases[i-1]
		if a, b := opening(bars, before), opening(bars, ph); a != nil && b != nil {
			out.count(KeptOpening, a.rhythm == b.rhythm)
		}
		out.count(NextRhythm, mostly[i] == mostly[i-1])
	}
	for i := 1; i < len(bars); i++ {
		if a, b := bars[i-1].left, bars[i].left; len(a) > 0 && len(b) > 0 {
			d := abs(b[0].Low() - a[len(a)-1].Low())
			out.count(BassStep, d == 1 || d == 2)
			out.count(BassLeap, d > 7)
		}
	}
	for i := range bars {
		if len(bars[i].left) == 0 {
			continue
		}
		for j := i - 1; j >= max(0, i-8); j-- {
			if b := bars[j].left; len(b) > 0 && (b[0].Low()-bars[i].left[0].Low())%12 == 0 {
				out.count(PlaceMoved, b[0].Low() != bars[i].left[0].Low())
				break
			}
		}
	}
	for i := range bars {
		out.strong(s, song, i, bars[i])
	}
	out.answers(s, song, bars)
	out.again(bars, song, phrases)
	return out
}

func barsOf(s score.Score, song leadsheet.Song) []bar {
	bars := make([]bar, len(s.Bars))
	for _, h := range []score.Hand{score.Left, score.Right} {
		for _, st := range sight.Strikes(s, h) {
			b := s.BarAt(st.At)
			if b < 0 {
				continue
			}
			if h == score.Left {
				bars[b].left = append(bars[b].left, st)
				bars[b].rhythm += fmt.Sprint(st.At-s.Bars[b].At, " ")
				bars[b].keys += fmt.Sprint(st.At-s.Bars[b].At, st.Keys())
			} else {
				bars[b].right = append(bars[b].right, st)
			}
			bars[b].n += len(st.Notes)
		}
	}
	for i, b := range s.Bars {
		bars[i].whole = b.Dur == b.Meter.OrCommon().Bar()
	}
	for _, c := range song.Chords {
		if b := s.BarAt(c.At); b >= 0 {
			bars[b].chords++
		}
	}
	return bars
}

// opening is the first whole bar of a phrase.
func opening(bars []bar, ph harmony.Phrase) *bar {
	for i := ph.First; i <= ph.Last; i++ {
		if bars[i].whole {
			return &bars[i]
		}
	}
	return nil
}

// most is the commonest rhythm of the left hand in some bars; of equals the first.
func most(bars []bar) string {
	n, best := map[string]int{}, ""
	for i := range bars {
		if bars[i].whole {
			n[bars[i].rhythm]++
		}
	}
	for i := range bars {
		if bars[i].whole && n[bars[i].rhythm] > n[best] {
			best = bars[i].rhythm
		}
	}
	return best
}

func (c Course) patterns(bars []bar, ph harmony.Phrase, mostly string) {
	if ph.Last-ph.First < 2 {
		return
	}
	alike, early, late, earlyBars := true, 0, 0, 0
	for i := ph.First; i <= ph.Last; i++ {
		b := &bars[i]
		if i > ph.Last-2 {
			late += b.chords
		} else {
			early += b.chords
			earlyBars++
		}
		if i < ph.Last && b.whole {
			alike = alike && b.rhythm == mostly
		}
		if i == ph.First || !b.whole || !bars[i-1].whole {
			continue
		}
		kept := b.rhythm == bars[i-1].rhythm
		switch i {
		case ph.Last:
			c.count(KeptClose, kept)
			struck := 0
			for _, r := range mostly {
				if r == ' ' {
					struck++
				}
			}
			c.count(FewerClose, len(b.left) < struck)
			c.count(MoreClose, len(b.left) > struck)
		case ph.Last - 1:
			c.count(KeptBefore, kept)
		default:
			c.count(KeptInside, kept)
			c.count(LineInside, line(b.left))
			c.count(HopInside, hops(b.left))
		}
	}
	close := slices.Concat(bars[ph.Last-1].left, bars[ph.Last].left)
	if ph.Last+1 < len(bars) && len(bars[ph.Last+1].left) > 0 {
		close = append(close, bars[ph.Last+1].left[0])
	}
	c.count(LineClose, line(close))
	c.count(CadenceHop, hops(slices.Concat(bars[ph.Last-1].left, bars[ph.Last].left)))
	if ph.Last-ph.First >= 3 {
		c.count(OneRhythm, alike)
		c.count(QuickerClose, late*earlyBars > early*2)
	}
}

// cadence counts how the bass comes to its last note but repeated ones.
func (c Course) cadence(bars []bar, ph harmony.Phrase) {
	var lows []int
	for i := max(ph.First, ph.Last-1); i <= ph.Last; i++ {
		for k, st := range bars[i].left {
			if k == 0 || st.Lone() || st.Low() < bars[i].left[0].Low() { // the bass, not the chord after it
				lows = append(lows, st.Low())
			}
		}
	}
	for k := len(lows) - 1; k > 0; k-- {
		if d := lows[k] - lows[k-1]; d%12 != 0 {
			c.count(CadenceFifth, d == -7 || d == 5)
			c.count(CadenceStep, abs(d) <= 2)
			return
		}
	}
}

// line tells whether three of the lowest notes of strikes go by step one way, one after
// another.
func line(sts []sight.Strike) bool {
	run, way := 0, 0
	for i := 1; i < len(sts); i++ {
		d := sts[i].Low() - sts[i-1].Low()
		switch {
		case abs(d) < 1 || abs(d) > 2:
			run, way = 0, 0
		case d*way > 0:
			run++
		default:
			run, way = 1, d
		}
		if run >= 2 {
			return true
		}
	}
	return false
}

func hops(sts []sight.Strike) bool {
	for i := 1; i < len(sts); i++ {
		if sts[i].Lone() && sts[i-1].Lone() && abs(sts[i].Low()-sts[i-1].Low()) == 12 {
			return true
		}
	}
	return false
}

func (c Course) strong(s score.Score, song leadsheet.Song, i int, b bar) {
	on, others, n := 0, 0, 0
	for _, st := range b.right {
		k, ok := slices.BinarySearchFunc(song.Melody, st.At, func(m leadsheet.Note, at theory.Dur) int { return cmp.Compare(m.At, at) })
		if !ok || k >= len(song.Melody) {
			continue
		}
		if st.At == s.Bars[i].At {
			on = len(st.Notes)
		} else {
			others += len(st.Notes)
			n++
		}
	}
	if on > 0 && n > 0 {
		c.count(ThickStrong, on*n > others)
	}
}

// answers counts what the left hand does in stretches in which the tune rests or holds on,
// a beat after it has come to its last note.
func (c Course) answers(s score.Score, song leadsheet.Song, bars []bar) {
	keys, beats := 0, theory.Dur(0)
	left := sight.Strikes(s, score.Left)
	for _, st := range left {
		keys += len(st.Notes)
	}
	for _, b := range s.Bars {
		beats += b.Dur
	}
	for k, n := range song.Melody {
		if k+1 == len(song.Melody) {
			break // the end is no gap
		}
		until := song.Melody[k+1].At
		b := s.BarAt(n.At)
		if b < 0 {
			continue
		}
		beat := s.Bars[b].Meter.OrCommon().BeatDur()
		from := n.At + beat
		if until-n.At < max(s.Bars[b].Meter.OrCommon().Bar()/2, 2*beat) {
			continue
		}
		var in []sight.Strike
		struck := 0
		for _, st := range left {
			if st.At >= n.At && st.At < until {
				in = append(in, st)
			}
			if st.At >= from && st.At < until {
				struck += len(st.Notes)
			}
		}
		more := theory.Dur(struck)*beats > theory.Dur(keys)*(until-from)
		c.count(AnswerMore, more)
		c.count(AnswerLine, line(in))
		c.count(AnswerStops, struck == 0)
	}
}

// again counts how phrases differ whose tune is that of an earlier one, at any octave.
func (c Course) again(bars []bar, song leadsheet.Song, phrases []harmony.Phrase) {
	prints := make([]string, len(phrases))
	first := make([]int, len(phrases)) // key of the first note
	for i, ph := range phrases {
		for k := ph.From; k < ph.To; k++ {
			n := song.Melody[k]
			if n.At < ph.At || k > ph.From && k > ph.To-3 { // upbeats and last notes lead elsewhere
				continue
			}
			if first[i] == 0 {
				first[i] = n.Pitch.MIDI()
			}
			prints[i] += fmt.Sprint(n.At-ph.At, ":", n.Pitch.MIDI()-first[i], " ")
		}
	}
	for i, ph := range phrases {
		j := slices.Index(prints[:i], prints[i])
		if len(prints[i]) < 24 || j < 0 || (first[i]-first[j])%12 != 0 {
			continue
		}
		old := phrases[j]
		a, b := 0, 0
		for k := 0; ph.First+k <= ph.Last && old.First+k <= old.Last; k++ {
			was, is := &bars[old.First+k], &bars[ph.First+k]
			a, b = a+was.n, b+is.n
			c.count(AgainSame, was.keys == is.keys)
			c.count(AgainRhythm, was.keys != is.keys && was.rhythm == is.rhythm)
		}
		c.count(AgainFuller, 10*b >= 11*a)
		c.count(AgainThinner, 10*b <= 9*a)
		c.count(AgainHigher, first[i] != first[j])
	}
}

func abs(a int) int { return max(a, -a) }
