package harmony

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// fours is a phrase of n bars that rests in the last: quarters, then a half note
// and what is given.
func bars(n int, chords ...string) string {
	notes := []string{"C4", "E4", "G4", "A4", "B4", "D5"}
	var b strings.Builder
	for i := range n {
		if i < len(chords) && chords[i] != "" {
			fmt.Fprintf(&b, "[%s] ", chords[i])
		}
		if i == n-1 {
			fmt.Fprintf(&b, "%s:1 | ", "C5")
			continue
		}
		for k := range 4 {
			fmt.Fprintf(&b, "%s:1/4 ", notes[(i*i+3*k)%len(notes)])
		}
		b.WriteString("| ")
	}
	return b.String()
}

func lengths(a Analysis) string {
	var w []string
	for _, p := range a.Phrases {
		w = append(w, fmt.Sprint(p.Last-p.First+1))
	}
	return strings.Join(w, " ")
}

// Lengths of phrases where the tune rests plainly. Common practice, no source.
func TestPhraseLengths(t *testing.T) {
	for _, tt := range []struct {
		name, text, want string
	}{
		{"fours", bars(4) + bars(4) + bars(4) + bars(4), "4 4 4 4"},
		{"fourteen", bars(4) + bars(4) + bars(6), "4 4 6"},
		{"seventeen", bars(4) + bars(4) + bars(4) + bars(5), "4 4 4 5"},
		{"fives", bars(5) + bars(5), "5 5"},
		{"threes", bars(3) + bars(3) + bars(4), "6 4"},
		{"one bar", "C4:1 |", "1"},
		{"two bars", bars(2), "2"},
		{"no breath", strings.Repeat("C4:1/4 D4:1/4 E4:1/4 F4:1/4 | ", 16), "8 8"},
		{"empty bars", strings.Repeat("r:1 | ", 8), "8"},
	} {
		s := song(t, "4/4", "C", tt.text)
		if got := lengths(Analyse(s)); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
}

// A section mark or a jump between written bars ends a phrase wherever it stands.
func TestPhraseFollowsTheSheet(t *testing.T) {
	run := strings.Repeat("C4:1/4 D4:1/4 E4:1/4 F4:1/4 | ", 7)
	s := song(t, "4/4", "C", "{A} "+run+"{B} "+run)
	if got := lengths(Analyse(s)); got != "7 7" {
		t.Errorf("sections of seven: %s", got)
	}
	s = song(t, "4/4", "C", run+run)
	for i := range s.Bars {
		s.Bars[i].Written = i % 7
	}
	if got := lengths(Analyse(s)); got != "7 7" {
		t.Errorf("repeated sevens: %s", got)
	}
}

// A pick-up belongs to what it leads into. Common practice, no source.
func TestPhrasePickups(t *testing.T) {
	phrase := "C5:1/4 B4:1/4 A4:1/4 G4:1/4 | A4:1/4 B4:1/4 C5:1/4 D5:1/4 | E5:1/4 D5:1/4 C5:1/4 B4:1/4 | C5:3/4 %s | "
	s := song(t, "4/4", "C", "G4:1/8 A4:1/8 | "+strings.Repeat(fmt.Sprintf(phrase, "G4:1/8 A4:1/8"), 3)+fmt.Sprintf(phrase, "r:1/4"))
	a := Analyse(s)
	if got := lengths(a); got != "5 4 4 4" { // the first has the pick-up bar too
		t.Fatalf("lengths %s", got)
	}
	for i, p := range a.Phrases {
		if first := s.Melody[p.From]; first.Pitch.String() != "G4" || first.Dur != theory.Eighth {
			t.Errorf("phrase %d begins with %s at %s", i+1, first.Pitch, where(s, first.At))
		}
		if goal := s.Melody[p.Goal]; goal.Pitch.String() != "C5" {
			t.Errorf("phrase %d closes on %s", i+1, goal.Pitch)
		}
	}
	for _, g := range a.Gaps {
		for _, n := range s.Melody {
			if n.At >= g.At && n.At < g.End {
				t.Errorf("gap %s–%s covers %s at %s", where(s, g.At), where(s, g.End), n.Pitch, where(s, n.At))
			}
		}
	}
}

// A pick-up that is filled up with rests is one, wherever the song begins.
func TestPhrasePaddedPickup(t *testing.T) {
	phrase := "C5:1/4 B4:1/4 A4:1/4 G4:1/4 | A4:1/4 B4:1/4 C5:1/4 D5:1/4 | E5:1/4 D5:1/4 C5:1/4 B4:1/4 | C5:3/4 %s | "
	s := song(t, "4/4", "C", "r:3/4 G4:1/8 A4:1/8 | "+strings.Repeat(fmt.Sprintf(phrase, "G4:1/8 A4:1/8"), 3)+fmt.Sprintf(phrase, "r:1/4"))
	for _, x := range []leadsheet.Song{s, timed(s, 3*theory.Whole, 1)} {
		if b := newBoundaries(x, spans(x)); b.opening != barUnit {
			t.Errorf("the opening is %d", b.opening)
		}
		if got := lengths(Analyse(x)); got != "5 4 4 4" {
			t.Errorf("lengths %s", got)
		}
	}
	if b := newBoundaries(song(t, "4/4", "C", "r:1/4 G4:3/4 | C5:1"), nil); b.opening != 0 {
		t.Errorf("a rest of one beat makes a pick-up of %d", b.opening)
	}
}

// A tune breathes at a rest or a long note, and not while a note sounds across the line.
func TestBreath(t *testing.T) {
	at := func(bars string) int {
		s := song(t, "4/4", "C", bars)
		return newBoundaries(s, spans(s)).strength[1]
	}
	run := "C4:1/4 D4:1/4 E4:1/4 F4:1/4"
	tied := at("C4:1/8 D4:1/8 E4:1/8 D4:1/8 C4:1/8 D4:1/8 E4:1/8 F4:1/8~ | F4:1/8 D4:1/8 E4:1/4 G4:1/4 F4:1/4 | D4:1/4 C4:3/4")
	even := at(run + " | D4:1/4 E4:1/4 G4:1/4 F4:1/4 | D4:1/4 C4:3/4")
	held := at("C4:1/4 D4:1/4 F4:1/2 | D4:1/4 E4:1/4 G4:1/4 F4:1/4 | D4:1/4 C4:3/4")
	long := at("C4:1/4 F4:3/4 | D4:1/4 E4:1/4 G4:1/4 F4:1/4 | D4:1/4 C4:3/4")
	rest := at("C4:1/4 D4:1/4 F4:1/4 r:1/4 | D4:1/4 E4:1/4 G4:1/4 F4:1/4 | D4:1/4 C4:3/4")
	whole := at("F4:1 | D4:1/4 E4:1/4 G4:1/4 F4:1/4 | D4:1/4 C4:3/4")
	if !(tied < 0 && even >= 0 && even < held && held < long && held < rest && long < whole) {
		t.Errorf("tied %d, even %d, held %d, long %d, rest %d, whole %d", tied, even, held, long, rest, whole)
	}
}

// A gap is measured by the beat of its own bar.
func TestGapsWhereTheMetreChanges(t *testing.T) {
	for _, tt := range []struct {
		first, second leadsheet.Meter
		want          int
	}{
		{leadsheet.Meter{Beats: 4, Unit: 4}, leadsheet.Meter{Beats: 6, Unit: 8}, 0},
		{leadsheet.Meter{Beats: 6, Unit: 8}, leadsheet.Meter{Beats: 4, Unit: 4}, 1},
	} {
		s := song(t, "4/4", "C", "C4:1/4 D4:1/4 E4:1/8 F4:1/8 | G4:1/4 r:1/4 E4:1/8 F4:1/8")
		s.Bars[0].Meter, s.Bars[1].Meter, s.Bars[0].Pickup = tt.first, tt.second, false
		rests := 0
		for _, g := range Analyse(s).Gaps {
			if !g.Held {
				rests++
			}
		}
		if rests != tt.want {
			t.Errorf("%v, then %v: %d gaps in rests, want %d", tt.first, tt.second, rests, tt.want)
		}
	}
}

// A bar split by a repeat with pick-up counts as one.
func TestPhraseSplitBars(t *testing.T) {
	full := "C5:1/4 B4:1/4 A4:1/4 G4:1/4 | A4:1/4 B4:1/4 C5:1/4 D5:1/4 | E5:1/4 D5:1/4 C5:1/4 B4:1/4 | "
	s := song(t, "4/4", "C", "G4:1/4 | "+full+"C5:3/4 | G4:1/4 | "+full+"C5:3/4 |")
	for i, w := range []int{0, 1, 2, 3, 4, 0, 1, 2, 3, 4} {
		s.Bars[i].Written = w
	}
	s.Bars[5].Pickup = true
	if got := lengths(Analyse(s)); got != "5 5" {
		t.Errorf("lengths %s", got)
	}
}

// Cadences: the five kinds of any harmony course. Common practice, no source.
func TestCadences(t *testing.T) {
	for _, tt := range []struct{ key, chords, want, close string }{
		{"C", "C F G7 C", "authentic", "C"},
		{"Am", "Am Dm E7 Am", "authentic", "A"},
		{"C", "C Dm7 Db7 C", "authentic", "C"},
		{"C", "C F Fm C", "plagal", "C"},
		{"C", "C Am F C", "plagal", "C"},
		{"C", "C F Dm G7", "half", "G"},
		{"C", "C Am D7 G", "half", "G"},
		{"C", "C F G7 Am", "deceptive", "A"},
		{"Am", "Am Dm E7 F", "deceptive", "F"},
		{"Am", "Am Dm G7 C", "authentic", "C"}, // in the relative major
		{"D mixolydian", "D G C D", "authentic", "D"},
		{"C", "C Em A7 Dm", "authentic", "D"}, // on ii, which its own dominant has made one
		{"C", "C Em A7 F", "none", "F"},
		{"C", "C Am Em F", "none", "F"},
		{"C", "C", "none", "C"},
		{"C", "C F H? C", "none", "C"},
	} {
		a := Analyse(song(t, "4/4", tt.key, bars(4, strings.Fields(tt.chords)...)))
		if p := a.Phrases[0]; p.Cadence.String() != tt.want || p.Close.String() != tt.close {
			t.Errorf("%s: %s: %s on %s, want %s on %s", tt.key, tt.chords, p.Cadence, p.Close, tt.want, tt.close)
		}
	}
}

// The tonic may come under the held last note, and a turnaround after it does not
// change the close.
func TestCadenceAtTheGoal(t *testing.T) {
	a := Analyse(song(t, "4/4", "C", "[C] C4:1/4 D4:1/4 E4:1/4 F4:1/4 | [F] A4:1 | [Dm] F4:1 | [G7sus4] C5:1/2~ [C] C5:1/2"))
	if got := a.Phrases[0].Cadence; got != Authentic {
		t.Errorf("tonic under a held note: %s", got)
	}
	a = Analyse(song(t, "4/4", "C", "[C] C4:1/4 D4:1/4 E4:1/4 F4:1/4 | [F] A4:1 | [G7] B4:1 | [C] C5:1/4 r:1/4 [G7] r:1/2"))
	if got := a.Phrases[0].Cadence; got != Authentic {
		t.Errorf("turnaround: %s", got)
	}
}

func TestHarmonicRhythm(t *testing.T) {
	a := Analyse(song(t, "4/4", "C", "[C] C4:1/2 [G7] D4:1/2 | [C] E4:1/2 [F] F4:1/2 | [C] G4:1 | [G7] G4:1/2 [C] C4:1/2"))
	if got := a.Phrases[0].Rhythm; got != theory.Half {
		t.Errorf("a chord lasts %s", got)
	}
}

func TestGaps(t *testing.T) {
	for _, tt := range []struct{ name, meter, text, want string }{
		{"held and rest", "4/4", "C4:1/2 D4:1/4 r:1/4 | E4:3/4 r:1/4 | C4:1", "1:2–1:3 held 0; 1:4–2:1 rest 1; 2:2–2:4 held 2; 2:4–3:1 rest 2; 3:2–3:5 held 3!"},
		{"short notes", "4/4", "C4:1/4 D4:1/4 E4:1/4 F4:1/4 | G4:1/4 r:1/8 A4:1/8 G4:1/4 F4:1/4", ""},
		{"before the tune", "4/4", "r:1/2 C4:1/4 D4:1/4 | E4:1", "1:1–1:3 rest -1; 2:2–2:5 held 2!"},
		{"compound", "6/8", "C4:3/8 D4:3/8 | E4:3/4", "2:2–2:3 held 2!"},
		{"phrase end of a beat and a half", "4/4", "C4:1/4 D4:1/4 E4:1/4 F4:1/4 | G4:5/8 E4:3/8", "2:2–2:3.5 held 4; 2:4.5–2:5 held 5!"},
		{"all rest", "3/4", "r:3/4 | r:3/4", "1:1–2:4 rest -1"},
	} {
		s := song(t, tt.meter, "C", tt.text)
		var w []string
		for _, g := range Analyse(s).Gaps {
			how, end := "rest", ""
			if g.Held {
				how = "held"
				if g.PhraseEnd {
					end = "!"
				}
			}
			w = append(w, fmt.Sprintf("%s–%s %s %d%s", where(s, g.At), where(s, g.End), how, g.After, end))
		}
		if got := strings.Join(w, "; "); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
}

func TestSpans(t *testing.T) {
	s := song(t, "4/4", "C", "C4:1/4 | [C] C4:1 | C4:1/2 [C] C4:1/2 | [Xyz] C4:1/2 [Xyz] C4:1/4 [Qrs] C4:1/4 | K=Am [NC] C4:1 | [F] C4:1 | K=F C4:1")
	var w []string
	for _, sp := range Analyse(s).Spans {
		w = append(w, fmt.Sprintf("%s–%s %s %d %v%v %s", where(s, sp.At), where(s, sp.End), sp.Chord, sp.Mark, sp.Unknown, sp.Silent, sp.Key))
	}
	want := []string{
		"0:4–1:1 N.C. -1 falsetrue C major",
		"1:1–3:1 C 0 falsefalse C major",
		"3:1–3:4 N.C. 2 truefalse C major",
		"3:4–4:1 N.C. 4 truefalse C major",
		"4:1–5:1 N.C. 5 falsetrue A minor",
		"5:1–6:1 F 6 falsefalse A minor",
		"6:1–6:5 F 6 falsefalse F major",
	}
	if got := strings.Join(w, "\n"); got != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", got, strings.Join(want, "\n"))
	}
	a := Analyse(s)
	for _, tt := range []struct {
		at   theory.Dur
		want int
	}{{-1, -1}, {0, 0}, {theory.Quarter, 1}, {s.End() - 1, 6}, {s.End(), -1}} {
		if got := a.SpanIndex(tt.at); got != tt.want {
			t.Errorf("span at %s: %d, want %d", tt.at, got, tt.want)
		}
		if _, ok := a.SpanAt(tt.at); ok != (tt.want >= 0) {
			t.Errorf("SpanAt(%s): %v", tt.at, ok)
		}
	}
}

// Two marks at one place: the last written counts.
func TestSpansDoubledMark(t *testing.T) {
	s := song(t, "4/4", "C", "[C] C4:1 | [F] [C] C4:1 | [G] C4:1")
	a := Analyse(s)
	if len(a.Spans) != 2 || a.Spans[0].End != 2*theory.Whole || a.Spans[1].Chord != chord(t, "G") {
		t.Errorf("%+v", a.Spans)
	}
}

func TestAnalyseNothing(t *testing.T) {
	a := Analyse(leadsheet.Song{})
	if len(a.Spans)+len(a.Phrases)+len(a.Roles)+len(a.Gaps) != 0 {
		t.Errorf("%+v", a)
	}
}

// Four bars are best, then eight; a bar more or less than either costs, and beyond
// sixteen the longer the dearer. A part of a bar costs, too.
func TestLengthCost(t *testing.T) {
	at := func(bars int) int { return lengthCost(bars*barUnit, false) }
	for n := 1; n < 40; n++ {
		if n != 4 && at(n) <= at(4) || n != 4 && n != 8 && at(n) <= at(8) {
			t.Errorf("%d bars cost %d, four %d, eight %d", n, at(n), at(4), at(8))
		}
		if n >= 16 && at(n+1) <= at(n) {
			t.Errorf("%d bars cost %d, one more %d", n, at(n), at(n+1))
		}
		if more, less := lengthCost(n*barUnit+6, false), lengthCost(n*barUnit-6, false); more <= at(n) || less <= at(n) || more != less {
			t.Errorf("%d bars cost %d, a quarter of one more %d, less %d", n, at(n), more, less)
		}
	}
	if lengthCost(2*barUnit, true) >= at(2) || lengthCost(4*barUnit, true) != at(4) {
		t.Error("two long bars hold as much as others in four")
	}
}

// Where nothing breathes, a phrase begins with the note on its bar line.
func TestPhraseBeginsOnItsBarLine(t *testing.T) {
	s := song(t, "4/4", "C", strings.Repeat("C4:1/4 D4:1/4 E4:1/4 F4:1/4 | ", 16))
	a := Analyse(s)
	for i, p := range a.Phrases {
		if s.Melody[p.From].At != p.At {
			t.Errorf("phrase %d begins with the note at %s", i+1, where(s, s.Melody[p.From].At))
		}
		for _, at := range []theory.Dur{p.At, p.End - 1} {
			if got := a.PhraseAt(at); got != i {
				t.Errorf("%s is in phrase %d, not %d", where(s, at), got+1, i+1)
			}
		}
	}
	if a.PhraseAt(-1) != -1 || a.PhraseAt(s.End()) != -1 {
		t.Error("outside the song there is no phrase")
	}
}

// Two bars are alike in their tune, or in their rhythm alone; an empty one is like none.
func TestBarPrints(t *testing.T) {
	s := song(t, "4/4", "C", "C4:1/2 E4:1/2 | D4:1/2 E4:1/2 | C4:1/2 E4:1/2 | C4:1/2 D4:1/2 | C4:1/4 E4:3/4 | r:1 | r:1 | r:1/2 E4:1/2 | C4:1/4 E4:1/4 C4:1/2")
	tunes, rhythms := barPrints(s)
	for _, tt := range []struct {
		a, b         int
		tune, rhythm bool
	}{{0, 2, true, true}, {0, 1, false, true}, {0, 3, false, true}, {0, 4, false, false}, {5, 6, false, false}, {0, 7, false, false}, {4, 8, false, false}} {
		if got := tunes[tt.a] == tunes[tt.b]; got != tt.tune {
			t.Errorf("tunes of bars %d and %d alike: %v", tt.a+1, tt.b+1, got)
		}
		if got := rhythms[tt.a] == rhythms[tt.b]; got != tt.rhythm {
			t.Errorf("rhythms of bars %d and %d alike: %v", tt.a+1, tt.b+1, got)
		}
	}
}

// What the sheet itself writes is the strongest sign of a boundary: a section before a
// repeat, that before a new key, that before a pick-up bar; a pick-up does not part from
// what it leads to.
func TestWrittenSigns(t *testing.T) {
	plain := func() leadsheet.Song {
		s := song(t, "4/4", "C", "C4:1 | D4:1 | E4:1")
		for i := range s.Bars {
			s.Bars[i].Written, s.Bars[i].Line = i, 1
		}
		return s
	}
	weigh := func(change func(before, bar *leadsheet.Bar)) int {
		s := plain()
		change(&s.Bars[1], &s.Bars[2])
		return written(s, 2)
	}
	nothing := weigh(func(_, _ *leadsheet.Bar) {})
	section := weigh(func(_, b *leadsheet.Bar) { b.Section = "B" })
	repeat := weigh(func(_, b *leadsheet.Bar) { b.Written = 0 })
	key := weigh(func(_, b *leadsheet.Bar) { b.Key = theory.KeyOf(2, theory.Major) })
	pickup := weigh(func(_, b *leadsheet.Bar) { b.Pickup = true })
	meter := weigh(func(_, b *leadsheet.Bar) { b.Meter.Beats = 3 })
	line := weigh(func(_, b *leadsheet.Bar) { b.Line = 2 })
	if !(section > repeat && repeat > key && key > pickup && pickup > meter && meter > line && line > nothing && nothing == 0) {
		t.Errorf("section %d, repeat %d, key %d, pick-up %d, metre %d, line %d, nothing %d", section, repeat, key, pickup, meter, line, nothing)
	}
	if ending := weigh(func(_, b *leadsheet.Bar) { b.Written = 9 }); ending != 0 {
		t.Errorf("a jump forwards is only another ending: %d", ending)
	}
	if torn := weigh(func(a, _ *leadsheet.Bar) { a.Pickup = true }); torn >= 0 {
		t.Errorf("after a pick-up: %d", torn)
	}
	// A line of one bar was broken because the sheet writes so, and says nothing.
	if each := weigh(func(a, b *leadsheet.Bar) { a.Line, b.Line = 2, 3 }); each != 0 {
		t.Errorf("a bar to a line: %d", each)
	}
	if unknown := weigh(func(a, b *leadsheet.Bar) { a.Line, b.Line = 0, 2 }); unknown != 0 {
		t.Errorf("an unknown line: %d", unknown)
	}
}
