package engrave

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"gradatim/internal/engrave/vector"
)

// song is a tune on two staves with wide syllables on its first beats, and a sign of loudness
// under the words.
func song(bars int) string {
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1">`)
	for i := 1; i <= bars; i++ {
		fmt.Fprintf(&b, `<measure number="%d">`, i)
		if i == 1 {
			b.WriteString(`<attributes><divisions>2</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves>` +
				`<clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef></attributes>`)
		}
		b.WriteString(`<direction placement="below"><direction-type><dynamics><mf/></dynamics></direction-type><staff>1</staff></direction>`)
		for k, s := range []string{"through", "and", "a", "-", "long", "wood", "we", "go"} {
			lyric := ""
			if s != "-" {
				lyric = `<lyric number="1"><syllabic>single</syllabic><text>` + s + `</text></lyric>`
			}
			fmt.Fprintf(&b, `<note><pitch><step>%s</step><octave>4</octave></pitch><duration>1</duration><voice>1</voice><type>eighth</type><staff>1</staff>%s</note>`, "ABAGABAG"[k:k+1], lyric)
		}
		b.WriteString(`<backup><duration>8</duration></backup><note><pitch><step>C</step><octave>3</octave></pitch><duration>8</duration><voice>5</voice><type>whole</type><staff>2</staff></note></measure>`)
	}
	b.WriteString(`</part></score-partwise>`)
	return b.String()
}

// drawnSystems are the systems of a score as the library draws them.
func drawnSystems(t *testing.T, score string) []*vector.Group {
	t.Helper()
	g, ctx := engraver(t), context.Background()
	l, err := Layout{}.plain()
	if err != nil {
		t.Fatal(err)
	}
	p, music, err := g.read(ctx, []byte(score), l)
	if err != nil {
		t.Fatal(err)
	}
	systems, _, err := g.systems(ctx, p, l, music)
	if err != nil {
		t.Fatal(err)
	}
	return systems
}

// crossed counts the words of a system that a bar line runs through, and finds the least
// distance between two of them.
func crossed(system *vector.Group) (n int, least float64) {
	least = math.Inf(1)
	words := boxesOf(system, "syl")
	for i, w := range words {
		for _, b := range boxesOf(system, "barLine") {
			if b.X0 < w.X1 && b.X1 > w.X0 && b.Y0 < w.Y0 && b.Y1 > w.Y1 {
				n++
			}
		}
		for _, o := range words[i+1:] {
			least = min(least, max(o.X0-w.X1, w.X0-o.X1))
		}
	}
	return n, least
}

// Bar lines between the staves run through no words, which still stand apart (common practice,
// no source).
func TestWordsOffBars(t *testing.T) {
	before, after := 0, 0
	for _, s := range drawnSystems(t, song(8)) {
		n, gap := crossed(s)
		before += n
		offBars(s)
		n, now := crossed(s)
		after += n
		if now < min(gap, 0.9*wordGap) {
			t.Errorf("words %.0f apart, before %.0f", now, gap)
		}
	}
	t.Logf("%d words on bar lines, %d before", after, before)
	if after > 0 || before == 0 {
		t.Errorf("%d words on bar lines, %d before: want none, and some", after, before)
	}
}

// A sign of loudness keeps off the word over it (common practice, no source): half a space.
func TestLoudnessOffWords(t *testing.T) {
	found := 0
	for _, s := range drawnSystems(t, song(4)) {
		for _, d := range boxesOf(s, "dynam") {
			for _, w := range boxesOf(s, "syl") {
				if d.X0 < w.X1 && w.X0 < d.X1 {
					found++
					if gap := d.Y0 - w.Y1; gap < space/2 {
						t.Errorf("a sign of loudness %.0f below its word, want %.0f", gap, space/2)
					}
				}
			}
		}
	}
	if found == 0 {
		t.Error("no sign of loudness under a word")
	}
}
