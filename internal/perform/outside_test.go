package perform_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/perform"
	"gradatim/internal/sharedtest"
	"gradatim/internal/smf"
	"gradatim/theory"
)

// midicsv, an independent reader of MIDI files, finds every strike at the time,
// key and loudness of the performance, the pedal on controller 64 and the
// tempo and division that the Standard MIDI File has for them.
func TestMIDIReadByAnother(t *testing.T) {
	tool := sharedtest.Tool(t, "midicsv")
	for _, tt := range []struct {
		text string
		o    perform.Options
	}{
		{tune, perform.Options{}},
		{walk, perform.Options{CountIn: 1, Click: true}},
		{tune, perform.Options{Tempo: perform.Tempo{Percent: 60}, Loop: 2, From: 2, To: 4, Transpose: 3}},
	} {
		p := play(t, tt.text, tt.o)
		b, err := smf.Write(p.MIDI("Small Thing", ""))
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "a.mid")
		if err := os.WriteFile(file, b, 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(tool, file).Output()
		if err != nil {
			t.Fatal(err)
		}
		got := readMIDI(t, string(out))
		var want []strike
		for _, n := range p.Notes {
			if !n.Shared {
				want = append(want, strike{n.Start - perform.Lead, n.Key, n.Velocity})
			}
		}
		if len(got.strikes) != len(want) {
			t.Fatalf("midicsv finds %d strikes, the performance has %d", len(got.strikes), len(want))
		}
		slices.SortStableFunc(want, compareStrikes)
		for i, w := range want {
			g := got.strikes[i]
			if math.Abs(g.at-w.at) > 0.0003 || g.key != w.key || g.velocity != w.velocity {
				t.Errorf("strike %d: %v, want %v", i, g, w)
			}
		}
		if got.pedals != 2*len(p.Pedals) {
			t.Errorf("%d moves of controller 64, want %d on each of two channels", got.pedals, len(p.Pedals))
		}
		if got.clicks != len(p.Ticks) {
			t.Errorf("%d clicks, want %d", got.clicks, len(p.Ticks))
		}
	}
}

type strike struct {
	at            float64
	key, velocity int
}

// compareStrikes orders by time in steps of 2 ms, then key: what is struck
// together may come in either order.
func compareStrikes(a, b strike) int {
	if d := a.at - b.at; math.Abs(d) > 0.002 {
		return int(math.Copysign(1, d))
	}
	return a.key - b.key
}

type midiFile struct {
	strikes        []strike
	pedals, clicks int
}

func readMIDI(t *testing.T, text string) midiFile {
	t.Helper()
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord, r.TrimLeadingSpace, r.LazyQuotes = -1, true, true
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out midiFile
	num := func(s string) int {
		n, err := strconv.Atoi(strings.TrimSpace(s))
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	division := 0
	type tempo struct {
		tick   int
		micros int
	}
	var tempi []tempo
	for _, row := range rows {
		switch row[2] {
		case "Header":
			division = num(row[5])
		case "Tempo":
			tempi = append(tempi, tempo{num(row[1]), num(row[3])})
		}
	}
	seconds := func(tick int) float64 {
		s, last, micros := 0.0, 0, 500000
		for _, x := range tempi {
			if x.tick > tick {
				break
			}
			s += float64(x.tick-last) * float64(micros) / 1e6 / float64(division)
			last, micros = x.tick, x.micros
		}
		return s + float64(tick-last)*float64(micros)/1e6/float64(division)
	}
	for _, row := range rows {
		switch row[2] {
		case "Note_on_c":
			if num(row[5]) == 0 {
				continue
			}
			if num(row[3]) == 9 {
				out.clicks++
				continue
			}
			out.strikes = append(out.strikes, strike{seconds(num(row[1])), num(row[4]), num(row[5])})
		case "Control_c":
			if num(row[4]) == 64 {
				out.pedals++
			}
		}
	}
	slices.SortStableFunc(out.strikes, compareStrikes)
	return out
}

// facts.tsv rows 1 to 4 are the published figures that the swing rests on.
func TestPublishedSwingFigures(t *testing.T) {
	b, err := os.ReadFile(sharedtest.Path(t, "tables/facts.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	facts := map[string][]string{}
	for _, line := range strings.Split(string(b), "\n") {
		if f := strings.Split(line, "\t"); len(f) >= 5 {
			facts[f[0]] = f
		}
	}
	pair := func(tempo int) (long, short float64) {
		p := play(t, strings.Replace(walk, "tempo 132", fmt.Sprint("tempo ", tempo), 1), perform.Options{Even: true, Click: true})
		up, down := p.Timing.Seconds(theory.Eighth, 0), p.Timing.Seconds(theory.Quarter, 0)
		return up - p.Timing.Seconds(0, 0), down - up
	}
	// Friberg and Sundström 2002: ratios from 3.5:1 at slow tempi to 1:1 at fast.
	for tempo := 60; tempo <= 360; tempo += 20 {
		if long, short := pair(tempo); long/short > 3.5 || long/short < 0.999 {
			t.Errorf("%d bpm: %.2f:1 lies outside %s (%s)", tempo, long/short, facts["1"][2], facts["1"][3])
		}
	}
	if long, short := pair(320); long/short > 1.001 {
		t.Errorf("fast: %.2f:1, want 1:1", long/short)
	}
	// The short note near 100 ms at medium to fast tempi.
	if got := facts["2"][2]; got != "100 ms" {
		t.Fatalf("fact 2 reads %q", got)
	}
	for tempo := 190; tempo < 300; tempo += 10 {
		if _, short := pair(tempo); math.Abs(short-0.1) > 0.007 {
			t.Errorf("%d bpm: short note %.0f ms", tempo, short*1000)
		}
	}
	// 2:1 with a short note of 100 ms at 200 bpm and nowhere else.
	if got := facts["3"][2]; got != "200 bpm" {
		t.Fatalf("fact 3 reads %q", got)
	}
	if long, short := pair(200); math.Abs(long/short-2) > 1e-3 || math.Abs(short-0.1) > 1e-4 {
		t.Errorf("200 bpm: %.2f:1, short note %.1f ms", long/short, short*1000)
	}
	// Corcoran and Frieler 2021: soloists play about 1.3:1 on average, less than
	// what a page prints. The performance plays the page; a page that prints
	// 4:3 is played 1.33:1.
	p := play(t, strings.Replace(walk, "swing 2:1", "swing 4:3", 1), perform.Options{Even: true, Click: true})
	up := p.Timing.Seconds(theory.Eighth, 0) - p.Timing.Seconds(0, 0)
	if r := up / (60.0/132 - up); math.Abs(r-1.3) > 0.05 {
		t.Errorf("4:3 is played %.2f:1, soloists average %s:1", r, facts["4"][2])
	}
}
