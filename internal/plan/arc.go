package plan

import (
	"sort"

	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// What goes along with the tune.
//
// A listener hears a right hand as a texture when it stays for a phrase: the tune alone,
// with a second voice, over chords on the strong beats, in octaves. A chord on a beat
// here and there is heard as an accident. So a phrase has one weave, which the search
// keeps or leaves as a whole; the weaves of a page make an arc, from the statement to
// the last return. Common practice, no source.

// Weave is what the tune's hand does beside the tune.
type Weave uint8

// Weaves, the fuller the later. A page that plans none leaves it to the search.
const (
	Unplanned Weave = iota
	Alone           // nothing
	Inner           // a voice that moves under its long notes
	Second          // a second voice goes with it
	Chords          // chords where the strong beats are
	Grand           // octaves
)

var weaves = [...]string{Unplanned: "", Alone: "alone", Inner: "inner voice", Second: "second voice", Chords: "chords", Grand: "in octaves"}

// String returns what the tune has beside it.
func (w Weave) String() string { return weaves[w] }

// running is how long a note of a running tune lasts at most, in milliseconds: two fingers
// at once are too slow for it (common practice, no source).
const running = 240

// weave gives the phrases their weaves and sections their octaves.
func (m *maker) weave() {
	if m.arc == ladder.NoArc {
		m.contrast()
		return
	}
	secs, tune := m.out.Sections, m.tune()
	lifted := false
	for i := range secs {
		s := &secs[i]
		if i > 0 && len(tune) > 0 {
			s.Soft = softer(s.Dynamic, tune[0].Dynamic)
			s.Loud = !s.Soft
		}
		runs := m.runs(s)
		for k := range s.Phrases {
			ph := &s.Phrases[k]
			ph.Weave = m.woven(s, ph, k, runs)
		}
		if s.Role == Restatement && !lifted && m.liftable(s) && s != &tune[len(tune)-1] {
			s.Octave, lifted = 1, true // light, but not bare: an octave has opened below it
			for k := range s.Phrases {
				s.Phrases[k].Weave = Second
			}
		}
	}
	if n := len(tune); n > 0 && len(secs) > n && secs[0].Role == Introduction {
		for k := range secs[0].Phrases {
			secs[0].Phrases[k].Weave = tune[0].Phrases[0].Weave
		}
	}
}

// contrast leaves a dance's first section to the tune alone, on a page without an arc that may
// have something beside it; what comes after has a second voice.
func (m *maker) contrast() {
	if !m.dances || m.support < 2 {
		return
	}
	tune := m.tune()
	for i := range tune {
		weave := Second
		if i == 0 || tune[i].Name != "" && tune[i].Name == tune[0].Name {
			weave = Alone
		}
		for k := range tune[i].Phrases {
			tune[i].Phrases[k].Weave = weave
		}
	}
}

// choral tells whether a level's left hand moves with the tune, as in a hymn: then the tune
// has its second voice from the beginning.
func choral(l ladder.Level) bool {
	if len(l.Left) == 0 {
		return false
	}
	t, ok := technique.ByID(l.Left[0])
	return ok && t.Sings
}

// woven is the weave of a section's k-th phrase.
func (m *maker) woven(s *Section, ph *Phrase, k int, runs bool) Weave {
	if !m.steady { // the right hand says what the chord is
		switch {
		case s.Grows:
			return Grand
		default:
			return Chords
		}
	}
	climax := m.out.Climax
	top := climax.To > 0 && m.song.BarAt(m.song.Melody[climax.Note].At) >= ph.First && m.song.BarAt(m.song.Melody[climax.Note].At) <= ph.Last
	if runs {
		if m.arc == ladder.ToClimax && (s.Grows || (s.Role == Restatement || s.Role == Contrast) && !softer(s.Dynamic, m.dyn.Rest)) {
			return Chords
		}
		return Second // a note is held below those of a beat
	}
	switch {
	case m.dances && s.Grows:
		return Chords
	case s.Grows, top && m.arc == ladder.ToClimax && !softer(s.Dynamic, m.dyn.Rest):
		return Grand
	case s.Role == Contrast && m.arc == ladder.ToClimax && !softer(s.Dynamic, m.dyn.Rest): // more than the level below has there
		return Chords
	case s.Role == Restatement, s.Role == Return, m.choral && s.Role == Statement:
		return Second
	case s.Role == Contrast && m.dances:
		return Second
	case s.Role == Contrast:
		return [...]Weave{Inner, Chords, Second}[s.Turn%3]
	case m.dances: // from its first bar it is more than the level below, which has the tune alone
		return Second
	case k/4%3 == 1: // a section that goes on for long
		return Chords
	case k%2 == 1, m.arc == ladder.ToClimax:
		return Second
	}
	return Inner
}

// runs tells whether most of a section's time goes in notes too quick for two fingers, at
// the tempo of the sheet or a usual one.
func (m *maker) runs(s *Section) bool {
	quick, all := theory.Dur(0), theory.Dur(0)
	var meter leadsheet.Meter
	tempo := 0
	first := sort.Search(len(m.song.Melody), func(i int) bool { return m.song.BarAt(m.song.Melody[i].At) >= s.First })
	for _, n := range m.song.Melody[first:] {
		b := m.song.BarAt(n.At)
		if b > s.Last {
			break
		}
		if now := m.song.Bars[b].Meter; tempo == 0 || now != meter {
			meter, tempo = now, m.quarters(b)
		}
		if int64(n.Dur)*60_000 < running*int64(theory.Quarter)*int64(tempo) {
			quick += n.Dur
		}
		all += n.Dur
	}
	return 2*quick > all
}

// quarters is the tempo of a bar in quarters a minute.
func (m *maker) quarters(bar int) int {
	t := m.song.Tempo
	if !t.Set() {
		var ok bool
		if t, ok = m.kind.Tempo(m.song.Bars[bar].Meter); !ok {
			return 100
		}
	}
	return max(1, t.QuartersPerMinute())
}

// highest is the highest note that a tune stands at when it is lifted: A6.
const highest = 93

// liftable tells whether a section's tune may stand an octave higher the second time: what
// is danced to, and not high already.
func (m *maker) liftable(s *Section) bool {
	return m.dances && m.arc == ladder.ToClimax && m.top(s)+12 <= highest
}

// highestSung is the highest note of a tune that is sung when it is lifted: E6.
const highestSung = 88

// risesAtLast tells whether a song's last return stands an octave higher: so there is room
// for octaves and chords under a tune that lies low.
func (m *maker) risesAtLast(s *Section) bool {
	return !m.dances && m.arc == ladder.ToClimax && s.Grows && s.Role == Return && m.top(s)+12 <= highestSung
}

// lowSung is what a section of a song lies below, in the mean of its time, that leaves a full
// hand no room under its tune: F4.
const lowSung = 65

// liesLow tells whether a later section of a song stands an octave higher, because it
// lies so low that its tune would be left alone there.
func (m *maker) liesLow(s *Section) bool {
	return !m.dances && m.arc == ladder.ToClimax && (s.Role == Contrast || s.Role == Return) && m.mean(s) < lowSung && m.top(s)+12 <= highestSung
}

// mean is the mean key of a section's tune, as it is written, by time.
func (m *maker) mean(s *Section) int {
	var sum, all theory.Dur
	for _, n := range m.song.Melody {
		if b := m.song.BarAt(n.At); b >= s.First && b <= s.Last {
			sum, all = sum+theory.Dur(n.Pitch.MIDI())*n.Dur, all+n.Dur
		}
	}
	return int(sum / max(1, all))
}

// rise lifts them, and the tag that follows the last.
func (m *maker) rise() {
	secs, tune := m.out.Sections, m.tune()
	for i := 1; i < len(tune); i++ {
		if m.liesLow(&tune[i]) {
			tune[i].Octave = 1
		}
	}
	if n := len(tune); n > 1 && m.risesAtLast(&tune[n-1]) {
		tune[n-1].Octave = 1
		if last := &secs[len(secs)-1]; m.song.Bars[last.First].Part == leadsheet.Tag {
			last.Octave = 1
		}
	}
}

// top is the highest key of a section's tune, as it is written.
func (m *maker) top(s *Section) int {
	top := 0
	for _, n := range m.song.Melody {
		if b := m.song.BarAt(n.At); b >= s.First && b <= s.Last {
			top = max(top, n.Pitch.MIDI())
		}
	}
	return top
}
