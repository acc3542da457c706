package idiom

import (
	"embed"
	"maps"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"

	"gradatim/internal/ladder"
	"gradatim/internal/settings"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Idiom is a kind of tune.
type Idiom struct {
	ID   string // "parlour-song": the file's name, and what --style takes
	Name string // "parlour song"

	// Walks tells that tunes of the kind like to change their manner from level to
	// level; the others stay what they are.
	Walks bool

	// Steady tells that a section keeps its pattern from bar to bar.
	Steady bool

	// InTime tells that the kind is danced or marched to: nothing slows down at the end,
	// and nothing is held beyond its time.
	InTime bool

	Feel     leadsheet.Feel // Unstated: as the sheet says, else straight
	Usage    technique.Usage
	Dynamics Dynamics
	Touch    Touch

	Introduction, Ending Frame

	stays        Facts    // all of them seen on a sheet, a tune of a kind that walks stays what it is
	words, title []string // by which sheets name the kind: as their style, in their title
	weights      [lastFact]int8
	tempos       []tempo
	rows         []row // by level, ascending
}

// tempo is how a kind moves in some metres.
type tempo struct {
	metres Facts
	few    bool // only over few chords
	leadsheet.Tempo
}

// row is what a kind asks of the built-in levels from one on, and of levels that are
// like them; nil lists leave a level's own alone.
type row struct {
	from                                    int
	left, reserve, right, harmony, ornament []string
	pushes, colour, ornaments               *int
	folds                                   *bool
}

//go:embed kinds/*.toml
var embedded embed.FS

// All returns the built-in kinds, by id.
func All() []Idiom { return slices.Clone(builtIn()) }

var builtIn = sync.OnceValue(func() []Idiom {
	entries, err := embedded.ReadDir("kinds")
	if err != nil {
		panic(err)
	}
	var out []Idiom
	for _, e := range entries {
		data, err := embedded.ReadFile("kinds/" + e.Name())
		if err != nil {
			panic(err)
		}
		k, err := Parse(e.Name(), data)
		if err != nil {
			panic(err)
		}
		out = append(out, k)
	}
	return out
})

// Named finds a kind by its id.
func Named(id string, among []Idiom) (Idiom, bool) {
	i := slices.IndexFunc(among, func(k Idiom) bool { return k.ID == id })
	if i < 0 {
		return Idiom{}, false
	}
	return among[i], true
}

// With returns the kinds with one more, in the place of the one that has its id.
func With(kinds []Idiom, own Idiom) []Idiom {
	out := slices.DeleteFunc(slices.Clone(kinds), func(k Idiom) bool { return k.ID == own.ID })
	out = append(out, own)
	slices.SortFunc(out, func(a, b Idiom) int { return strings.Compare(a.ID, b.ID) })
	return out
}

// file is the TOML form of a kind, documented in docs/formats.md.
type file struct {
	Name    string   `toml:"name"`
	Manner  string   `toml:"manner"`
	Stays   []string `toml:"stays_where"`
	Steady  bool     `toml:"steady"`
	InTime  bool     `toml:"in_time"`
	Feel    string   `toml:"feel"`
	Harmony struct {
		FreeDominants bool   `toml:"free_dominants"`
		TonicSevenths bool   `toml:"tonic_sevenths"`
		TonicSixth    bool   `toml:"tonic_sixth"`
		MinorSixth    bool   `toml:"minor_sixth"`
		PlainTonic    bool   `toml:"plain_tonic"`
		Colours       string `toml:"colours"`
	} `toml:"harmony"`
	expressionFile
	Introduction frameFile `toml:"introduction"`
	Ending       frameFile `toml:"ending"`
	Recognise    struct {
		Words []string       `toml:"words"`
		Title []string       `toml:"title"`
		Facts map[string]int `toml:"facts"`
	} `toml:"recognise"`
	Tempo []struct {
		Metres string `toml:"metres"`
		Few    bool   `toml:"few_chords"`
		Beat   string `toml:"beat"`
		Usual  int    `toml:"usual"`
		Words  string `toml:"words"`
	} `toml:"tempo"`
	Level []struct {
		From      int      `toml:"from"`
		Left      []string `toml:"left"`
		Reserve   []string `toml:"left_reserve"`
		Right     []string `toml:"right"`
		Harmony   []string `toml:"harmony"`
		Ornament  []string `toml:"ornament"`
		Pushes    *int     `toml:"pushes_per_four_bars"`
		Colour    *int     `toml:"colour"`
		Ornaments *int     `toml:"ornaments_per_four_bars"`
		Folds     *bool    `toml:"folds"`
	} `toml:"level"`
}

// Parse reads the file of a kind. All that is wrong with it is reported.
func Parse(name string, data []byte) (Idiom, error) {
	var f file
	ps, ok := form.Decode(name, data, &f)
	if !ok {
		return Idiom{}, ps
	}
	bad := func(says leadsheet.Saying, parts ...any) {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, says, parts...)
	}
	k := Idiom{ID: strings.TrimSuffix(path.Base(name), ".toml"), Name: f.Name, Steady: f.Steady, InTime: f.InTime,
		Usage: technique.Usage{FreeDominants: f.Harmony.FreeDominants, TonicSevenths: f.Harmony.TonicSevenths,
			TonicSixth: f.Harmony.TonicSixth, MinorSixth: f.Harmony.MinorSixth, PlainTonic: f.Harmony.PlainTonic},
		words: f.Recognise.Words, title: f.Recognise.Title}
	if k.Name == "" {
		bad("idiom-name")
	}
	switch f.Manner {
	case "walk":
		k.Walks = true
	case "stay":
	default:
		bad("idiom-manner", "Manner", leadsheet.Quoted(f.Manner))
	}
	for _, name := range f.Stays {
		fact, ok := factNamed(name)
		if !ok {
			bad("idiom-manner.fact", "Fact", leadsheet.Quoted(name), "Facts", strings.Join(factNames[1:], ", "))
			continue
		}
		k.stays = k.stays.with(fact, true)
	}
	if c := f.Harmony.Colours; c != "" {
		var ok bool
		if k.Usage.Palette, ok = technique.PaletteNamed(c); !ok {
			bad("idiom-colours", "Colours", leadsheet.Quoted(c))
		}
	}
	switch f.Feel {
	case "", "sheet":
	case "straight":
		k.Feel = leadsheet.Straight
	case "swing":
		k.Feel = leadsheet.Swing
	default:
		bad("idiom-feel", "Feel", leadsheet.Quoted(f.Feel))
	}
	k.Dynamics, k.Touch = f.expressionFile.parse(bad)
	k.Introduction = f.Introduction.parse("idiom-introduction", frameFile{Short: "I | V7", Long: "last-phrase"}, bad)
	k.Ending = f.Ending.parse("idiom-ending", frameFile{Short: "last-line", Long: "last-line"}, bad)
	for _, name := range slices.Sorted(maps.Keys(f.Recognise.Facts)) {
		w := f.Recognise.Facts[name]
		fact, ok := factNamed(name)
		if !ok || w < -20 || w > 20 {
			bad("idiom-fact", "Fact", leadsheet.Quoted(name), "Weight", w, "Facts", strings.Join(factNames[1:], ", "), "Least", -20, "Most", 20)
			continue
		}
		k.weights[fact] = int8(w)
	}
	ps.Sort()
	k.tempos = parseTempos(f, bad)
	k.rows = parseRows(f, bad)
	if err := ps.Err(); err != nil {
		return Idiom{}, err
	}
	return k, nil
}

