package harmonist

import (
	"cmp"
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Options say how a tune is to be harmonised. The zero Options take it for a song and
// find its rhythm.
type Options struct {
	Group  Group
	Rhythm Rhythm
	Plain  bool // triads alone
}

// Harmony is the chords of a tune, on its page.
type Harmony struct {
	Key    theory.Key // at the start
	Rhythm Rhythm     // how often the chords change
	Chords []Chord    // in the order of the page
	Beats  []Beat     // in the order of the page: what is thought of each
	Page   leadsheet.Song

	of   leadsheet.Song
	from []stretch
}

// Chord is one chord over a stretch of the page.
type Chord struct {
	At, End theory.Dur // on the page
	Measure int        // written bar of the file, from 0
	Offset  theory.Dur // in it
	Key     theory.Key
	Chord   theory.Chord
	Sure    int     // how likely it is, in percent
	Others  []Other // the next likeliest, best first: two
	Holds   []theory.Name
	Leaves  []theory.Name // tune notes outside it, the longest first
	Next    theory.Chord  // what follows; silent after the last

	page   int        // of the stretch in which it begins
	within theory.Dur // from the beginning of that
}

// Other is a chord that could stand in another's place.
type Other struct {
	Chord  theory.Chord
	Sure   int // percent
	Holds  []theory.Name
	Leaves []theory.Name
}

// Beat is what is thought of a beat of the page: how likely each triad is there, in
// percent, the likeliest first.
type Beat struct {
	At, End theory.Dur
	Bar     int // of Page, by index
	Key     theory.Key
	Triads  []Triad
}

// Triad is a triad with its likelihood in percent.
type Triad struct {
	Chord theory.Chord
	Sure  int
}

// changeCost is what a change inside a bar has to win, in beats' likelihood: chords that
// flicker are no better for it.
const changeCost = .12

// Of harmonises a tune; chords that it has are not looked at. ok is false where there is
// no tune.
func Of(song leadsheet.Song, opt Options) (_ Harmony, ok bool) {
	if len(song.Bars) == 0 || len(song.Melody) == 0 {
		return Harmony{}, false
	}
	h := hear(song)
	if len(h.slots) == 0 {
		return Harmony{}, false
	}
	m := shipped()
	m.findKeys(&h)
	h.settle()
	post, paced := m.thoughts(&h, opt.Group, opt.Rhythm)
	post = tied(&h, post)
	out := Harmony{Key: h.regions[h.slots[0].region].key, Rhythm: paced, Page: h.page.song, of: song, from: h.page.from}
	if opt.Rhythm != Found {
		out.Rhythm = opt.Rhythm
	}
	out.beats(&h, post)
	out.chords(&h, post, h.decide(post), opt)
	return out, true
}

// tied pools what is thought of bars that have the same tune, in the same key, and beside
// which the bar before or after is the same as well.
func tied(h *heard, post [][]float64) [][]float64 {
	bars := len(h.bars)
	prints := make([]string, bars)
	slots := make([][]int, bars)
	for i, s := range h.slots {
		slots[s.bar] = append(slots[s.bar], i)
		prints[s.bar] += s.print()
	}
	same := func(a, b int) bool {
		return a >= 0 && b >= 0 && a < bars && b < bars && prints[a] != "" && prints[a] == prints[b]
	}
	// A bar leads those that are tied to it; the first does.
	leads := make([]int, bars)
	by := map[string][]int{}
	for b := range bars {
		leads[b] = b
		for _, c := range by[prints[b]] {
			if leads[c] == c && (same(b-1, c-1) || same(b+1, c+1)) {
				leads[b] = c
				break
			}
		}
		if len(by[prints[b]]) < 64 {
			by[prints[b]] = append(by[prints[b]], b)
		}
	}
	out := make([][]float64, len(post))
	count := make([]float64, bars)
	for b, lead := range leads {
		count[lead]++
		for k, i := range slots[b] {
			first := slots[lead][k]
			if out[first] == nil {
				out[first] = make([]float64, len(post[i]))
			}
			for a, p := range post[i] {
				out[first][a] += p
			}
		}
	}
	for b, lead := range leads {
		for k, i := range slots[b] {
			if b != lead {
				out[i] = out[slots[lead][k]]
				continue
			}
			for a := range out[i] {
				out[i][a] /= count[lead]
			}
		}
	}
	return out
}

// print is what makes two beats the same to a listener.
func (s *slot) print() string {
	b := make([]byte, 0, 8)
	b = append(b, byte(s.region), byte(s.place), byte((s.end-s.at)>>8), byte(s.end-s.at))
	for _, p := range s.pieces {
		b = append(b, byte(p.class), byte(p.how), byte(int(p.long*48)))
	}
	return string(b)
}

// decide chooses a state for each slot: within each bar those that are likeliest in sum,
// less what changing costs. Of equal sums the one that comes first in the palette.
func (h *heard) decide(post [][]float64) []int {
	out := make([]int, len(post))
	for from := 0; from < len(post); {
		to := from + 1
		for to < len(post) && h.slots[to].bar == h.slots[from].bar && h.joined(to) {
			to++
		}
		n := len(post[from])
		best := make([][]float64, to-from)
		back := make([][]int, to-from)
		for i := from; i < to; i++ {
			row := make([]float64, n)
			come := make([]int, n)
			long := float64(h.slots[i].end-h.slots[i].at) / float64(theory.Quarter)
			for a := range row {
				if i > from {
					come[a] = a
					top := best[i-from-1][a]
					for b, x := range best[i-from-1] {
						if y := x - changeCost; y > top {
							top, come[a] = y, b
						}
					}
					row[a] = top
				}
				row[a] += float64(post[i][a] * long)
			}
			best[i-from], back[i-from] = row, come
		}
		at := 0
		for a, x := range best[to-from-1] {
			if x > best[to-from-1][at] {
				at = a
			}
		}
		for i := to - 1; i >= from; i-- {
			out[i] = at
			at = back[i-from][at]
		}
		from = to
	}
	return out
}

func percent(p float64) int { return int(float64(p*100) + .5) }

func (out *Harmony) beats(h *heard, post [][]float64) {
	for i, s := range h.slots {
		key := h.regions[s.region].key
		b := Beat{At: s.at, End: s.end, Bar: s.bar, Key: key}
		for _, a := range ranked(post[i]) {
			if p := percent(post[i][a]); p > 0 {
				b.Triads = append(b.Triads, Triad{palettes[paletteOf(key)][a].chord(key), p})
			}
		}
		out.Beats = append(out.Beats, b)
	}
}

// ranked orders states, the likeliest first; of equals the one that comes first in the
// palette.
func ranked(p []float64) []int {
	order := make([]int, len(p))
	for a := range order {
		order[a] = a
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] > p[b]:
			return -1
		case p[a] < p[b]:
			return 1
		}
		return 0
	})
	return order
}

