package frame

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// How many bars of the tune a formula takes, and how many it has to have for that.
// (Common practice, no source.)
const (
	shortBars = 2
	longBars  = 4
	leastTune = 8
)

// Framed is a song with what stands around it.
type Framed struct {
	Song   leadsheet.Song
	Lead   theory.Dur // how long the introduction is
	Before int        // how many notes are before the tune's
	Notes  int        // how many notes of the page are the tune's
}

// Around frames a song in the order of its page, which is read as an; played is the same in
// the order of playing, from which what is quoted is taken. Chords are those of the key in which
// the tune begins, or comes home, whatever the sheet calls it. ok is false where nothing is to be
// added, or nothing can be.
func Around(page, played leadsheet.Song, an harmony.Analysis, kind idiom.Idiom, introduction, ending idiom.Length) (f Framed, ok bool) {
	if len(page.Melody) == 0 || len(page.Chords) == 0 {
		return f, false
	}
	var before, after part
	if introduction == idiom.ShortLength || introduction == idiom.LongLength {
		before = opening(page, played, keyAt(page, an, 0), kind.Introduction.Of(introduction), bars(introduction))
	}
	home := homeOf(page, an)
	if ending == idiom.ShortLength || ending == idiom.LongLength {
		after = closing(page, played, home, kind.Ending.Of(ending), bars(ending))
	} else if ending == idiom.CloseLength {
		after = closing(page, played, home, idiom.Formula{Chords: [][]string{{"I"}}}, 1)
		if n := len(after.notes); n > 0 { // the keynote, and no other note of its chord
			after.notes[n-1].Pitch = home.Tonic.Nearest(after.notes[n-1].Pitch.MIDI())
		}
	}
	if before.bars == nil && after.bars == nil {
		return f, false
	}
	f = join(before, page, after)
	was, is := roadmap.Unfold(page), roadmap.Unfold(f.Song)
	if len(is.Melody) != len(before.notes)+len(was.Melody)+len(after.notes) || is.End() != before.dur()+was.End()+after.dur() {
		return Framed{}, false // its signs would be read otherwise
	}
	return f, true
}

func bars(l idiom.Length) int {
	if l == idiom.LongLength {
		return longBars
	}
	return shortBars
}

// part is an introduction or a tag; its time begins at 0.
type part struct {
	bars   []leadsheet.Bar
	notes  []leadsheet.Note
	chords []leadsheet.ChordMark
}

func (p part) dur() theory.Dur {
	if len(p.bars) == 0 {
		return 0
	}
	return p.bars[len(p.bars)-1].End()
}

// add appends a bar of a part.
func (p *part) add(of leadsheet.Part, like leadsheet.Bar, dur theory.Dur, lead bool) {
	n := 1
	for _, b := range p.bars {
		if !b.Pickup {
			n++
		}
	}
	if lead {
		n = 0
	}
	p.bars = append(p.bars, leadsheet.Bar{At: p.dur(), Dur: dur, Meter: like.Meter, Key: like.Key, Number: n, Sheet: n, Pass: 1, Part: of, Pickup: lead})
}

// opening makes an introduction. Its last bar leaves room for the tune's pick-up, and no
// sound of it reaches into that.
func opening(page, played leadsheet.Song, k theory.Key, how idiom.Formula, n int) part {
	first := page.Bars[0]
	full := first.Meter.OrCommon().Bar()
	last := full
	if first.Pickup && first.Dur < full {
		last -= first.Dur
	}
	like := first
	like.Key = keyOf(page, first)
	p := part{}
	if how.Phrase != idiom.NoPhrase {
		if from, ok := lastBars(played, n, first.Meter); ok {
			for i := range n {
				p.add(leadsheet.Introduction, like, ifElse(i == n-1, last, full), false)
			}
			p.quote(played, from)
			if how.Phrase == idiom.LastPhrase {
				p.turn(k)
			}
			return p
		}
		how = idiom.Formula{Chords: [][]string{{"I"}, {"V7"}}}
	}
	for i, chords := range how.Chords {
		dur := ifElse(i == len(how.Chords)-1, last, full)
		p.add(leadsheet.Introduction, like, dur, false)
		p.chord(p.bars[i], k, chords)
	}
	return p
}

func ifElse[T any](is bool, a, b T) T {
	if is {
		return a
	}
	return b
}

