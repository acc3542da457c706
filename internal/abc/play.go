package abc

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// song puts what was read together in playing order.
func (r *reader) song(literal bool) (leadsheet.Song, leadsheet.Problems) {
	if !r.stopped && len(r.bars) == 0 {
		r.fail(outside(r.began), "no-music.none")
	}
	if !r.stopped {
		r.guessMeter()
	}
	var steps []step
	if !r.stopped {
		steps = r.route(literal)
	}
	if r.stopped {
		return leadsheet.Song{}, r.problems(nil)
	}
	p := player{reader: r, literal: literal, song: r.out, firstAt: make([]theory.Dur, len(r.bars)),
		symbols: symbols{report: r.report, plusSharp: r.plusSharp, known: make(map[string]reading)}}
	for i := range p.firstAt {
		p.firstAt[i] = -1
	}
	for _, s := range steps {
		if p.bar(s); r.stopped {
			return leadsheet.Song{}, r.problems(nil)
		}
	}
	if len(p.song.Melody) == 0 {
		r.fail(outside(r.began), "no-music.notes")
		return leadsheet.Song{}, r.problems(nil)
	}
	p.loose()
	return p.finish()
}

// guessMeter gives music without a metre the one that most of its bars fill. Where
// there is none, and where the page says that there is no metre, each bar has the one
// that it fills.
func (r *reader) guessMeter() {
	counts := make(map[theory.Dur]int)
	var lengths []theory.Dur
	free, first, unmetred := 0, -1, -1
	for i, b := range r.bars {
		switch {
		case b.unmetred:
			r.bars[i].meter = roadmap.FreeBar(b.dur())
			if unmetred < 0 {
				unmetred = i
			}
		case b.free:
			if first < 0 {
				first = i
			}
			free++
			if counts[b.dur()]++; counts[b.dur()] == 1 {
				lengths = append(lengths, b.dur())
			}
		}
	}
	r.meterGuessed = len(r.bars) > 0 && r.bars[0].free
	if unmetred >= 0 {
		r.add(leadsheet.Info, where{place{r.bars[unmetred].line, 0}, unmetred, 0}, "meter-free")
	}
	if free == 0 {
		return
	}
	slices.SortFunc(lengths, func(a, b theory.Dur) int {
		return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(b, a))
	})
	at := where{place{r.bars[first].line, 0}, first, 0}
	full := lengths[0]
	m, ok := meterOf(full, r.out.Rhythm)
	if !ok || free > 1 && 2*counts[full] <= free-1 {
		r.warn(at, "meter-free")
		for i := range r.bars {
			if b := &r.bars[i]; b.free && !b.unmetred {
				b.meter = roadmap.FreeBar(b.dur())
			}
		}
		return
	}
	r.warn(at, "meter-guessed", "Metre", m)
	for i := range r.bars {
		if b := &r.bars[i]; b.free && !b.unmetred {
			b.meter = m
		}
	}
}

// meterOf chooses a metre for a bar length; a jig counts in dotted beats.
func meterOf(full theory.Dur, rhythm string) (leadsheet.Meter, bool) {
	jig := strings.Contains(rhythm, "jig") || strings.Contains(rhythm, "barcarolle")
	for _, m := range []leadsheet.Meter{
		{Beats: 4, Unit: 4}, {Beats: 3, Unit: 4}, {Beats: 2, Unit: 4}, {Beats: 12, Unit: 8}, {Beats: 9, Unit: 8},
		{Beats: 3, Unit: 8}, {Beats: 5, Unit: 4}, {Beats: 7, Unit: 8}, {Beats: 5, Unit: 8}, {Beats: 4, Unit: 2}, {Beats: 7, Unit: 4},
	} {
		if m.Bar() == full {
			if jig && m.Beats == 3 && m.Unit == 4 {
				m = leadsheet.Meter{Beats: 6, Unit: 8}
			}
			return m, true
		}
	}
	return leadsheet.Meter{}, false
}

// mostFree is how long a bar of free music may be before it is cut, and most how
// long its pieces.
const mostFree = 2 * theory.Whole