// chords puts the chosen states together to chords.
func (out *Harmony) chords(h *heard, post [][]float64, chosen []int, opt Options) {
	first := 0
	if b := out.Page.Bars[0]; b.Pickup && len(out.Page.Bars) > 1 {
		for first < len(h.slots) && h.slots[first].bar == 0 {
			first++ // a pick-up stays bare
		}
	}
	for i := first; i < len(chosen); {
		j := i + 1
		for j < len(chosen) && chosen[j] == chosen[i] && h.joined(j) {
			j++
		}
		key := h.regions[h.slots[i].region].key
		pal := palettes[paletteOf(key)]
		var next *state
		c := Chord{At: h.slots[i].at, End: h.slots[j-1].end, Key: key}
		if j < len(chosen) && h.joined(j) {
			next = &pal[chosen[j]]
		}
		c.Chord = pal[chosen[i]].symbol(key, next, opt.Plain)
		sum := make([]float64, len(pal))
		for k := i; k < j; k++ {
			for a, p := range post[k] {
				sum[a] += p / float64(j-i)
			}
		}
		c.Sure = percent(sum[chosen[i]])
		for _, a := range ranked(sum) {
			if a != chosen[i] && len(c.Others) < 2 {
				c.Others = append(c.Others, Other{Chord: pal[a].symbol(key, next, opt.Plain), Sure: percent(sum[a])})
			}
		}
		if n := len(out.Chords); n > 0 {
			out.Chords[n-1].Next = c.Chord
		}
		out.Chords = append(out.Chords, c)
		i = j
	}
	out.restate()
	out.write()
}

// restate says a chord again where a repeat or a jump leads to: what is in force there is
// not what stood before on the page.
func (out *Harmony) restate() {
	var all []Chord
	k := 0
	for _, c := range out.Chords {
		for k < len(out.from) && out.from[k].at <= c.At {
			k++
		}
		for ; k < len(out.from) && out.from[k].at < c.End; k++ {
			if s := out.from[k]; s.again {
				first := c
				first.End, c.At = s.at, s.at
				all = append(all, first)
			}
		}
		all = append(all, c)
	}
	out.Chords = all
}

