package arrange

import (
	"strings"
	"testing"

	"gradatim/internal/choice"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// TestMotion: the guide tones of a circle of fifths stay or fall by a step, the third of
// one chord becoming the seventh of the next (common practice, no source; counted out by hand).
func TestMotion(t *testing.T) {
	for _, tt := range []struct {
		from, to string
		want     int
	}{
		{"Dm7", "G7", 1},    // F stays, C falls to B
		{"G7", "Cmaj7", 1},  // B stays, F falls to E
		{"G7", "C", 6},      // F falls to E, B has only E to go to
		{"C7", "F7", 2},     // E to E flat, B flat to A
		{"Db7", "Cmaj7", 1}, // F falls to E, C flat stays as B
		{"Cmaj7", "Cmaj7", 0},
		{"C5", "G7", 0}, // nothing moves that is not there
		{"G7", "C5", 0},
	} {
		from, err1 := theory.ParseSymbol(tt.from)
		to, err2 := theory.ParseSymbol(tt.to)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if got := motion(guides(from.Chord), guides(to.Chord)); got != tt.want {
			t.Errorf("%s to %s moves %d half steps, want %d", tt.from, tt.to, got, tt.want)
		}
	}
}

// TestTuneInItsOctave: a tune that lies too low for two hands is written higher, by as many octaves
// as it needs and has room for, and a very high one lower.
func TestTuneInItsOctave(t *testing.T) {
	for _, tt := range []struct {
		text string
		want int
		code string
	}{
		{"C C5:4 E5:4 | F A5:8", 0, ""},
		{"C C3:4 E3:4 | F A3:8", 1, "tune-octave-up"},
		{"C C2:4 E2:4 | F A2:8", 2, "tune-octave-up"},
		{"C C7:4 E7:4 | F A7:8", -1, "tune-octave-down"},
		{"C C3:4 C6:4 | F A6:8", 0, ""}, // it has no room above
	} {
		p := prepared(t, tune(t, fourFour, "C", tt.text), 3)
		told := ""
		for _, x := range p.remarks {
			if strings.HasPrefix(x.Code, "tune-octave") {
				told = x.Code
			}
		}
		if p.octave < 0 != (tt.want < 0) || tt.want >= 0 && p.octave != tt.want || told != tt.code {
			t.Errorf("%s: moved by %d octaves, told %q; want %d, %q", tt.text, p.octave, told, tt.want, tt.code)
		}
	}
}

// TestMetronome: a printed tempo is a figure of the metronome, the nearest where there is
// none so slow or so quick. The figures, 40 to 208 in steps of 2, 3, 4, 6 and 8: from memory.
func TestMetronome(t *testing.T) {
	for wish, want := range map[int]int{1: 40, 39: 40, 40: 40, 41: 40, 61: 60, 63: 63, 119: 116, 120: 120, 207: 200, 208: 208, 209: 208, 300: 208} {
		if got := onMetronome(wish); got != want {
			t.Errorf("%d is printed as %d, want %d", wish, got, want)
		}
	}
}

// TestSameFigureAgain: a level that varies its shapes pays for a figure that comes note
// for note again over one chord, and for none over another.
func TestSameFigureAgain(t *testing.T) {
	p := prepared(t, tune(t, fourFour, "F", "F C6:8 | Bb D6:8 | C C6:8 | F A5:8"), 3)
	p.level.VaryShape = true
	a, b := &p.cells[0], p.cells[1]
	play := func(c *cell, bar int, text string) *option {
		f, err := choice.ParseFigure(p.song.Bars[bar], score.Left, text)
		if err != nil {
			t.Fatal(err)
		}
		return p.written(c, score.Left, technique.Figure{Tones: f.Tones}, "shells")
	}
	const notes = "F2@1:2:chord C3@3:2:chord"
	from, again, other := play(a, 0, notes), play(&b, 1, notes), play(&b, 1, "F2@1:2:chord C3@3:1:chord")
	elsewhere := p.moveLeft(a, from, &b, again)
	b.Chord = a.Chord
	if got := p.moveLeft(a, from, &b, again); got-elsewhere != fitted.Bare {
		t.Errorf("over one chord it costs %d, over another %d", got, elsewhere)
	}
	if got := p.moveLeft(a, from, &b, other); got != elsewhere {
		t.Errorf("in another rhythm it costs %d, want %d", got, elsewhere)
	}
	p.level.VaryShape = false
	if got := p.moveLeft(a, from, &b, again); got != elsewhere {
		t.Errorf("where shapes are kept it costs %d, want %d", got, elsewhere)
	}
}

// TestFillEndsBeforeTheTune: a fill is under the hand only until the tune goes on.
func TestFillEndsBeforeTheTune(t *testing.T) {
	p := prepared(t, tune(t, fourFour, "F", "F A5:2 r:6 | Bb D6:8 | C C6:8 | F A5:8"), 4).fresh()
	if err := p.voice(t.Context()); err != nil {
		t.Fatal(err)
	}
	for i := range p.cells { // nothing else in its way
		p.cells[i].chosenLeft.Tones, p.cells[i].chosenRight.Tones = nil, nil
	}
	s := p.spots()[0]
	fill := func(at, dur theory.Dur, name string) technique.Figure {
		q, err := theory.ParsePitch(name)
		if err != nil {
			t.Fatal(err)
		}
		return technique.Figure{Tones: []technique.Tone{{At: at, Dur: dur, Pitch: q, Kind: score.Fill}}}
	}
	next := p.line[1].At
	for _, tt := range []struct {
		at, dur theory.Dur
		name    string
		want    bool
	}{
		{next - theory.Quarter, theory.Quarter, "C5", true},
		{next - theory.Quarter, theory.Half, "C5", false}, // under the tune's next note
		{next - theory.Quarter, theory.Half, "F6", false}, // and over it
		{s.Note.At, theory.Quarter, "C6", false},          // over the note that sounds
	} {
		if got := p.fits(fill(tt.at, tt.dur, tt.name), &s); got != tt.want {
			t.Errorf("%s for %v, %v before the tune: %t", tt.name, tt.dur, next-tt.at, got)
		}
	}
}
