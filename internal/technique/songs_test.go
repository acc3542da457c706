package technique_test

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/arrange"
	"gradatim/internal/choice"
	"gradatim/internal/edition"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/sight"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
)

// song is a tune for one technique.
type song struct {
	head  string // fields of the tune: metre, tempo; 4/4 in C at a quarter of 100 where they do not say
	tune  string
	paint string // what colours the chords beside a device
	other string // what the other hand has to do with it
	swing bool
	free  bool // dominants on any degree
	asked bool // a teacher asks for it: the page does as well without
}

// room is a song in which most techniques find a place: chord notes on the beats, a
// long note at the end of a line, a chord a bar.
const room = `"C" C G E G | "F" F A c A | "G7" G B d B | "C" c4 | "Am" c B A G | "F" A G F A | "G7" G F E D | "C" C4`

// high is the same an octave higher, with room for chords under it.
const high = `"C" c' g e' g | "F" f a c' a | "G7" g b d' b | "C" c'4 | "Am" c' b a g | "F" a g f a | "G7" g f e d' | "C" c'4`

// songs are for the techniques that need something else.
var songs = map[string]song{
	"third-or-sixth":         {tune: high},
	"alberti":                {head: "Q:1/4=80\n"},
	"compound-spread":        {head: "M:6/8\nL:1/8\nQ:3/8=50\n", tune: `"C" c2e g2e | "F" f3 a3 | "G7" g2f d2B | "C" c6`},
	"style-dominants":        {tune: `"C" c e g e | "Am" a g e c | "Dm" d f a f | "G" g f d B | "C" c e g e | "C" c4`, paint: "seventh-chords", swing: true, free: true},
	"diatonic-substitution":  {tune: `"F" A c f c | "C" G E A c | "F" A c f c | "G7" G B d B | "C" c4`, paint: "seventh-chords", asked: true},
	"line-cliche":            {tune: `"Dm" d f a f | "Am" A2 E2 | A4 | A2 E2 | A4 | "Dm" d f a f | "Am" A4`, asked: true},
	"stepping-bass":          {tune: `"C" c e g e | "C" c4 | "G" g d g d | "Am" a e c e | "F" f a c a | "C" c4`, asked: true},
	"pedal-point":            {tune: `"C" c e g e | "Am" a e c e | "Dm" d f a f | "G7" g f d B | "C" c4`, paint: "seventh-chords", asked: true},
	"shuffle":                {swing: true},
	"guide-tones":            {tune: high},
	"secondary-dominant":     {tune: `"C" c e g e | "Am" A E A E | "Dm" d f a f | "G7" g f d B | "C" c4`, paint: "seventh-chords"},
	"tritone-substitution":   {tune: `"C" c e g e | "F" f a c' a | "G7" g f g B | "C" c4 | "Am" a e c e | "G7" f g f B | "C" c4`, paint: "seventh-chords"},
	"related-ii":             {tune: `"C" c e g e | "F" f a c a | "C" c e g e | "G7" d f g f | "C" c4`, paint: "seventh-chords", asked: true},
	"common-tone-diminished": {tune: `"G7" g f d B | "C" c2 c2 | c4 | "F" f a c a | "C" c4`, paint: "seventh-chords"},
	"turnaround":             {head: "P:AB\n", tune: `[P:A] "C" c e g e | "F" f a c' a | "G7" g f d B | "C" c4 | "Am" a e c e | "F" f a c' a | "G7" g f d B | "C" c4 | a2 d2 || [P:B] "Dm" d f a f | "F" f a c' a | "G7" g f d B | "C" c4`, paint: "seventh-chords", asked: true},
	"modal-interchange":      {tune: `"C" c e g e | "F" f c f c | "C" c e g e | "G7" g f d B | "C" c4`, paint: "seventh-chords"},
	"ghost-notes":            {swing: true},
	"spread-tenth":           {head: "Q:1/4=66\n"},
	"suspended-delay":        {tune: `"C" c g e g | "F" f a c' a | "C" g e c e | "F" a2 f2 | "G7" d4 | "C" e4 | "G7" f2 d2 | "C" c4`, other: "bass-and-chord"},
	"turn":                   {head: "Q:1/4=72\n", tune: high},
	"enclosure":              {tune: `"C" c e g2 | z2 z2 | "F" f a c'2 | z2 z2 | "C" c4 | z2 z2 | "C" c4`},
	"block-chords":           {tune: high},
	"octaves":                {head: "P:AA\n", tune: `[P:A] "C" c2 e2 | "F" f2 a2 | "G7" g2 f2 | "C" c4`},
	"drop-two":               {tune: high, other: "drop-two-bass"},
	"drop-two-bass":          {tune: high, other: "drop-two"},
	"root-seventh":           {tune: `"C" c "A7" e "Dm" f "G7" d | "C" c "A7" e "Dm" f "G7" d | "C" c4`},
	"bass-line":              {tune: `"Dm" a2 d'2 | "G7" g2 d'2 | "Em" g2 b2 | "F" a2 c'2 | "Dm" f2 a2 | "G7" g2 d'2 | "C" c'4`},
	"tenor-line":             {tune: high},
	"clusters":               {tune: high},
	"full-chords":            {tune: high},
	"upper-structure":        {tune: `"Dm" d' a f a | "G7" e' b e' b | "C" c'4 | "G7" e'4 | "C" c'4`},
	"run":                    {head: "P:AB\n", tune: `[P:A] "C" c e g2 | z2 z2 | "F" f a c'2 | z2 z2 || [P:B] "C" c4 | z2 z2 | "C" c4`},
	"second-voice":           {tune: high + " | " + high + " | " + high},
	"inner-voice":            {head: "Q:1/4=84\n", tune: `"C" c'2 g2 | "F" a4 | "G7" g2 b2 | "C" c'4 | "Am" a4 | "F" a2 f2 | "G7" g4 | "C" g4`},
	"tremolo":                {tune: `"C" c4 | "F" c4 | "G7" d4 | "C" e4`},
}