// splitFree cuts a long bar of music without a metre where notes begin, so that a
// page can hold it.
func splitFree(b leadsheet.Bar, onsets []theory.Dur) (out []leadsheet.Bar) {
	if b.Dur <= mostFree {
		return []leadsheet.Bar{b}
	}
	from := theory.Dur(0)
	add := func(to theory.Dur) {
		c := b
		c.At, c.Dur = b.At+from, to-from
		c.Meter = roadmap.FreeBar(c.Dur)
		c.Written += len(out)
		out = append(out, c)
		from = to
	}
	for i := 1; i < len(onsets); i++ {
		if i+1 == len(onsets) || onsets[i+1]-from > theory.Whole {
			for onsets[i]-from > mostFree { // a note that is longer than any bar
				add(from + theory.Whole)
			}
			add(onsets[i])
		}
	}
	return out
}

// player writes the song out bar by bar.
type player struct {
	*reader
	literal bool
	song    leadsheet.Song
	symbols symbols
	marks   []roadmap.SectionMark
	breaks  []theory.Dur // where short notes are beamed anew
	firstAt []theory.Dur // where each written bar is played first; −1: never

	at        theory.Dur
	last      int        // written bar played before
	tail      theory.Dur // length of the note or rest that ended it
	tied      *item      // the note before, where it is tied on
	events    int
	barMark   int        // first chord mark of the bar being played
	barBefore theory.Dur // where the bar before it begins
	declared  bool       // the page states the key of the first bar
}

func (p *player) bar(s step) {
	w := &p.bars[s.bar]
	if p.firstAt[s.bar] < 0 {
		p.firstAt[s.bar] = p.at
	}
	if len(p.song.Bars) == 0 {
		p.declared = w.declared
	}
	if w.dur() == 0 {
		return
	}
	play := p.makeRoom(s, w)
	p.last = s.bar
	if s.mark {
		p.marks = append(p.marks, roadmap.SectionMark{At: p.at, Name: s.name})
	}
	if !play {
		return
	}
	whole := leadsheet.Bar{At: p.at, Dur: w.dur(), Meter: w.meter, Key: w.key, Written: s.bar * leadsheet.PageParts, Line: w.line}
	bars := splitLong(whole)
	if w.meter.Free() {
		bars = splitFree(whole, w.onsets)
	}
	if len(bars) > 1 {
		p.once(leadsheet.Warning, where{w.items[0].pos, s.bar, 0}, "bar-line-missing", fmt.Sprint(s.bar), "n", len(bars), "Metre", w.meter)
	}
	p.song.Bars = append(p.song.Bars, bars...)
	if p.events += len(w.items); p.events > roadmap.MaxPlayedNotes || len(p.song.Bars) > roadmap.MaxPlayedBars {
		p.fail(where{place{w.line, 0}, -1, 0}, "too-long.played", "Notes", roadmap.MaxPlayedNotes, "Bars", roadmap.MaxPlayedBars)
		return
	}
	before := p.barMark
	p.barMark = len(p.song.Chords)
	for i, it := range w.items {
		p.chords(it, p.at+w.onsets[i], s.time, before)
		if it.apart && !it.rest && it.len.n*8 <= it.len.d {
			p.breaks = append(p.breaks, p.at+w.onsets[i])
		}
		dur := w.onsets[i+1] - w.onsets[i]
		p.item(it, p.at+w.onsets[i], dur)
		p.tail = dur
	}
	p.barBefore = p.at
	p.at += w.dur()
}

// makeRoom mends a common slip of the page: a repeat, or the order of parts,
// leads back to a pick-up although the bar before is full. As a player would, it
// takes the pick-up's time from the note or rest that ends that bar; where that
// is no longer than the pick-up, the pick-up is left out (false). Played as
// written, a bar of a beat or less would stand in the middle of the tune.
func (p *player) makeRoom(s step, w *bar) bool {
	n := len(p.song.Bars)
	if p.literal || n == 0 || !s.mark || s.bar == p.last+1 || p.tied != nil || w.dur() >= w.meter.Bar() {
		return true
	}
	b := &p.song.Bars[n-1]
	if b.Dur != b.Meter.Bar() {
		return true
	}
	at := where{w.items[0].pos, s.bar, 0}
	room := w.dur()
	if p.tail <= room {
		p.once(leadsheet.Warning, at, "pickup-left-out", fmt.Sprint(s.bar))
		return false
	}
	p.once(leadsheet.Warning, at, "pickup-room", fmt.Sprint(s.bar))
	if last := len(p.song.Melody) - 1; last >= 0 && p.song.Melody[last].End() == p.at {
		p.song.Melody[last].Dur -= room
	}
	b.Dur -= room
	p.at -= room
	p.tail -= room
	return true
}

