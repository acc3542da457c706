package edition_test

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/audit"
	"gradatim/internal/choice"
	"gradatim/internal/edition"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Every eighth sheet of the corpus, and with -short every fortieth, ends at levels 1, 3
// and 5 with the keynote as the lowest note of the left hand's last chord, in the tune's
// last beat and held as long as the tune is; or it is told why not. From level 3 on it lies at C3
// or below.
func TestLastChord(t *testing.T) {
	every := 8
	if testing.Short() {
		every = 40
	}
	ends, told, hollow, high := 0, 0, 0, 0
	for i, path := range sharedtest.Sheets(t) {
		if i%every != 1 {
			continue
		}
		ls := ladder.Levels()
		for _, a := range made(t, load(t, path), edition.Options{Levels: []ladder.Level{ls[0], ls[2], ls[4]}}) {
			if count(a, "ending-open") > 0 {
				told++
				continue
			}
			ends++
			if why := notEnded(a); why != "" {
				t.Errorf("%s, level %d: %s", filepath.Base(path), a.Level.Number, why)
			}
			if a.Level.Number >= 3 && lowest(a).MIDI() > 48 { // C3
				high++
				t.Logf("%s, level %d: the last chord lies on %s", filepath.Base(path), a.Level.Number, lowest(a))
			}
			if isHollow(a) {
				hollow++
				t.Logf("%s, level %d: the last chord has no third", filepath.Base(path), a.Level.Number)
			}
		}
	}
	t.Logf("%d pages end on the tonic, of %d it is told why not", ends, told)
	if hollow > 1+ends/20 { // common practice, no source: a bare fifth is a dance's drone, not its end
		t.Errorf("%d of %d pages end without a third", hollow, ends)
	}
	if high > 1+ends/20 { // common practice, no source: a close stands on a low root
		t.Errorf("%d of %d pages end on a high root", high, ends)
	}
	if told*4 > ends {
		t.Errorf("%d pages end on the tonic, and %d do not", ends, told)
	}
}

// lowest is the lowest note that sounds with the left hand's last strike.
func lowest(a edition.Page) theory.Pitch {
	var low score.Note
	for _, n := range played(a).Notes {
		if n.Hand == score.Left && n.Grace == 0 && (n.At > low.At || n.At == low.At && (low.Dur == 0 || n.Pitch.MIDI() < low.Pitch.MIDI())) {
			low = n
		}
	}
	return low.Pitch
}

// isHollow tells whether nothing of what sounds with the left hand's last strike is the third of
// the last chord, though that has one.
func isHollow(a edition.Page) bool {
	s := played(a)
	last := theory.Dur(0)
	for _, n := range s.Notes {
		if n.Hand == score.Left && n.Grace == 0 {
			last = max(last, n.At)
		}
	}
	ch := s.Chords[len(s.Chords)-1].Chord
	third, ok := ch.Third()
	return ok && !slices.ContainsFunc(s.Notes, func(n score.Note) bool {
		return n.At <= last && n.End() > last && n.Pitch.Class() == third.On(ch.Root).Class()
	})
}

// Every page ends on the chord that the sheet's tune, read without what stands around it, closes
// on: the tonic of the key in which its end is read, where its last note is that or held over that,
// or the root of its last chord that it rests on, unless that only leads back, as is told. Every fourth sheet, with -short every fortieth; and
// the sheets that call their key by another name.
func TestComesHome(t *testing.T) {
	every := sharedtest.Every(40, 4)
	homes := 0
	for i, path := range sharedtest.Sheets(t) {
		name := filepath.Base(path)
		misnamed := slices.ContainsFunc([]string{"joshua", "avalon", "daisy", "funiculi"}, func(s string) bool { return strings.HasPrefix(name, s) })
		if i%every != 2%every && !misnamed {
			continue
		}
		song := load(t, path)
		an := harmony.Analyse(song)
		last := song.Melody[len(song.Melody)-1]
		s, ok := an.SpanAt(last.At)
		if !ok || !s.Sounding() {
			continue
		}
		var home theory.Name
		switch k := s.Key.Tonic; {
		case last.Pitch.Name == k, slices.ContainsFunc(an.Spans, func(s harmony.Span) bool { return s.End > last.At && s.Chord.Root == k }):
			home = k
		case last.Pitch.Name == s.Chord.Root && last.Dur >= song.Bars[song.BarAt(last.At)].Meter.BeatDur():
			home = s.Chord.Root
		default:
			continue
		}
		for _, a := range made(t, song, edition.Options{}) {
			homes++
			if ch := a.Score.Chords[len(a.Score.Chords)-1].Chord; ch.Root != home && (home == s.Key.Tonic || count(a, "ending-plain") == 0) {
				t.Errorf("%s, level %d: it ends on %s, want %s", name, a.Level.Number, ch, home)
			}
		}
	}
	t.Logf("%d pages come home", homes)
	if homes < 10 {
		t.Errorf("only %d pages come home", homes)
	}
}