// closing makes a tag: the tune's last bars again, or chords under a voice that stays as
// near as it can to the tune's last note.
func closing(page, played leadsheet.Song, k theory.Key, how idiom.Formula, n int) part {
	like := page.Bars[len(page.Bars)-1]
	full := like.Meter.OrCommon().Bar()
	like.Key = keyOf(page, like)
	p := part{}
	if rest := full - like.Dur; rest > 0 && !(like.Pickup && len(page.Bars) == 1) { // the tune's last bar is filled up
		p.add(leadsheet.Tag, like, rest, true)
	}
	lead := len(p.bars)
	if how.Phrase != idiom.NoPhrase {
		from, ok := lastBars(played, n, like.Meter)
		if !ok {
			return part{}
		}
		for range n {
			p.add(leadsheet.Tag, like, full, false)
		}
		p.quote(played, from)
		return p
	}
	for i, chords := range how.Chords {
		p.add(leadsheet.Tag, like, full, false)
		p.chord(p.bars[lead+i], k, chords)
	}
	p.voice(played.Melody[len(played.Melody)-1].Pitch, k.Tonic)
	return p
}

// homeOf is the key that the tune comes home to: that in which its end is read, or that of its last
// chord, where it rests on the root of that and the sheet's key is another.
func homeOf(page leadsheet.Song, an harmony.Analysis) theory.Key {
	k := keyAt(page, an, len(page.Bars)-1)
	last := page.Melody[len(page.Melody)-1]
	s, ok := an.SpanAt(last.At)
	_, seventh := s.Chord.Seventh()
	rests := last.Dur >= page.Bars[page.BarAt(last.At)].Meter.OrCommon().BeatDur()
	if !ok || !s.Sounding() || seventh || !rests || last.Pitch.Name != s.Chord.Root || last.Pitch.Name == k.Tonic {
		return k
	}
	if s.Chord.MinorThird() {
		return theory.Key{Tonic: s.Chord.Root, Mode: theory.Minor}
	}
	return theory.Key{Tonic: s.Chord.Root, Mode: theory.Major}
}

// keyAt is the key that a bar is read in; its signature may be another's.
func keyAt(s leadsheet.Song, an harmony.Analysis, bar int) theory.Key {
	for _, r := range an.Regions {
		if r.First <= bar && bar <= r.Last && r.Key.Valid() {
			return r.Key
		}
	}
	return keyOf(s, s.Bars[bar])
}

func keyOf(s leadsheet.Song, b leadsheet.Bar) theory.Key {
	if b.Key.Valid() {
		return b.Key
	}
	return s.Key
}

// lastBars finds the last bars of the tune: whole, in one metre, the last one that in
// which its last note begins. It returns the index of the first.
func lastBars(s leadsheet.Song, n int, m leadsheet.Meter) (first int, ok bool) {
	last := s.BarAt(s.Melody[len(s.Melody)-1].At)
	if first = last - n + 1; first < leastTune-n {
		return 0, false
	}
	for i := first; i <= last; i++ {
		b := s.Bars[i]
		if b.Meter != m || b.Dur < m.OrCommon().Bar() && i < last {
			return 0, false
		}
	}
	return first, s.Chords[0].At < s.Bars[last].At
}

// stepwise tells whether the graces of a note lead into it by step, from each to the next.
func stepwise(n leadsheet.Note) bool {
	for i, g := range n.Graces {
		to := n.Pitch
		if i+1 < len(n.Graces) {
			to = n.Graces[i+1]
		}
		if d := to.MIDI() - g.MIDI(); d == 0 || d < -2 || d > 2 {
			return false
		}
	}
	return true
}

// quote fills the whole bars of the part with those of a song from one on.
func (p *part) quote(s leadsheet.Song, from int) {
	into := slices.DeleteFunc(slices.Clone(p.bars), func(b leadsheet.Bar) bool { return b.Pickup })
	for i, b := range into {
		src := s.Bars[from+i]
		by := b.At - src.At
		until := min(b.Dur, src.Dur)
		for _, n := range s.Melody {
			if n.At < src.At || n.At >= src.At+until {
				continue
			}
			n.Dur = min(n.End()+by, p.dur()) - (n.At + by)
			n.At, n.Sung = n.At+by, nil
			if !stepwise(n) { // outside the tune they need a reason of their own
				n.Graces = nil
			}
			p.notes = append(p.notes, n)
		}
		at := slices.IndexFunc(s.Chords, func(c leadsheet.ChordMark) bool { return c.At > src.At })
		if at < 0 {
			at = len(s.Chords)
		}
		if i == 0 && at > 0 { // what is in force there
			c := s.Chords[at-1]
			c.At = b.At
			p.chords = append(p.chords, c)
		} else if at > 0 && s.Chords[at-1].At == src.At {
			at--
		}
		for _, c := range s.Chords[at:] {
			if c.At >= src.At+until {
				break
			}
			c.At += by
			p.chords = append(p.chords, c)
		}
	}
}

