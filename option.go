package gradatim

import (
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/edition"
	"gradatim/internal/engrave"
	"gradatim/internal/hand"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/words"
	"gradatim/score"
	"gradatim/theory"
)

// Each option has a String and a Parse function, which are inverses; the zero value is
// what is done where nothing is said.

// Key is a wish: which key a tune is moved to, OwnKey, EasyKey, or a tonic such as "Bb".
// The key that comes of it, with its mode, is a theory.Key (Session.Keys, Page.Key).
type Key string

// Keys that are no tonics.
const (
	OwnKey  Key = ""     // the tune's own
	EasyKey Key = "easy" // the one in which it asks for the fewest black keys
)

// KeyOn is the key on a tonic, in the tune's own mode.
func KeyOn(tonic theory.Name) Key { return Key(tonic.String()) }

// String writes "own", "easy" or the tonic.
func (k Key) String() string {
	if k == OwnKey {
		return "own"
	}
	return string(k)
}

// ParseKey reads a key: "own", "easy", or a tonic as theory.ParseKey reads one.
func ParseKey(s string) (Key, error) {
	switch s {
	case "own", "":
		return OwnKey, nil
	case "easy":
		return EasyKey, nil
	}
	k, err := theory.ParseKey(s)
	if err != nil {
		return OwnKey, fmt.Errorf("%q is not a key: say F, Bb, C# …, easy or own", s)
	}
	return KeyOn(k.Tonic), nil
}

// Hand is what a player's hands reach: the span from the tip of the thumb to the tip
// of the little finger, stretched, in hundredths of a millimetre. The zero Hand
// reaches a ninth with either. Wide stretches can hurt: measure what is easy, and stop
// when it hurts.
type Hand struct{ Right, Left int }

// ParseHand reads a hand as a teacher states it: "octave", "ninth", "tenth", "215mm",
// "8.5in", or one for each: "left octave, right ninth". A word may also name a hand of
// a file of hands (docs/formats.md).
func ParseHand(s string, files ...File) (Hand, error) {
	var named []hand.Profile
	for _, f := range files {
		ps, told := hand.ReadProfiles(f.Name, f.Data)
		if told.Err() != nil {
			return Hand{}, words.Must(words.Default).Problems(told)
		}
		named = append(named, ps...)
	}
	p, err := hand.Choose(s, named)
	if err != nil {
		return Hand{}, fmt.Errorf("%s", strings.TrimPrefix(err.Error(), "hand: "))
	}
	return Hand{int(p.Right), int(p.Left)}.normal(), nil
}

// normal makes the default hand zero.
func (h Hand) normal() Hand {
	ninth := int(hand.NinthSpan)
	if h.Right == 0 {
		h.Right = ninth
	}
	if h.Left == 0 {
		h.Left = ninth
	}
	if h.Right == ninth && h.Left == ninth {
		return Hand{}
	}
	return h
}

// String writes the spans in millimetres: "right 192mm, left 175.55mm", or "ninth".
func (h Hand) String() string {
	h = h.normal()
	if h == (Hand{}) {
		return "ninth"
	}
	mm := func(n int) string {
		s := fmt.Sprintf("%d.%02d", n/100, n%100)
		return strings.TrimSuffix(strings.TrimRight(s, "0"), ".") + "mm"
	}
	return "right " + mm(h.Right) + ", left " + mm(h.Left)
}

func (h Hand) profile() hand.Profile {
	return hand.Profile{Right: hand.Length(h.Right), Left: hand.Length(h.Left)}
}

// Fingers says which fingerings a page shows.
type Fingers uint8

// Fingerings: what a teacher would write in at the level, every finger, or none.
const (
	SomeFingers Fingers = iota
	AllFingers
	NoFingers
)

var fingersNames = []string{"some", "all", "none"}

// String writes "some", "all" or "none".
func (f Fingers) String() string { return nameOf(fingersNames, f) }

// ParseFingers reads what String writes.
func ParseFingers(s string) (Fingers, error) { return named[Fingers](fingersNames, s) }