func notEnded(a edition.Page) string {
	s := played(a)
	var left []score.Note
	for _, n := range s.Notes {
		if n.Hand != score.Left || n.Grace > 0 {
			continue
		}
		if len(left) > 0 && left[0].At < n.At {
			left = left[:0]
		}
		left = append(left, n)
	}
	if len(left) == 0 {
		return "the left hand plays nothing"
	}
	spans := harmony.Analyse(a.Song).Spans
	tonic := spans[len(spans)-1].Key.Tonic
	low := slices.MinFunc(left, func(a, b score.Note) int { return theory.ComparePitch(a.Pitch, b.Pitch) })
	tune := a.Song.Melody[len(a.Song.Melody)-1]
	b := a.Song.Bars[a.Song.BarAt(tune.At)]
	fromEnd := func(at theory.Dur) theory.Dur { return a.Song.End() - at }
	switch {
	case low.Pitch.Class() != tonic.Class():
		return "the lowest note of the last chord is " + low.Pitch.String() + ", not " + tonic.String()
	case s.End()-low.At > fromEnd(tune.At)+b.Meter.BeatDur():
		return "the left hand's last chord comes too early"
	case s.End()-low.End() > max(0, fromEnd(tune.End())):
		return "the last chord is let go before the tune is"
	}
	return ""
}

// Where the tune comes to rest on the keynote and the sheet leads on, or has lost its last
// chord, the piece closes on the tonic and says so; where the sheet says with a bass of
// its own what it wants, or the tune rests elsewhere, it is left alone.
func TestEndsOnTheTonic(t *testing.T) {
	tune := `"C"CEGE|"F"AGFE|"C"CEGE|"G7"GFED|"C"CEGE|"F"AGFE|"G7"GFDB,|`
	for _, tt := range []struct{ name, end, code, last string }{
		{"closed", `"C"C4|]`, "", "C"},
		{"its last chord was forgotten", `C4|]`, "ending-tonic", "C"},
		{"IV", `"F"C4|]`, "ending-tonic", "C"},
		{"vi", `"Am"C4|]`, "ending-tonic", "C"},
		{"a written bass", `"F/A"C4|]`, "ending-open", "F/A"},
		{"no keynote", `"G"D4|]`, "ending-open", "G"},
	} {
		song := sheetOf(t, "X:1\nT:End\nM:4/4\nL:1/4\nK:C\n"+tune+tt.end+"\n")
		for _, a := range made(t, song, edition.Options{Idiom: "folk-song", Levels: ladder.Levels()[:3]}) {
			var codes []string
			for _, p := range a.Problems {
				if strings.HasPrefix(p.Code, "ending-") {
					codes = append(codes, p.Code)
				}
			}
			if got := strings.Join(codes, " "); got != tt.code {
				t.Errorf("%s, level %d: %q is told, want %q", tt.name, a.Level.Number, got, tt.code)
			}
			last := a.Score.Chords[len(a.Score.Chords)-1].Chord
			if tt.last != "" && last.String() != tt.last {
				t.Errorf("%s, level %d: it ends on %s, want %s", tt.name, a.Level.Number, last, tt.last)
			}
			if found := audit.Check(a.Score, audit.Options{Song: &song}); len(found) > 0 {
				t.Errorf("%s, level %d: %v", tt.name, a.Level.Number, found[0])
			}
			if a.Score.End() != song.End() || leadsheet.Problems(a.Problems).Err() != nil {
				t.Errorf("%s, level %d: %v", tt.name, a.Level.Number, a.Problems)
			}
		}
	}
}

// A tune that runs back to its beginning has a bar more at every level, in which the keynote stands over
// the tonic; not where the reader wants no ending, nor where it rests, or ends over its tonic.
func TestRoundTunesClose(t *testing.T) {
	tune := `"Em"E2G Bcd|"B7"B2^d fBf|"Em"e2B GBE|"B7"B2A FBA|"Em"E2G Bcd|"B7"B2^d fBf|"Em"e2B GBE|`
	for _, tt := range []struct {
		name, end string
		how       idiom.Length
		want      bool
	}{
		{"it leads back", `"D"FDF AGF|]`, idiom.LengthByKind, true},
		{"none is wanted", `"D"FDF AGF|]`, idiom.NoLength, false},
		{"it rests", `"D"FDA F3|]`, idiom.LengthByKind, false},
		{"it runs home", `"Em"FDF GFE|]`, idiom.LengthByKind, false},
	} {
		song := sheetOf(t, "X:1\nT:Round\nR:jig\nM:6/8\nL:1/8\nK:Em\n|:"+tune+tt.end[:len(tt.end)-2]+":|\n")
		for _, a := range made(t, song, edition.Options{Idiom: "jig", Ending: tt.how}) {
			last := a.Score.Bars[len(a.Score.Bars)-1]
			if got := last.Part == leadsheet.Tag; got != tt.want {
				t.Errorf("%s, level %d: a bar more %t, want %t", tt.name, a.Level.Number, got, tt.want)
				continue
			}
			if !tt.want {
				continue
			}
			low := theory.Pitch{Octave: 9}
			for _, n := range a.Score.Notes {
				if n.At >= last.At && n.Origin.Kind == score.Melody && n.Pitch.Class() != 4 {
					t.Errorf("%s, level %d: it ends on %s", tt.name, a.Level.Number, n.Pitch)
				}
				if n.At >= last.At && n.Pitch.MIDI() < low.MIDI() {
					low = n.Pitch
				}
			}
			if low.Class() != 4 || count(a, "ending-open") > 0 {
				t.Errorf("%s, level %d: lowest is %s, %v", tt.name, a.Level.Number, low, a.Problems)
			}
		}
	}
}