// item plays a note or rest.
func (p *player) item(it *item, at, dur theory.Dur) {
	if dur == 0 {
		return
	}
	from := p.tied
	p.tied = nil
	if it.rest {
		return
	}
	if it.tied {
		p.tied = it
	}
	pitch := it.pitch
	if from != nil {
		last := &p.song.Melody[len(p.song.Melody)-1]
		if it.bare && pitch.Letter == last.Pitch.Letter && pitch.Octave == last.Pitch.Octave {
			pitch = last.Pitch
		}
		if pitch == last.Pitch && last.End() == at {
			last.Dur += dur
			from.joined = true
			last.Sung = begun(last.Sung, it.sung)
			if len(it.graces) > 0 {
				p.once(leadsheet.Warning, where{it.pos, p.last, 0}, "graces-dropped.tie", "tie")
			}
			return
		}
	}
	p.song.Melody = append(p.song.Melody, leadsheet.Note{
		At: at, Dur: dur, Pitch: pitch, Graces: slices.Clone(it.graces), Sung: it.sung,
		Pos: leadsheet.Pos{File: p.file, Line: it.pos.line, Col: it.pos.col},
	})
}

// chords sets the chord mark of an item. Two symbols over one note are the first
// and the second time's (the Nottingham collection writes them so); a blank one
// leaves the chord as it is.
func (p *player) chords(it *item, at theory.Dur, time, before int) {
	n := len(it.chords)
	if n == 0 {
		return
	}
	if n > 1 {
		p.once(leadsheet.Info, it.chords[0].at, "chord-alternatives", "")
	}
	k := min(max(time, 1), n) - 1
	it.heard |= 1 << k
	sym := it.chords[k]
	if sym.text == "" {
		return
	}
	var inForce *leadsheet.ChordMark
	if c := len(p.song.Chords); c > 0 {
		inForce = &p.song.Chords[c-1]
	}
	m, repeat, ok := p.symbols.mark(sym, inForce)
	if !ok {
		return
	}
	if repeat {
		p.repeatChords(sym, at, before)
		return
	}
	m.At = at
	m.Pos = leadsheet.Pos{File: p.file, Line: sym.at.line, Col: sym.at.col}
	p.setChord(m)
}

// setChord adds a mark; it replaces what a % has put there or later.
func (p *player) setChord(m leadsheet.ChordMark) {
	for n := len(p.song.Chords); n > p.barMark && p.song.Chords[n-1].At >= m.At; n-- {
		p.song.Chords = p.song.Chords[:n-1]
	}
	p.song.Chords = append(p.song.Chords, m)
	p.events++
}

// repeatChords writes the chords of the bar before once more, as % asks.
func (p *player) repeatChords(sym symbol, at theory.Dur, before int) {
	if at != p.at || at == 0 {
		p.warn(sym.at, "chord-repeat")
		return
	}
	marks := p.song.Chords[before:p.barMark]
	if len(marks) > 0 && before > 0 && marks[0].At > p.barBefore { // the bar begins with a chord that holds on
		held := p.song.Chords[before-1]
		held.At = p.barBefore
		marks = append([]leadsheet.ChordMark{held}, marks...)
	}
	for _, c := range marks {
		if c.At += at - p.barBefore; c.At >= at+p.bars[p.last].dur() {
			break
		}
		c.Pos.Line, c.Pos.Col = sym.at.line, sym.at.col
		p.song.Chords = append(p.song.Chords, c)
		p.events++
	}
}

// loose tells of ties that met no note, and of chords for a time that never
// comes.
func (p *player) loose() {
	for b := range p.bars {
		for i, it := range p.bars[b].items {
			at := where{it.pos, b, i}
			if it.tied && !it.joined && p.firstAt[b] >= 0 {
				p.warn(at, "tie-loose.end")
			}
			for k, sym := range it.chords {
				if len(it.chords) > 1 && p.firstAt[b] >= 0 && it.heard&(1<<k) == 0 && sym.text != "" {
					p.once(leadsheet.Warning, sym.at, "chord-unheard", sym.text, "Chord", leadsheet.Quoted(clip(sym.text)))
				}
			}
		}
	}
}

