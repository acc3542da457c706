package arrange

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

func pitch(t testing.TB, text string) theory.Pitch {
	t.Helper()
	p, err := theory.ParsePitch(text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func chordOf(t testing.TB, text string) theory.Chord {
	t.Helper()
	s, err := theory.ParseSymbol(text)
	if err != nil {
		t.Fatal(err)
	}
	return s.Chord
}

// TestRanked holds the first of a list, and the first of each class, against sorting all.
func TestRanked(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	type item struct{ place, rank, class int }
	for range 300 {
		list := make([]item, r.IntN(40))
		for i := range list {
			list[i] = item{i, r.IntN(8), r.IntN(4)}
		}
		n := 1 + r.IntN(12)
		all := slices.Clone(list)
		slices.SortStableFunc(all, func(a, b item) int { return a.rank - b.rank })
		rank, class := func(x *item) int { return x.rank }, func(x *item) int { return x.class }
		if got := ranked(list, n, rank); !slices.Equal(got, all[:min(n, len(all))]) {
			t.Fatalf("%d of %v: %v", n, list, got)
		}
		want := []item{}
		if len(list) <= n {
			want = list
		} else {
			var counts [4]int
			for _, x := range all {
				if counts[x.class]++; counts[x.class] <= n {
					want = append(want, x)
				}
			}
			slices.SortFunc(want, func(a, b item) int { return a.place - b.place })
		}
		if got := few(slices.Clone(list), n, rank, class); !slices.Equal(got, want) {
			t.Fatalf("%d of each class of %v: %v, want %v", n, list, got, want)
		}
	}
}

// TestLowIntervals: the lowest places at which two keys of a left hand still sound (no
// seconds below G3, no thirds below C3, common practice, no source); deeper costs more.
func TestLowIntervals(t *testing.T) {
	for _, tt := range []struct {
		low, high string
		ok        bool
	}{
		{"G3", "A3", true}, {"F#3", "G3", false}, {"F3", "G3", false}, {"C3", "E3", true}, {"B2", "D3", false}, {"B2", "D#3", false},
		{"E2", "B2", true}, {"A1", "E2", true}, {"C2", "C3", true}, {"C1", "C2", true}, {"E2", "A2", true}, {"D2", "G2", false}, {"C2", "B2", false}, {"D2", "C#3", true},
		{"C2", "E3", true}, {"F1", "A2", false},
	} {
		if _, ok := muddy(pitch(t, tt.low).MIDI(), pitch(t, tt.high).MIDI()); ok != tt.ok {
			t.Errorf("%s under %s: %v", tt.low, tt.high, ok)
		}
	}
	for d := 1; d < len(lowLimit); d++ {
		last, clear := -1, 0
		for low := 100; low >= 21; low-- {
			cost, ok := muddy(low, low+d)
			if !ok {
				break
			}
			if cost < last {
				t.Errorf("%d semitones: %d costs %d, the key above %d", d, low, cost, last)
			}
			if last = cost; cost == 0 {
				clear++
			}
		}
		if clear < 30 {
			t.Errorf("%d semitones sound clear on %d keys", d, clear)
		}
	}
	if cost, ok := muddy(60, 60); cost != 0 || !ok {
		t.Error("a key and itself")
	}
}

// TestMinorNinths: a minor ninth rubs, with octaves between too; a half step and a major
// seventh do not, nor does the ♭9 over the root of a dominant that has it (Pease & Pullig,
// Modern Jazz Voicings, excerpt).
func TestMinorNinths(t *testing.T) {
	for _, tt := range []struct {
		low, high, chord string
		want             bool
	}{
		{"C3", "Db4", "C7", true}, {"C3", "Db4", "C7(b9)", false}, {"E3", "F4", "C7(b9)", true}, {"C3", "Db5", "Cmaj7", true}, {"B3", "C5", "Cmaj7", true},
		{"C4", "B4", "Cmaj7", false}, {"B3", "C4", "Cmaj7", false}, {"C2", "Db4", "C7(b9)", false}, {"C3", "D4", "C", false}, {"G3", "Ab4", "Dbmaj7", true},
		{"Db4", "C3", "C7", false}, {"G2", "Ab3", "C7(b9)", true},
	} {
		if got := rubs(pitch(t, tt.low).MIDI(), pitch(t, tt.high).MIDI(), chordOf(t, tt.chord)); got != tt.want {
			t.Errorf("%s under %s in %s: %v", tt.low, tt.high, tt.chord, got)
		}
	}
}

// tonesOf writes tones from words "C3@0:1/4": pitch, eighth of the bar, length in eighths.
func tonesOf(t testing.TB, kind score.Kind, text string) []technique.Tone {
	t.Helper()
	var out []technique.Tone
	for _, w := range strings.Fields(text) {
		name, rest, _ := strings.Cut(w, "@")
		out = append(out, technique.Tone{At: theory.Dur(rest[0]-'0') * theory.Eighth, Dur: theory.Dur(rest[2]-'0') * theory.Eighth, Pitch: pitch(t, name), Kind: kind})
	}
	return out
}

func lengthsOf(ts []technique.Tone) string {
	var b strings.Builder
	for _, x := range ts {
		b.WriteByte(byte('0' + x.Dur/theory.Eighth))
	}
	return b.String()
}

// What tones of one strike do: they end together, are as short as their shortest, and a
// roll of one note is none.
func TestStrikes(t *testing.T) {
	ts := tonesOf(t, score.Chord, "C3@0:4 E3@0:2 G3@0:3 C3@4:4 E3@4:4 G3@6:2")
	if got := struckUntil(ts, 0); got != 3 {
		t.Errorf("three are struck first, not %d", got)
	}
	if a, b := struckUntil(ts, 3), struckUntil(ts, 5); a != 5 || b != 6 {
		t.Errorf("then up to %d, %d", a, b)
	}
	letGoTogether(ts)
	if got := lengthsOf(ts); got != "222442" {
		t.Errorf("lengths %s", got)
	}
	for i := range ts {
		ts[i].Marks |= score.Rolled
	}
	unroll(ts)
	for i, x := range ts {
		if rolled := x.Marks.Has(score.Rolled); rolled != (i < 5) {
			t.Errorf("note %d rolled: %v", i, rolled)
		}
	}
	alone := ts[2:4]
	unroll(alone)
	if alone[0].Marks.Has(score.Rolled) || alone[1].Marks.Has(score.Rolled) {
		t.Error("two notes struck one after the other are rolled")
	}
	if !tooShort(theory.Quarter, tonesOf(t, score.Chord, "C3@0:2 E3@0:1")) || tooShort(theory.Quarter, tonesOf(t, score.Chord, "C3@0:2")) || tooShort(theory.Quarter, tonesOf(t, score.GhostNote, "C3@0:1")) {
		t.Error("an eighth is too short for quarters, but for a ghost note")
	}
	c := &cell{Cell: technique.Cell{At: 0, End: theory.Whole}}
	for text, want := range map[string]string{
		"C3@0:8": "4", // as long as what is struck with it
		"E3@2:2": "6", // to the end of the cell
		"C3@4:4": "4", // until the next strike
	} {
		added := technique.Tone{At: 0, Pitch: pitch(t, "G3")}
		if strings.HasPrefix(text, "E3") {
			added.At = 2 * theory.Eighth
		}
		ts := tonesOf(t, score.Chord, map[string]string{"C3@0:8": "C3@0:4 E3@0:4", "E3@2:2": "C3@0:2", "C3@4:4": "C3@4:4"}[text])
		if got := joining(c, added, ts); lengthsOf([]technique.Tone{got}) != want {
			t.Errorf("added beside %s: %s, want %s", text, lengthsOf([]technique.Tone{got}), want)
		}
	}
}

// TestUpsideDown: a chord struck below its own bass costs; a bass below, or a line, does not.
func TestUpsideDown(t *testing.T) {
	p := &piece{}
	chord := tonesOf(t, score.Chord, "E2@2:2")
	for _, tt := range []struct {
		bass string
		kind score.Kind
		want int
	}{{"C3@0:2", score.Bass, fitted.Upside}, {"C2@0:2", score.Bass, 0}, {"C3@0:2", score.Chord, 0}, {"C3@0:2", score.Approach, 0}} {
		if got := p.upsideDown(append(tonesOf(t, tt.kind, tt.bass), chord...)); got != tt.want {
			t.Errorf("%s, a %v, over E2: %d, want %d", tt.bass, tt.kind, got, tt.want)
		}
	}
	if got := p.upsideDown(append(tonesOf(t, score.Bass, "C3@0:2"), tonesOf(t, score.Passing, "B2@2:2")...)); got != 0 {
		t.Errorf("a passing note under the bass: %d", got)
	}
	if p.upsideDown(nil) != 0 {
		t.Error("a rest")
	}
}

// TestComesHome: the piece ends on the last tonic with the tune's last note; the chords
// that lead back to the beginning are left out and told.
func TestComesHome(t *testing.T) {
	for _, tt := range []struct {
		text       string
		home       int // eighth
		last, told string
	}{
		{"C C5:8 | F A5:8 | G7 B5:8 | C C5:8", 24, "C", ""},
		{"C C5:8 | F A5:8 | G7 B5:8 | C C5:4 G7 r:4", 24, "C", "G7"},
		{"C C5:8 | F A5:8 | G7 B5:8 | C C5:4 Am r:2 G7 r:2", 24, "C", "Am, G7"},
		{"C C5:8 | F A5:8 | G7 B5:4 C C5:4 | F r:4 G7 r:4", 20, "C", "F, G7"},
		{"C C5:8 | F A5:8 | G7 B5:8 | C C5:6 D5:1 C5:1", 30, "C", ""}, // the beat that the tune runs through
		{"C C5:8 | F A5:8 | G7 B5:8 | F A5:8", 24, "F", ""},           // no tonic: the chord of the last note
		{"C C5:8 | F A5:8 | C E5:8 | G7 E5:8", 24, "C", "G7"},         // the tonic before bears it
		{"C C5:8 | F A5:8 | G7 B5:8 | Am D5:8", 24, "Am", ""},         // nothing holds the note: what is there
	} {
		p := prepared(t, tune(t, fourFour, "C", tt.text), 3)
		told := ""
		for _, r := range p.remarks {
			if r.Code == "ending-plain" {
				told = r.Parts[slices.Index(r.Parts, any("Chords"))+1].(string)
			}
		}
		last := p.an.Spans[len(p.an.Spans)-1]
		if int(p.home/theory.Eighth) != tt.home || last.Chord.String() != tt.last || told != tt.told || last.End != p.song.End() {
			t.Errorf("%s: home on eighth %d with %s, left out %q; want %d, %s, %q", tt.text, p.home/theory.Eighth, last.Chord, told, tt.home, tt.last, tt.told)
		}
	}
}

// TestSettledChords: chords begin on the level's beats, on that beside them which the tune bears.
func TestSettledChords(t *testing.T) {
	for _, tt := range []struct {
		text string
		on   ladder.ChordsOn
		want string
	}{
		{"C C5:3 F A4:5 | C C5:8", ladder.Beats, "0 C 4 F 8 C"},          // later, where all is alike
		{"F C5:2 G#4:1 E7 G#4:5 | C C5:8", ladder.Beats, "0 F 2 E7 8 C"}, // earlier: the G sharp is there already
		{"C C5:3 F A4:1 C C5:4 | C C5:8", ladder.Beats, "0 C 4 C"},       // nothing of its own is left
		{"C C5:3 F A4:5 | C C5:8", ladder.HalfBeats, "0 C 3 F 8 C"},
		{"C C5:3 F A4:5 | C C5:8", ladder.Anywhere, "0 C 3 F 8 C"},
	} {
		s := tune(t, fourFour, "C", tt.text)
		p := &piece{song: s, an: harmony.Analyse(s), level: level(1), home: -1}
		p.level.ChordsOn = tt.on
		p.settleChords()
		var got []string
		at := theory.Dur(0)
		for _, sp := range p.an.Spans {
			if sp.At != at || sp.End <= sp.At {
				t.Errorf("%s: a hole at %s", tt.text, at)
			}
			got, at = append(got, fmt.Sprint(int(sp.At/theory.Eighth)), sp.Chord.String()), sp.End
		}
		if s := strings.Join(got, " "); s != tt.want {
			t.Errorf("%s, %v: %s, want %s", tt.text, tt.on, s, tt.want)
		}
	}
}

// TestFewerChords: of a bar with more changes than the level admits those stay that the
// tune stands on; where nothing else speaks, those on the strong beats.
func TestFewerChords(t *testing.T) {
	for _, tt := range []struct {
		text string
		most int
		want string
	}{
		{"C C5:2 Am C5:2 F C5:2 G7 B4:2 | C C5:8", 0, "C Am F G7 | C"},
		{"C C5:2 Am C5:2 F C5:2 E7 G#4:2 | Am C5:8", 3, "C F E7 | Am"}, // F would not bear the G sharp
		{"C E5:4 F F5:4 | C E5:8", 2, "C F | C"},
		{"C E5:4 F F5:4 | C E5:8", 1, "C | C"},
		{"C G5:4 Em G5:4 | C E5:8", 1, "C | C"},
		{"C G5:6 F A5:1 C G5:1 | C E5:8", 1, "C | C"},
	} {
		s := tune(t, fourFour, "C", tt.text)
		p := &piece{song: s, an: harmony.Analyse(s), level: level(3), home: -1}
		p.level.ChordsPerBar = tt.most
		p.thinChords()
		var bars [2]string
		for _, sp := range p.an.Spans {
			b := s.BarAt(sp.At)
			bars[b] = strings.TrimSpace(bars[b] + " " + sp.Chord.String())
		}
		got := bars[0] + " | " + bars[1]
		want := strings.Split(tt.want, " |")[0] // where the last chord goes on, the next bar has none
		if !strings.HasPrefix(got, want+" |") {
			t.Errorf("%s, at most %d: %s, want %s", tt.text, tt.most, got, tt.want)
		}
		at := s.Bars[0].At
		for _, sp := range p.an.Spans {
			if sp.At != at || sp.End <= sp.At {
				t.Errorf("%s, at most %d: a hole at %s", tt.text, tt.most, at)
			}
			at = sp.End
		}
		if at != s.End() || len(p.remarks) != map[bool]int{true: 0, false: 1}[len(p.an.Spans) == len(harmony.Analyse(s).Spans)] {
			t.Errorf("%s, at most %d: ends at %s, %d remarks", tt.text, tt.most, at, len(p.remarks))
		}
	}
}

// TestUsualTempi: a level's share of the sheet's tempo, on the metronome; the reader's wish
// is kept as it is.
func TestTempoOfALevel(t *testing.T) {
	s := tune(t, fourFour, "C", "C C5:8 | F A5:8 | G7 B5:8 | C C5:8")
	for _, tt := range []struct{ wish, percent, want int }{{0, 100, 120}, {0, 75, 88}, {0, 50, 60}, {113, 50, 113}} {
		l := level(3)
		l.TempoPercent = tt.percent
		opt := Options{Level: l}
		if tt.wish > 0 {
			opt.Tempo = leadsheet.Tempo{Beat: theory.Quarter, PerMinute: tt.wish}
		}
		pl, err := Prepare(t.Context(), s, harmony.Analyse(s), opt)
		if err != nil {
			t.Fatal(err)
		}
		if got := pl.p.tempo.PerMinute; got != tt.want {
			t.Errorf("%d percent of 120, wished %d: %d, want %d", tt.percent, tt.wish, got, tt.want)
		}
	}
}

// TestRunClears: a run takes the place of the chords that it meets, as whole strikes; the
// bass stays, and what is over before it.
func TestRunClears(t *testing.T) {
	p := prepared(t, tune(t, fourFour, "C", "C C6:8 | F A5:8 | G7 B5:8 | C C5:8"), 4).fresh()
	c := &p.cells[0]
	bass, chords := tonesOf(t, score.Bass, "C3@0:8"), tonesOf(t, score.Chord, "E4@2:2 G4@2:2 E4@4:2 G4@4:2 C4@6:2 E4@6:2")
	c.chosenLeft.Tones = append(bass, chords...)
	run := technique.Figure{Clears: true, Tones: tonesOf(t, score.Run, "F4@5:1 G4@6:1 A4@7:1")}
	p.clear(run)
	got := ""
	for _, x := range c.chosenLeft.Tones {
		got += x.Pitch.String() + " "
	}
	if got != "C3 E4 G4 C4 E4 " { // that on the third beat has given way; under A4 and G4 the last lies low enough
		t.Errorf("left: %s", got)
	}
	p.clear(technique.Figure{Clears: true, Tones: tonesOf(t, score.Run, "E4@6:1 F4@7:1")})
	got = ""
	for _, x := range c.chosenLeft.Tones {
		got += x.Pitch.String() + " "
	}
	if got != "C3 E4 G4 " {
		t.Errorf("left: %s", got)
	}
}

// TestSymbolsPromiseWhatIsPlayed: a colour that nobody plays leaves the symbol; a 9th that
// a 13th implies does not.
func TestSymbolsPromiseWhatIsPlayed(t *testing.T) {
	for _, tt := range []struct{ chord, heard, want string }{
		{"C9", "C E Bb D", "C9"}, {"C9", "C E Bb", "C7"}, {"C13", "C E Bb A", "C13"}, {"C13", "C E Bb D", "C9"}, {"C6", "C E G", "C"}, {"C6", "C E A", "C6"},
		{"C7(b9)", "C E Bb Db", "C7b9"}, {"C7(b9)", "C E Bb", "C7"}, {"Cmaj7", "C E G B", "Cmaj7"},
	} {
		p := prepared(t, tune(t, fourFour, "C", "C C6:8 | F A5:8 | G7 B5:8 | C C5:8"), 4)
		p.level.KeepSevenths = true
		s := slot{at: 0, end: theory.Whole, chord: chordOf(t, tt.chord)}
		var heard []sound
		for _, w := range strings.Fields(tt.heard) {
			n, err := theory.ParseName(w)
			if err != nil {
				t.Fatal(err)
			}
			heard = append(heard, sound{key: 60 + n.Class(), end: theory.Whole})
		}
		p.plainer(&s, heard)
		if s.chord.Tones != chordOf(t, tt.want).Tones {
			t.Errorf("%s, of which %s are heard: %s, want %s", tt.chord, tt.heard, s.chord, tt.want)
		}
	}
}