// shown is a score with the fingers that are shown of those that stand in it, where
// some are those of its level.
func (f Fingers) shown(s score.Score, some hand.Printed) score.Score {
	switch f {
	case AllFingers:
		some = hand.All
	case NoFingers:
		some = hand.None
	}
	return hand.Print(s, some)
}

// Paper is what pages are printed on.
type Paper uint8

// Papers: A4 of ISO 216, Letter of ANSI/ASME Y14.1, Tablet a screen lying on its side.
const (
	A4 Paper = iota
	Letter
	Tablet
)

var paperNames = []string{"a4", "letter", "tablet"}

// String writes "a4", "letter" or "tablet".
func (p Paper) String() string { return nameOf(paperNames, p) }

// ParsePaper reads what String writes.
func ParsePaper(s string) (Paper, error) {
	return named[Paper](paperNames, strings.ToLower(s))
}

func (p Paper) page() engrave.Paper {
	if papers := [...]engrave.Paper{A4: engrave.A4, Letter: engrave.Letter, Tablet: engrave.Tablet}; int(p) < len(papers) {
		return papers[p]
	}
	return engrave.Paper{Name: p.String()} // which the engraver refuses
}

// Audio says how much sound a lesson carries.
type Audio uint8

// Amounts of sound: both hands, each hand alone and all but the tune; the slower tempi
// too; or none.
const (
	SomeAudio Audio = iota
	AllAudio
	NoAudio
)

var audioNames = []string{"some", "all", "none"}

// String writes "some", "all" or "none".
func (a Audio) String() string { return nameOf(audioNames, a) }

// ParseAudio reads what String writes.
func ParseAudio(s string) (Audio, error) { return named[Audio](audioNames, s) }

// Manner says how the levels of a ladder differ in kind: a tune walks when each level
// dresses it in the manner of another kind, and stays when all leave it its own.
type Manner uint8

// Manners. AsKind does as tunes of the kind do.
const (
	AsKind = Manner(idiom.Auto)
	Walk   = Manner(idiom.Walk)
	Stay   = Manner(idiom.Stay)
)

var mannerNames = []string{AsKind: "auto", Walk: "walk", Stay: "stay"}

// String writes "auto", "walk" or "stay".
func (m Manner) String() string { return nameOf(mannerNames, m) }

// ParseManner reads what String writes.
func ParseManner(s string) (Manner, error) { return named[Manner](mannerNames, s) }

// Repeats says whether a page prints once what the sheet repeats, with repeat signs and
// endings, or writes it out.
type Repeats uint8

// Repeats. ByLevel folds at the levels whose files say so.
const (
	ByLevel = Repeats(edition.RepeatsByLevel)
	Fold    = Repeats(edition.RepeatsFolded)
	Written = Repeats(edition.RepeatsWritten)
)

var repeatsNames = []string{ByLevel: "auto", Fold: "fold", Written: "written"}

// String writes "auto", "fold" or "written".
func (r Repeats) String() string { return nameOf(repeatsNames, r) }

// ParseRepeats reads what String writes.
func ParseRepeats(s string) (Repeats, error) { return named[Repeats](repeatsNames, s) }

// Lyrics says which pages have words under the tune, where the sheet has them.
type Lyrics uint8

// Lyrics. LyricsByLevel prints them at the levels whose files say so.
const (
	LyricsByLevel    = Lyrics(edition.LyricsByLevel)
	LyricsEverywhere = Lyrics(edition.LyricsEverywhere)
	LyricsNowhere    = Lyrics(edition.LyricsNowhere)
)

var lyricsNames = []string{LyricsByLevel: "auto", LyricsEverywhere: "all", LyricsNowhere: "none"}

// String writes "auto", "all" or "none".
func (l Lyrics) String() string { return nameOf(lyricsNames, l) }

// ParseLyrics reads what String writes.
func ParseLyrics(s string) (Lyrics, error) { return named[Lyrics](lyricsNames, s) }

// Around says how much is played before a tune, as its introduction, or after it.
type Around uint8

// Amounts. AroundAsKind does as tunes of the kind have it at the level.
const (
	AroundAsKind = Around(idiom.LengthByKind)
	Nothing      = Around(idiom.NoLength)
	Brief        = Around(idiom.ShortLength)
	Full         = Around(idiom.LongLength)
)

