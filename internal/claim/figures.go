package claim

import (
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// figures has the predicate of every figure, by technique and form.
var figures = map[string]func(figure) bool{
	"broken-triad.plain": func(f figure) bool {
		return f.is(0, 1) && f.lone(0) && f.all(1, func(i int) bool { return f.is(i, 3, 5) || f.is(i, 1) }) && f.is(1, 3, 5)
	},
	"broken-triad.slow":  func(f figure) bool { return f.is(0, 1) && f.lone(0) && f.is(1, 3, 5) },
	"broken-triad.close": func(f figure) bool { return f.is(0, 1) && f.lone(0) && f.is(1, 3, 5) && len(f.strikes) == 2 },
	"inverted-triad.third": func(f figure) bool {
		return f.is(0, 3) && f.lone(0) && f.some(1, func(i int) bool { return f.is(i, 1, 5) })
	},
	"inverted-triad.fifth": func(f figure) bool {
		return f.is(0, 5) && f.lone(0) && f.some(1, func(i int) bool { return f.is(i, 1, 3) })
	},
	"root-and-fifth.plain": func(f figure) bool { return f.is(0, 1) && f.is(1, 5) },
	"root-and-fifth.below": func(f figure) bool { return f.is(0, 1) && f.is(1, 5) && f.low(1) < f.low(0) },
	"bass-run.plain": func(f figure) bool {
		n := len(f.strikes)
		if n < 3 || !f.bass(0) || !f.lone(n-1) || !f.lone(n-2) || !f.page.phraseBegins(f.bar.End()) {
			return false
		}
		d := f.low(n-1) - f.low(n-2)
		return d != 0 && max(d, -d) <= 2
	},
	"held-root.plain":      func(f figure) bool { return f.bass(0) && len(f.strikes) == 1 },
	"held-root.fifth":      func(f figure) bool { return f.is(0, 1, 5) && len(f.strikes) == 1 },
	"held-root.last":       func(f figure) bool { return f.is(0, 1, 3, 5) && f.closes() },
	"held-root.last-open":  func(f figure) bool { return f.is(0, 1, 5) && f.closes() },
	"held-root.last-third": func(f figure) bool { return f.is(0, 1, 3) && f.closes() },
	"held-root.short":      func(f figure) bool { return f.bass(0) && len(f.strikes) == 1 },
	"ballad-spread.plain": func(f figure) bool {
		return f.is(0, 1) && f.is(1, 5) && f.pedalled() && f.some(2, func(i int) bool { return !f.is(i, 1) && !f.is(i, 5) })
	},
	"bass-and-chord.plain": func(f figure) bool {
		return f.lone(0) && f.some(1, func(i int) bool { return len(f.strikes[i].notes) > 1 && f.low(i) > f.low(0) })
	},
	"three-three-two.plain": func(f figure) bool {
		return f.is(0, 1) && f.is(1, 5) && f.groups(0, 3, 6) && len(f.strikes) > 2 && f.low(2) > f.low(0)
	},
	"three-three-two.three": func(f figure) bool { return f.is(0, 1) && f.is(1, 5) && f.groups(0, 3) },
	"three-three-two.half": func(f figure) bool {
		return f.is(0, 1) && len(f.strikes) > 1 && f.number(f.strikes[1].notes[0]) > 0 && f.groups(0, 3)
	},
	"alberti.plain": func(f figure) bool {
		return len(f.strikes) > 3 && f.even() && f.all(0, func(i int) bool {
			k := 0
			return f.lone(i) && f.low(k) < f.low(k+2) && f.low(k+2) < f.low(k+1) && f.low(k+1) == f.low(k+3)
		})
	},
	"one-five-eight.plain": func(f figure) bool {
		return f.is(0, 1) && f.is(1, 5) && f.some(2, func(i int) bool { return f.low(i)-f.low(0) >= 12 })
	},
	"compound-spread.plain": func(f figure) bool {
		return f.is(0, 1) && f.is(1, 5) && f.pedalled() && f.some(2, func(i int) bool { return f.is(i, 3) && f.low(i)-f.low(0) >= 12 })
	},
	"third-or-sixth.third": func(f figure) bool { k := f.interval(); return k == 3 || k == 4 },
	"third-or-sixth.sixth": func(f figure) bool { k := f.interval(); return k == 8 || k == 9 },
	"echo.plain": func(f figure) bool {
		_, tune, ok := f.moment()
		return ok && tune.At < f.note.At && f.number(f.note) > 0
	},
	"shells.plain":           func(f figure) bool { return f.is(0, 1, 7) },
	"shells.third":           func(f figure) bool { return f.is(0, 1, 3) },
	"root-then-guides.plain": func(f figure) bool { return f.is(0, 1) && f.is(1, 3, 7) },
	"comping.after-two":      func(f figure) bool { return f.comps() && f.chordAt(f.beat*3/2) },
	"comping.after-one":      func(f figure) bool { return f.comps() && f.chordAt(f.beat/2) },
	"comping.once": func(f figure) bool {
		return f.comps() && len(f.strikes) == 2 && f.bar.Offset(f.strikes[1].at)%f.beat != 0
	},
	"habanera.plain": func(f figure) bool {
		return len(f.strikes) == 4 && f.is(0, 1) && f.is(1, 5) && f.low(2) > f.low(1) && f.is(3, 5) && f.off(2) == 4*(f.off(2)-f.off(1)) && f.off(3) == f.off(2)*3/2
	},
	"habanera.second": func(f figure) bool { return f.is(0, 1) && f.is(1, 5) && f.even() },
	"bossa.plain": func(f figure) bool {
		return f.all(0, func(i int) bool { return f.is(i, 1) || f.is(i, 5) }) && f.is(0, 1) && f.some(1, func(i int) bool { return f.off(i)%(4*theory.Eighth) == 3*theory.Eighth })
	},
	"shuffle.plain": func(f figure) bool {
		return f.some(0, func(i int) bool { return f.is(i, 1, 5) }) && f.some(0, func(i int) bool { return f.sixth(i) })
	},
	"guide-tones.plain": func(f figure) bool { under, _, ok := f.moment(); g := f.numbers(under); return ok && g[3] && g[7] },
	"guide-tones.one": func(f figure) bool {
		under, _, ok := f.moment()
		g := f.numbers(under)
		return ok && len(under) == 1 && (g[3] || g[7])
	},
	"slide.plain": func(f figure) bool {
		main, ok := f.main()
		return ok && main.Pitch.MIDI()-f.note.Pitch.MIDI() == 1 && black(f.note) && !black(main)
	},
	"crush.plain":       func(f figure) bool { main, ok := f.main(); return ok && main.Pitch.MIDI()-f.note.Pitch.MIDI() == 1 },
	"ending.tenth":      func(f figure) bool { return f.ends(1, 3, 5) && f.rolled() },
	"ending.octave":     func(f figure) bool { return f.ends(1, 5) },
	"ending.two":        func(f figure) bool { return f.ends(1, 6) || f.ends(1, 7) },
	"ending.three":      func(f figure) bool { return f.ends(1, 5, 6) || f.ends(1, 5, 7) },
	"walking-bass.beat": func(f figure) bool { return f.is(0, 1) && f.lone(0) && len(f.strikes) == 1 && f.to-f.from <= f.beat },
	"walking-bass.home": func(f figure) bool { return f.is(0, 1) && len(f.strikes) == 1 },
	"walking-bass.compound": func(f figure) bool {
		return f.all(0, func(i int) bool { return f.lone(i) }) && f.bar.Meter.Compound() && f.off(len(f.strikes)-1)%f.beat == f.beat*2/3
	},
	"ghost-notes.plain": func(f figure) bool {
		return slices.ContainsFunc(f.page.byBar[f.page.score.BarAt(f.note.At)], func(n score.Note) bool {
			return n.Marks.Has(score.Ghost) && n.Hand == score.Left && n.At > f.strikes[0].at
		})
	},
	"two-feel.plain":    func(f figure) bool { return f.is(0, 1) && f.is(1, 5) && len(f.strikes) == 3 },
	"two-feel.three":    func(f figure) bool { return f.is(0, 1) && len(f.strikes) == 2 && f.off(1) == 2*f.beat },
	"open-fifths.third": func(f figure) bool { return f.is(0, 1, 5) && f.span(0) == 7 && f.is(1, 3) && f.low(1) > f.low(0) },
	"open-fifths.plain": func(f figure) bool {
		return f.all(0, func(i int) bool { return f.is(i, 1, 5) && f.span(i)%12 == 7 })
	},
	"repeated-chords.plain": func(f figure) bool {
		chord, times := -1, 0
		for i := range f.strikes {
			switch {
			case len(f.strikes[i].notes) < 2:
			case chord < 0 || f.low(i) == chord:
				chord, times = f.low(i), times+1
			default:
				return false
			}
		}
		return f.bass(0) && times > 1 && chord > f.low(0)
	},
	"bass-line.plain": func(f figure) bool {
		last := -1
		for i := range f.strikes {
			if f.lone(i) {
				last = i
			}
		}
		return f.bass(0) && last > 1 && f.low(last) != f.low(0) && f.some(1, func(i int) bool { return i < last && len(f.strikes[i].notes) > 1 && f.low(i) > f.low(0) })
	},
	"tenor-line.plain": func(f figure) bool {
		s := f.strikes[0].notes
		return len(s) == 2 && s[0].End() > s[1].End() && len(f.strikes) > 1 && f.all(1, f.lone)
	},
	"octave-bass.plain": func(f figure) bool {
		return len(f.strikes[0].notes) == 2 && f.span(0) == 12 && f.some(1, func(i int) bool { return len(f.strikes[i].notes) > 1 && f.low(i) > f.low(0) })
	},
	"flowing-arpeggio.plain": func(f figure) bool {
		return f.is(0, 1) && f.is(1, 5) && f.even() && f.some(2, func(i int) bool { return f.is(i, 3) && f.low(i)-f.low(0) > 12 }) && f.low(len(f.strikes)-1) < f.top()
	},
	"two-voices.plain": func(f figure) bool {
		k := slices.IndexFunc(f.strikes, func(s strike) bool { return s.at == f.note.At })
		tune, ok := f.page.tuneFrom(f.note.At)
		return k >= 0 && len(f.strikes[k].notes) == 2 && ok && tune.At == f.note.At
	},
	"spread-tenth.plain": func(f figure) bool {
		return f.is(0, 1) && f.is(1, 7) && f.is(2, 3) && f.low(2)-f.low(0) > 12 && f.pedalled()
	},
	"mordent.plain":       func(f figure) bool { return f.note.Ornament == score.Mordent },
	"turn.plain":          func(f figure) bool { return f.note.Ornament == score.Turn },
	"tremolo.plain":       func(f figure) bool { return f.note.Ornament == score.Tremolo },
	"second-voice.thirds": func(f figure) bool { n := f.apart(); return n.thirds > n.sixths },
	"second-voice.sixths": func(f figure) bool { n := f.apart(); return n.sixths > n.thirds },
	"inner-voice.down":    func(f figure) bool { return f.steps(-1) && f.underHeld() },
	"inner-voice.up":      func(f figure) bool { return f.steps(1) && f.underHeld() },
	"inner-voice.above":   func(f figure) bool { return f.steps(1, -1) && f.underHeld() },
	"inner-voice.below":   func(f figure) bool { return f.steps(-1, 1) && f.underHeld() },
	"block-chords.plain": func(f figure) bool {
		under, tune, ok := f.moment()
		return ok && len(under) >= 2 && tune.Pitch.MIDI()-under[0].Pitch.MIDI() <= 12 && tune.Pitch.MIDI() > under[len(under)-1].Pitch.MIDI()
	},
	"octaves.plain": func(f figure) bool {
		under, tune, ok := f.moment()
		return ok && len(under) >= 2 && tune.Pitch.MIDI()-under[0].Pitch.MIDI() == 12
	},
	"drop-two.plain": func(f figure) bool {
		under, _, ok := f.moment()
		left := f.page.leftSounding(f.note.At, f.to)
		return ok && len(under) > 0 && slices.ContainsFunc(left, func(n score.Note) bool {
			return n.Pitch.MIDI()+12 > under[len(under)-1].Pitch.MIDI() && f.number(n) > 0
		})
	},
	"drop-two.guides": func(f figure) bool {
		under, _, ok := f.moment()
		g := f.numbers(under)
		return ok && len(under) == 2 && (g[3] || g[7])
	},
	"drop-two-bass.plain": func(f figure) bool {
		return f.is(0, 1) && f.lone(0) && f.lone(1) && f.number(f.strikes[1].notes[0]) > 0
	},
	"stride.plain": func(f figure) bool {
		return f.some(1, func(i int) bool { return len(f.strikes[i].notes) > 1 && f.low(i) >= f.low(0) })
	},
	"stride.back": func(f figure) bool { return len(f.strikes) > 1 && len(f.strikes[0].notes) > 1 && f.low(1) < f.low(0) },
	"stride.note": func(f figure) bool { return f.some(0, func(i int) bool { return f.lone(i) }) },
	"stride.octave": func(f figure) bool {
		return f.some(0, func(i int) bool { return len(f.strikes[i].notes) == 2 && f.span(i) == 12 })
	},
	"stride.tenth":       func(f figure) bool { return f.some(0, func(i int) bool { return f.tenth(i) }) },
	"stride.rolled":      func(f figure) bool { return f.some(0, func(i int) bool { return f.tenth(i) }) && f.rolled() },
	"root-seventh.plain": func(f figure) bool { return f.is(0, 1, 7) && f.to-f.from <= f.beat },
	"clusters.plain": func(f figure) bool {
		return f.chordOf(func(keys []int) bool {
			for i := 1; i < len(keys); i++ {
				if d := keys[i] - keys[i-1]; d == 1 || d == 2 {
					return true
				}
			}
			return false
		})
	},
	"clusters.fourths": func(f figure) bool {
		return f.chordOf(func(keys []int) bool {
			for i := 1; i < len(keys); i++ {
				if d := keys[i] - keys[i-1]; d != 5 && d != 6 {
					return false
				}
			}
			return len(keys) > 2
		})
	},
	"full-chords.plain": func(f figure) bool {
		under, _, ok := f.moment()
		g := f.numbers(under)
		return ok && g[3] && g[7] && len(under) > 2
	},
	"full-chords.guides": func(f figure) bool { under, _, ok := f.moment(); g := f.numbers(under); return ok && g[3] && g[7] },
	"full-chords.triad": func(f figure) bool {
		under, _, ok := f.moment()
		return ok && len(under) > 0 && !f.numbers(under)[0]
	},
	"run.up":   func(f figure) bool { return f.scale(1) },
	"run.down": func(f figure) bool { return f.scale(-1) },
}
