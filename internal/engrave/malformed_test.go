package engrave

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// small is a whole score of two bars, for spoiling.
const small = `<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>
<part id="P1">
<measure number="1"><attributes><divisions>4</divisions><key><fifths>1</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves><clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef></attributes>
<harmony><root><root-step>G</root-step></root><kind text="maj7">major-seventh</kind></harmony>
<note id="a1"><pitch><step>G</step><octave>4</octave></pitch><duration>8</duration><voice>1</voice><type>half</type><staff>1</staff></note>
<note id="a2"><pitch><step>B</step><octave>4</octave></pitch><duration>8</duration><voice>1</voice><type>half</type><staff>1</staff></note>
<backup><duration>16</duration></backup>
<note id="a3"><pitch><step>G</step><octave>3</octave></pitch><duration>16</duration><voice>2</voice><type>whole</type><staff>2</staff></note>
</measure>
<measure number="2">
<note id="b1"><pitch><step>A</step><octave>4</octave></pitch><duration>16</duration><voice>1</voice><type>whole</type><staff>1</staff></note>
<backup><duration>16</duration></backup>
<note id="b2"><pitch><step>D</step><octave>3</octave></pitch><duration>16</duration><voice>2</voice><type>whole</type><staff>2</staff></note>
</measure>
</part></score-partwise>`

// Refusals: each spoils one thing; the code and the place of the answer are
// given. Bars count from 1, lines as in the text above.
func TestRefusals(t *testing.T) {
	tests := []struct {
		name, old, new string
		code           string
		line, bar      int
	}{
		{"empty", small, "", "file-empty", 1, 0},
		{"not XML", small, "hello", "not-musicxml", 1, 0},
		{"cut short", small[600:], "", "xml-truncated", 6, 1},
		{"zero byte", "Piano", "Pi\x00ano", "xml-syntax", 2, 0},
		{"control character", "Piano", "Pi&#1;ano", "xml-syntax", 2, 0},
		{"unknown entity", "Piano", "Pi&foo;ano", "xml-syntax", 2, 0},
		{"wrong end tag", "</note>\n<note id=\"a2\">", "</notes>\n<note id=\"a2\">", "xml-syntax", 6, 1},
		{"deep", small, "<score-partwise>" + strings.Repeat("<a>", 1000), "xml-too-deep", 1, 0},
		{"broken zip", small, "PK\x03\x04garbage", "mxl-damaged", 0, 0},
		{"page of the web", small, "<html><body/></html>", "not-musicxml", 1, 0},
		{"list of scores", small, "<opus/>", "not-musicxml", 1, 0},
		{"no part", small, "<score-partwise><part-list/></score-partwise>", "musicxml-part-missing", 1, 0},
		{"part without bars", small, `<score-partwise><part id="P1"/></score-partwise>`, "musicxml-part-empty", 1, 0},
		{"parts of different length", "</part></score-partwise>", `</part><part id="P2"><measure number="1"/></part></score-partwise>`, "musicxml-parts-uneven", 16, 0},
		{"no divisions in a quarter", "<divisions>4", "<divisions>0", "musicxml-range", 4, 1},
		{"divisions are a word", "<divisions>4", "<divisions>x", "musicxml-number", 4, 1},
		{"negative duration", "<duration>8", "<duration>-8", "musicxml-range", 6, 1},
		{"endless duration", "<duration>8", "<duration>99999999999", "musicxml-range", 6, 1},
		{"duration is a word", "<duration>8", "<duration>eight", "musicxml-number", 6, 1},
		{"duration is NaN", "<duration>8", "<duration>NaN", "musicxml-number", 6, 1},
		{"endless step forward", "<backup><duration>16</duration></backup>", "<forward><duration>160000</duration></forward>", "musicxml-range", 8, 1},
		{"step back without duration", "<backup><duration>16</duration></backup>", "<backup/>", "musicxml-duration", 8, 1},
		{"step H", "<step>G", "<step>H", "musicxml-pitch", 6, 1},
		{"octave 99", "<octave>4", "<octave>99", "musicxml-range", 6, 1},
		{"no octave", "<octave>4</octave>", "", "musicxml-pitch", 6, 1},
		{"alteration 100", "<octave>4", "<alter>100</alter><octave>4", "musicxml-range", 6, 1},
		{"note value", "<type>half", "<type>hoof", "musicxml-type", 6, 1},
		{"tuplet of none", "<type>half</type>", "<type>half</type><time-modification><actual-notes>0</actual-notes><normal-notes>2</normal-notes></time-modification>", "musicxml-range", 6, 1},
		{"tuplet of nothing", "<type>half</type>", "<type>half</type><time-modification/>", "musicxml-tuplet", 6, 1},
		{"key signature", "<fifths>1", "<fifths>99", "musicxml-range", 4, 1},
		{"no beats", "<beats>4", "<beats>0", "musicxml-meter", 4, 1},
		{"third notes", "<beat-type>4", "<beat-type>3", "musicxml-meter", 4, 1},
		{"half a meter", "<beat-type>4</beat-type>", "", "musicxml-meter", 4, 1},
		{"no staves", "<staves>2", "<staves>0", "musicxml-range", 4, 1},
		{"staff 0", "<staff>2", "<staff>0", "musicxml-range", 9, 1},
		{"clef", "<sign>G", "<sign>X", "musicxml-clef", 4, 1},
		{"chord without a first note", `<note id="b1">`, `<note id="b1"><chord/>`, "musicxml-chord", 12, 2},
		{"transposition", "<staves>2</staves>", "<staves>2</staves><transpose><chromatic>9999</chromatic></transpose>", "musicxml-range", 4, 1},
	}
	g := engraver(t)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if !strings.Contains(small, tt.old) {
				t.Fatalf("the score has no %q", tt.old)
			}
			_, err := g.Pages(context.Background(), []byte(strings.Replace(small, tt.old, tt.new, 1)), Layout{})
			var ps leadsheet.Problems
			if !errors.As(err, &ps) || len(ps) == 0 {
				t.Fatalf("got %v, want problems", err)
			}
			p := ps[0]
			if p.Code != tt.code || p.Pos.Line != tt.line || p.Pos.Bar != tt.bar {
				t.Errorf("got %s in line %d, bar %d; want %s in line %d, bar %d\n%v", p.Code, p.Pos.Line, p.Pos.Bar, tt.code, tt.line, tt.bar, ps)
			}
		})
	}
	// After all that the engraver still works.
	pages(t, small, Layout{})
}

