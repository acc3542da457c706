package harmony

import (
	"cmp"
	"slices"
	"strings"

	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// Style is a playing language.
type Style uint8

// Styles.
const (
	Pop Style = iota + 1
	Swing
	Blues
	Ballad
	Bossa
	Waltz
	Folk
)

var styles = [...]string{Pop: "pop", Swing: "swing", Blues: "blues", Ballad: "ballad", Bossa: "bossa",
	Waltz: "waltz", Folk: "folk"}

// String returns the style's name in lower case; "" for none.
func (s Style) String() string {
	if int(s) >= len(styles) {
		return ""
	}
	return styles[s]
}

// MarshalText writes the name.
func (s Style) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Character is what the sheet suggests about style, and why.
type Character struct {
	Style   Style
	Feel    leadsheet.Feel // of written eighths: as the sheet says, else as the style has it
	Reasons []Reason       // strongest first; those of other styles too
}

// Reason is one hint.
type Reason struct {
	Style  Style
	Weight int // hints of one style add up
	Why    reason.Reason
}

// dances are the words by which sheets name a style. Common practice, no source.
var dances = [...]dance{
	{"blues", Blues}, {"waltz", Waltz}, {"valse", Waltz}, {"bossa nova", Bossa}, {"hornpipe", Folk}, {"jig", Folk}, {"reel", Folk}, {"polka", Folk},
	{"bossa", Bossa}, {"samba", Bossa},
	{"swing", Swing}, {"jazz", Swing}, {"foxtrot", Swing}, {"fox trot", Swing}, {"rag", Swing},
	{"ballad", Ballad}, {"barcarol", Ballad}, {"air", Ballad}, {"lullaby", Ballad}, {"nocturne", Ballad},
	{"pop", Pop}, {"rock", Pop},
	{"strathspey", Folk},
	{"march", Folk}, {"morris", Folk}, {"playford", Folk}, {"mazurka", Folk}, {"slide", Folk},
	{"country dance", Folk}, {"carol", Folk}, {"folk", Folk}, {"schottische", Folk},
}

// plainWords is how many of the dances mean a style even in a title; the others
// are words of any title ("The Air", "Swing Low").
const plainWords = 8

type dance struct {
	word  string
	style Style
}

// danceIn finds the first dance of a list whose word begins a word of the text.
func danceIn(text string, list []dance) (dance, bool) {
	low := " " + strings.ToLower(text)
	for _, d := range list {
		if strings.Contains(low, " "+d.word) {
			return d, true
		}
	}
	return dance{}, false
}

// character adds up the hints of name, metre, tempo, mode and chords. The
// weights are common practice put into numbers, no source; the style with the
// highest sum wins, of equal ones the one declared first.
func character(song leadsheet.Song, a Analysis) Character {
	var c Character
	hint := func(s Style, weight int, why reason.Reason) { c.Reasons = append(c.Reasons, Reason{s, weight, why}) }
	if d, ok := danceIn(song.Rhythm, dances[:]); ok {
		hint(d.style, 10, reason.SheetCalls{Name: song.Rhythm})
	}
	if d, ok := danceIn(song.Title, dances[:plainWords]); ok {
		hint(d.style, 4, reason.TitleSays{Word: d.word})
	}
	if song.Feel == leadsheet.Swing {
		hint(Swing, 6, reason.Fact("swung-asked"))
	}
	m := song.Meter
	if len(song.Bars) > 0 {
		m = song.Bars[len(song.Bars)/2].Meter.OrCommon()
	}
	beats := 0 // beats of the metre a minute, 0 unknown
	if song.Tempo.Set() {
		beats = int(theory.Dur(song.Tempo.PerMinute) * song.Tempo.Beat / m.BeatDur())
	}
	slow := beats > 0 && beats < 80 && !m.Compound() || beats > 0 && beats < 60
	switch {
	case m.Compound():
		if slow {
			hint(Ballad, 4, reason.SlowMetre{Beats: m.Beats, Unit: m.Unit})
		} else {
			hint(Folk, 4, reason.DanceMetre{Beats: m.Beats, Unit: m.Unit})
		}
	case m.Beats == 3:
		if slow {
			hint(Ballad, 2, reason.Fact("three-slow-beats"))
		}
		if m.Unit >= 4 {
			hint(Waltz, 8, reason.Fact("three-beats"))
		} else {
			hint(Folk, 2, reason.Fact("three-broad-beats"))
		}
	case slow:
		hint(Ballad, 5, reason.SlowBeats{Beats: m.Beats, Unit: m.Unit, PerMinute: beats})
	default:
		hint(Pop, 2, reason.LivelyMetre{Beats: m.Beats, Unit: m.Unit})
	}
	if m := a.Key.Mode; m != theory.Major && m != theory.Minor && m.String() != "" && a.Key.Valid() {
		hint(Folk, 3, reason.InMode{Mode: m})
	}
	k := countChords(a.Spans)
	if k.all > 0 {
		k.hints(hint)
	}
	if len(song.Melody) > 16 && usualOnset(song.Melody) <= m.BeatDur()/2 && k.applied*8 < k.all {
		hint(Folk, 2, reason.Fact("runs-of-half-beats"))
	}
	if twelveBar(song, a.Spans) {
		hint(Blues, 6, reason.Fact("twelve-bars"))
	}
	total := [len(styles)]int{}
	for _, r := range c.Reasons {
		total[r.Style] += r.Weight
	}
	c.Style = Pop
	for s := Pop; int(s) < len(total); s++ {
		if total[s] > total[c.Style] {
			c.Style = s
		}
	}
	slices.SortStableFunc(c.Reasons, func(a, b Reason) int {
		return cmp.Or(cmp.Compare(total[b.Style], total[a.Style]), cmp.Compare(a.Style, b.Style), cmp.Compare(b.Weight, a.Weight))
	})
	c.Feel = song.Feel
	if c.Feel == leadsheet.Unstated {
		c.Feel = leadsheet.Straight
		if (c.Style == Swing || c.Style == Blues) && !m.Compound() {
			c.Feel = leadsheet.Swing
		}
	}
	return c
}

// chordCount counts a song's chords by what styles differ in.
type chordCount struct {
	all, plain, rich, soft, applied, tonicSevenths int
	// plain: triads, and the dominant seventh on V; rich: other sevenths, and
	// sixths; soft: major and minor sevenths.
}

func countChords(ss []Span) chordCount {
	var k chordCount
	for _, s := range ss {
		if !s.Sounding() {
			continue
		}
		k.all++
		t := s.Chord.Tones
		q := qualityOf(s.Chord)
		switch {
		case t.Has(degree7), q == minor && t.Has(degreeB7), q == halfDiminished:
			k.soft++
			k.rich++
		case q == dominant && s.Function == Dominant:
			k.plain++
		case q == dominant, t.Has(degreeBB7), t.Has(dg(6, 0)):
			k.rich++
		default:
			k.plain++
		}
		switch {
		case s.Function == Applied || s.Function == Substitute || s.Function == Passing:
			k.applied++
		case q == dominant && (s.Function == Tonic || s.Function == Subdominant):
			k.tonicSevenths++
		}
	}
	return k
}

func (k chordCount) hints(hint func(Style, int, reason.Reason)) {
	share := func(of reason.Sort, n int) reason.Reason { return reason.Share{Of: of, N: n, All: k.all} }
	percent := func(n int) int { return 100 * n / k.all }
	if p := percent(k.tonicSevenths); p >= 25 {
		hint(Blues, 4+p/25, share(reason.TonicSevenths, k.tonicSevenths))
	}
	if p := percent(k.rich); p >= 40 {
		hint(Swing, 3+p/25, share(reason.RichChords, k.rich))
	}
	if p := percent(k.applied); p >= 12 && k.applied >= 3 {
		hint(Swing, 2, share(reason.AppliedChords, k.applied))
	}
	if p := percent(k.soft); p >= 50 {
		hint(Pop, 1, share(reason.SoftSevenths, k.soft))
		hint(Bossa, 2, share(reason.SoftSevenths, k.soft))
	}
	if percent(k.plain) >= 85 && percent(k.applied) < 12 {
		hint(Folk, 2, share(reason.PlainChords, k.plain))
	}
}

// twelveBar tells whether the song is made of twelve-bar choruses: I in the first
// bar, IV in the fifth, V (or ii) in the ninth.
func twelveBar(song leadsheet.Song, ss []Span) bool {
	var starts []theory.Dur
	for _, b := range song.Bars {
		if !b.Pickup && 2*b.Dur > b.Meter.OrCommon().Bar() {
			starts = append(starts, b.At)
		}
	}
	if len(starts) < 12 || len(starts)%12 != 0 {
		return false
	}
	on := func(bar int, rels ...int) bool {
		g := spanIndex(ss, starts[bar])
		return g >= 0 && ss[g].Sounding() && slices.Contains(rels, above(ss[g].Key.Tonic, ss[g].Chord.Root))
	}
	return on(0, 0) && on(4, 5) && on(8, 7, 2)
}

// TwelveBar tells whether the song is made of twelve-bar choruses: I in the first
// bar, IV in the fifth, V or ii in the ninth.
func (a Analysis) TwelveBar(song leadsheet.Song) bool { return twelveBar(song, a.Spans) }
