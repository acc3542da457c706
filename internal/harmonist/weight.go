package harmonist

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"
	"sync"
)

// block is a part of the weights: a table with a name.
type block struct {
	name    string
	at, n   int
	pull    float64 // how strongly fitting pulls it to where it began
	columns int     // of a row in the file
}

var (
	blocks  []block
	weights int // how many there are
)

func table(name string, rows, columns int, pull float64) int {
	at := weights
	blocks = append(blocks, block{name, at, rows * columns, pull, columns})
	weights += rows * columns
	return at
}

func twice(name string, columns int, pull float64) [palettesN]int {
	return [palettesN]int{table(name+".major", len(palettes[majorish]), columns, pull), table(name+".minor", len(palettes[minorish]), columns, pull)}
}

// The weights, in 1/1000: of a chord in a beat, for what is heard there and where it is,
// of a change, of a rhythm, of a key. What is heard counts by how long it sounds.
var (
	wTone     = table("tone", int(triads), 12, 20)              // a note so many half steps above the root
	wHeard    = table("heard", int(triads)*12, int(sounds), 40) // …by how it is heard
	wStruck   = table("struck", int(triads)*12, 2, 40)          // …struck with the beat
	wInBar    = table("bar", int(triads), 12, 20)               // …in the bar
	wNext     = table("next", int(triads), 12, 20)              // …in the next beat
	wChord    = twice("chord", 1, 10)                           // the chord itself
	wGroup    = twice("group", int(groups), 40)                 // …in a kind of tune
	wMode     = twice("mode", 3, 40)                            // …where the tune has a low or a high seventh, a low sixth
	wDegree   = twice("degree", 12, 60)                         // a degree of the key under it
	wMove     = [palettesN]int{table("move.major", len(palettes[0]), len(palettes[0]), 20), table("move.minor", len(palettes[1]), len(palettes[1]), 20)}
	wHyper    = twice("eight", 8, 60)                            // the bar, of eight since the section began
	wPlace    = twice("place", int(places), 60)                  // the beat of the bar
	wForm     = twice("form", int(forms), 60)                    // the place in the form
	wGoal     = twice("goal", 12, 60)                            // the degree on which a phrase rests
	wFirst    = twice("first", 12, 400)                          // the degree on which the next bar begins
	wLong     = twice("long", 12, 400)                           // the longest of the bar
	wBefore   = twice("before", 12, 400)                         // the bar before
	wAfter    = twice("after", 12, 400)                          // the bar after
	wEnd      = twice("end", 8, 400)                             // the bar, counted from the end
	wBar      = twice("sixteen", 16, 400)                        // the bar, of sixteen since the beginning
	wChange   = table("change", int(places)*metres, rhythms, 10) // a change, by place, metre and rhythm
	wChangeOf = table("change.group", int(places), int(groups), 10)
	wChangeAt = table("change.form", 1, int(forms)+1, 10)
	wRhythm   = table("rhythm", rhythms, int(groups)+metres+1, 10) // a rhythm in a kind of tune, a metre, with so many notes a beat

	wKeySounds    = table("key.sounds", 2, 12, 1)
	wKeyStrong    = table("key.strong", 2, 12, 1)
	wKeyFirst     = table("key.first", 2, 12, 1)
	wKeyLast      = table("key.last", 2, 12, 1)
	wKeyGoal      = table("key.goal", 2, 12, 1)
	wKeySignature = table("key.signature", 2, 12, 1)
	wKeyDeclared  = table("key.declared", 1, 2, 1)
)

// model is a set of weights.
type model struct{ w []float64 }

//go:embed weights.tsv
var weightsFile string

// shipped are the weights that the program has. The table is part of the program: one
// that cannot be read is a fault of the build, which a test finds.
var shipped = sync.OnceValue(func() *model {
	m, err := parseWeights(weightsFile)
	if err != nil {
		panic(err)
	}
	return m
})

// parseWeights reads what writeWeights writes: rows of a name and whole numbers.
func parseWeights(text string) (*model, error) {
	m := &model{w: make([]float64, weights)}
	next := map[string]int{}
	for i, line := range strings.Split(text, "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.Split(line, "\t")
		b := blockNamed(f[0])
		if b == nil || len(f)-1 != b.columns || next[b.name] == b.n {
			return nil, fmt.Errorf("weights, line %d: no such row", i+1)
		}
		for k, x := range f[1:] {
			n, err := strconv.Atoi(x)
			if err != nil {
				return nil, fmt.Errorf("weights, line %d: %w", i+1, err)
			}
			m.w[b.at+next[b.name]+k] = float64(n) / 1000
		}
		next[b.name] += b.columns
	}
	for _, b := range blocks {
		if next[b.name] != b.n {
			return nil, fmt.Errorf("weights: %d of %d numbers of %s", next[b.name], b.n, b.name)
		}
	}
	return m, nil
}

func blockNamed(name string) *block {
	for i := range blocks {
		if blocks[i].name == name {
			return &blocks[i]
		}
	}
	return nil
}
