package musicxml

import (
	"fmt"
	"strings"
	"testing"
)

// longSheet is a lead sheet of n bars: four notes and a chord symbol in each.
func longSheet(n int) []byte {
	var b strings.Builder
	b.WriteString(scoreHead)
	for i := range n {
		fmt.Fprintf(&b, `<measure number="%d">`, i+1)
		if i == 0 {
			b.WriteString(start)
		}
		b.WriteString(`<harmony><root><root-step>C</root-step></root><kind text="7">dominant</kind></harmony>`)
		for k := range 4 {
			fmt.Fprintf(&b, `<note><pitch><step>%c</step><octave>4</octave></pitch><duration>4</duration><voice>1</voice><type>quarter</type><stem>up</stem><lyric number="1"><syllabic>single</syllabic><text>la</text></lyric></note>`, "CDEFGAB"[(i+k)%7])
		}
		b.WriteString("</measure>")
	}
	b.WriteString(scoreTail)
	return []byte(b.String())
}

// longScore is a piano score of n bars: eight notes in the right hand and four
// chords of three in the left.
func longScore(n int) []byte {
	var b strings.Builder
	b.WriteString(scoreHead)
	for i := range n {
		fmt.Fprintf(&b, `<measure number="%d">`, i+1)
		if i == 0 {
			b.WriteString(strings.Replace(start, "</attributes>", "<staves>2</staves></attributes>", 1))
		}
		for k := range 8 {
			fmt.Fprintf(&b, `<note id="r%d-%d"><pitch><step>%c</step><octave>5</octave></pitch><duration>2</duration><voice>1</voice><type>eighth</type><staff>1</staff><notations><technical><fingering>1</fingering></technical></notations></note>`, i, k, "CDEFGAB"[(i+k)%7])
		}
		b.WriteString(`<backup><duration>16</duration></backup>`)
		for range 4 {
			for k, step := range []string{"C", "E", "G"} {
				chord := ""
				if k > 0 {
					chord = "<chord/>"
				}
				fmt.Fprintf(&b, `<note>%s<pitch><step>%s</step><octave>3</octave></pitch><duration>4</duration><voice>5</voice><type>quarter</type><staff>2</staff></note>`, chord, step)
			}
		}
		b.WriteString("</measure>")
	}
	b.WriteString(scoreTail)
	return []byte(b.String())
}

func BenchmarkReadSong(b *testing.B) {
	for _, n := range []int{32, 512} {
		data := longSheet(n)
		b.Run(fmt.Sprintf("bars=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(data)))
			for b.Loop() {
				if _, err := ReadSong(data, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkReadScore(b *testing.B) {
	for _, n := range []int{32, 512} {
		data := longScore(n)
		b.Run(fmt.Sprintf("bars=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(data)))
			for b.Loop() {
				if _, _, err := ReadScore(data, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