var aroundNames = []string{"auto", "none", "short", "long"}

// String writes "auto", "none", "short" or "long".
func (a Around) String() string { return nameOf(aroundNames, a) }

// ParseAround reads what String writes.
func ParseAround(s string) (Around, error) { return named[Around](aroundNames, s) }

// Style is a kind of tune, by its id: one of Styles, or one of a job's own kinds. The
// empty Style is found from the sheet.
type Style string

// String returns the id, or "auto".
func (s Style) String() string {
	if s == "" {
		return "auto"
	}
	return string(s)
}

// Styles lists the kinds of tune that there are.
func Styles() []Style {
	var out []Style
	for _, k := range idiom.All() {
		out = append(out, Style(k.ID))
	}
	return out
}

// ParseStyle reads a kind of tune: "auto", or one of Styles or of the files.
func ParseStyle(s string, own ...File) (Style, error) {
	kinds, err := kindsWith(own)
	if err != nil {
		return "", words.Must(words.Default).Err(err)
	}
	if s == "auto" || s == "" {
		return "", nil
	}
	if _, ok := idiom.Named(s, kinds); !ok {
		ids := []string{"auto"}
		for _, k := range kinds {
			ids = append(ids, k.ID)
		}
		return "", notOne(s, ids)
	}
	return Style(s), nil
}

// kindsWith returns the kinds of tune that there are, with those of some files.
func kindsWith(own []File) ([]idiom.Idiom, error) {
	kinds := idiom.All()
	for _, f := range own {
		k, err := idiom.Parse(f.Name, f.Data)
		if err != nil {
			return nil, err
		}
		kinds = idiom.With(kinds, k)
	}
	return kinds, nil
}

// Languages lists the languages that what is said can be in, by id.
func Languages() []string { return words.Languages() }

// ParseLanguage reads one of Languages.
func ParseLanguage(s string) (string, error) {
	if ids := Languages(); !slices.Contains(ids, s) {
		return "", notOne(s, ids)
	}
	return s, nil
}

// Level names one step of the ladder.
type Level struct {
	Number int    // its place: 1 is the easiest
	Name   string // "late elementary"
	Title  string // what is new, as a file of the level says; "" for those that are built in
}

// Levels lists the levels that there are, with those of some level files: a level of
// a file joins the others, or replaces the one with its number.
func Levels(own ...File) ([]Level, error) {
	built, err := levelsWith(own)
	if err != nil {
		return nil, words.Must(words.Default).Err(err)
	}
	out := make([]Level, len(built))
	for i, l := range built {
		out[i] = Level{l.Number, l.Name, l.Title}
	}
	return out, nil
}

// ParseLevels reads a list of levels by number or name, as "1-2,5" or
// "late-elementary", and returns their numbers, ascending; of an empty list, all. The
// error is a leadsheet.Problems.
func ParseLevels(list string, own ...File) ([]int, error) {
	built, err := levelsWith(own)
	if err != nil {
		return nil, words.Must(words.Default).Err(err)
	}
	chosen, err := ladder.Select(list, built)
	if err != nil {
		return nil, words.Must(words.Default).Err(err)
	}
	out := make([]int, len(chosen))
	for i, l := range chosen {
		out[i] = l.Number
	}
	return out, nil
}

func levelsWith(own []File) ([]ladder.Level, error) {
	built := ladder.Levels()
	for _, f := range own {
		l, err := ladder.Parse(f.Name, f.Data)
		if err != nil {
			return nil, err
		}
		built = ladder.With(built, l)
	}
	return built, nil
}

func nameOf[T ~uint8](names []string, v T) string {
	if int(v) < len(names) {
		return names[v]
	}
	return fmt.Sprintf("%T(%d)", v, v)
}

func named[T ~uint8](names []string, s string) (T, error) {
	if i := slices.Index(names, s); i >= 0 {
		return T(i), nil
	}
	return 0, notOne(s, names)
}

func notOne(s string, names []string) error {
	last := len(names) - 1
	if last == 0 {
		return fmt.Errorf("%q is not one: say %s", s, names[0])
	}
	return fmt.Errorf("%q is not one: say %s or %s", s, strings.Join(names[:last], ", "), names[last])
}