// Where the tune denies a chord of the sheet, each level plays the plain one that carries it and
// says so; what leans on the next note, what bends in the blues, a bass that the sheet writes
// and a teacher's chord stay. Common practice, no source.
func TestChordsYield(t *testing.T) {
	for _, tt := range []struct{ name, key, bars, kind, sheet, played string }{
		{"the other third", "D", `"D"FAdA|"G"BdBG|"B7"d3d|"D"f4|"A7"e2c2|"D"d4|]`, "reel", "B7", "Bm"},
		{"the fourth step over IV", "C", `"C"EGcG|"F"A2c2|B3B|"C"c4|"G7"d2B2|"C"c4|]`, "folk-song", "F", "Bdim"},
		{"over a bass that steps", "D", `"D"FAdA|"G"BdBG|"A"c2e2|"B"d3d|"A7"e2c2|"D"d4|]`, "reel", "B", "Bm"},
		{"the leading tone", "G", `"G"GBdB|"C"ecBA|"G"G2B2|"G"F4|"G"G4|"D7"A2F2|"G"G4|]`, "folk-song", "G", "D"},
		{"the keynote comes first", "C", `"C"EGcG|"F"A2c2|"G7"B2d2|c2z"C"c|"F"A2c2|"G7"B2d2|"C"c4|]`, "folk-song", "G7", "C"},
		{"it leans", "C", `"C"EGcG|"F"Bc3|A4|"C"c4|"G7"d2B2|"C"c4|]`, "folk-song", "", ""},
		{"a fourth", "C", `"C"EGcG|"G7"c3c|"C"c4|"G7"d2B2|"C"c4|]`, "folk-song", "", ""},
		{"a blue third", "D", `"D"FAdA|"G7"BdBG|"B7"d3d|"D"f4|"A7"e2c2|"D"d4|]`, "blues", "", ""},
		{"a bass of the sheet's", "D", `"D"FAdA|"G"BdBG|"B7/D#"d3d|"D"f4|"A7"e2c2|"D"d4|]`, "reel", "", ""},
	} {
		song := sheetOf(t, "X:1\nT:Rub\nM:4/4\nL:1/4\nK:"+tt.key+"\n"+tt.bars+"\n")
		for _, a := range made(t, song, edition.Options{Idiom: tt.kind, Levels: ladder.Levels()}) {
			i := slices.IndexFunc(a.Problems, func(p leadsheet.Problem) bool { return p.Code == "chord-yields" })
			if want := tt.sheet != ""; want != (i >= 0) {
				t.Errorf("%s, level %d: told %t: %v", tt.name, a.Level.Number, i >= 0, a.Problems)
				continue
			}
			if i < 0 {
				continue
			}
			if at := a.Problems[i].Parts; at[3].(theory.Chord).String() != tt.sheet || at[5].(theory.Chord).String() != tt.played {
				t.Errorf("%s, level %d: %v", tt.name, a.Level.Number, at)
			}
			if found := audit.Check(a.Score, audit.Options{Song: &song}); len(found) > 0 {
				t.Errorf("%s, level %d: %v", tt.name, a.Level.Number, found[0])
			}
		}
		if tt.sheet == "" {
			continue
		}
		c := choice.Choice{Level: 2, At: 8 * theory.Quarter, Until: 16 * theory.Quarter, Fix: choice.Chord{Chord: chordOf(t, tt.sheet)}}
		for _, a := range made(t, song, edition.Options{Idiom: tt.kind, Levels: ladder.Levels()[1:2], Choices: []choice.Choice{c}}) {
			if count(a, "chord-yields") > 0 {
				t.Errorf("%s: a teacher's chord gives way", tt.name)
			}
		}
	}
}

func chordOf(t *testing.T, text string) theory.Chord {
	t.Helper()
	s, err := theory.ParseSymbol(text)
	if err != nil {
		t.Fatal(err)
	}
	return s.Chord
}
