package roadmap

import (
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Folding.
//
// Problem: print once what the sheet plays again, with repeat signs and endings. The
// song in playing order is cut into the bars of its page, and runs of them that come
// again at once are found: all of them alike (a repeat), or all but a few at the end
// (endings). A bar is printed once only where each time it has the same tune and the
// same chords, and no note is held over a place from which the music jumps; else the
// endings begin earlier, or the bars stay written out. What is found is read again by
// Route and must give back the order of playing. The last bars of the piece are never
// those of a first pass, as there the music ends. Linear in the bars for each length
// of a run. Rejected: taking the signs as the sheet has them, as they also order what
// differs from pass to pass; comparing finished pages, which fold by luck.

const (
	mostEnding = 6  // bars of an ending at most: more is another section
	leastJump  = 12 // bars that a jump has to save: for fewer nobody turns back
)

// Folded is a song in the order of its page.
type Folded struct {
	Song   leadsheet.Song // its bars have Signs
	Melody []int          // for each of its notes the one of the song in playing order
	visits []visit
}

// visit is a bar of the page as it is played.
type visit struct {
	at, dur theory.Dur
	page    int // which of the page
	bar     int // of the song in playing order, by index
	second  bool
	printed theory.Dur // where it stands in the folded song
	again   bool       // it is printed for an earlier visit
}

// Fold folds a song in playing order; its last bars, from the one that holds the last
// note of the tune and so many before it, are printed by themselves. ok is false where
// nothing comes again, or not as it was.
func Fold(song leadsheet.Song, before int) (f Folded, ok bool) {
	for _, jumps := range []bool{true, false} {
		w := folder{song: song, jumps: jumps}
		if !w.cut(before) {
			break
		}
		w.find()
		if len(w.out) == len(w.visits) {
			break
		}
		f.Song, f.Melody = w.write()
		f.visits = w.visits
		if w.reads(f.Song) {
			return f, true
		}
	}
	return Folded{}, false
}

// Place says where a moment of the song in playing order stands in the folded one;
// again tells that it is printed for an earlier time.
func (f Folded) Place(at theory.Dur) (printed theory.Dur, again bool) {
	i, _ := slices.BinarySearchFunc(f.visits, at+1, func(v visit, at theory.Dur) int { return int(min(max(v.at-at, -1), 1)) })
	v := f.visits[max(0, i-1)]
	return v.printed + at - v.at, v.again
}

type folder struct {
	song   leadsheet.Song
	jumps  bool // D.C. and D.S. are looked for
	visits []visit
	out    []item
	of     []int // for each visit the item that is printed for it
}

// item is a bar of the folded page: the visit that it is printed for, and its signs.
type item struct {
	visit int
	signs Signs
}

// cut lists the visits.
func (w *folder) cut(before int) bool {
	for i, b := range w.song.Bars {
		if b.Page[0] == 0 {
			return false
		}
		first := visit{at: b.At, dur: b.Dur, page: b.Page[0], bar: i}
		if b.Page[1] == 0 {
			w.visits = append(w.visits, first)
			continue
		}
		first.dur = b.Split
		w.visits = append(w.visits, first, visit{at: b.At + b.Split, dur: b.Dur - b.Split, page: b.Page[1], bar: i, second: true})
	}
	n := len(w.song.Melody)
	if n == 0 || len(w.visits) < 2 {
		return false
	}
	last := w.song.Melody[n-1].At
	for k := len(w.visits) - 1; k >= 0; k-- {
		v := &w.visits[k]
		if v.at+v.dur <= last {
			if before--; before < 0 {
				break
			}
		}
		v.page = -1 - k
	}
	return true
}

// find goes through the visits and takes what comes again at once together.
func (w *folder) find() {
	w.of = make([]int, len(w.visits))
	for i := 0; i < len(w.visits); {
		if w.jumps && w.jump(i) {
			return
		}
		n, times, ending := w.repeat(i)
		if times < 2 {
			w.of[i] = len(w.out)
			w.out = append(w.out, item{visit: i})
			i++
			continue
		}
		start := len(w.out)
		for k := range n {
			it := item{visit: i + k}
			it.signs.Start = k == 0 && start > 0
			if k >= n-ending {
				it.signs.Ending, it.signs.EndingOpens = 1<<(times-1)-1, k == n-ending // all but the last
			}
			if k == n-1 {
				it.signs.Times = times
			}
			w.of[i+k] = len(w.out)
			w.out = append(w.out, it)
		}
		for t := 1; t < times; t++ {
			for k := range n {
				if t < times-1 || k < n-ending {
					w.of[i+t*n+k] = start + k
				}
			}
		}
		room := theory.Dur(0) // the last ending is as long as the others, and no part of what follows
		for _, v := range w.visits[i+n-ending : i+n] {
			room += v.dur
		}
		i += times*n - ending
		for k := 0; k < ending && i < len(w.visits) && (k == 0 || !(room <= 0 || w.comesAgain(i) || w.opens(i))); k++ {
			room -= w.visits[i].dur
			w.of[i] = len(w.out)
			w.out = append(w.out, item{visit: i, signs: Signs{Ending: leadsheet.PassesOf(times), EndingOpens: k == 0}})
			i++
		}
	}
}

// jump takes what is played from a visit on as a way back, from the start or a sign, and
// the rest as a coda, where that saves enough. It reads as Route does: no repeat is
// taken again, and of endings the last.
func (w *folder) jump(i int) bool {
	p := slices.IndexFunc(w.out, func(it item) bool { return w.alike(it.visit, i) })
	if p < 0 || w.heldOver(i-1) {
		return false
	}
	of := map[int]int{}
	q, k := p, i
	for k < len(w.visits) && q < len(w.out) {
		if e := w.out[q].signs.Ending; e != 0 && e.Has(1) {
			q++
			continue
		}
		if !w.alike(w.out[q].visit, k) {
			break
		}
		of[k] = q
		q++
		k++
	}
	if k-i < leastJump || k == len(w.visits) || w.heldOver(k-1) {
		return false
	}
	for j := k; j < len(w.visits); j++ { // the coda is new, and played once
		if slices.ContainsFunc(w.visits[:j], func(v visit) bool { return v.page == w.visits[j].page }) {
			return false
		}
	}
	last := &w.out[len(w.out)-1].signs
	if p == 0 {
		last.DaCapo = true
	} else {
		last.DalSegno = true
		w.out[p].signs.Segno = true
	}
	w.out[of[k-1]].signs.ToCoda = true
	for j, at := range of {
		w.of[j] = at
	}
	for j := k; j < len(w.visits); j++ {
		w.of[j] = len(w.out)
		w.out = append(w.out, item{visit: j, signs: Signs{Coda: j == k}})
	}
	return true
}

// repeat measures what begins at a visit and comes again at once: its length, how often
// it is played, and how many of its bars are played each time but the last.
func (w *folder) repeat(i int) (n, times, ending int) {
	j := i + 1
	for j < len(w.visits) && w.visits[j].page != w.visits[i].page {
		j++
	}
	n, times = j-i, 1
	for times < MaxPasses-1 && w.same(i, i+times*n, n) == n {
		if times++; w.heldOver(i + (times-1)*n - 1) {
			return n, 1, 0
		}
	}
	last := i + times*n // where the last time begins, if it ends otherwise
	same := w.same(i, last, n)
	for same > 0 && (w.heldOver(last+same-1) || same < n && w.visits[i+same].second) { // an ending begins with a bar
		same--
	}
	ending = n - same
	if ending > mostEnding || ending > same || last+same >= len(w.visits) || w.heldOver(last-1) {
		return n, times, 0
	}
	return n, times + 1, ending
}

// same counts the visits from one and from another that are alike, n at most.
func (w *folder) same(a, b, n int) int {
	k := 0
	for k < n && b+k < len(w.visits) && w.alike(a+k, b+k) {
		k++
	}
	return k
}

// opens tells whether a section begins with a visit.
func (w *folder) opens(i int) bool {
	v := w.visits[i]
	return !v.second && w.song.Bars[v.bar].Section != ""
}

func (w *folder) comesAgain(i int) bool {
	return slices.ContainsFunc(w.visits[i+1:], func(v visit) bool { return v.page == w.visits[i].page })
}

// heldOver tells whether a note is held over the end of a visit.
func (w *folder) heldOver(k int) bool {
	v := w.visits[k]
	end := v.at + v.dur
	for _, n := range w.notes(v) {
		if n.End() > end {
			return true
		}
	}
	return false
}

// notes are those of the tune that begin in a visit.
func (w *folder) notes(v visit) []leadsheet.Note {
	from, to := w.noteRange(v)
	return w.song.Melody[from:to]
}

func (w *folder) noteRange(v visit) (from, to int) {
	by := func(n leadsheet.Note, at theory.Dur) int { return int(min(max(n.At-at, -1), 1)) }
	from, _ = slices.BinarySearchFunc(w.song.Melody, v.at, by)
	to, _ = slices.BinarySearchFunc(w.song.Melody, v.at+v.dur, by)
	return from, to
}

// chords are the marks of a visit, with the one in force at its beginning.
func (w *folder) chords(v visit) []leadsheet.ChordMark {
	by := func(c leadsheet.ChordMark, at theory.Dur) int { return int(min(max(c.At-at, -1), 1)) }
	from, found := slices.BinarySearchFunc(w.song.Chords, v.at, by)
	to, _ := slices.BinarySearchFunc(w.song.Chords, v.at+v.dur, by)
	out := slices.Clone(w.song.Chords[from:to])
	if !found && from > 0 {
		held := w.song.Chords[from-1]
		held.At = v.at
		out = slices.Insert(out, 0, held)
	}
	return out
}

// alike tells whether two visits are the same bar of the page with the same music.
func (w *folder) alike(i, j int) bool {
	a, b := w.visits[i], w.visits[j]
	x, y := w.song.Bars[a.bar], w.song.Bars[b.bar]
	return a.page == b.page && a.dur == b.dur && x.Meter == y.Meter && x.Key == y.Key &&
		slices.EqualFunc(w.notes(a), w.notes(b), func(m, n leadsheet.Note) bool {
			return m.At-a.at == n.At-b.at && m.Dur == n.Dur && m.Pitch == n.Pitch && slices.Equal(m.Graces, n.Graces)
		}) &&
		slices.EqualFunc(w.chords(a), w.chords(b), func(c, d leadsheet.ChordMark) bool {
			return c.At-a.at == d.At-b.at && c.Chord == d.Chord && c.Unknown == d.Unknown && c.Optional == d.Optional
		})
}

// write puts the items together to a song, halves of a bar that stand together as one.
func (w *folder) write() (leadsheet.Song, []int) {
	s := w.song
	s.Bars, s.Melody, s.Chords = nil, nil, nil
	var melody []int
	var now theory.Dur
	number := 0
	var inForce leadsheet.ChordMark
	for k, it := range w.out {
		v := w.visits[it.visit]
		b := w.song.Bars[v.bar]
		b.At, b.Dur, b.Signs, b.Split, b.Pass, b.Written = now, v.dur, it.signs, 0, 1, len(s.Bars)
		last := len(s.Bars) - 1
		switch {
		case v.second && k > 0 && w.out[k-1].visit == it.visit-1 && !parts(w.out[k-1].signs, it.signs):
			s.Bars[last].Dur += v.dur
			s.Bars[last].Signs = joined(s.Bars[last].Signs, it.signs)
		case v.second: // what leads into a section
			b.Pickup, b.Section, b.Number = true, "", number
			s.Bars = append(s.Bars, b)
		default:
			if !b.Pickup {
				number++
			}
			b.Number = number
			s.Bars = append(s.Bars, b)
		}
		from, to := w.noteRange(v)
		for i := from; i < to; i++ {
			n := w.song.Melody[i]
			n.At += now - v.at
			s.Melody = append(s.Melody, n)
			melody = append(melody, i)
		}
		for i, c := range w.chords(v) {
			c.At += now - v.at
			if i == 0 && c.At == now && c.Chord == inForce.Chord && c.Unknown == inForce.Unknown && len(s.Chords) > 0 && c.Text == inForce.Text {
				continue
			}
			s.Chords = append(s.Chords, c)
			inForce = c
		}
		now += v.dur
	}
	begins := make([]theory.Dur, len(w.out))
	now = 0
	for k, it := range w.out {
		begins[k] = now
		now += w.visits[it.visit].dur
	}
	for k := range w.visits {
		w.visits[k].printed = begins[w.of[k]]
		w.visits[k].again = w.out[w.of[k]].visit != k
	}
	return s, melody
}

// parts tells whether a sign stands between two halves of a bar.
func parts(a, b Signs) bool {
	return a.Times > 0 || a.ToCoda || a.DaCapo || a.DalSegno || b.Start || b.EndingOpens || b.Segno || b.Coda || a.Ending != b.Ending
}

// joined are the signs of a bar whose halves have these.
func joined(a, b Signs) Signs {
	a.Times, a.ToCoda, a.DaCapo, a.DalSegno = b.Times, b.ToCoda, b.DaCapo, b.DalSegno
	return a
}

// reads tells whether the folded song, read as a page, is played as the song is.
func (w *folder) reads(s leadsheet.Song) bool {
	signs := make([]Signs, len(s.Bars))
	for i, b := range s.Bars {
		signs[i] = b.Signs
	}
	order, problems := Route(signs)
	if len(problems) > 0 {
		return false
	}
	k := 0
	for _, o := range order {
		b := s.Bars[o.Bar]
		for at := b.At; at < b.End(); k++ {
			if k == len(w.visits) || w.visits[k].printed != at {
				return false
			}
			at += w.visits[k].dur
		}
	}
	return k == len(w.visits)
}

// Stretch is a part of the song in playing order, and where it is printed.
type Stretch struct {
	At, Until theory.Dur
	Printed   theory.Dur
	Again     bool // it is printed for an earlier time
}

// Stretches cuts a part of the song in playing order where it is not printed as it is
// played.
func (f Folded) Stretches(at, until theory.Dur) []Stretch {
	var out []Stretch
	for _, v := range f.visits {
		a, b := max(at, v.at), min(until, v.at+v.dur)
		if a >= b {
			continue
		}
		s := Stretch{a, b, v.printed + a - v.at, v.again}
		if n := len(out); n > 0 && out[n-1].Again == s.Again && out[n-1].Printed+out[n-1].Until-out[n-1].At == s.Printed {
			out[n-1].Until = b
			continue
		}
		out = append(out, s)
	}
	return out
}

// First says when what is printed at a place is played first.
func (f Folded) First(printed theory.Dur) theory.Dur {
	for _, v := range f.visits {
		if !v.again && printed >= v.printed && printed < v.printed+v.dur {
			return v.at + printed - v.printed
		}
	}
	return f.visits[len(f.visits)-1].at
}
