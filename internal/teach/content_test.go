package teach_test

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/audit"
	"gradatim/internal/sharedtest"
	"gradatim/internal/teach"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// ascii writes the signs of print as names are parsed.
var ascii = strings.NewReplacer("♭", "b", "♯", "#", "𝄫", "bb", "𝄪", "##")

// eachLevel calls f with every level of every tune.
func eachLevel(t *testing.T, f func(name string, in teach.Input, page teach.Page, v teach.LevelLesson)) {
	t.Helper()
	for _, name := range tunes {
		in, l := lessonOf(t, name)
		if len(l.Levels) != len(in.Pages) {
			t.Fatalf("%s: %d levels of %d pages", name, len(l.Levels), len(in.Pages))
		}
		for i, v := range l.Levels {
			f(name, in, in.Pages[i], v)
		}
	}
}

// Each worked example is found by the technique's recogniser, in the small score
// that is shown and, at the same bars and with the same notes, in the page itself;
// its note is the tune's own page, and without the technique it looks different.
func TestExamplesAreFoundByTheirRecogniser(t *testing.T) {
	taught := 0
	eachLevel(t, func(name string, _ teach.Input, page teach.Page, v teach.LevelLesson) {
		for _, n := range v.New {
			taught++
			where := fmt.Sprintf("%s, level %d, %s", name, v.Number, n.Technique)
			tech, ok := technique.ByID(n.Technique)
			if !ok {
				t.Fatalf("%s is no technique", where)
			}
			e := n.Example
			if len(tech.Find(e.After.Score)) == 0 {
				t.Errorf("%s: not found in its own example", where)
			}
			onPage := slices.ContainsFunc(tech.Find(page.Score), func(f technique.Finding) bool {
				number := page.Score.Bars[page.Score.BarAt(f.At)].Number
				return slices.Contains(e.Bars, number)
			})
			if !onPage {
				t.Errorf("%s: not found in %v of the page", where, e.Bars)
			}
			if !slices.ContainsFunc(e.Bars, func(b int) bool { return slices.Contains(n.Bars, b) }) {
				t.Errorf("%s: shown in bars %v, used in %v", where, e.Bars, n.Bars)
			}
			for _, id := range e.Notes {
				if !slices.ContainsFunc(e.After.Score.Notes, func(m score.Note) bool { return m.ID == id }) {
					t.Errorf("%s: note %s is not in the example", where, id)
				}
			}
			if score.Text(e.Before.Score) == score.Text(e.After.Score) {
				t.Errorf("%s: nothing differs without it", where)
			}
			if len(e.Bars) > 4 || len(e.After.Score.Bars) != len(e.Bars) || len(e.Before.Score.Bars) != len(e.Bars) {
				t.Errorf("%s: %d bars", where, len(e.Bars))
			}
			for _, m := range []teach.Music{e.Before, e.After} {
				for _, p := range audit.Check(m.Score, audit.Options{}) {
					// What leads into the bar after the last shown has no goal here.
					if p.Code != audit.MinorNinth && p.Code != audit.Unexplained {
						t.Errorf("%s, %s: %s", where, m.Caption, p.Problem)
					}
				}
			}
			if w := len(strings.Fields(e.Why)); w == 0 || w > 40 {
				t.Errorf("%s: %d words: %s", where, w, e.Why)
			}
			if !strings.Contains(e.Why, "melody") && !strings.Contains(e.Why, "It is ") {
				t.Errorf("%s does not say why it fits the tune: %s", where, e.Why)
			}
		}
	})
	if taught < 70 {
		t.Errorf("only %d techniques taught in four tunes", taught)
	}
}

// A technique is taught once on a ladder, at the lowest page that uses it and shows
// it; afterwards it is among what the levels below gave. What is used and never
// taught is used only where no recogniser sees it.
func TestEachTechniqueIsTaughtOnce(t *testing.T) {
	for _, name := range tunes {
		in, l := lessonOf(t, name)
		level, named := map[string]int{}, map[string]bool{}
		for i, v := range l.Levels {
			for _, k := range v.Given {
				if level[k.Technique] != k.From || k.From == 0 {
					t.Errorf("%s, level %d: %s is said to come from level %d", name, v.Number, k.Technique, k.From)
				}
			}
			for _, n := range v.New {
				if level[n.Technique] > 0 {
					t.Errorf("%s: %s is taught at levels %d and %d", name, n.Technique, level[n.Technique], v.Number)
				}
				level[n.Technique] = v.Number
			}
			for _, u := range in.Pages[i].Used {
				tech, _ := technique.ByID(u.Technique)
				page := in.Pages[i].Score
				if level[u.Technique] > 0 || !slices.ContainsFunc(tech.Find(page), func(f technique.Finding) bool {
					return slices.Contains(u.Bars, page.Bars[page.BarAt(f.At)].Number)
				}) {
					continue
				}
				if slices.ContainsFunc(v.Also, func(a teach.Also) bool { return a.Technique == u.Technique && a.What != "" && a.How != "" }) {
					named[u.Technique] = true
				}
				if !named[u.Technique] {
					t.Errorf("%s, level %d: %s is used in %v and nowhere explained", name, v.Number, u.Technique, u.Bars)
				}
			}
		}
	}
}

