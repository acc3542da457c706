package edition_test

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/corpus"
	"gradatim/score"
	"gradatim/theory"
)

var writeSections = flag.Bool("sections", false, "write docs/sections.md anew, from all shared sheets")

// quarter is a quarter of a piece: what its hands play in it.
type quarter struct {
	left, right, low, middle, kept float64
	of                             int // places that kept was counted at
}

// quarters measures a page as it is played, by quarters of its bars: keys a beat of either
// hand, the left hand's lowest key and the middle between lowest and highest of the right,
// as MIDI numbers, and how often the left hand keeps its rhythm from bar to bar.
func quarters(s score.Score) (out [4]quarter) {
	s, _ = s.Played()
	n := len(s.Bars)
	rhythm := make([]string, n)
	for q := range out {
		first, last := q*n/4, (q+1)*n/4
		beats, low, lows := 0.0, 0.0, 0
		top, bottom := 0, 127
		for b := first; b < last; b++ {
			bar := s.Bars[b]
			beats += float64(bar.Dur) / float64(bar.Meter.OrCommon().BeatDur())
			lowest := 0
			for _, k := range s.Notes {
				if k.At < bar.At || k.At >= bar.End() || k.Grace > 0 {
					continue
				}
				if k.Hand == score.Right {
					out[q].right++
					top, bottom = max(top, k.Pitch.MIDI()), min(bottom, k.Pitch.MIDI())
					continue
				}
				out[q].left++
				rhythm[b] += fmt.Sprint(k.At-bar.At, " ")
				if lowest == 0 || k.Pitch.MIDI() < lowest {
					lowest = k.Pitch.MIDI()
				}
			}
			at := strings.Fields(rhythm[b])
			rhythm[b] = strings.Join(slices.Compact(at), " ")
			if lowest > 0 {
				low += float64(lowest)
				lows++
			}
			if b > 0 && rhythm[b]+rhythm[b-1] != "" && s.Bars[b].Dur == s.Bars[b-1].Dur {
				out[q].of++
				if rhythm[b] == rhythm[b-1] {
					out[q].kept++
				}
			}
		}
		if beats > 0 {
			out[q].left /= beats
			out[q].right /= beats
		}
		if lows > 0 {
			out[q].low = low / float64(lows)
		}
		if top > 0 {
			out[q].middle = float64(top+bottom) / 2
		}
		if out[q].of > 0 {
			out[q].kept = 100 * out[q].kept / float64(out[q].of)
		}
	}
	return out
}

// row writes the medians of pieces, quarter by quarter.
func row(name string, pieces [][4]quarter) string {
	cell := func(get func(quarter) float64, format string) string {
		var four []string
		for q := range 4 {
			var vs []float64
			for _, p := range pieces {
				if v := get(p[q]); v != 0 || format == "%.0f" {
					vs = append(vs, v)
				}
			}
			slices.Sort(vs)
			if len(vs) == 0 {
				four = append(four, "–")
				continue
			}
			four = append(four, fmt.Sprintf(format, vs[len(vs)/2]))
		}
		return strings.Join(four, " ")
	}
	key := func(get func(quarter) float64) string {
		text := cell(get, "%.0f")
		var names []string
		for _, f := range strings.Fields(text) {
			var k int
			fmt.Sscan(f, &k)
			names = append(names, theory.HarmonicSpelling(theory.KeyOf(0, theory.Major), theory.Chord{}, k).String())
		}
		return strings.Join(names, " ")
	}
	return fmt.Sprintf("| %s (%d) | %s | %s | %s | %s | %s |\n", name, len(pieces),
		cell(func(q quarter) float64 { return q.left }, "%.1f"), cell(func(q quarter) float64 { return q.right }, "%.1f"),
		key(func(q quarter) float64 { return q.low }), key(func(q quarter) float64 { return q.middle }), cell(func(q quarter) float64 { return q.kept }, "%.0f"))
}

// TestSections lays what our pages play beside the piano parts of songs by others
// (OpenScore Lieder, CC0; shared accompaniment_cc0), by quarters of a piece. A left hand of
// ours must not be busier than twice the busiest of theirs, nor lie outside their keys.
func TestSections(t *testing.T) {
	var theirs [][4]quarter
	for _, a := range corpus.Accompaniments(t) {
		theirs = append(theirs, quarters(a.Score))
	}
	var ours [6][][4]quarter
	root := sharedtest.Path(t, "data/leadsheets")
	var names []string
	for _, path := range sharedtest.Sheets(t) {
		name, _ := filepath.Rel(root, path)
		names = append(names, filepath.ToSlash(name))
	}
	held := sharedtest.HeldBack(names)
	if len(held) != sharedtest.HeldSheets {
		t.Errorf("%d sheets are held back, want %d", len(held), sharedtest.HeldSheets)
	}
	for _, name := range names {
		if !*writeSections && !sharedtest.Takes(name, 60, 30) || held[name] {
			continue
		}
		pages, err := edition.Make(context.Background(), load(t, filepath.Join(root, filepath.FromSlash(name))), edition.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range pages {
			if !p.Failed {
				ours[p.Level.Number] = append(ours[p.Level.Number], quarters(p.Score))
			}
		}
	}
	var most float64
	lowest := 127.0
	for _, p := range theirs {
		for _, q := range p {
			most = max(most, q.left)
			if q.low > 0 {
				lowest = min(lowest, q.low)
			}
		}
	}
	var b strings.Builder
	b.WriteString(row("songs by others", theirs))
	for l := 1; l <= 5; l++ {
		b.WriteString(row(fmt.Sprintf("our level %d", l), ours[l]))
		for _, p := range ours[l] {
			for i, q := range p {
				if q.left > 2*most || q.low > 0 && q.low < lowest-5 {
					t.Errorf("level %d, quarter %d: %.1f keys a beat (theirs at most %.1f), lowest %.0f (theirs %.0f)", l, i+1, q.left, most, q.low, lowest)
				}
			}
		}
	}
	t.Log("\n" + b.String())
	if !*writeSections {
		return
	}
	file := filepath.Join(sharedtest.Root(), "docs", "sections.md")
	old, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	head, _, ok := strings.Cut(string(old), "|---|---|---|---|---|---|\n")
	if !ok {
		t.Fatal("docs/sections.md has lost its table")
	}
	if err := os.WriteFile(file, []byte(head+"|---|---|---|---|---|---|\n"+b.String()), 0o666); err != nil {
		t.Fatal(err)
	}
}