// TestSongs arranges for each technique a song that gives it room, at the level that
// introduces it and with nothing beside it that could take its place: the page names
// it, and its recogniser finds it in the notes.
func TestSongs(t *testing.T) {
	levels := ladder.Levels()
	for _, x := range technique.All() {
		l := levels[ladder.Introduces(x.ID)-1]
		want := songs[x.ID]
		l.Line, l.Right, l.Ornaments = nil, nil, nil
		paints := [...]string{1: "plain-triads", 2: "added-notes", 3: "seventh-chords extensions alterations"}
		l.Devices = strings.Fields(paints[min(l.Number, 3)])
		switch x.Stage {
		case technique.Device:
			l.Devices = append(strings.Fields(want.paint), x.ID)
			l.PerBar, l.PerPhrase, l.Colour = 4, 8, 100
			if want.other != "" {
				l.Left = strings.Fields(want.other)
			}
		case technique.Line:
			l.Line = []string{x.ID}
		case technique.LeftHand:
			l.Left, l.Right, l.Reserve = []string{x.ID}, strings.Fields(want.other), []string{"held-root"}
		case technique.RightHand:
			l.Left, l.Reserve, l.Right, l.Support = strings.Fields(cmp.Or(want.other, "held-root")), nil, []string{x.ID}, 3
		case technique.Ornament:
			l.Left, l.Reserve, l.Ornaments, l.Ornamentation = []string{"held-root"}, nil, []string{x.ID}, 4
		}
		l.Feel = leadsheet.Straight
		if want.swing {
			l.Feel = leadsheet.Swing
		}
		song := read(t, want.head, cmp.Or(want.tune, room))
		kind := idiom.Idiom{ID: "test", Usage: technique.Usage{FreeDominants: want.free}}
		opt := edition.Options{Levels: []ladder.Level{l}, Kinds: []idiom.Idiom{kind}}
		if want.asked {
			opt.Choices = []choice.Choice{{Level: l.Number, Until: song.End(), Fix: choice.Use{Technique: x.ID}}}
		}
		as, err := edition.Make(context.Background(), song, opt)
		if err != nil || as[0].Failed {
			t.Errorf("%s: no page: %v", x.ID, err)
			continue
		}
		a := as[0]
		if !slices.ContainsFunc(a.Used, func(u arrange.Use) bool { return u.Technique == x.ID }) {
			t.Errorf("%s is not used:\n%s", x.ID, score.Text(a.Score))
			continue
		}
		if len(x.Recognise(sight.Read(a.Score))) == 0 {
			t.Errorf("%s is used and not found", x.ID)
		}
	}
}

func read(t *testing.T, head, tune string) leadsheet.Song {
	t.Helper()
	if !strings.Contains(head, "M:") {
		head += "M:4/4\n"
	}
	if !strings.Contains(head, "Q:") {
		head += "Q:1/4=100\n"
	}
	if !strings.Contains(head, "K:") {
		head += "K:C\n"
	}
	song, err := abc.Read([]byte("X:1\nT:Song\nL:1/4\n"+head+tune+" |]\n"), abc.Options{})
	if err != nil {
		t.Fatalf("%v", err)
	}
	return song
}