var form = settings.Form{Encoding: "idiom-syntax.encoding", Syntax: "idiom-syntax", Key: "idiom-key"}

func parseTempos(f file, bad func(leadsheet.Saying, ...any)) []tempo {
	var out []tempo
	for _, t := range f.Tempo {
		var at tempo
		for _, m := range strings.Fields(t.Metres) {
			fact, ok := factNamed(m)
			if !ok || fact > CompoundTriple {
				bad("idiom-tempo.metre", "Metre", leadsheet.Quoted(m), "Metres", strings.Join(factNames[1:CompoundTriple+1], ", "))
				continue
			}
			at.metres = at.metres.with(fact, true)
		}
		num, den, _ := strings.Cut(t.Beat, "/")
		a, err1 := strconv.ParseInt(num, 10, 16)
		b, err2 := strconv.ParseInt(den, 10, 16)
		beat, ok := theory.Dur(0), false
		if err1 == nil && err2 == nil && b > 0 {
			beat, ok = theory.Fraction(a, b)
		}
		if !ok || beat <= 0 || t.Usual < 20 || t.Usual > 300 {
			bad("idiom-tempo", "Usual", t.Usual, "Beat", leadsheet.Quoted(t.Beat))
			continue
		}
		at.few = t.Few
		at.Tempo = leadsheet.Tempo{Beat: beat, PerMinute: t.Usual, Words: t.Words}
		out = append(out, at)
	}
	return out
}

