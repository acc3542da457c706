package abc

import (
	"fmt"
	"strings"
	"testing"
)

// sheetOf makes a tune of n bars, AABA in fours.
func sheetOf(n int) []byte {
	var b strings.Builder
	b.WriteString("X:1\nT:Long Way\nM:4/4\nL:1/8\nQ:1/4=120\nK:F\n")
	lines := []string{
		`"F"A3GF2D2|"Bb"F6CD|"Gm"B3AB2d2|"C7"c6AG|`, `"F"A3GA2c2|"D7"d4c2A2|"Gm"(3BAG A2"C7"G2E>F|"F"F8|`,
		`"Am"e3dc2A2|"D7"d4^F4|"Gm"d3cB2G2|"C7"c4-c2G2|`, `"F"c3BA2F2|"Bb"d4-d2f2|"Gm"d2c2B2A2|"C7"G8|`,
	}
	order := []int{0, 1, 0, 1, 2, 3, 0, 1}
	for i := 0; i < n/4; i++ {
		b.WriteString(lines[order[i%8]] + "\n")
	}
	return []byte(b.String())
}

func BenchmarkRead(b *testing.B) {
	for _, bars := range []int{32, 512} {
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			data := sheetOf(bars)
			b.ReportAllocs()
			b.SetBytes(int64(len(data)))
			for b.Loop() {
				s, err := Read(data, Options{})
				if err != nil || len(s.Bars) != bars {
					b.Fatal(len(s.Bars), err)
				}
			}
		})
	}
}

func BenchmarkWrite(b *testing.B) {
	for _, bars := range []int{32, 512} {
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			s, err := Read(sheetOf(bars), Options{})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				Write(s)
			}
		})
	}
}
