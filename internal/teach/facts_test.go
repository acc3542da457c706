package teach

import (
	"strings"
	"testing"

	"gradatim/internal/harmony"
	"gradatim/internal/scoretest"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// What a lesson says of a page, held against pages so small that it can be counted.

func smallPage(t *testing.T, text string) *page {
	t.Helper()
	s, err := scoretest.Parse(strings.ReplaceAll(text, ";", "\n"))
	if err != nil {
		t.Fatal(err)
	}
	p := newPage(Page{Score: s})
	p.words = words.Must("en")
	return &p
}

func english() *writer { return &writer{words: words.Must("en")} }

// TestSignatures: the sharps in the order F C G D A E B, the flats the other way round
// (any primer of notation).
func TestSignatures(t *testing.T) {
	sharps, flats := strings.Fields("F♯ C♯ G♯ D♯ A♯ E♯ B♯"), strings.Fields("B♭ E♭ A♭ D♭ G♭ C♭ F♭")
	for f := -7; f <= 7; f++ {
		got := strings.ReplaceAll(english().signature(smallPage(t, "R1 C5:1"), theory.KeyOf(f, theory.Major)), " and ", ", ")
		got = strings.ReplaceAll(got, ",,", ",")
		_, names, _ := strings.Cut(strings.TrimSuffix(got, "."), ": ")
		want := ""
		switch {
		case f > 0:
			want = strings.Join(sharps[:f], ", ")
		case f < 0:
			want = strings.Join(flats[:-f], ", ")
		}
		if names != want {
			t.Errorf("%+d: %q, want %q", f, names, want)
		}
	}
}

// TestCounting: what is said aloud in a bar (common practice, no source).
func TestCounting(t *testing.T) {
	for _, tt := range []struct {
		beats, unit int
		shortest    theory.Dur
		want        string
	}{
		{4, 4, theory.Half, "1 2 3 4"}, {4, 4, theory.Quarter, "1 2 3 4"}, {4, 4, theory.Eighth, "1 and 2 and 3 and 4 and"},
		{3, 4, theory.Sixteenth, "1 e and a 2 e and a 3 e and a"}, {2, 2, theory.Half, "1 2"}, {2, 2, theory.Quarter, "1 and 2 and"},
		{6, 8, theory.Eighth, "1 2 3 4 5 6"}, {9, 8, theory.Eighth, "1 2 3 4 5 6 7 8 9"},
	} {
		if got := meterCount(words.Must("en"), leadsheet.Meter{Beats: tt.beats, Unit: tt.unit}, tt.shortest); got != tt.want {
			t.Errorf("%d/%d down to %s: %q, want %q", tt.beats, tt.unit, tt.shortest, got, tt.want)
		}
	}
	p := smallPage(t, "R1 C5:1/8 C5:1/4 C5:3/8 C5:1/4 C5:1/2 C5:1/2")
	var got []string
	for _, n := range p.Score.Notes {
		got = append(got, english().beats(p.Score, n))
	}
	if text := strings.Join(got, ", "); text != "half a beat, 1 beat, 1½ beats, 1 beat, 2 beats, 2 beats" {
		t.Error(text)
	}
	p = smallPage(t, "meter 6/8; R1 C5:3/8 C5:3/8 C5:3/4 C5:1/2 C5:1/4")
	got = nil
	for _, n := range p.Score.Notes {
		got = append(got, english().beats(p.Score, n))
	}
	if text := strings.Join(got, ", "); text != "1 beat, 1 beat, 2 beats, more than 1 beat, more than 0 beats" {
		t.Error(text)
	}
}

// TestWhatAPageAsks counts ties, note values, offbeats, widths and leaps.
func TestWhatAPageAsks(t *testing.T) {
	w := english()
	p := smallPage(t, "R1 C5:1/4 D5:1/4 E5:1/2 F5:1/2 G5:3/4 C5:1/4 A5:1/2; L1 C3:1 <C2+G2>:1/2 <C3+E3+A3>:1/2 F2:1")
	for i := range p.Score.Notes {
		if n := &p.Score.Notes[i]; n.Hand == score.Right {
			n.Origin.Kind = score.Melody
		}
	}
	said := map[string]string{}
	for _, it := range w.handItems(p) {
		said[it.of] = it.Text
	}
	for key, want := range map[string]string{
		"range":       "From C5 to A5.",
		"chords-left": "Up to 3 notes at once in the left hand, no wider than a major sixth.",
		"leaps":       "The widest, into bar 2, is an octave.", // from C3 down to C2
	} {
		if said[key] != want {
			t.Errorf("%s: %q, want %q", key, said[key], want)
		}
	}
	if _, ok := said["chords-right"]; ok {
		t.Errorf("a single line is told as chords: %v", said)
	}
	if it, ok := w.tieItem(p); !ok || it.Text != "From bar 2 into the next." {
		t.Errorf("ties: %+v", it)
	}
	if got := w.valueItem(p).Text; got != "Whole, dotted half, half and quarter notes." {
		t.Errorf("values: %q", got)
	}
	if hasOffbeats(p.Score) {
		t.Error("nothing is off the beat")
	}
	q := smallPage(t, "R1 C5:1/8 D5:1/4 E5:1/8 F5:1/12 G5:1/12 A5:1/12 r:1/4; L1 C3:1/2 F3:1/2")
	if !hasOffbeats(q.Score) {
		t.Error("D5 is off the beat")
	}
	if got := w.valueItem(q).Text; !strings.Contains(got, "triplets") {
		t.Errorf("values: %q", got)
	}
	if _, ok := w.tieItem(q); ok {
		t.Error("no note is held over a bar line")
	}
	for _, it := range w.handItems(q) {
		if it.of == "leaps" || it.of == "chords-left" {
			t.Errorf("%s", it.Text)
		}
	}
}

// TestTuneLookedUp finds the tune's note at, before, near and after a moment.
func TestTuneLookedUp(t *testing.T) {
	p := smallPage(t, "R1 C5:1/4 r:1/4 E5:1/2 F5:1/2 r:1/2 r:1 r:1 A5:1; L1 C3:1 C3:1 C3:1 C3:1 C3:1; chord 0 C; chord 1 F")
	for b := range p.byBar {
		for i := range p.byBar[b] {
			if n := &p.byBar[b][i]; n.Hand == score.Right {
				n.Origin.Kind = score.Melody
			} else {
				n.Origin.Kind = score.Bass
			}
		}
	}
	q := theory.Quarter
	name := func(n score.Note, ok bool) string {
		if !ok {
			return "-"
		}
		return n.Pitch.String()
	}
	for _, tt := range []struct {
		at                        theory.Dur
		now, before, near, after_ string
	}{
		{0, "C5", "-", "C5", "C5"},
		{q - 1, "C5", "-", "C5", "C5"},
		{q, "-", "C5", "E5", "E5"},
		{2 * q, "E5", "C5", "E5", "E5"},
		{4 * q, "F5", "E5", "F5", "F5"},
		{6 * q, "-", "F5", "-", "A5"},
		{12 * q, "-", "F5", "-", "A5"},
		{13 * q, "-", "F5", "-", "A5"}, // two bars after its own
		{19 * q, "A5", "-", "A5", "A5"},
	} {
		got := [...]string{name(p.tuneAt(tt.at)), name(p.tuneBefore(tt.at)), name(p.tuneNear(tt.at, tt.at+2*q)), name(p.tuneAfter(tt.at))}
		if want := [...]string{tt.now, tt.before, tt.near, tt.after_}; got != want {
			t.Errorf("at %s: %v, want %v", tt.at, got, want)
		}
	}
	if n, ok := p.tuneNear(q, 2*q); ok {
		t.Errorf("%s is struck as the time is over", n.Pitch)
	}
	if !p.tuneStruck(2*q) || p.tuneStruck(3*q) || p.tuneStruck(q) {
		t.Error("E5 is struck on the third beat")
	}
	if !p.tuneBelongs(0, q) || !p.tuneBelongs(4*q, 5*q) || !p.tuneBelongs(16*q, 17*q) || p.tuneBelongs(8*q, 9*q) {
		t.Error("C over C, F and A over F, and nothing over a rest")
	}
}

// TestPhraseRanks: what is hardest comes first, a repeat last.
func TestPhraseRanks(t *testing.T) {
	ps := []Phrase{{From: 1, To: 4}, {From: 5, To: 8}, {From: 9, To: 12, like: likeness{phrase: 1}}, {From: 13, To: 16, like: likeness{phrase: 1, butEnd: true}}, {From: 17, To: 20}}
	rank(ps, []hardPlace{{row: 3}, {row: 0}})
	var got []int
	for _, p := range ps {
		got = append(got, p.Rank)
	}
	want := []int{2, 3, 5, 1, 4}
	for i := range want {
		if got[i] != want[i] {
			t.Fatalf("ranks %v, want %v", got, want)
		}
	}
}

// TestSteps: the tempo steps of practice, rounded to the nearest beat a minute.
func TestSteps(t *testing.T) {
	p := smallPage(t, "tempo 113; R1 C5:1")
	var got []int
	for _, s := range p.steps() {
		got = append(got, s.Tempo.PerMinute)
	}
	if len(got) != 4 || got[0] != 68 || got[1] != 85 || got[2] != 102 || got[3] != 113 {
		t.Errorf("%v: 60, 75, 90 and 100 percent of 113", got)
	}
	p.Score.Tempo = leadsheet.Tempo{} // without a mark, a hundred quarters a minute
	if d := p.seconds()(theory.Whole) - 2.4; d < -1e-9 || d > 1e-9 {
		t.Errorf("without a tempo a bar takes %v s", p.seconds()(theory.Whole))
	}
	p.Score.Tempo = leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 113}
	at := p.seconds()
	if d := at(theory.Whole) - 4*60.0/113; d < -1e-9 || d > 1e-9 {
		t.Errorf("a bar takes %v s", at(theory.Whole))
	}
}