// No part of a lesson is empty, and no two sentences of one level's explanations
// are the same.
func TestNothingIsEmptyOrSaidTwice(t *testing.T) {
	eachLevel(t, func(name string, _ teach.Input, page teach.Page, v teach.LevelLesson) {
		where := fmt.Sprintf("%s, level %d", name, v.Number)
		for part, n := range map[string]int{"bring": len(v.Bring), "new": len(v.New), "chords": len(v.Chords), "drills": len(v.Drills),
			"hardest": len(v.Plan.First), "order": len(v.Plan.Order), "phrases": len(v.Plan.Phrases), "rules": len(v.Plan.Rules),
			"mistakes": len(v.Mistakes), "listen": len(v.Listen), "changes": len(v.Changes), "talk": len(v.Talk)} {
			if n == 0 {
				t.Errorf("%s: no %s", where, part)
			}
		}
		seen := map[string]string{}
		once := func(part, s string) {
			for _, x := range strings.SplitAfter(s, ". ") {
				if x = strings.TrimSpace(x); x == "" {
					continue
				}
				if at, ok := seen[x]; ok {
					t.Errorf("%s: %q stands in %s and in %s", where, x, at, part)
				}
				seen[x] = part
			}
		}
		for _, it := range v.Bring {
			once("bring", it.Text)
		}
		for _, n := range v.New {
			once("what", n.What)
			once("how", n.How)
		}
		for _, a := range v.Also {
			once("also", a.What)
			once("also", a.How)
		}
		for _, m := range v.Mistakes {
			once("mistakes", m.Text)
		}
		for _, m := range v.Listen {
			once("listen", m.Text)
		}
		for _, c := range v.Cautions {
			once("cautions", c.Text)
		}
		for _, r := range v.Plan.Rules {
			once("rules", r)
		}
		for _, s := range v.Plan.Order {
			once("order", s.Text)
		}
	})
}

// Singular and plural, articles, and stray signs.
func TestWording(t *testing.T) {
	bad := []string{"  ", " ,", "..", " .", ";.", ":.", "( ", "1 bars", "1 notes", "1 kinds", "1 roots", "1 beats", "1 flats", "1 sharps", " a octave", " a eleventh", " an fifth", " an tenth",
		"bars 1 and 1", "%!", "no key", "unknown", "none,", "the  "}
	for _, name := range tunes {
		_, l := lessonOf(t, name)
		for _, s := range teach.Texts(l) {
			for _, b := range bad {
				if i := strings.Index(s, b); i >= 0 && (i == 0 || b[0] != '1' || s[i-1] == ' ') {
					t.Errorf("%s: %q in %q", name, b, s)
				}
			}
			if strings.Contains(s, "#") {
				t.Errorf("%s: a sharp is written with a number sign in %q", name, s)
			}
		}
	}
}

