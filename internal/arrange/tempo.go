package arrange

import (
	"slices"
	"strings"

	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Tempo.
//
// Problem: say how fast a level is played so that a reader can set a metronome by it and
// see what the next level asks more. One note is counted for a tune at all its levels:
// that of the metre and kind, or of the sheet's own mark; where the slowest of the
// built-in levels would have fewer than a metronome's forty of them, their half (their
// third, where it has a dot) at every level. The figures are a metronome's. Cost: linear
// in the notes. Rejected: a note to count by for each level by itself; a half note at 60
// over a quarter at 88 reads as slower and is faster.

// setTempo takes the wish of the reader, else the sheet's mark, else a usual one
// for the metre, and prints the level's share of it.
func (p *piece) setTempo() {
	t := p.opt.Tempo
	if !t.Set() {
		t = p.song.Tempo
		if !t.Set() {
			t = usualTempo(p.song, p.opt.Idiom.Idiom)
			p.remark(leadsheet.Info, 0, "tempo-assumed", "PerMinute", t.PerMinute)
		}
		beat := p.opt.Beat
		if beat <= 0 {
			beat = Counted(p.song, p.opt.Idiom.Idiom, true)
		}
		t = p.share(t, beat)
	}
	if t.Words == "" {
		if usual, ok := p.kind.TempoOf(p.song); ok {
			t.Words = usual.Words
		}
	}
	if t.Words != p.song.Tempo.Words || t.QuartersPerMinute() != p.song.Tempo.QuartersPerMinute() {
		t.Words = word(t)                             // the sheet's own word stays with the sheet's own tempo
		if p.kind.InTime && t.Words == pace[0].word { // a dance learnt slowly is none
			t.Words = pace[1].word
		}
	}
	p.tempo, p.quarters = t, max(1, t.QuartersPerMinute())
}

// pace is which Italian word goes with which figure of the metronome, from a figure up:
// the order is that of all metronomes, the figures are ours (common practice, no source:
// metronomes print ranges, and these overlap).
var pace = []struct {
	from int
	word string
}{{0, "Adagio"}, {66, "Andante"}, {88, "Moderato"}, {108, "Allegretto"}, {120, "Allegro"}, {160, "Vivace"}}

// word is the Italian word of a tempo, so that no Allegro is slower than an Allegretto:
// one that stands alone and belies its figure gives way. A note of two quarters or of three
// eighths and more is counted slower than it feels, and by two thirds of the figures. Other
// words (cantabile, a name of a dance) stay.
func word(t leadsheet.Tempo) string {
	is, fits := paceOf(t.Words), paceAt(felt(t))
	if is < 0 || is == fits {
		return t.Words
	}
	return pace[fits].word
}

// likePace says which words of speed mean what others of the list do, in small letters
// (common practice, no source).
var likePace = map[string]string{
	"largo": "Adagio", "lento": "Adagio", "slow": "Adagio", "slowly": "Adagio", "langsam": "Adagio", "andantino": "Andante",
	"moderately": "Moderato", "mäßig": "Moderato", "lively": "Allegro", "brightly": "Allegro", "lebhaft": "Allegro",
	"fast": "Vivace", "quickly": "Vivace", "presto": "Vivace", "schnell": "Vivace",
}

// paceOf is the place in pace of a word of speed that stands alone; −1: it is none.
func paceOf(word string) int {
	if like, ok := likePace[strings.ToLower(strings.Trim(word, " ."))]; ok {
		word = like
	}
	for i, p := range pace {
		if word == p.word {
			return i
		}
	}
	return -1
}

// paceAt is the place in pace of a figure.
func paceAt(felt int) (fits int) {
	for i, p := range pace {
		if felt >= p.from {
			fits = i
		}
	}
	return fits
}

// felt is the figure by which a tempo has its word.
func felt(t leadsheet.Tempo) int {
	if t.Beat >= 3*theory.Eighth {
		return t.PerMinute * 3 / 2
	}
	return t.PerMinute
}

// share is the level's share of a tempo, counted in a beat, lowered to what its readers
// manage where the tune runs.
func (p *piece) share(t leadsheet.Tempo, beat theory.Dur) leadsheet.Tempo {
	full := int(int64(t.PerMinute) * int64(t.Beat) / int64(beat))
	want := full * p.level.TempoPercent / 100
	limit := runLimit(p.song, p.level, beat)
	if limit > 0 && limit < want {
		if t.Words == "" && limit*20 < want*17 { // the kind's own word would belie it
			t.Words = "Moderato"
		}
		want = limit
	}
	t.Beat = beat
	if p.level.TempoPercent == 100 && want == full && want%10 == 0 && want >= slowestMark && want <= fastestMark {
		t.PerMinute = want // a round figure of the sheet's
		return t
	}
	t.PerMinute = onMetronome(want)
	return t
}

// runLimit is how many of a beat are in a minute at most, so that a level's readers manage
// the tune where it runs: a tenth of its notes and more are as quick as that; 0: any
// number.
func runLimit(song leadsheet.Song, level ladder.Level, beat theory.Dur) int {
	if level.RunsPerSecond == 0 || len(song.Melody) == 0 || beat <= 0 {
		return 0
	}
	lengths := make([]theory.Dur, len(song.Melody))
	for i, n := range song.Melody {
		lengths[i] = n.Dur
	}
	slices.Sort(lengths)
	return max(1, int(int64(level.RunsPerSecond)*60*int64(lengths[len(lengths)/10])/(10*int64(beat))))
}

// Counted is the note that a tune is counted in at every level; eased tells whether levels
// that have an easier rhythm for their readers give it to them.
func Counted(song leadsheet.Song, kind idiom.Idiom, eased bool) theory.Dur {
	t := song.Tempo
	if !t.Set() {
		t = usualTempo(song, kind)
	}
	beat := t.Beat
	if t.PerMinute > fastestMark {
		beat = coarser(song.Meter, beat)
	}
	levels := ladder.Levels()
	as := make([]leadsheet.Song, len(levels))
	for i, l := range levels {
		switch as[i] = song; {
		case !eased || l.Finest == 0:
		case i > 0 && levels[i-1].Finest == l.Finest:
			as[i] = as[i-1]
		default:
			as[i], _ = Ease(song, l.Finest)
		}
	}
	for beat > theory.Eighth {
		least := t.PerMinute
		for i, l := range levels {
			n := int(int64(t.PerMinute) * int64(t.Beat) * int64(l.TempoPercent) / (100 * int64(beat)))
			if limit := runLimit(as[i], l, beat); limit > 0 {
				n = min(n, limit)
			}
			least = min(least, n)
		}
		if least >= slowestMark-1 { // the mark is at most so much too quick
			break
		}
		finer := beat / 2
		if beat%(3*theory.Eighth) == 0 {
			finer = beat / 3
		}
		if int64(t.PerMinute)*int64(t.Beat) > fastestMark*int64(finer) {
			break // the highest levels could not be counted so
		}
		beat = finer
	}
	return beat
}

// coarser is the beat of which a metre has one for two or three of another; the other
// itself where there is none.
func coarser(m leadsheet.Meter, beat theory.Dur) theory.Dur {
	if !m.Valid() {
		return beat
	}
	for _, n := range [...]theory.Dur{2, 3} {
		if by := n * beat; m.BeatDur()%by == 0 || m.BeatDur() == beat && !m.Uneven() && m.Bar()%by == 0 {
			return by
		}
	}
	return beat
}

// usualTempo is a middle speed for the kind of tune and its metre.
func usualTempo(song leadsheet.Song, kind idiom.Idiom) leadsheet.Tempo {
	t, ok := kind.TempoOf(song)
	if !ok {
		t = leadsheet.Tempo{Beat: song.Meter.BeatDur(), PerMinute: 96}
		switch m := song.Meter; {
		case !m.Valid():
			t.Beat = theory.Quarter
		case m.Quick(): // counted in its units, as quick as a dance has them; common practice, no source
			t.PerMinute = 200
		}
	}
	t.Words = song.Tempo.Words
	return asSaid(t)
}

// asSaid moves a usual tempo as far as the sheet's own word of speed asks.
func asSaid(t leadsheet.Tempo) leadsheet.Tempo {
	says := paceOf(t.Words)
	if says < 0 || !t.Set() {
		return t
	}
	for says > paceAt(felt(t)) && t.PerMinute < fastestMark {
		t.PerMinute++
	}
	for says < paceAt(felt(t)) && t.PerMinute > slowestMark {
		t.PerMinute--
	}
	return t
}

// metronome lists the figures of a pendulum metronome, which printed marks keep to
// (common practice, no source).
var metronome = [...]int{40, 42, 44, 46, 48, 50, 52, 54, 56, 58, 60, 63, 66, 69, 72, 76, 80, 84, 88, 92, 96, 100, 104, 108,
	112, 116, 120, 126, 132, 138, 144, 152, 160, 168, 176, 184, 192, 200, 208}

const slowestMark, fastestMark = 40, 208

// onMetronome is the nearest figure at or below a tempo; of one that no metronome has, the
// nearest.
func onMetronome(perMinute int) int {
	at := slowestMark
	for _, n := range metronome {
		if n <= perMinute {
			at = n
		}
	}
	return at
}
