package ladder

import (
	"math"
	"slices"
	"strings"

	"gradatim/internal/hand"
	"gradatim/internal/settings"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// file is the TOML form of a level, documented in docs/formats.md.
type file struct {
	Number        int      `toml:"number"`
	After         int      `toml:"after"`
	Name          string   `toml:"name"`
	Title         string   `toml:"title"`
	Feel          string   `toml:"feel"`
	WalksAs       string   `toml:"walks_as"`
	TempoPercent  int      `toml:"tempo_percent"`
	RunsPerSecond float64  `toml:"runs_per_second"`
	Techniques    stages   `toml:"techniques"`
	Chords        chords   `toml:"chords"`
	LeftHand      leftHand `toml:"left_hand"`
	RightHand     struct {
		BlockVoices  int  `toml:"block_voices"`
		MovingVoice  bool `toml:"moving_voice"`
		OctavesFirst bool `toml:"octaves_first_time"`
	} `toml:"right_hand"`
	Melody struct {
		Room   string `toml:"room"`
		Top    string `toml:"top"`
		Finest int    `toml:"finest"`
	} `toml:"melody"`
	Page page `toml:"page"`
	Caps struct {
		NotesPerSecond [2]float64 `toml:"notes_per_second"`
		NotesAtOnce    [2]int     `toml:"notes_at_once"`
		Span           [2]int     `toml:"span"`
		JumpPerBeat    int        `toml:"jump_per_beat"`
		KeySignature   int        `toml:"key_signature"`
		Shortest       int        `toml:"shortest"`
	} `toml:"caps"`
	Budget struct {
		Anticipations int    `toml:"anticipations_per_four_bars"`
		PushPlaces    int    `toml:"anticipation_places"`
		ChordsPerBar  int    `toml:"chords_per_bar"`
		ChordsOn      string `toml:"chords_on"`
		PerBar        int    `toml:"chromatic_per_bar"`
		PerPhrase     int    `toml:"chromatic_per_four_bars"`
		Colour        int    `toml:"colour"`
		Ornamentation int    `toml:"ornaments_per_four_bars"`
		Support       int    `toml:"support"`
		VaryByPhrase  bool   `toml:"vary_by_phrase"`
		Arc           string `toml:"arc"`
	} `toml:"budget"`
}

type stages struct {
	Harmony   []string `toml:"harmony"`
	Rhythm    []string `toml:"rhythm"`
	Left      []string `toml:"left"`
	Reserve   []string `toml:"left_reserve"`
	Right     []string `toml:"right"`
	Ornaments []string `toml:"ornaments"`
}

type chords struct {
	Heard           string   `toml:"heard"`         // empty: by whether the level has seventh chords
	KeepSevenths    *bool    `toml:"keep_sevenths"` // nil: where guide tones are heard
	Colours         string   `toml:"colours"`
	SuspensionBeats int      `toml:"suspension_beats"`
	QuickChords     bool     `toml:"quick_chords"`
	ApproachChain   bool     `toml:"approach_chain"`
	PlainReturn     bool     `toml:"plain_return"`
	Yields          bool     `toml:"yields"`
	Known           []string `toml:"known"`
}

type leftHand struct {
	Low        string `toml:"low"`
	High       string `toml:"high"`
	LastChord  string `toml:"last_chord"`
	VaryShape  bool   `toml:"vary_shape"`
	Grounded   bool   `toml:"grounded"`
	Inversions bool   `toml:"inversions"`
	Position   int    `toml:"position"`
}

type page struct {
	StaffHeight float64 `toml:"staff_height"` // mm
	Fingers     string  `toml:"fingers"`
	Pedal       bool    `toml:"pedal"`
	Dynamics    string  `toml:"dynamics"`
	Touch       bool    `toml:"touch"`
	SlowEnding  bool    `toml:"slow_ending"`
	Folds       bool    `toml:"folds"`
	Words       bool    `toml:"words"`
}

// unsaid is a file that says nothing yet: the defaults.
func unsaid() file {
	var f file
	f.Chords.SuspensionBeats = 1
	f.RightHand.BlockVoices = 3
	f.Page = page{StaffHeight: 7, Pedal: true, Touch: true, SlowEnding: true}
	return f
}

// The words of a level file, the default first.
var (
	heardWords = []word[Heard]{{"third", HeardThird}, {"root", HeardRoot}, {"guide-tones", HeardGuides}}
	arcs       = []word[Arc]{{"none", NoArc}, {"return", ToReturn}, {"climax", ToClimax}}
	chordsOn   = []word[ChordsOn]{{"anywhere", Anywhere}, {"half-beats", HalfBeats}, {"beats", Beats}}
	colours    = []word[technique.Colours]{{"one", technique.OneColour}, {"more", technique.MoreColours}, {"two", technique.TwoColours}}
	lastChords = []word[technique.LastChord]{{"held", technique.HeldLast}, {"rolled", technique.RolledLast}}
	dynamics   = []word[Dynamics]{{"phrases", PhraseDynamics}, {"climax", ClimaxDynamics}, {"sections", SectionDynamics}, {"one", OneDynamic}}
	fingers    = []word[hand.Printed]{{"positions", hand.Positions}, {"all", hand.All}, {"bars", hand.Bars}, {"few", hand.Few}, {"fewest", hand.Fewest}, {"none", hand.None}}
)

type word[T any] struct {
	text string
	is   T
}

// means returns what a word of a level file stands for; an empty one is the
// default. A word that is none of the list is reported.
func means[T any](ps *leadsheet.Problems, file, key, text string, words []word[T]) T {
	var all []string
	for _, w := range words {
		if text == w.text {
			return w.is
		}
		all = append(all, w.text)
	}
	if text != "" {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: file}, "level-word", "Key", key, "Word", leadsheet.Quoted(text), "Words", strings.Join(all, ", "))
	}
	return words[0].is
}