// write finds where each chord is written, and what of the tune it holds.
func (out *Harmony) write() {
	k := 0
	for i := range out.Chords {
		c := &out.Chords[i]
		for k+1 < len(out.from) && out.from[k+1].at <= c.At {
			k++
		}
		s := out.from[k]
		c.page, c.within = s.page, c.At-s.at
		c.Measure, c.Offset = s.measure, s.offset+c.within
		c.Holds, c.Leaves = out.over(c.At, c.End, c.Chord)
		c.Others = slices.Clone(c.Others) // of a chord that is said again, each its own
		for j := range c.Others {
			o := &c.Others[j]
			o.Holds, o.Leaves = out.over(c.At, c.End, o.Chord)
		}
	}
}

// over names the notes of the tune over a stretch of the page that are in a chord, and
// those that are not; the longest first.
func (out *Harmony) over(at, end theory.Dur, c theory.Chord) (holds, leaves []theory.Name) {
	type sound struct {
		name theory.Name
		long theory.Dur
	}
	var all []sound
	first, _ := slices.BinarySearchFunc(out.Page.Melody, at, func(n leadsheet.Note, at theory.Dur) int { return cmp.Compare(n.End(), at+1) })
	for _, n := range out.Page.Melody[first:] {
		if n.At >= end {
			break
		}
		l := min(n.End(), end) - max(n.At, at)
		if l <= 0 {
			continue
		}
		i := slices.IndexFunc(all, func(s sound) bool { return s.name == n.Pitch.Name })
		if i < 0 {
			i = len(all)
			all = append(all, sound{name: n.Pitch.Name})
		}
		all[i].long += l
	}
	slices.SortStableFunc(all, func(a, b sound) int { return int(b.long - a.long) })
	for _, s := range all {
		if c.HasClass(s.name.Class()) {
			holds = append(holds, s.name)
		} else {
			leaves = append(leaves, s.name)
		}
	}
	return holds, leaves
}

// Song is the tune with the chords, in playing order.
func (out Harmony) Song() leadsheet.Song {
	by := map[int][]Chord{}
	for _, c := range out.Chords {
		by[c.page] = append(by[c.page], c)
	}
	// What is in force where a written bar begins: a jump may lead to it.
	into := map[int]theory.Chord{}
	now := 0
	for _, s := range out.from {
		for now < len(out.Chords) && out.Chords[now].End <= s.at {
			now++
		}
		if now < len(out.Chords) && out.Chords[now].At <= s.at {
			into[s.page] = out.Chords[now].Chord
		}
	}
	song := out.of
	song.Chords = nil
	put := func(at theory.Dur, c theory.Chord) {
		if n := len(song.Chords); n > 0 && (song.Chords[n-1].Chord == c || song.Chords[n-1].At == at) {
			return
		}
		song.Chords = append(song.Chords, leadsheet.ChordMark{At: at, Chord: c, Text: c.String(), Pos: song.PosAt(at)})
	}
	stretch := func(page int, at, end theory.Dur) {
		list := by[page]
		if c, ok := into[page]; ok && (len(list) == 0 || list[0].within > 0) {
			put(at, c)
		}
		for _, c := range list {
			if at+c.within < end {
				put(at+c.within, c.Chord)
			}
		}
	}
	for _, b := range song.Bars {
		first := b.Written
		if b.Page[0] > 0 {
			first = b.Page[0] - 1
		}
		if b.Page[1] == 0 {
			stretch(first, b.At, b.End())
			continue
		}
		stretch(first, b.At, b.At+b.Split)
		stretch(b.Page[1]-1, b.At+b.Split, b.End())
	}
	return song
}

// Leads tells to which root a chord leads as its dominant, where it is the dominant of
// another degree than the first.
func (c Chord) Leads() (goal theory.Name, ok bool) {
	r := c.Key.Roman(c.Chord)
	if r.Kind != theory.Applied || r.Of.Degree == 0 {
		return theory.Name{}, false
	}
	return c.Chord.Root.Up(theory.Interval{Steps: 3, Semitones: 5}), r.Degree == 5
}

// Marks are the chords by the written bars of the file.
func (out Harmony) Marks() []leadsheet.BarChord {
	var ms []leadsheet.BarChord
	for _, c := range out.Chords {
		ms = append(ms, leadsheet.BarChord{Measure: c.Measure, Offset: c.Offset, Chord: c.Chord, Text: c.Chord.String()})
	}
	return ms
}
