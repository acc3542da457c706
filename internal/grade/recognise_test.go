package grade_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/grade"
	"gradatim/internal/sharedtest"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// used tells in which bars a page uses each technique, by index: what the Origins
// of its notes name, for devices the harmony that they rewrote, and for what
// paints a chord the notes that it added.
func used(a edition.Page) map[string]map[int]bool {
	s := a.Score
	out := map[string]map[int]bool{}
	mark := func(id string, from, to theory.Dur) {
		if out[id] == nil {
			out[id] = map[int]bool{}
		}
		first := s.BarAt(from)
		for b := first; b == first || b < len(s.Bars) && s.Bars[b].At < to; b++ {
			out[id][b] = true
		}
	}
	for _, n := range s.Notes {
		if id := n.Origin.Technique; id != "" {
			mark(id, n.At, n.End())
		}
		if id := paintOf(s, n); id != "" && a.Level.Uses(id) {
			mark(id, n.At, n.At)
		}
	}
	for _, d := range a.Decisions {
		if d.Device == "" {
			continue
		}
		for _, c := range d.Chords {
			if c.Why != nil {
				mark(d.Device, c.At, c.End)
			}
		}
	}
	return out
}

// paintOf names what put a note of ours into its chord: by its kind and what it is
// in the printed chord.
func paintOf(s score.Score, n score.Note) string {
	sym, ok := s.ChordAt(n.At)
	if !ok || sym.Chord.Silent() || n.Grace > 0 {
		return ""
	}
	d, in := sym.Chord.Degree(n.Pitch.Name)
	_, seventh := sym.Chord.Seventh()
	switch n.Origin.Kind {
	case score.Tension:
		switch {
		case !in:
			return ""
		case !seventh:
			return "added-notes"
		case d.Number > 8 && d.Alter == 0:
			return "extensions"
		case d.Alter != 0 && d.Number != 7:
			return "alterations"
		}
	case score.Chord, score.Bass:
		switch {
		case in && seventh && (d.Number == 7 || d.Number == 6):
			return "seventh-chords"
		case in && !seventh && (d.Number == 1 || d.Number == 3 || d.Number == 5):
			return "plain-triads"
		}
	}
	return ""
}

// tally is how one technique was found in the sample, in bars.
type tally struct {
	used   int
	found  int // nothing of the tune's or the sheet's own
	both   int
	shared int      // found and not used, but in the figures of one that contains it
	own    int      // found in the tune or in the sheet's own chords: no mistake either
	wrong  []string // makers of what was found and is nothing of the kind
}

// TestRecognisers measures every recogniser against what the pages say of
// themselves, in bars, and keeps docs/recognition.md.
func TestRecognisers(t *testing.T) {
	_, all := sampled(t)
	tallies := map[string]*tally{}
	for _, tq := range technique.All() {
		tallies[tq.ID] = &tally{}
	}
	pages := 0
	for _, as := range all {
		for _, a := range as {
			if !a.Failed {
				pages++
				compare(a, tallies)
			}
		}
	}
	sum, seen := tally{}, tally{} // seen: of those that have no reason not to be
	for _, tq := range technique.All() {
		c := tallies[tq.ID]
		sum.used, sum.found, sum.both, sum.shared = sum.used+c.used, sum.found+c.found, sum.both+c.both, sum.shared+c.shared
		if len(c.wrong) > 0 {
			n := map[string]int{}
			for _, w := range c.wrong {
				n[w]++
			}
			t.Logf("%s: found in the notes of %v", tq.ID, n)
		}
		// What is used often must be found, and what is found be there.
		floor := 70
		if tq.Unseen != "" {
			floor = 30
		} else {
			seen.used, seen.both = seen.used+c.used, seen.both+c.both
		}
		if c.used >= 100 && c.both*100 < floor*c.used {
			t.Errorf("%s: found in %d of the %d bars that use it", tq.ID, c.both, c.used)
		}
		if c.found >= 100 && (c.both+c.shared)*100 < 80*c.found {
			t.Errorf("%s: only %d of the %d bars where it is found have it", tq.ID, c.both+c.shared, c.found)
		}
	}
	if seen.both*100 < 95*seen.used || (sum.both+sum.shared)*100 < 95*sum.found {
		t.Errorf("in all: %d used, %d found, %d both, %d shared; without those that may be unseen %d used, %d of them found", sum.used, sum.found, sum.both, sum.shared, seen.used, seen.both)
	}
	t.Logf("%d pages: recall %d %%, precision %d %%, with shared figures %d %%", pages, percent(sum.both, sum.used), percent(sum.both, sum.found), percent(sum.both+sum.shared, sum.found))
	checkDoc(t, tallies, sum, len(all))
}

