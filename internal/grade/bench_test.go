package grade

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/hand"
	"gradatim/score"
)

// full is a page as dense as level 5 asks for: stride in the left hand, chords and
// runs in the right.
func full(t testing.TB, bars int) score.Score {
	var text strings.Builder
	text.WriteString("meter 4/4\ntempo 112\nR1")
	for b := range bars {
		switch b % 4 {
		case 3:
			text.WriteString(" C5:1/16 D5:1/16 E5:1/16 F5:1/16 G5:1/16 A5:1/16 B5:1/16 C6:1/16 B5:1/2")
		default:
			text.WriteString(" <E4+A4+C5+E5>:1/4 F5:1/8 G5:1/8 <G4+B4+D5>:1/4 C5:1/4")
		}
	}
	text.WriteString("\nL1")
	for range bars {
		text.WriteString(" <C2+E3>:1/4*roll <G3+Bb3+E4>:1/4 <G1+G2>:1/4 <G3+Bb3+D4>:1/4")
	}
	text.WriteString("\n")
	for b := range bars {
		fmt.Fprintf(&text, "chord %d C7\nchord %d/2 G9\n", b, 2*b+1)
	}
	return parse(t, text.String())
}

func BenchmarkRate(b *testing.B) {
	for _, bars := range []int{32, 128, 512, 2048} {
		s := full(b, bars)
		for _, set := range []struct {
			name string
			opt  Options
		}{{"plain", Options{WithoutTechniques: true}}, {"techniques", Options{}}, {"fingering", Options{WithoutTechniques: true, Fingering: ByHand(hand.Default())}}} {
			b.Run(fmt.Sprintf("bars=%d/%s", bars, set.name), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					Rate(s, set.opt)
				}
			})
		}
	}
}

func BenchmarkHear(b *testing.B) {
	for _, bars := range []int{32, 512} {
		s := full(b, bars)
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			for b.Loop() {
				Hear(s)
			}
		})
	}
}