var form = settings.Form{Encoding: "level-syntax.encoding", Syntax: "level-syntax", Key: "level-key"}

// Parse reads a level file. All that is wrong with it is reported, each thing
// with its line where the reader knows one.
func Parse(name string, data []byte) (Level, error) {
	f := unsaid()
	ps, ok := form.Decode(name, data, &f)
	if !ok {
		return Level{}, ps
	}
	bad := func(says leadsheet.Saying, parts ...any) {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, says, parts...)
	}
	l := Level{
		Number: f.Number, After: f.After, Name: f.Name, Title: f.Title, WalksAs: f.WalksAs, TempoPercent: f.TempoPercent, RunsPerSecond: int(f.RunsPerSecond*10 + 0.5),
		Devices: f.Techniques.Harmony, Line: f.Techniques.Rhythm, Left: f.Techniques.Left, Reserve: f.Techniques.Reserve,
		Right: f.Techniques.Right, Ornaments: f.Techniques.Ornaments,
		Anticipations: f.Budget.Anticipations, PushPlaces: f.Budget.PushPlaces, ChordsPerBar: f.Budget.ChordsPerBar, PerBar: f.Budget.PerBar, PerPhrase: f.Budget.PerPhrase,
		Colour: f.Budget.Colour, Ornamentation: f.Budget.Ornamentation, Support: f.Budget.Support, VaryByPhrase: f.Budget.VaryByPhrase,
		Arc:       means(&ps, name, "budget.arc", f.Budget.Arc, arcs),
		ChordsOn:  means(&ps, name, "budget.chords_on", f.Budget.ChordsOn, chordsOn),
		Yields:    f.Chords.Yields,
		VaryShape: f.LeftHand.VaryShape, Grounded: f.LeftHand.Grounded, Position: f.LeftHand.Position,
		Pedal: f.Page.Pedal, Touch: f.Page.Touch, Folds: f.Page.Folds, Words: f.Page.Words, SlowEnding: f.Page.SlowEnding,
		Dynamics: means(&ps, name, "page.dynamics", f.Page.Dynamics, dynamics),
		Fingers:  means(&ps, name, "page.fingers", f.Page.Fingers, fingers),
		Manner: technique.Manner{Colours: means(&ps, name, "chords.colours", f.Chords.Colours, colours),
			SuspensionBeats: f.Chords.SuspensionBeats, QuickChords: f.Chords.QuickChords,
			ApproachChain: f.Chords.ApproachChain, PlainReturn: f.Chords.PlainReturn,
			Inversions:  f.LeftHand.Inversions,
			LastChord:   means(&ps, name, "left_hand.last_chord", f.LeftHand.LastChord, lastChords),
			BlockVoices: f.RightHand.BlockVoices, MovingVoice: f.RightHand.MovingVoice, OctavesFirst: f.RightHand.OctavesFirst},
	}
	l.hear(&ps, name, f.Chords)
	if l.Number < 1 || l.Number > 99 {
		bad("level-number", "Number", l.Number, "Least", 1, "Most", 99)
	}
	if l.After < 0 || l.After > 99 || l.After == l.Number && l.After > 0 {
		bad("level-after", "Number", l.After)
	}
	if l.Name == "" || strings.ContainsAny(l.Name, "/\\.,") {
		bad("level-name", "Name", leadsheet.Quoted(l.Name))
	}
	if l.TempoPercent < 20 || l.TempoPercent > 200 {
		bad("level-tempo", "Percent", l.TempoPercent, "Least", 20, "Most", 200)
	}
	switch f.Feel {
	case "", "tune":
	case "straight":
		l.Feel = leadsheet.Straight
	case "swing":
		l.Feel = leadsheet.Swing
	default:
		bad("level-feel", "Feel", leadsheet.Quoted(f.Feel))
	}
	for _, p := range []struct {
		what, text string
		to         *theory.Pitch
	}{{"left_hand.low", f.LeftHand.Low, &l.Low}, {"left_hand.high", f.LeftHand.High, &l.High}, {"melody.room", f.Melody.Room, &l.Room}, {"melody.top", f.Melody.Top, &l.Top}} {
		if p.to == &l.Top && p.text == "" {
			continue
		}
		v, err := theory.ParsePitch(p.text)
		if err != nil {
			bad("level-pitch", "Key", p.what, "Pitch", leadsheet.Quoted(p.text))
		}
		*p.to = v
	}
	if l.High.MIDI()-l.Low.MIDI() < 12 {
		bad("level-register")
	}
	l.Caps = technique.Caps{AtOnce: f.Caps.NotesAtOnce, Span: f.Caps.Span, JumpPerBeat: f.Caps.JumpPerBeat, KeySignature: f.Caps.KeySignature}
	for i, v := range f.Caps.NotesPerSecond {
		l.Caps.NotesPerSecond[i] = int(v*10 + 0.5)
		if v <= 0 || f.Caps.NotesAtOnce[i] < 1 || f.Caps.Span[i] < 1 {
			bad("level-caps")
		}
	}
	if f.Caps.Shortest > 0 {
		l.Caps.Shortest, _ = theory.Fraction(1, int64(f.Caps.Shortest))
	}
	if n := f.Melody.Finest; n == 4 || n == 8 || n == 16 {
		l.Finest = theory.Whole / theory.Dur(n)
	} else if n != 0 {
		bad("level-range", "Key", "melody.finest", "Least", 4, "Most", 16)
	}
	for _, st := range []struct {
		ids   []string
		stage technique.Stage
	}{{l.Devices, technique.Device}, {l.Line, technique.Line}, {l.Left, technique.LeftHand}, {l.Reserve, technique.LeftHand}, {l.Right, technique.RightHand}, {l.Ornaments, technique.Ornament}} {
		for _, id := range st.ids {
			t, ok := technique.ByID(id)
			switch {
			case !ok:
				bad("level-technique", "Technique", leadsheet.Quoted(id))
			case t.Stage != st.stage:
				bad("level-technique.stage", "Technique", leadsheet.Quoted(id), "Stage", leadsheet.Quoted(t.Stage.String()))
			}
		}
	}
	for _, n := range []struct {
		key      string
		v        float64
		low, top int
	}{{"budget.chords_per_bar", float64(f.Budget.ChordsPerBar), 0, 16}, {"left_hand.position", float64(f.LeftHand.Position), 0, 24}, {"chords.suspension_beats", float64(f.Chords.SuspensionBeats), 1, 4}, {"right_hand.block_voices", float64(f.RightHand.BlockVoices), 3, 4},
		{"page.staff_height", f.Page.StaffHeight, 3, 14}, {"runs_per_second", f.RunsPerSecond, 0, 20}} {
		if !(n.v >= float64(n.low) && n.v <= float64(n.top)) {
			bad("level-range", "Key", n.key, "Least", n.low, "Most", n.top)
		}
	}
	l.StaffHeight = int(math.Round(10 * f.Page.StaffHeight))
	if len(l.Left) == 0 {
		bad("level-left")
	}
	if err := ps.Err(); err != nil {
		return Level{}, err
	}
	return l, nil
}

// addsSevenths tells whether a technique gives chords their sevenths.
func addsSevenths(id string) bool {
	t, ok := technique.ByID(id)
	return ok && t.Adds != nil && t.Adds(theory.Chord{}, theory.Degree{Number: 7})
}

// hear sets what of chords is heard and known. A level with seventh chords has its
// guide tones heard, unless its file says otherwise.
func (l *Level) hear(ps *leadsheet.Problems, name string, c chords) {
	l.Heard = means(ps, name, "chords.heard", c.Heard, heardWords)
	if c.Heard == "" && slices.ContainsFunc(l.Devices, addsSevenths) {
		l.Heard = HeardGuides
	}
	l.KeepSevenths = l.Heard == HeardGuides
	if c.KeepSevenths != nil {
		l.KeepSevenths = *c.KeepSevenths
	}
	for _, text := range c.Known {
		sym, err := theory.ParseSymbol(text)
		if err != nil || sym.Repeat || sym.Chord.Silent() {
			ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, "level-chord", "Chord", leadsheet.Quoted(text))
			continue
		}
		l.Known = append(l.Known, sym.Chord.Tones)
	}
}