func parseRows(f file, bad func(leadsheet.Saying, ...any)) []row {
	var out []row
	for _, l := range f.Level {
		r := row{from: l.From, left: l.Left, reserve: l.Reserve, right: l.Right, harmony: l.Harmony, ornament: l.Ornament,
			pushes: l.Pushes, colour: l.Colour, ornaments: l.Ornaments, folds: l.Folds}
		for _, list := range []struct {
			ids   []string
			stage technique.Stage
		}{{l.Left, technique.LeftHand}, {l.Reserve, technique.LeftHand}, {l.Right, technique.RightHand}, {l.Harmony, technique.Device}, {l.Ornament, technique.Ornament}} {
			for _, id := range list.ids {
				if t, ok := technique.ByID(id); !ok || t.Stage != list.stage {
					bad("idiom-technique", "Technique", leadsheet.Quoted(id), "Stage", leadsheet.Quoted(list.stage.String()))
				}
			}
		}
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b row) int { return a.from - b.from })
	return out
}

// Tempo is the kind's usual tempo in a metre; ok is false where its file has none.
func (k Idiom) Tempo(m leadsheet.Meter) (_ leadsheet.Tempo, ok bool) { return k.tempoIn(m, false) }

// TempoOf is the kind's usual tempo of a song: a tune over few chords moves on, as the file
// has it.
func (k Idiom) TempoOf(song leadsheet.Song) (_ leadsheet.Tempo, ok bool) {
	return k.tempoIn(song.Meter, fewChords(song))
}

func (k Idiom) tempoIn(m leadsheet.Meter, few bool) (_ leadsheet.Tempo, ok bool) {
	metre := metreFacts(0, m)
	for _, t := range k.tempos {
		if t.metres&metre != 0 && (few || !t.few) {
			return t.Tempo, true
		}
	}
	return leadsheet.Tempo{}, false
}

// fewChords tells whether chords stay for a bar and more (common practice, no source: a slow
// song in beats of three changes them sooner).
func fewChords(song leadsheet.Song) bool {
	changes := 0
	for i, c := range song.Chords {
		if i == 0 || c.Text != song.Chords[i-1].Text {
			changes++
		}
	}
	return changes > 0 && changes <= len(song.Bars)
}

// Shape returns the level as the kind would have it: of the techniques that the
// level may use, those that belong to the kind, in the kind's order. A stage of
// which nothing would be left keeps the level's own list. Shaping twice is shaping once.
func (k Idiom) Shape(l ladder.Level) ladder.Level {
	if k.InTime {
		l.SlowEnding = false
	}
	var r *row
	like := l.Like()
	for i := range k.rows {
		if k.rows[i].from <= like {
			r = &k.rows[i]
		}
	}
	if r == nil {
		return l
	}
	own := l.LeftAll()
	if left := among(r.left, own); len(left) > 0 {
		l.Left = left
		l.Reserve = append(among(r.reserve, own), own[len(own)-1])
	}
	for _, s := range []struct {
		list []string
		to   *[]string
	}{{r.right, &l.Right}, {r.harmony, &l.Devices}, {r.ornament, &l.Ornaments}} {
		if s.list != nil {
			*s.to = among(s.list, *s.to)
		}
	}
	for _, s := range []struct {
		n  *int
		to *int
	}{{r.pushes, &l.Anticipations}, {r.colour, &l.Colour}, {r.ornaments, &l.Ornamentation}} {
		if s.n != nil {
			*s.to = min(*s.to, *s.n)
		}
	}
	if r.folds != nil {
		l.Folds = *r.folds
	}
	if k.Steady {
		l.VaryShape, l.VaryByPhrase = false, false
		l.KeepSevenths = false // a drone's symbols say what it plays
	}
	return l
}

// among keeps of a list what another has, in the order of the first.
func among(list, has []string) []string {
	out := make([]string, 0, len(list))
	for _, id := range list {
		if slices.Contains(has, id) {
			out = append(out, id)
		}
	}
	return out
}
