package idiom

import (
	"slices"
	"strings"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Fact is one thing that can be seen on a sheet and that speaks for some kinds of
// tune and against others. A kind's file weighs facts by name.
type Fact uint8

// Facts. Shares are of the notes of the tune, or of its chords, as played.
const (
	Duple          Fact = iota + 1 // 2/4
	Common                         // 4/4
	Cut                            // 2/2
	Triple                         // 3/4
	BroadTriple                    // 3/2, 3/8 and the like
	Compound                       // 6/8, 12/8, 6/4: beats of three, two or four in a bar
	CompoundTriple                 // 9/8
	Sung                           // the sheet has words
	Unsung                         // it has none
	Running                        // most notes are half a beat or shorter
	Walking                        // most notes are a beat long, hardly any shorter
	Broad                          // many notes of two beats and more
	Held                           // notes of three beats and more end many phrases
	PlainChords                    // triads and V7
	RichChords                     // sevenths and sixths beyond V7
	AppliedChords                  // secondary dominants, substitutes, passing chords
	FreeSevenths                   // dominant sevenths on I and IV
	SlowHarmony                    // a chord a bar or fewer
	QuickHarmony                   // nearly a chord a beat
	Modal                          // dorian, mixolydian …
	Minor
	Strains // eight-bar strains, each played twice
	Short   // at most twenty bars as written
	Chorus  // thirty-two bars as written, or an AABA or ABAC of them
	TwelveBar
	OffBeat  // notes struck off the beat and held over it
	Dotted   // dotted eighth and sixteenth, or the like
	Repeated // notes struck again and again
	Steps    // the tune moves mostly by step
	Leaps    // it leaps about like a broken chord
	Narrow   // within an octave
	Wide     // a twelfth and more
	Strange  // many notes from outside the key
	Fast     // by the sheet's own mark
	Slow
	Traditional // as the sheet says
	Even        // one note value carries the tune
	Swung       // the sheet asks for swung eighths
	lastFact
)

var factNames = [...]string{Duple: "duple", Common: "common", Cut: "cut", Triple: "triple", BroadTriple: "broad-triple",
	Compound: "compound", CompoundTriple: "compound-triple", Sung: "sung", Unsung: "unsung", Running: "running",
	Walking: "walking", Broad: "broad", Held: "held", PlainChords: "plain-chords", RichChords: "rich-chords",
	AppliedChords: "applied-chords", FreeSevenths: "free-sevenths", SlowHarmony: "slow-harmony",
	QuickHarmony: "quick-harmony", Modal: "modal", Minor: "minor", Strains: "strains", Short: "short", Chorus: "chorus",
	TwelveBar: "twelve-bar", OffBeat: "off-beat", Dotted: "dotted", Repeated: "repeated", Steps: "steps", Leaps: "leaps",
	Narrow: "narrow", Wide: "wide", Strange: "strange", Fast: "fast", Slow: "slow", Traditional: "traditional", Even: "even", Swung: "swung"}

// String is the fact's name in a kind's file.
func (f Fact) String() string { return factNames[f] }

func factNamed(name string) (Fact, bool) {
	i := slices.Index(factNames[:], name)
	return Fact(i), i > 0
}

// Facts is a set of facts.
type Facts uint64

// Has tells whether the set holds a fact.
func (fs Facts) Has(f Fact) bool { return fs&(1<<f) != 0 }

func (fs Facts) with(f Fact, yes bool) Facts {
	if yes {
		fs |= 1 << f
	}
	return fs
}

// FactsOf looks at a sheet. The bounds are common practice put into numbers, no
// source; testdata/labels.tsv holds them to sheets labelled by hand.
func FactsOf(song leadsheet.Song, an harmony.Analysis) Facts {
	var fs Facts
	if len(song.Bars) == 0 || len(song.Melody) == 0 {
		return fs
	}
	m := song.Bars[len(song.Bars)/2].Meter
	if !m.Valid() {
		m = leadsheet.Meter{Beats: 4, Unit: 4}
	}
	fs = metreFacts(fs, m)
	fs = tempoFacts(fs, song, m)
	fs = noteFacts(fs, song, an, m)
	fs = chordFacts(fs, an, m)
	return formFacts(fs, song, an)
}

func metreFacts(fs Facts, m leadsheet.Meter) Facts {
	switch {
	case m.Quick(): // no kind is known by it
		return fs
	case m.Compound() && m.BeatCount() == 3:
		return fs.with(CompoundTriple, true)
	case m.Compound():
		return fs.with(Compound, true)
	case m.Beats == 3 && m.Unit == 4:
		return fs.with(Triple, true)
	case m.Beats%3 == 0:
		return fs.with(BroadTriple, true)
	case m.Beats == 2 && m.Unit != 2, m.Beats == 4 && m.Unit > 4:
		return fs.with(Duple, true)
	case m.Unit == 2 || m.Symbol == "C|":
		return fs.with(Cut, true)
	}
	return fs.with(Common, true)
}

// slowWords and fastWords are tempo words by which sheets say how a tune moves
// (common practice; a musician's dictionary has them all).
var (
	slowWords = []string{"adagio", "lento", "largo", "andante", "slow", "tenderly", "maestoso", "moderato cantabile"}
	fastWords = []string{"allegro", "vivace", "presto", "lively", "fast", "bright", "con brio", "briskly"}
)

func tempoFacts(fs Facts, song leadsheet.Song, m leadsheet.Meter) Facts {
	words := strings.ToLower(song.Tempo.Words)
	has := func(list []string) bool {
		return slices.ContainsFunc(list, func(w string) bool { return strings.Contains(words, w) })
	}
	slow, fast := has(slowWords), has(fastWords)
	if beat := m.BeatDur(); song.Tempo.Set() && beat > 0 {
		beats := int(theory.Dur(song.Tempo.PerMinute) * song.Tempo.Beat / beat)
		quick := 132
		if m.Compound() || m.Unit == 2 {
			quick = 96
		}
		slow, fast = slow || beats < 80 && beats*2 < quick+26, fast || beats >= quick
	}
	return fs.with(Slow, slow && !fast).with(Fast, fast)
}

func noteFacts(fs Facts, song leadsheet.Song, an harmony.Analysis, m leadsheet.Meter) Facts {
	beat := m.BeatDur()
	half := beat / 2
	if m.Compound() {
		half = beat / 3
	}
	if m.Unit == 2 && !m.Compound() { // such bars are counted in four as often as in two
		beat, half = beat/2, half/2
	}
	n := len(song.Melody)
	var short, one, long, held, off, dotted, again, step, leap, strange, sung int
	values := map[theory.Dur]int{}
	low, high := 127, 0
	for i, note := range song.Melody {
		key := note.Pitch.MIDI()
		low, high = min(low, key), max(high, key)
		values[note.Dur]++
		switch {
		case note.Dur <= half:
			short++
		case note.Dur == beat:
			one++
		case note.Dur >= 2*beat:
			long++
		}
		if note.Dur >= 3*beat {
			held++
		}
		if b := song.BarAt(note.At); b >= 0 {
			in := note.At - song.Bars[b].At
			if song.Bars[b].Pickup {
				in += song.Bars[b].Meter.Bar() - song.Bars[b].Dur
			}
			if !m.Compound() && in%beat != 0 && note.Dur > beat-in%beat && note.Dur >= beat {
				off++
			}
			if k := song.Bars[b].Key; k.Valid() {
				if deg, alter := k.Degree(note.Pitch.Name); deg > 0 && alter != 0 && !(k.Mode.Minorish() && deg >= 6) {
					strange++
				}
			}
		}
		if len(note.Sung) > 0 {
			sung++
		}
		if i+1 < n {
			next := song.Melody[i+1]
			if note.Dur == 3*next.Dur && note.Dur < beat {
				dotted++
			}
			switch d := next.Pitch.MIDI() - key; {
			case d == 0:
				again++
			case d >= -2 && d <= 2:
				step++
			case d > 4 || d < -4:
				leap++
			}
		}
	}
	most := 0
	for _, c := range values {
		most = max(most, c)
	}
	share := func(k int) int { return 100 * k / n }
	return fs.with(Running, share(short) >= 60).with(Walking, share(one) >= 55 && share(short) <= 25).with(Broad, share(long) >= 22).
		with(Held, share(held) >= 8).with(OffBeat, share(off) >= 5).with(Dotted, share(dotted) >= 10).with(Repeated, share(again) >= 25).
		with(Steps, share(step) >= 55).with(Leaps, share(leap) >= 25).with(Narrow, high-low <= 12).with(Wide, high-low >= 19).
		with(Strange, share(strange) >= 8).with(Sung, share(sung) >= 25).with(Unsung, sung == 0).with(Even, share(most) >= 75)
}

func chordFacts(fs Facts, an harmony.Analysis, m leadsheet.Meter) Facts {
	var all, plain, rich, applied, free int
	var length theory.Dur
	for _, s := range an.Spans {
		if !s.Sounding() {
			continue
		}
		all++
		length += s.Dur()
		seventh, has := s.Chord.Seventh()
		sixth := s.Chord.Tones.Has(theory.Degree{Number: 6})
		switch {
		case s.Chord.Dominant() && has && s.Function == harmony.Dominant:
			plain++
		case has && seventh.Number == 7, sixth:
			rich++
		default:
			plain++
		}
		switch s.Function {
		case harmony.Applied, harmony.Substitute, harmony.Passing, harmony.Related:
			applied++
		case harmony.Tonic, harmony.Subdominant:
			if s.Chord.Dominant() && has {
				free++
			}
		}
	}
	if all == 0 {
		return fs
	}
	share := func(k int) int { return 100 * k / all }
	mean := length / theory.Dur(all)
	return fs.with(PlainChords, share(rich) <= 8 && share(applied) <= 12).with(RichChords, share(rich) >= 25).with(AppliedChords, share(applied) >= 14 && applied >= 3).
		with(FreeSevenths, share(free) >= 20).with(SlowHarmony, mean >= m.Bar()).with(QuickHarmony, mean*5 <= m.Bar()*2)
}

func formFacts(fs Facts, song leadsheet.Song, an harmony.Analysis) Facts {
	written, played := map[int]bool{}, 0
	for _, b := range song.Bars {
		if b.Pickup || 2*b.Dur <= b.Meter.Bar() {
			continue
		}
		written[b.Written] = true
		played++
	}
	n := len(written)
	trad := slices.ContainsFunc(song.Rights.Composers, func(p leadsheet.Person) bool {
		return strings.Contains(strings.ToLower(p.Name), "trad")
	})
	mode := an.Key.Mode
	return fs.with(Swung, song.Feel == leadsheet.Swing).with(Strains, n%8 <= 1 && n >= 16 && n <= 42 && played >= 2*n-2).with(Short, n <= 21).with(Chorus, n >= 30 && n <= 34).
		with(Traditional, trad).with(Minor, an.Key.Valid() && mode.Minorish() && (mode == theory.Minor)).
		with(Modal, an.Key.Valid() && mode != theory.Major && mode != theory.Minor).with(TwelveBar, an.TwelveBar(song))
}
