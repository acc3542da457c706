package hand

import (
	"fmt"
	"testing"

	"gradatim/score"
	"gradatim/theory"
)

// Whatever is struck and held, each key has a finger or none, fingers keep the
// order of the keys, none plays twice, and what the hand reaches it fingers.
func FuzzFinger(f *testing.F) {
	for _, tt := range []string{"<>@BCE", "\x00\x00\x00\x00", "0?Q<@CF~", "~}|{zyxwv", "<<<>>>@@@"} {
		f.Add([]byte(tt), uint8(0), uint8(20))
		f.Add([]byte(tt), uint8(1), uint8(120))
	}
	f.Fuzz(func(t *testing.T, data []byte, which, span uint8) {
		h := score.Right
		if which%2 == 1 {
			h = score.Left
		}
		p := Profile{Right: 120*Millimetre + Length(span)*50, Left: 120*Millimetre + Length(span)*50}
		var strikes []Strike
		at := theory.Dur(0)
		for i := 0; i+1 < len(data) && len(strikes) < 200; i += 2 {
			k, shape := int(data[i]&127), data[i+1]
			s := Strike{At: at, End: at + theory.Eighth, Keys: []int{k}, Rolled: shape&128 != 0, Grace: shape&7 == 7}
			for j := 1; j <= int(shape&7) && k+3*j < 128; j++ {
				s.Keys = append(s.Keys, k+3*j)
			}
			if shape&64 != 0 && len(strikes) > 0 {
				s.Held = strikes[len(strikes)-1].Keys
			}
			strikes = append(strikes, s)
			at += theory.Eighth * theory.Dur(shape>>4&3)
		}
		fs := Finger(p, h, strikes)
		if len(fs) != len(strikes) || fmt.Sprint(fs) != fmt.Sprint(Finger(p, h, strikes)) {
			t.Fatal("lengths, or two runs, differ")
		}
		for i, s := range strikes {
			if len(fs[i].Keys) != len(s.Keys) || len(fs[i].Held) != len(s.Held) {
				t.Fatalf("strike %d: %v for %v", i, fs[i], s)
			}
			last := uint8(0)
			for j, g := range fs[i].Keys {
				if g > 5 || g == 0 && len(s.Keys) <= MaxKeys {
					t.Fatalf("strike %d: finger %d", i, g)
				}
				if j > 0 && g != 0 && last != 0 && (h == score.Right && g <= last || h == score.Left && g >= last) {
					t.Fatalf("strike %d: %v out of order", i, fs[i].Keys)
				}
				last = g
			}
			if len(s.Held) == 0 && !s.Rolled && len(s.Keys) <= MaxKeys && p.Reaches(h, s.Keys) {
				for a := range s.Keys {
					for b := a + 1; b < len(s.Keys); b++ {
						x, y := int(fs[i].Keys[a]), int(fs[i].Keys[b])
						if h == score.Left {
							x, y = y, x
						}
						if Distance(s.Keys[a], s.Keys[b]) > p.pairReach(h, x, y) {
							t.Fatalf("strike %d: fingers %d-%d over %s", i, x, y, Distance(s.Keys[a], s.Keys[b]))
						}
					}
				}
			}
		}
	})
}
