package claim

import (
	"slices"
	"strings"

	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// figure is what a hand plays in one bar under one chord, of one technique.
type figure struct {
	page    *Page
	note    score.Note // that tells of it
	chord   theory.Chord
	bar     score.Bar
	beat    theory.Dur
	from    theory.Dur // of the cell
	to      theory.Dur
	strikes []strike
}

// strike is what is struck at one moment, lowest first.
type strike struct {
	at, end theory.Dur
	notes   []score.Note
}

// figure tests what a figure says of itself: the words under [technique.ID.figure].
func (p *Page) figure(r reason.Figure, at Place) bool {
	id, form, _ := strings.Cut(string(r), ".")
	if form == "" {
		form = "plain"
	}
	test, ok := figures[id+"."+form]
	if !ok {
		panic("claim: no predicate for the figure " + string(r))
	}
	if at.Note == nil {
		return false
	}
	f := p.figureOf(*at.Note)
	return len(f.strikes) > 0 && test(f)
}

// figureOf gathers the figure to which a note belongs.
func (p *Page) figureOf(n score.Note) figure {
	b := max(0, p.score.BarAt(n.At))
	bar := p.score.Bars[b]
	f := figure{page: p, note: n, bar: bar, beat: bar.Meter.OrCommon().BeatDur(), from: bar.At, to: bar.End()}
	if k := p.spanAt(n.At); k >= 0 {
		f.chord = p.spans[k].chord
		f.from, f.to = max(bar.At, p.spans[k].at), min(bar.End(), p.spans[k].end)
	}
	for _, m := range p.byBar[b] {
		if m.Hand != n.Hand || m.Origin.Technique != n.Origin.Technique || m.Grace > 0 || m.Marks.Has(score.Ghost) || m.Origin.Kind == score.Melody || m.At < f.from || m.At >= f.to {
			continue
		}
		if k := len(f.strikes) - 1; k >= 0 && f.strikes[k].at == m.At {
			f.strikes[k].notes = append(f.strikes[k].notes, m)
			f.strikes[k].end = max(f.strikes[k].end, m.End())
			continue
		}
		f.strikes = append(f.strikes, strike{m.At, m.End(), []score.Note{m}})
	}
	for i := range f.strikes {
		slices.SortStableFunc(f.strikes[i].notes, func(a, b score.Note) int { return a.Pitch.MIDI() - b.Pitch.MIDI() })
	}
	if len(f.strikes) == 0 { // a sign on a note of the tune, or a grace
		f.strikes = []strike{{n.At, n.End(), []score.Note{n}}}
	}
	return f
}

// number is which degree of the chord a note is, within an octave: 1 to 7; 0: none.
func (f figure) number(n score.Note) int8 {
	d, in := f.chord.Degree(n.Pitch.Name)
	if !in {
		for x := range f.chord.Tones.All() { // spelled otherwise
			if x.On(f.chord.Root).Class() == n.Pitch.Class() {
				d, in = x, true
			}
		}
	}
	if !in || n.Pitch.Class() == f.chord.Root.Class() {
		if n.Pitch.Class() == f.chord.Root.Class() {
			return 1
		}
		return 0
	}
	return (d.Number-1)%7 + 1
}

// is tells whether strike i is just these degrees, in any octave.
func (f figure) is(i int, degrees ...int8) bool {
	if i < 0 || i >= len(f.strikes) {
		return false
	}
	var got []int8
	for _, n := range f.strikes[i].notes {
		if d := f.number(n); !slices.Contains(got, d) {
			got = append(got, d)
		}
	}
	if len(got) != len(degrees) {
		return false
	}
	for _, d := range degrees {
		if !slices.Contains(got, d) {
			return false
		}
	}
	return true
}

// all tells whether every strike from i on passes.
func (f figure) all(i int, is func(int) bool) bool {
	for ; i < len(f.strikes); i++ {
		if !is(i) {
			return false
		}
	}
	return true
}

func (f figure) some(i int, is func(int) bool) bool {
	for ; i < len(f.strikes); i++ {
		if is(i) {
			return true
		}
	}
	return false
}

func (f figure) lone(i int) bool { return i < len(f.strikes) && len(f.strikes[i].notes) == 1 }

func (f figure) low(i int) int { return f.strikes[i].notes[0].Pitch.MIDI() }

func (f figure) span(i int) int {
	ns := f.strikes[i].notes
	return ns[len(ns)-1].Pitch.MIDI() - ns[0].Pitch.MIDI()
}

// bass tells whether strike i is the chord's bass by itself.
func (f figure) bass(i int) bool {
	return f.lone(i) && f.strikes[i].notes[0].Pitch.Class() == f.chord.Lowest().Class()
}

// off is where strike i falls, from the start of the figure.
func (f figure) off(i int) theory.Dur { return f.strikes[i].at - f.strikes[0].at }

// even tells whether the strikes are evenly apart.
func (f figure) even() bool {
	return len(f.strikes) > 1 && f.all(2, func(i int) bool {
		return f.strikes[i].at-f.strikes[i-1].at == f.strikes[1].at-f.strikes[0].at
	})
}

// closes tells whether the left hand strikes nothing later.
func (f figure) closes() bool { return f.page.last <= f.strikes[len(f.strikes)-1].at }

// moment is what the right hand strikes with the note, lowest first, and the tune's note
// that sounds then.
func (f figure) moment() (under []score.Note, tune score.Note, ok bool) {
	for _, n := range f.page.tuneIn(f.note.At, f.note.At+1) {
		tune, ok = n, true
	}
	for _, n := range f.page.struck(score.Right, f.note.At) {
		if n.Origin.Kind != score.Melody {
			under = append(under, n)
		}
	}
	return under, tune, ok
}

// numbers are the degrees of notes.
func (f figure) numbers(ns []score.Note) map[int8]bool {
	out := map[int8]bool{}
	for _, n := range ns {
		out[f.number(n)] = true
	}
	return out
}

// pedalled tells whether the pedal is meant: written, or left to the player's ear.
func (f figure) pedalled() bool {
	return f.page.score.Pedal == score.PedalByEar || slices.ContainsFunc(f.page.score.Directions, func(d score.Direction) bool { return d.Kind == score.PedalDown })
}

// groups tells whether the strikes begin at these eighths of the figure and no others.
func (f figure) groups(eighths ...theory.Dur) bool {
	for i := range f.strikes {
		if off := f.off(i); off%theory.Eighth != 0 || !slices.Contains(eighths, off/theory.Eighth%8) {
			return false
		}
	}
	return true
}

// interval is how far below the tune the note lies, in half steps.
func (f figure) interval() int {
	_, tune, ok := f.moment()
	if !ok {
		return 0
	}
	return tune.Pitch.MIDI() - f.note.Pitch.MIDI()
}

// moves lists the half steps from strike to strike of single notes.
func (f figure) moves() []int {
	var out []int
	for i := 1; i < len(f.strikes); i++ {
		out = append(out, f.low(i)-f.low(i-1))
	}
	return out
}

// steps tells whether a line goes only by step, and in which way: up, down, or there and
// back.
func (f figure) steps(ways ...int) bool {
	ms := f.moves()
	if len(ms) == 0 {
		return len(f.strikes) == 1 // one note of it is in this bar
	}
	for k, m := range ms {
		want := ways[min(k*len(ways)/len(ms), len(ways)-1)]
		if m*want < 1 || m*want > 3 {
			return false
		}
	}
	return true
}

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

func black(n score.Note) bool { return slices.Contains([]int{1, 3, 6, 8, 10}, n.Pitch.Class()) }

// top is the highest note of the figure.
func (f figure) top() int {
	most := 0
	for _, s := range f.strikes {
		most = max(most, s.notes[len(s.notes)-1].Pitch.MIDI())
	}
	return most
}

func (f figure) tenth(i int) bool {
	return len(f.strikes[i].notes) == 2 && (f.span(i) == 15 || f.span(i) == 16)
}

// sixth tells whether strike i is root and sixth, whether the chord has one or not.
func (f figure) sixth(i int) bool {
	return len(f.strikes[i].notes) == 2 && (f.span(i) == 9 || f.span(i) == 8) && f.strikes[i].notes[0].Pitch.Class() == f.chord.Root.Class()
}

// comps tells whether the bass comes first and then chords without the root.
func (f figure) comps() bool {
	return f.bass(0) && len(f.strikes) > 1 && f.all(1, func(i int) bool {
		return f.bass(i) || len(f.strikes[i].notes) > 2 && !slices.ContainsFunc(f.strikes[i].notes, func(n score.Note) bool { return n.Pitch.Class() == f.chord.Root.Class() })
	})
}

// chordAt tells whether a chord is struck so long after the figure's start.
func (f figure) chordAt(off theory.Dur) bool {
	return f.some(1, func(i int) bool { return len(f.strikes[i].notes) > 1 && f.off(i) == off })
}

// main is the note before which a grace stands.
func (f figure) main() (score.Note, bool) {
	if f.note.Grace == 0 {
		return score.Note{}, false
	}
	return f.page.tuneFrom(f.note.At)
}

// ends tells whether the last chord is these degrees, struck together or opened.
func (f figure) ends(degrees ...int8) bool {
	all := map[int8]bool{}
	for _, s := range f.strikes {
		for _, n := range s.notes {
			all[f.number(n)] = true
		}
	}
	for _, d := range degrees {
		if !all[d] {
			return false
		}
	}
	return len(all) == len(degrees) && f.closes()
}

func (f figure) rolled() bool {
	return slices.ContainsFunc(f.strikes, func(s strike) bool {
		return slices.ContainsFunc(s.notes, func(n score.Note) bool { return n.Marks.Has(score.Rolled) })
	})
}

// voiceBar is a bar in which a hand has notes of a technique.
type voiceBar struct {
	technique string
	hand      score.Hand
	bar       int
}

// apart counts notes of a voice by how far below the tune they lie.
type apart struct{ thirds, sixths int }

// apart counts the voice of the note in the phrase's bars around that have it, once for all
// of them.
func (f figure) apart() (n apart) {
	p := f.page
	at := voiceBar{f.note.Origin.Technique, f.note.Hand, p.score.BarAt(f.note.At)}
	if n, ok := p.seconds[at]; ok {
		return n
	}
	first, last := at.bar, at.bar
	bars := p.score.Bars
	for first > 0 && !bars[first].PhraseStart && p.has(first-1, f.note) {
		first--
	}
	for last+1 < len(bars) && !bars[last+1].PhraseStart && p.has(last+1, f.note) {
		last++
	}
	for k := first; k <= last; k++ {
		for _, v := range p.byBar[k] {
			if v.Origin.Technique != at.technique || v.Origin.Kind == score.Melody || v.Grace > 0 {
				continue
			}
			for _, t := range p.tuneIn(v.At, v.At+1) {
				switch t.Pitch.MIDI() - v.Pitch.MIDI() {
				case 3, 4:
					n.thirds++
				case 8, 9:
					n.sixths++
				}
			}
		}
	}
	for at.bar = first; at.bar <= last; at.bar++ {
		p.seconds[at] = n
	}
	return n
}

// has tells whether a bar has a note of a note's technique.
func (p *Page) has(bar int, n score.Note) bool {
	return slices.ContainsFunc(p.byBar[bar], func(m score.Note) bool { return m.Origin.Technique == n.Origin.Technique && m.Hand == n.Hand })
}

// underHeld tells whether the tune holds a note from before.
func (f figure) underHeld() bool {
	_, tune, ok := f.moment()
	return ok && (tune.At < f.note.At || tune.End() > f.note.End())
}

// leftSounding lists what the left hand sounds in [from, to).
func (p *Page) leftSounding(from, to theory.Dur) []score.Note {
	return slices.DeleteFunc(p.within(from, max(to, from+1)), func(n score.Note) bool { return n.Hand != score.Left })
}

// chordOf tests the keys that the right hand strikes with the note, lowest first.
func (f figure) chordOf(is func([]int) bool) bool {
	under, tune, ok := f.moment()
	var keys []int
	for _, n := range under {
		keys = append(keys, n.Pitch.MIDI())
	}
	if ok && tune.At == f.note.At {
		keys = append(keys, tune.Pitch.MIDI())
	}
	slices.Sort(keys)
	return len(keys) > 1 && is(keys)
}

// scale tells whether a run goes one way by step.
func (f figure) scale(way int) bool {
	var line []score.Note
	for b := max(0, f.page.score.BarAt(f.note.At)-1); b < len(f.page.byBar) && b <= f.page.score.BarAt(f.note.At)+1; b++ {
		for _, n := range f.page.byBar[b] {
			if n.Origin.Kind == score.Run && n.Origin.Technique == f.note.Origin.Technique && n.Hand == f.note.Hand {
				line = append(line, n)
			}
		}
	}
	k := slices.IndexFunc(line, func(n score.Note) bool { return n.ID == f.note.ID })
	if k < 0 {
		return false
	}
	fine := func(a, b score.Note) bool {
		by := (b.Pitch.MIDI() - a.Pitch.MIDI()) * way
		return b.At != a.End() || by >= 1 && by <= 4
	}
	return (k == 0 || fine(line[k-1], line[k])) && (k+1 == len(line) || fine(line[k], line[k+1]))
}

// phraseBegins tells whether a phrase begins with the bar at a position.
func (p *Page) phraseBegins(at theory.Dur) bool {
	return slices.ContainsFunc(p.score.Bars, func(b score.Bar) bool { return b.At == at && b.PhraseStart })
}
