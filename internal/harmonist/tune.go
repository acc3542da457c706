package harmonist

import (
	"cmp"
	"slices"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// page is a song in the order of its page: each written bar once, as it is first played.
type page struct {
	song leadsheet.Song
	from []stretch // of the page, each with where it is first played
}

// stretch is a piece of a bar on the page and in the order of playing.
type stretch struct {
	at, dur theory.Dur // on the page
	played  theory.Dur // in the song in playing order
	bar     int        // of the page's song
	page    int        // of leadsheet.Bar.Page, less one
	measure int        // written bar of the file, from 0
	offset  theory.Dur // of at in that bar
	again   bool       // it is played after another one than stands before it, too
}

// pageOf takes the written bars out of a song in playing order.
func pageOf(song leadsheet.Song) page {
	type visit struct{ bar, measure, second int }
	var order []visit
	seen := map[int]bool{}
	for i, b := range song.Bars {
		key := b.Written
		if b.Page[0] > 0 {
			key = b.Page[0] - 1
		}
		if seen[key] || b.Dur <= 0 {
			continue
		}
		seen[key] = true
		second := -1
		if b.Page[1] > 0 && !seen[b.Page[1]-1] {
			second = b.Page[1] - 1
			seen[second] = true
		}
		order = append(order, visit{i, key, second})
	}
	slices.SortStableFunc(order, func(a, b visit) int { return cmp.Compare(a.measure, b.measure) })
	p := page{song: song}
	p.song.Bars, p.song.Melody, p.song.Chords = nil, nil, nil
	now := theory.Dur(0)
	next := 0
	for _, v := range order {
		b := song.Bars[v.bar]
		if b.Page[1] > 0 && v.second < 0 { // its second part stands on the page already: the pick-up
			b.Dur = b.Split
		}
		shift := now - b.At
		if len(p.from) > 0 && song.Bars[v.bar].At < p.from[len(p.from)-1].played {
			next = 0
		}
		for next < len(song.Melody) && song.Melody[next].At < b.At {
			next++
		}
		for ; next < len(song.Melody) && song.Melody[next].At < b.End(); next++ {
			n := song.Melody[next]
			n.At += shift
			if k := len(p.song.Melody); k > 0 { // a note that was held into another bar than comes next here
				p.song.Melody[k-1].Dur = min(p.song.Melody[k-1].Dur, n.At-p.song.Melody[k-1].At)
			}
			p.song.Melody = append(p.song.Melody, n)
		}
		at := len(p.song.Bars)
		first := b.Dur
		if v.second >= 0 {
			first = b.Split
		}
		add := func(from, dur theory.Dur, page int) {
			s := stretch{at: now + from, dur: dur, played: b.At + from, bar: at, page: page, measure: page / leadsheet.PageParts}
			if n := len(p.from); n > 0 && p.from[n-1].measure == s.measure { // a later part of a long bar
				s.offset = p.from[n-1].offset + p.from[n-1].dur
			}
			p.from = append(p.from, s)
		}
		add(0, first, v.measure)
		if v.second >= 0 {
			add(first, b.Dur-first, v.second)
		}
		for c := chordBefore(song.Chords, b.At); c < len(song.Chords) && song.Chords[c].At < b.End(); c++ {
			m := song.Chords[c]
			inside := m.At >= b.At && m.At < b.End()
			before := m.At < b.At && (c+1 == len(song.Chords) || song.Chords[c+1].At > b.At)
			if before {
				m.At = b.At
			}
			if inside || before {
				m.At += shift
				p.song.Chords = append(p.song.Chords, m)
			}
		}
		b.At = now
		p.song.Bars = append(p.song.Bars, b)
		now += b.Dur
	}
	p.findAgain(song)
	return p
}

// findAgain marks the stretches to which a repeat or a jump leads: what is in force there
// is not what stood before on the page.
func (p *page) findAgain(song leadsheet.Song) {
	number := map[int]int{}
	for i, s := range p.from {
		number[s.page] = i
	}
	before := -1
	visit := func(page int) {
		i, ok := number[page]
		if ok && i != before+1 {
			p.from[i].again = true
		}
		before = i
	}
	for _, b := range song.Bars {
		if b.Page[0] == 0 {
			visit(b.Written)
			continue
		}
		visit(b.Page[0] - 1)
		if b.Page[1] > 0 {
			visit(b.Page[1] - 1)
		}
	}
}

// chordBefore finds the last chord that begins at a moment or before it, or the first.
func chordBefore(cs []leadsheet.ChordMark, at theory.Dur) int {
	i, found := slices.BinarySearchFunc(cs, at, func(c leadsheet.ChordMark, at theory.Dur) int { return cmp.Compare(c.At, at) })
	if found {
		return i
	}
	return max(i-1, 0)
}

// slot is a stretch of the page that gets one chord: a beat.
type slot struct {
	at, end theory.Dur
	bar     int
	place   place
	pieces  []piece
	struck  bool  // a note begins with it
	forms   uint8 // places in the form, one bit each
	region  int
	// what is said of its place in the form
	hyper             int  // of the bar, since the section's beginning, modulo 8
	closes, beforeEnd bool // of a section
	opens             bool // a section or the tune
	breathes, starts  bool // a phrase ends in its bar, or begins with the slot
	goal              int  // class of the note on which the phrase ends, where it sounds; −1
}

// piece is what of a note sounds in a slot.
type piece struct {
	class int
	long  float64 // in beats
	how   sound
}

// sound says how a piece is heard.
type sound uint8

const (
	onStrong sound = iota // struck with a strong beat
	onWeak                // struck with another one
	inside                // struck off the beat
	passing               // …and short, and moving on by step
	held                  // sounding on from before
	sounds
)

// place is where in its bar a slot lies.
type place uint8

const (
	barOne  place = iota // the first beat of an uneven bar of the section
	barTwo               // …of an even one
	half                 // the middle of a bar of four
	weakTwo              // the second of four
	weakFour
	secondOfTwo
	secondOfThree
	thirdOfThree
	elsewhere
	places
)

// heard is a tune as the harmonist hears it.
type heard struct {
	page    page
	slots   []slot
	regions []region
	bars    []barFacts
	metre   int     // the first metre: of two, three, four beats, another
	density float64 // notes a beat
}

// region is a stretch of the page under one signature.
type region struct {
	first, last    int // slots, the last excluded
	declared, key  theory.Key
	low7, high7    float64     // how much of the tune is the lowered or the raised seventh, of both
	low6           float64     // …and the lowered sixth
	sounds, strong [12]float64 // shares of the time, of what is struck with a strong beat
	firstNote      int         // classes of the first strong note and of the last; −1
	lastNote       int
	goals          []int // classes of the notes on which phrases rest
}

const metres = 4

type barFacts struct {
	by      [12]float64 // share of its time
	first   int         // class of the note on its first beat; −1
	longest int
	sixteen int
}

// hear cuts a song into slots.
func hear(song leadsheet.Song) heard {
	p := pageOf(song)
	h := heard{page: p}
	bare := p.song
	bare.Chords = nil
	an := harmony.Analyse(bare)
	ends, starts := map[int]int{}, map[int]bool{}
	for _, ph := range an.Phrases {
		ends[ph.Last] = ph.Goal
		starts[ph.First] = true
	}
	n := len(bare.Bars)
	since := 0
	next := 0
	beats := 0.0
	for i, b := range bare.Bars {
		m := b.Meter.OrCommon()
		if i == 0 || b.Section != "" || b.Pickup {
			since = 0
		}
		beat := m.Pulse()
		cut := []theory.Dur{}
		// What is left of a bar before its first whole beat counts with it.
		off := b.Offset(b.At) % beat
		at := b.At
		if off > 0 {
			at += beat - off
			cut = append(cut, b.At)
		}
		for ; at < b.End(); at += beat {
			cut = append(cut, at)
		}
		count := m.BeatCount()
		if m.Pulse() != m.BeatDur() {
			count = int(m.Bar() / m.Pulse())
		}
		if i == 0 || b.Meter != bare.Bars[i-1].Meter {
			if i == 0 {
				switch count {
				case 2:
					h.metre = 0
				case 3:
					h.metre = 1
				case 4:
					h.metre = 2
				default:
					h.metre = 3
				}
			}
		}
		for k, at := range cut {
			s := slot{at: at, end: b.End(), bar: i, hyper: since % 8, goal: -1}
			if k+1 < len(cut) {
				s.end = cut[k+1]
			}
			j := int(b.Offset(at) / beat)
			switch {
			case j == 0:
				s.place = barOne + place(since%2)
			case count == 4 && j == 2:
				s.place = half
			case count == 4 && j == 1:
				s.place = weakTwo
			case count == 4 && j == 3:
				s.place = weakFour
			case count == 2:
				s.place = secondOfTwo
			case count == 3 && j == 1:
				s.place = secondOfThree
			case count == 3:
				s.place = thirdOfThree
			default:
				s.place = elsewhere
			}
			s.closes = i+1 < n && bare.Bars[i+1].Section != ""
			s.beforeEnd = i+2 < n && bare.Bars[i+2].Section != ""
			s.opens = since == 0 && k == 0
			s.starts = k == 0 && starts[i]
			if g, ok := ends[i]; ok {
				s.breathes = true
				if g >= 0 && bare.Melody[g].At < s.end && bare.Melody[g].At >= b.At {
					s.goal = bare.Melody[g].Pitch.Class()
				}
			}
			for next < len(bare.Melody) && bare.Melody[next].End() <= at {
				next++
			}
			for j := next; j < len(bare.Melody) && bare.Melody[j].At < s.end; j++ {
				nt := bare.Melody[j]
				from, to := max(nt.At, at), min(nt.End(), s.end)
				if to <= from {
					continue
				}
				pc := piece{class: nt.Pitch.Class(), long: float64(to-from) / float64(beat)}
				switch {
				case nt.At < at:
					pc.how = held
				case nt.At == at && (s.place <= half):
					pc.how = onStrong
				case nt.At == at:
					pc.how = onWeak
				case j+1 < len(bare.Melody) && nt.Dur <= beat/2 && byStep(nt.Pitch, bare.Melody[j+1].Pitch):
					pc.how = passing
				default:
					pc.how = inside
				}
				s.struck = s.struck || nt.At == at
				s.pieces = append(s.pieces, pc)
			}
			beats++
			h.slots = append(h.slots, s)
		}
		if !b.Pickup {
			since++
		}
	}
	if beats > 0 {
		h.density = float64(len(bare.Melody)) / beats
	}
	h.bars = make([]barFacts, n)
	h.place()
	from, sung := 0, 0
	for i, b := range bare.Bars {
		f := &h.bars[i]
		f.first, f.longest = -1, -1
		if i > 0 && bare.Bars[i-1].Pickup && i == 1 {
			from = 1
		}
		f.sixteen = max(i-from, 0) % 16
		long := theory.Dur(0)
		for sung < len(bare.Melody) && bare.Melody[sung].End() <= b.At {
			sung++
		}
		for _, nt := range bare.Melody[sung:] {
			if nt.At >= b.End() {
				break
			}
			l := min(nt.End(), b.End()) - max(nt.At, b.At)
			if l <= 0 {
				continue
			}
			f.by[nt.Pitch.Class()] += float64(l) / float64(b.Dur)
			if nt.At <= b.At {
				f.first = nt.Pitch.Class()
			}
			if l > long {
				long = l
				f.longest = nt.Pitch.Class()
			}
		}
	}
	for _, r := range an.Regions {
		rg := region{declared: r.Declared, firstNote: -1, lastNote: -1}
		if !song.KeyDeclared {
			rg.declared = theory.Key{}
		}
		rg.first = len(h.slots)
		for i := range h.slots {
			if h.slots[i].bar >= r.First && h.slots[i].bar <= r.Last {
				h.slots[i].region = len(h.regions)
				rg.first, rg.last = min(rg.first, i), i+1
			}
		}
		rg.first = min(rg.first, rg.last)
		for _, ph := range an.Phrases {
			if ph.Goal >= 0 && ph.Last >= r.First && ph.Last <= r.Last {
				rg.goals = append(rg.goals, bare.Melody[ph.Goal].Pitch.Class())
			}
		}
		rg.weigh(h.slots[rg.first:rg.last])
		h.regions = append(h.regions, rg)
	}
	return h
}

// weigh counts what of the region tells its key.
func (r *region) weigh(slots []slot) {
	all, strong := 0.0, 0.0
	for _, s := range slots {
		for _, p := range s.pieces {
			r.sounds[p.class] += p.long
			all += p.long
			if p.how == onStrong {
				r.strong[p.class]++
				strong++
				if r.firstNote < 0 && s.place <= barTwo {
					r.firstNote = p.class
				}
			}
			if p.how != held || r.lastNote < 0 {
				r.lastNote = p.class
			}
		}
	}
	for c := range 12 {
		if all > 0 {
			r.sounds[c] /= all
		}
		if strong > 0 {
			r.strong[c] /= strong
		}
	}
}

// settle counts what the tunes' modes differ in, under the keys of the regions.
func (h *heard) settle() {
	for i := range h.regions {
		r := &h.regions[i]
		by := func(above int) float64 { return r.sounds[(r.key.Tonic.Class()+above)%12] }
		low7, high7, low6, high6 := by(10), by(11), by(8), by(9)
		const little = .02 // what tells nothing yet
		r.low7 = low7 / (low7 + high7 + little)
		r.high7 = high7 / (low7 + high7 + little)
		r.low6 = low6 / (low6 + high6 + little)
	}
}

func byStep(a, b theory.Pitch) bool {
	d := a.MIDI() - b.MIDI()
	return d != 0 && d >= -2 && d <= 2
}
