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