func compare(a edition.Page, tallies map[string]*tally) {
	truth := used(a)
	origin := map[string]score.Origin{}
	bare := a.Score
	bare.Notes = slices.Clone(a.Score.Notes)
	bare.Level, bare.LevelName, bare.Subtitle = 0, "", ""
	for i, n := range a.Score.Notes {
		origin[n.ID] = n.Origin
		bare.Notes[i].Origin = score.Origin{}
	}
	for id, bars := range truth {
		if tallies[id] != nil {
			tallies[id].used += len(bars)
		}
	}
	for _, f := range grade.Find(bare) {
		const yes, alike = 1, 2
		state := map[int]int{}
		tq, _ := technique.ByID(f.ID)
		for _, x := range f.Findings {
			makers := makersOf(x, a, origin, tq)
			first := bare.BarAt(x.At)
			for b := first; b == first || b < len(bare.Bars) && bare.Bars[b].At < x.End; b++ {
				switch {
				case truth[f.ID][b]:
					state[b] = yes
				case len(makers) == 0:
				case slices.ContainsFunc(makers, func(m string) bool { return m == f.ID || also(m, f.ID) }):
					if state[b] != yes {
						state[b] = alike
					}
				default:
					if _, ok := state[b]; !ok {
						state[b] = 0
						tallies[f.ID].wrong = append(tallies[f.ID].wrong, makers...)
					}
				}
			}
			if len(makers) == 0 {
				tallies[f.ID].own++
			}
		}
		for _, s := range state {
			c := tallies[f.ID]
			c.found++
			switch s {
			case yes:
				c.both++
			case alike:
				c.shared++
			}
		}
	}
}

// also tells whether a figure of one technique contains another by what it is.
func also(maker, id string) bool {
	t, ok := technique.ByID(maker)
	return ok && slices.Contains(t.Also, id)
}

// makersOf lists the techniques that made what a finding points at; none where it
// is the tune's own or the sheet's.
func makersOf(x technique.Finding, a edition.Page, origin map[string]score.Origin, tq *technique.Technique) []string {
	var out []string
	for _, id := range x.Notes {
		switch o := origin[id]; {
		case o.Technique != "":
			out = append(out, o.Technique)
		}
	}
	if len(x.Notes) > 0 {
		if tq.Paint != nil && len(out) > 0 {
			out = append(out, tq.ID, "added-notes") // what adds a note to a chord does not sign it
		}
		return out
	}
	for _, d := range a.Decisions {
		for _, c := range d.Chords {
			if d.Device != "" && c.Why != nil && c.At < x.End && c.End > x.At {
				out = append(out, d.Device)
			}
		}
	}
	return out
}

func percent(a, b int) int {
	if b == 0 {
		return 0
	}
	return (200*a + b) / (2 * b)
}

// cell writes a percentage for the table.
func cell(a, b int) string {
	if b == 0 {
		return "–"
	}
	return strconv.Itoa(percent(a, b))
}