// finish joins the bars, checks them, finds the form and places everything.
func (p *player) finish() (leadsheet.Song, leadsheet.Problems) {
	s := p.song
	s.Bars = roadmap.JoinBars(s.Bars)
	s.Key, s.Meter = s.Bars[0].Key, s.Bars[0].Meter
	s.KeyDeclared, s.MeterDeclared = p.declared, !p.meterGuessed
	if !s.KeyDeclared {
		s = guessKey(s)
		p.once(leadsheet.Warning, outside(p.began), "key-guessed", "", "Key", s.Key)
	}
	s.Rights.Text = strings.Join(p.rightsText, "; ")
	s.Rights.Source = strings.Join(p.sources, "; ")
	if s.Feel == leadsheet.Unstated {
		s.Feel = p.feel
	}
	for i := range s.Melody {
		n := &s.Melody[i]
		n.Pos = placed(s, n.Pos, n.At)
	}
	for i := range s.Chords {
		c := &s.Chords[i]
		c.Pos = placed(s, c.Pos, c.At)
	}
	named := slices.ContainsFunc(p.marks, func(m roadmap.SectionMark) bool { return m.Name != "" })
	stated, ok := s, false
	if p.stated != "" && !named {
		stated, ok = roadmap.StatedForm(s, p.stated)
	}
	if ok {
		s = stated
	} else {
		s = roadmap.WithForm(s, p.marks)
	}
	ps := p.problems(func(bar, item int) leadsheet.Pos {
		if bar >= len(p.firstAt) || p.firstAt[bar] < 0 {
			return leadsheet.Pos{}
		}
		on := p.bars[bar].onsets
		return s.PosAt(p.firstAt[bar] + on[min(item, len(on)-1)])
	})
	ps = append(ps, irregular(s)...)
	for i := range s.Bars { // what cannot be played as it is written is played as it is read
		if b := &s.Bars[i]; b.Dur > b.Meter.Bar() {
			b.Meter = roadmap.Fitting(b.Dur, b.Meter)
		}
	}
	s.Meter = s.Bars[0].Meter
	s = roadmap.WithGroups(s, p.breaks)
	ps = append(ps, s.Problems...)
	s.Problems = nil
	ps.Sort()
	return s, ps
}

func placed(s leadsheet.Song, pos leadsheet.Pos, at theory.Dur) leadsheet.Pos {
	p := s.PosAt(at)
	pos.Bar, pos.Beat = p.Bar, p.Beat
	return pos
}

// irregular tells of bars that are longer or shorter than their metre and are
// neither a pick-up nor its complement at the end; each written bar once.
func irregular(s leadsheet.Song) leadsheet.Problems {
	var ps leadsheet.Problems
	told := make(map[int]bool)
	for i, b := range s.Bars {
		full := b.Meter.Bar()
		last := i == len(s.Bars)-1
		if b.Dur == full || b.Pickup && b.Dur < full || told[b.Written] ||
			last && s.Bars[0].Pickup && b.Dur+s.Bars[0].Dur == full {
			continue
		}
		told[b.Written] = true
		says := leadsheet.Saying("bar-short")
		if b.Dur > full {
			says = "bar-long"
		}
		if len(ps) == maxSameProblems {
			break
		}
		ps.Tell(leadsheet.Warning, leadsheet.Pos{File: s.File, Line: b.Line, Bar: b.Number, Beat: leadsheet.BeatUnit}, says, "Length", b.Dur, "Metre", b.Meter)
	}
	return ps
}

// guessKey takes music without a signature for C major, or for A minor where it
// ends on A.
func guessKey(s leadsheet.Song) leadsheet.Song {
	end := s.Melody[len(s.Melody)-1].Pitch.Name
	minor := end.Letter == theory.A
	if n := len(s.Chords); n > 0 && !s.Chords[n-1].Unknown && !s.Chords[n-1].Chord.Silent() {
		c := s.Chords[n-1].Chord
		minor = c.Root.Letter == theory.A && c.MinorThird()
	}
	if !minor {
		return s
	}
	old, key := s.Key, theory.Key{Tonic: theory.Name{Letter: theory.A}, Mode: theory.Minor}
	s.Key = key
	for i := range s.Bars {
		if s.Bars[i].Key == old {
			s.Bars[i].Key = key
		}
	}
	return s
}
