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