// Odd scores that can be drawn are drawn.
func TestTolerated(t *testing.T) {
	tests := []struct{ name, old, new string }{
		{"no list of parts", `<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>`, ""},
		{"unlisted part", `<part id="P1">`, `<part id="P9">`},
		{"no divisions", "<divisions>4</divisions>", ""},
		{"no note value", "<type>half</type>", ""},
		{"no voice", "<voice>2</voice>", ""},
		{"no clef", `<clef number="1"><sign>G</sign><line>2</line></clef>`, ""},
		{"fewer staves than used", "<staves>2</staves>", "<staves>1</staves>"},
		{"same id twice", `id="a2"`, `id="a1"`},
		{"unfit id", `id="a2"`, `id="1 &lt;x"`},
		{"symbol without a root", "<root><root-step>G</root-step></root>", ""},
		{"tie without a start", "<staff>1</staff></note>", `<staff>1</staff><notations><tied type="stop"/></notations></note>`},
		{"slur without an end", "<staff>1</staff></note>", `<staff>1</staff><notations><slur type="start" number="1"/></notations></note>`},
		{"beam without a start", "<staff>1</staff></note>", `<staff>1</staff><beam number="1">end</beam></note>`},
		{"tuplet without an end", "<staff>1</staff></note>", `<staff>1</staff><notations><tuplet type="start" number="1"/></notations></note>`},
		{"half a group of parts", "<part-list>", `<part-list><part-group type="stop" number="1"/><part-group type="start" number="2"/>`},
		{"step back too far", "<duration>16</duration></backup>", "<duration>1600</duration></backup>"},
		{"octave line without a start", `<note id="a1">`, `<direction><direction-type><octave-shift type="stop" size="8"/></direction-type></direction><note id="a1">`},
		{"change of a pedal that is up", `<note id="a1">`, `<direction><direction-type><pedal type="change" line="yes"/></direction-type></direction><note id="a1">`},
		{"words without end", `<note id="a1">`, `<direction><direction-type><words>` + strings.Repeat("word ", 2000) + `</words></direction-type></direction><note id="a1">`},
		{"a byte that is not UTF-8", "Piano", "Pi\xffano"},
		{"forty dots", "<type>half</type>", "<type>half</type>" + strings.Repeat("<dot/>", 40)},
		{"bar by bar", small, `<score-timewise><part-list><score-part id="P1"/></part-list><measure number="1"><part id="P1"><note id="t1"><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration><type>quarter</type></note></part></measure></score-timewise>`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if !strings.Contains(small, tt.old) {
				t.Fatalf("the score has no %q", tt.old)
			}
			d := pages(t, strings.Replace(small, tt.old, tt.new, 1), Layout{Degrees: true})
			if d.Pages() == 0 || len(d.Boxes) == 0 {
				t.Errorf("%d pages, %d boxes", d.Pages(), len(d.Boxes))
			}
		})
	}
}

// A score that is cut off, or has lost a line, is refused or drawn, in time; in
// make soak anywhere, else at a number of places.
func TestSpoiledEverywhere(t *testing.T) {
	g := engraver(t)
	try := func(s string) {
		start := time.Now()
		d, err := g.Pages(context.Background(), []byte(s), Layout{})
		if err == nil && d.Pages() == 0 {
			t.Errorf("no page and no error:\n%s", s)
		}
		if el := time.Since(start); el > 20*time.Second {
			t.Errorf("%s for:\n%s", el, s)
		}
	}
	for i := 0; i < len(small); i += 97 * sharedtest.Every(10, 4) {
		try(small[:i])
	}
	element := 0
	// Take every element of the two bars out, one at a time.
	for i := 0; i < len(small); i++ {
		if small[i] != '<' || small[i+1] == '/' || small[i+1] == '?' {
			continue
		}
		if element++; element%sharedtest.Every(20, 4) != 0 {
			continue
		}
		name := small[i+1:]
		name = name[:strings.IndexAny(name, " >/")]
		end := strings.Index(small[i:], "</"+name+">")
		if end < 0 {
			continue
		}
		try(small[:i] + small[i+end+len(name)+3:])
	}
	pages(t, small, Layout{})
}