// TestChordLine names the chords that sound in a bar, with their place in the key.
func TestChordLine(t *testing.T) {
	p := smallPage(t, "chord 0 C; chord 1/2 A7; chord 1 Dm7; chord 2 G7; R1 C5:1 C5:1 C5:1 C5:1")
	w := english()
	w.key = theory.KeyOf(0, theory.Major)
	w.in.Analysis = harmony.Analysis{}
	for i, want := range [][]string{{"C", "A7", "V7/ii"}, {"Dm7", "ii7"}, {"G7", "V7"}, {"G7", "V7"}} {
		got := w.chordLine(p, p.Score.Bars[i])
		for _, x := range want {
			if !strings.Contains(got, x) {
				t.Errorf("bar %d: %q lacks %s", i+1, got, x)
			}
		}
		if i == 1 && strings.Contains(got, "A7") || i > 1 && strings.Contains(got, "Dm7") {
			t.Errorf("bar %d: %q", i+1, got)
		}
		if in := strings.Join(p.chordsIn(p.Score.Bars[i]), " "); in != []string{"C A7", "Dm7", "G7", "G7"}[i] {
			t.Errorf("bar %d: %s", i+1, in)
		}
	}
}

// TestCalled names a note by what it is to its chord; far above the bass a third is a
// tenth.
func TestCalled(t *testing.T) {
	p := smallPage(t, "chord 0 C7/G; R1 E5:1/4 Bb5:1/4 D5:1/4 G5:1/4")
	var got []string
	for _, n := range p.Score.Notes {
		got = append(got, p.called(n, false)+" / "+p.called(n, true))
	}
	for i, want := range []string{"E (third) / E (tenth)", "B♭ (minor seventh) / B♭ (minor seventh)", "D / D", "G (fifth) / G (fifth)"} {
		if got[i] != want {
			t.Errorf("%q, want %q", got[i], want)
		}
	}
}