// The degrees of each chord card are those of the reference table of chord
// symbols, which lists degrees and notes for each kind.
func TestChordDegreesAgreeWithTheTable(t *testing.T) {
	data, err := os.ReadFile(sharedtest.Path(t, "tables/chords.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	table := map[theory.Degrees]string{}
	for _, line := range strings.Split(string(data), "\n")[1:] {
		row := strings.Split(line, "\t")
		if len(row) < 4 {
			continue
		}
		ds, err := theory.ParseDegrees(row[3])
		if err != nil {
			continue // polychords are written as two chords
		}
		table[ds] = row[3]
	}
	if len(table) < 80 {
		t.Fatalf("only %d rows could be read", len(table))
	}
	checked, unlisted := 0, map[string]bool{}
	eachLevel(t, func(name string, _ teach.Input, _ teach.Page, v teach.LevelLesson) {
		for _, c := range v.Chords {
			want, ok := table[c.Chord.Tones]
			if !ok {
				unlisted[c.Symbol] = true
				continue
			}
			checked++
			var got, notes []string
			for _, d := range c.Tones {
				got = append(got, ascii.Replace(d.Degree))
				notes = append(notes, ascii.Replace(d.Note))
			}
			wantDegrees := strings.Fields(want)
			slices.Sort(wantDegrees)
			sorted := slices.Clone(got)
			slices.Sort(sorted)
			if !slices.Equal(sorted, wantDegrees) {
				t.Errorf("%s, level %d: %s has degrees %v, the table %s", name, v.Number, c.Symbol, got, want)
			}
			var spelled []string
			for _, d := range got {
				deg, err := theory.ParseDegree(d)
				if err != nil {
					t.Fatal(err)
				}
				spelled = append(spelled, deg.On(c.Chord.Root).String())
			}
			if !slices.Equal(spelled, notes) {
				t.Errorf("%s: notes %v, want %v", c.Symbol, notes, spelled)
			}
		}
	})
	if checked < 150 {
		t.Errorf("only %d chords compared", checked)
	}
	t.Logf("%d chord cards compared; not in the table: %v", checked, unlisted)
}

// Cards: the keys of a picture sound the notes that it names, the bars of the uses
// are those over which the symbol stands, and every printed symbol has a card.
func TestChordCards(t *testing.T) {
	eachLevel(t, func(name string, _ teach.Input, page teach.Page, v teach.LevelLesson) {
		cards := map[theory.Chord]teach.ChordCard{}
		for _, c := range v.Chords {
			cards[c.Chord] = c
			for _, k := range append(slices.Clone(c.Keys), c.Hands...) {
				n, err := theory.ParseName(ascii.Replace(k.Note))
				if err != nil || n.Class() != k.MIDI%12 || k.MIDI < 21 || k.MIDI > 108 {
					t.Errorf("%s: %s is key %d", c.Symbol, k.Note, k.MIDI)
				}
			}
			if len(c.Uses) == 0 {
				t.Errorf("%s has no use", c.Symbol)
			}
			for _, u := range c.Uses {
				if plain := v.Number <= 2; (u.Roman == "") != plain || (u.Function == "") != plain || u.Function == "none" || u.Why == "" || len(u.Bars) == 0 {
					t.Errorf("%s, level %d: %s: %+v", name, v.Number, c.Symbol, u)
				}
			}
		}
		printed := slices.Concat(page.Before.Score.Chords, page.Score.Chords, page.After.Score.Chords)
		for k, s := range printed {
			if s.Chord.Silent() {
				continue
			}
			c, ok := cards[s.Chord]
			if !ok {
				t.Errorf("%s, level %d: no card for %s", name, v.Number, s.Chord)
				continue
			}
			of := page.Score
			before, after := len(page.Before.Score.Chords), len(page.Before.Score.Chords)+len(page.Score.Chords)
			if k > 0 && (k == before || k == after) && s.Chord == printed[k-1].Chord {
				continue // it goes on from what is before
			}
			if k < before {
				of = page.Before.Score
			} else if k >= after {
				of = page.After.Score
			}
			bar := of.Bars[of.BarAt(s.At)].Number
			if !slices.ContainsFunc(c.Uses, func(u teach.ChordUse) bool { return slices.Contains(u.Bars, bar) }) {
				t.Errorf("%s: bar %d is missing from the card of %s", name, bar, s.Chord)
			}
		}
	})
}

// numbers are those of a page's bars, with what stands around its tune, in order.
func numbers(page teach.Page) []int {
	var out []int
	for _, s := range []score.Score{page.Before.Score, page.Score, page.After.Score} {
		for _, b := range s.Bars {
			out = append(out, b.Number)
		}
	}
	return out
}

// The plan covers every bar once, ranks each phrase once, joins each to the next
// by an overlap, and rises in tempo.
func TestPlan(t *testing.T) {
	eachLevel(t, func(name string, in teach.Input, page teach.Page, v teach.LevelLesson) {
		where := fmt.Sprintf("%s, level %d", name, v.Number)
		bars := numbers(page)
		next := 0
		ranks := map[int]bool{}
		for i, ph := range v.Plan.Phrases {
			last := next - 1
			if next == len(bars) || ph.From != bars[next] || ph.To < ph.From || ph.As == "" && (ph.To-ph.From+1 > 9 || ph.Left == "" || ph.Right == "") {
				t.Errorf("%s: %s goes from %d to %d after %d", where, ph.Name, ph.From, ph.To, last)
			}
			next = slices.Index(bars, ph.To) + 1
			ranks[ph.Rank] = true
			if i+1 < len(v.Plan.Phrases) {
				if len(ph.Join) != 2 || ph.Join[0] != ph.To || ph.Join[1] != v.Plan.Phrases[i+1].From {
					t.Errorf("%s: %s is joined by %v", where, ph.Name, ph.Join)
				}
			} else if ph.Join != nil {
				t.Errorf("%s: the last phrase is joined to %v", where, ph.Join)
			}
		}
		last := next - 1
		if next != len(bars) || len(ranks) != len(v.Plan.Phrases) || !ranks[1] {
			t.Errorf("%s: phrases end at %d, ranks %v", where, last, ranks)
		}
		if len(page.Hardest) > 0 {
			h := page.Hardest[0]
			within := func(ph teach.Phrase) bool { return ph.To >= h.From && ph.From <= h.To }
			for _, ph := range v.Plan.Phrases {
				again := slices.ContainsFunc(v.Plan.Phrases, func(o teach.Phrase) bool { // it is hard where it comes again
					return within(o) && strings.Contains(strings.ToLower(o.As), strings.ToLower(ph.Name))
				})
				if ph.Rank == 1 && !within(ph) && !again {
					t.Errorf("%s: bars %d–%d are hardest, %s comes first", where, h.From, h.To, ph.Name)
				}
			}
		}
		percent := 0
		for _, s := range v.Plan.Order {
			if s.Step.Percent < percent {
				t.Errorf("%s: %s goes back to %d percent", where, s.Name, s.Step.Percent)
			}
			percent = s.Step.Percent
		}
		if percent != 100 {
			t.Errorf("%s: the plan ends at %d percent", where, percent)
		}
	})
}

// The talking notes follow the performance bar by bar without a gap.
func TestTalkFollowsThePerformance(t *testing.T) {
	eachLevel(t, func(name string, _ teach.Input, page teach.Page, v teach.LevelLesson) {
		bars := numbers(page)
		next := 0
		for i, k := range v.Talk {
			if next == len(bars) || k.From != bars[next] || k.To < k.From || k.Show == "" {
				t.Errorf("%s, level %d: bars %d–%d after bar %d: %+v", name, v.Number, k.From, k.To, next-1, k)
			}
			next = slices.Index(bars, k.To) + 1
			if k.End <= k.Start || i > 0 && k.Start != v.Talk[i-1].End {
				t.Errorf("%s, level %d, bar %d: from %d to %d ms", name, v.Number, k.From, k.Start, k.End)
			}
			for _, b := range page.Score.Bars {
				if b.Number == k.From && !b.Pickup {
					if want := int(page.Seconds(b.At)*1000 + 0.5); k.From > 0 && k.Start != want {
						t.Errorf("%s, level %d: bar %d at %d ms, played at %d", name, v.Number, k.From, k.Start, want)
					}
				}
			}
		}
		if next != len(bars) {
			t.Errorf("%s, level %d: the notes end at bar %d", name, v.Number, next-1)
		}
	})
}

// Every bar whose chords differ from the page below is told to change.
func TestChangesTellEveryChangedChord(t *testing.T) {
	for _, name := range tunes {
		in, l := lessonOf(t, name)
		for i, v := range l.Levels {
			if i == 0 {
				continue
			}
			told := map[int]bool{}
			for _, c := range v.Changes {
				for _, b := range c.Bars {
					if told[b] {
						t.Errorf("%s, level %d: bar %d is told twice", name, v.Number, b)
					}
					told[b] = true
				}
			}
			now, was := in.Pages[i].Score, in.Pages[i-1].Score
			for _, b := range now.Bars {
				x, okx := now.ChordAt(b.At)
				y, oky := was.ChordAt(b.At)
				if okx && oky && x.Chord != y.Chord && !b.Pickup && !told[b.Number] {
					t.Errorf("%s, level %d: bar %d has %s for %s and is not told", name, v.Number, b.Number, x.Chord, y.Chord)
				}
			}
		}
	}
}

// A lesson is the same each time and can be written as JSON.
func TestSameLessonTwice(t *testing.T) {
	in, l := lessonOf(t, "lantern")
	a, err := json.Marshal(l)
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(prepare(t, in))
	if err != nil {
		t.Fatal(err)
	}
	if string(a) != string(b) {
		t.Error("two lessons of one ladder differ")
	}
	if i := strings.Index(string(a), "null"); i >= 0 {
		t.Errorf("an empty list is written as null: %s", a[max(0, i-80):i+4])
	}
	var back map[string]any
	if err := json.Unmarshal(a, &back); err != nil || back["title"] != "Lantern on the Ninth Stair" {
		t.Errorf("%v %v", err, back["title"])
	}
}

// Cautions are for everybody, defer to those who know, and promise nothing.
func TestCautions(t *testing.T) {
	_, l := lessonOf(t, "lantern")
	all := ""
	for _, c := range l.Cautions {
		all += c.Text + "\n"
	}
	for _, want := range []string{"Stop at the first pain", "teacher", "clinician", "Rest", "headphones"} {
		if !strings.Contains(all, want) {
			t.Errorf("the cautions lack %q", want)
		}
	}
	eachLevel(t, func(name string, _ teach.Input, page teach.Page, v teach.LevelLesson) {
		for _, u := range page.Used {
			if u.Technique == "stride-tenths" && !slices.ContainsFunc(v.Cautions, func(c teach.Caution) bool { return strings.Contains(c.Text, "Never force a tenth") }) {
				t.Errorf("%s, level %d has tenths and no caution", name, v.Number)
			}
		}
	})
}
