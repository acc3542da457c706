package ear

import (
	"cmp"
	"fmt"
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// habits hears what a page does again and again, or drops: the left hand's pattern, what a
// section is when it returns, a chord held under a tune that runs.
func (e *ear) habits() {
	e.patterns()
	e.figures()
	e.returns()
	e.resting()
	e.drag()
}

// patterns hears where the left hand strikes at other times than it mostly does in its
// phrase, without a reason: the same changes of chord, no long note of the tune to fill,
// no phrase that ends.
func (e *ear) patterns() {
	type kind struct {
		dur     theory.Dur
		changes string
	}
	bars := e.s.Bars
	for from := 0; from < len(bars); {
		to := from + 1
		for to < len(bars) && !bars[to].PhraseStart && bars[to].Section == "" {
			to++
		}
		byKind := map[kind]map[string][]int{}
		for i := from; i < to-1; i++ { // its last bar ends it
			b := bars[i]
			if b.Pickup || e.longNote(b) {
				continue
			}
			k := kind{dur: b.Dur}
			for _, c := range e.chords {
				if c.at > b.At && c.at < b.End() {
					k.changes += fmt.Sprint(" ", c.at-b.At)
				}
			}
			at := ""
			for _, s := range e.hands[score.Left] {
				if s.at >= b.At && s.at < b.End() {
					at += fmt.Sprint(" ", s.at-b.At)
				}
			}
			if byKind[k] == nil {
				byKind[k] = map[string][]int{}
			}
			byKind[k][at] = append(byKind[k][at], i)
		}
		for _, ways := range byKind {
			most := 0
			for _, at := range ways {
				most = max(most, len(at))
				e.of(PatternChange, len(at))
			}
			kept := false // of equals one is the habit
			for _, way := range slices.Sorted(keysOf(ways)) {
				if len(ways[way]) == most && !kept {
					kept = true
					continue
				}
				for _, i := range ways[way] {
					e.mark(PatternChange, bars[i].At, "strikes at"+way)
				}
			}
		}
		from = to
	}
}

// figures hears every bar inside a phrase that looks otherwise than most do, whatever the
// reason: what a reader of the page sees.
func (e *ear) figures() {
	bars := e.s.Bars
	for from := 0; from < len(bars); {
		to := from + 1
		for to < len(bars) && !bars[to].PhraseStart && bars[to].Section == "" {
			to++
		}
		ways := map[theory.Dur]map[string][]int{}
		for i := from; i < to-1; i++ {
			b := bars[i]
			if b.Pickup {
				continue
			}
			looks := ""
			for _, s := range e.hands[score.Left] {
				if s.at >= b.At && s.at < b.End() {
					looks += fmt.Sprint(" ", s.at-b.At, "×", len(s.notes))
				}
			}
			if ways[b.Dur] == nil {
				ways[b.Dur] = map[string][]int{}
			}
			ways[b.Dur][looks] = append(ways[b.Dur][looks], i)
		}
		for _, of := range ways {
			most, kept := 0, false
			for _, is := range of {
				most = max(most, len(is))
				e.of(FigureChange, len(is))
			}
			for _, way := range slices.Sorted(keysOf(of)) {
				if len(of[way]) == most && !kept {
					kept = true
					continue
				}
				for _, i := range of[way] {
					e.mark(FigureChange, bars[i].At, "strikes"+way)
				}
			}
		}
		from = to
	}
}

func keysOf(m map[string][]int) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// longNote tells whether the tune holds a note for two beats, or half of a bar, in a bar.
func (e *ear) longNote(b score.Bar) bool {
	long := min(2*b.Meter.BeatDur(), max(b.Dur/2, theory.Eighth))
	sung := theory.Dur(0) // where the tune's last note ended
	for _, n := range e.sung {
		if n.at < b.End() && n.end > b.At && min(n.end, b.End())-max(n.at, b.At) >= long {
			return true
		}
		if n.at >= b.At && n.at < b.End() {
			sung = n.end
		}
	}
	return sung == 0 || b.End()-sung >= long // or rests as long
}

// returns hears the bars of a section's last time that are thinner than the same bars of
// its first.
func (e *ear) returns() {
	first, last := map[string]int{}, map[string]int{}
	for i, b := range e.s.Bars {
		if b.Section == "" {
			continue
		}
		if _, ok := first[b.Section]; !ok {
			first[b.Section] = i
		}
		last[b.Section] = i
	}
	notes := func(b score.Bar) (n int) {
		for _, x := range e.notes {
			if x.at >= b.At && x.at < b.End() {
				n++
			}
		}
		return n
	}
	for name, i := range first {
		j := last[name]
		for k := 0; i != j && i+k < j && j+k < len(e.s.Bars) && (k == 0 || e.s.Bars[j+k].Section == "" && e.s.Bars[i+k].Section == ""); k++ {
			if j+k == len(e.s.Bars)-1 {
				break // the end stands still
			}
			e.of(ThinReturn, 1)
			if a, b := notes(e.s.Bars[i+k]), notes(e.s.Bars[j+k]); b < a {
				e.mark(ThinReturn, e.s.Bars[j+k].At, fmt.Sprintf("%d notes, at first %d", b, a))
			}
		}
	}
}

// resting hears tonics that the sheet leaves plain and the page colours.
func (e *ear) resting() {
	for _, s := range e.sheet {
		key := e.bar(s.at).Key
		if s.chord.Silent() || s.chord != s.chord.Triad() || s.chord.Slash || s.chord.Root.Class() != key.Tonic.Class() {
			continue
		}
		if third, ok := s.chord.Third(); !ok || s.chord.MinorThird() != key.Mode.Minorish() || third.Number != 3 {
			continue
		}
		e.of(ColouredTonic, 1)
		for _, c := range e.chords {
			if c.at < s.end && c.end > s.at && !c.chord.Silent() && (c.chord.Root != s.chord.Root || c.chord.Tones != s.chord.Tones || c.chord.UpperTones != s.chord.UpperTones) && !(c.at > s.at && c.end == s.end && c.chord.Root != s.chord.Root && s.end-s.at > 2*(c.end-c.at)) {
				e.mark(ColouredTonic, max(c.at, s.at), fmt.Sprintf("%s for %s", c.chord, s.chord))
				break
			}
		}
	}
}

// drag hears notes of the accompaniment that one hand holds while the tune, in the same
// hand, strikes three notes or more above them; and chords of three keys and more on
// notes of the tune that pass quicker than a beat.
func (e *ear) drag() {
	for _, s := range e.hands[score.Right] {
		if len(s.notes) < 2 || !slices.ContainsFunc(s.notes, func(n note) bool { return n.melody >= 0 }) {
			continue
		}
		e.of(QuickChord, 1)
		top := slices.MaxFunc(s.notes, func(a, b note) int { return cmp.Compare(a.key, b.key) })
		if beat := e.bar(s.at).Meter.BeatDur(); len(s.notes) >= 3 && e.sungUntil(top.at)-top.at < beat {
			e.mark(QuickChord, s.at, fmt.Sprintf("%d keys", len(s.notes)))
		}
	}
	for _, n := range e.notes {
		if n.melody >= 0 || n.hand != score.Right {
			continue
		}
		e.of(HeldUnderRun, 1)
		over := 0
		for _, m := range e.sung {
			if m.hand == score.Right && m.at > n.at && m.at < n.end {
				over++
			}
		}
		if over >= 3 {
			e.mark(HeldUnderRun, n.at, fmt.Sprintf("%s under %d notes", e.name(n), over))
		}
	}
}

// sungUntil is when the note of the tune that is struck at a position ends.
func (e *ear) sungUntil(at theory.Dur) theory.Dur {
	for _, n := range e.sung {
		if n.at == at {
			return n.end
		}
	}
	return at
}