// turn lets the last bar of a quoted phrase lead to the dominant: in its second half,
// where the first has the tune's last note over the tonic.
func (p *part) turn(k theory.Key) {
	b := p.bars[len(p.bars)-1]
	beat := b.Meter.OrCommon().BeatDur()
	half := b.At + (b.Dur/beat+1)/2*beat
	if len(p.notes) == 0 {
		return
	}
	last := &p.notes[len(p.notes)-1]
	if half >= b.End() || last.At >= half {
		return
	}
	in := -1
	for i, c := range p.chords {
		if c.At <= last.At {
			in = i
		}
	}
	if in < 0 || p.chords[in].Unknown || p.chords[in].Chord.Root != k.Tonic {
		return
	}
	last.Dur = min(last.End(), half) - last.At
	p.chords = slices.DeleteFunc(p.chords, func(c leadsheet.ChordMark) bool { return c.At > last.At })
	c := chordOn(k, "V7")
	p.chords = append(p.chords, leadsheet.ChordMark{At: half, Chord: c, Text: c.String()})
}

// chord writes the chords of a bar, on its beats. Where a pick-up has left fewer beats
// than chords, the last ones are what leads on.
func (p *part) chord(b leadsheet.Bar, k theory.Key, chords []string) {
	beat := b.Meter.OrCommon().BeatDur()
	beats := max(1, b.Dur/beat)
	chords = chords[max(0, len(chords)-int(beats)):]
	for i, text := range chords {
		at := (beats*theory.Dur(i) + theory.Dur(len(chords)) - 1) / theory.Dur(len(chords)) * beat
		c := chordOn(k, text)
		p.chords = append(p.chords, leadsheet.ChordMark{At: b.At + at, Chord: c, Text: c.String()})
	}
}

// voice gives the chords of the part a voice over them: each time the chord's note that
// lies nearest to the one before, of two the one nearer to where it began, then the upper; and
// last the keynote, where that is no further than a third away.
func (p *part) voice(from theory.Pitch, tonic theory.Name) {
	home := from.MIDI()
	away := func(q theory.Pitch, key int) int { return max(q.MIDI()-key, key-q.MIDI()) }
	for i, c := range p.chords {
		end := p.dur()
		if i+1 < len(p.chords) {
			end = p.chords[i+1].At
		}
		best, far := theory.Pitch{}, 1<<30
		for _, d := range c.Chord.Triad().Tones.List() {
			q := d.On(c.Chord.Root).Nearest(from.MIDI())
			// Less than an octave away each weighs more than all that comes after it.
			if by := 1000*away(q, from.MIDI()) + 10*away(q, home) + (home-q.MIDI()+100)/100; by < far {
				best, far = q, by
			}
		}
		if q := tonic.Nearest(from.MIDI()); i == len(p.chords)-1 && c.Chord.Root == tonic && away(q, from.MIDI()) <= 4 {
			best = q
		}
		p.notes = append(p.notes, leadsheet.Note{At: c.At, Dur: end - c.At, Pitch: best})
		from = best
	}
}

// join writes the parts one after another.
func join(before part, page leadsheet.Song, after part) Framed {
	f := Framed{Song: page, Lead: before.dur(), Before: len(before.notes), Notes: len(page.Melody)}
	s := &f.Song
	s.Bars, s.Melody, s.Chords = slices.Clone(before.bars), slices.Clone(before.notes), slices.Clone(before.chords)
	put := func(bars []leadsheet.Bar, notes []leadsheet.Note, chords []leadsheet.ChordMark, by theory.Dur) {
		for _, b := range bars {
			b.At += by
			s.Bars = append(s.Bars, b)
		}
		for _, n := range notes {
			n.At += by
			s.Melody = append(s.Melody, n)
		}
		for _, c := range chords {
			c.At += by
			s.Chords = append(s.Chords, c)
		}
	}
	put(page.Bars, page.Melody, page.Chords, f.Lead)
	put(after.bars, after.notes, after.chords, f.Lead+page.End())
	for i := range s.Bars {
		s.Bars[i].Written = i
	}
	if len(before.bars) > 0 {
		s.Bars[len(before.bars)].Signs = opened(page)
		for i := range s.Bars {
			if g := &s.Bars[i].Signs; g.DaCapo { // the beginning is no longer the tune's
				g.DaCapo, g.DalSegno = false, true
			}
		}
	}
	return f
}

// opened are the signs of the page's first bar where something stands before it.
func opened(page leadsheet.Song) leadsheet.Signs {
	g := page.Bars[0].Signs
	for i, b := range page.Bars {
		if i > 0 && b.Signs.Start {
			break
		}
		if b.Signs.Times > 0 {
			g.Start = true
			break
		}
	}
	g.Segno = g.Segno || slices.ContainsFunc(page.Bars, func(b leadsheet.Bar) bool { return b.Signs.DaCapo })
	return g
}