func docOf(tallies map[string]*tally, sum tally, sheets int) string {
	var b strings.Builder
	b.WriteString("# Recognition\n")
	fmt.Fprintf(&b, `
## How well techniques are found

Each technique has a recogniser that reads notes, marks, voices and chord symbols of any
two-staff score, and nothing of where they come from (`+"`gradatim rate`"+`). The table compares it with what our own pages
say of themselves, on %d of the shared lead sheets at all five levels, in bars: *used* where the page names the
technique (the Origin of a note; for harmony, the chords that were put in; for what adds notes to chords, the notes
that were added), *recall* the part of these in which it is found, *precision* the part of the bars where it is found
that name it, *alike* the same counting bars whose figure is named after another technique that contains it, *own* how
often it is found in the tune itself or in the sheet's own chords, which count in neither: a tune that runs in
sixteenths asks for runs, whoever wrote it. Figures are in percent. [techniques.md](techniques.md) says what each is.

(This file is written by `+"`go test ./internal/grade -run Recognisers -every 1 -update`"+`.)

| id | used | recall | precision | alike | own |
|---|---|---|---|---|---|
`, sheets)
	for _, t := range technique.All() {
		c := tallies[t.ID]
		fmt.Fprintf(&b, "| `%s` | %d | %s | %s | %s | %d |\n", t.ID, c.used, cell(c.both, c.used), cell(c.both, c.found), cell(c.both+c.shared, c.found), c.own)
	}
	fmt.Fprintf(&b, "| all | %d | %s | %s | %s | |\n", sum.used, cell(sum.both, sum.used), cell(sum.both, sum.found), cell(sum.both+sum.shared, sum.found))
	b.WriteString(`
What recall leaves out is mostly fragments: a figure of four beats that had to fit one beat is a single note, which
nobody would call a broken chord. Beyond that:

`)
	for _, t := range technique.All() {
		if t.Unseen != "" {
			fmt.Fprintf(&b, "- `%s`: %s.\n", t.ID, t.Unseen)
		}
	}
	b.WriteString(`
## Notes that serve several

The notes of a page name one technique each, and may show more. What contains what:

| made as | is also |
|---|---|
`)
	for _, t := range technique.All() {
		if len(t.Also) > 0 {
			fmt.Fprintf(&b, "| `%s` | `%s` |\n", t.ID, strings.Join(t.Also, "`, `"))
		}
	}
	b.WriteString(`
` + "`plain-triads`, `seventh-chords`, `extensions`, `alterations`, `added-notes` and `common-tone-pad`" + ` add notes to
chords that left-hand and right-hand techniques then play: their notes carry those techniques' names, and what added
them is read from the notes' kinds. The page does not tell an added 2nd on IV from a held fifth of the key
(` + "`common-tone-pad`" + `): they are the same note.
`)
	return b.String()
}

// checkDoc compares docs/recognition.md with what it should be: words exactly,
// numbers of the table within a few points, since the sample may be smaller than
// the one that wrote it and pages change with every improvement.
func checkDoc(t *testing.T, tallies map[string]*tally, sum tally, sheets int) {
	t.Helper()
	file := filepath.Join(sharedtest.Root(), "docs", "recognition.md")
	want := docOf(tallies, sum, sheets)
	if *update {
		if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("%v: run with -update", err)
	}
	gotText, gotRows := numbers(string(data))
	wantText, wantRows := numbers(want)
	if gotText != wantText {
		t.Errorf("docs/recognition.md is out of date in words: run with -update\n%s", firstDifference(gotText, wantText))
	}
	for id, w := range wantRows {
		g := gotRows[id]
		c := tallies[id]
		if c == nil || c.used < 150 || len(g) != len(w) {
			continue
		}
		for i := 1; i < 4; i++ {
			a, errA := strconv.Atoi(g[i])
			b, errB := strconv.Atoi(w[i])
			// A bar more or less is no news.
			if errA == nil && errB == nil && (a-b > 2 || b-a > 2) {
				t.Errorf("docs/recognition.md, %s: says %s, now %s: run with -update", id, strings.Join(g, " "), strings.Join(w, " "))
				break
			}
		}
	}
}

// numbers takes the measured rows out of the document.
func numbers(doc string) (text string, rows map[string][]string) {
	rows = map[string][]string{}
	inside := false
	var out []string
	for _, line := range strings.Split(doc, "\n") {
		if strings.HasPrefix(line, "## ") {
			inside = line == "## How well techniques are found"
		}
		if f := strings.Split(strings.Trim(line, "| "), "|"); inside && len(f) == 6 && !strings.Contains(line, "recall") && !strings.Contains(line, "---") {
			var row []string
			for _, x := range f[1:] {
				row = append(row, strings.TrimSpace(x))
			}
			rows[strings.Trim(strings.TrimSpace(f[0]), "`")] = row
			continue
		}
		if inside && (strings.Contains(line, "of the shared lead sheets") || strings.HasPrefix(line, "| all |")) {
			continue
		}
		out = append(out, line)
	}
	return strings.Join(out, "\n"), rows
}

func firstDifference(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return fmt.Sprintf("line %d: %q\nshould be %q", i+1, x[i], y[i])
		}
	}
	return "it has more or fewer lines"
}
