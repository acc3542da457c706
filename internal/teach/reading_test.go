package teach_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/readability"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/ladders"
	"gradatim/internal/teach"
)

// hardest is the grade of school, by language and level, for which a pupil's words may be
// written at most (docs/lesson.md has what they are).
var hardest = map[string][5]float64{
	"en": {2, 2, 2, 2.5, 2.5},
	"de": {3, 3, 4, 4, 4},
}

// forPupil lists the sentences that a level says to whoever plays: none of the teacher's,
// and no lists of names and bars.
func forPupil(l teach.LevelLesson) []string {
	var out []string
	say := func(texts ...string) { out = append(out, texts...) }
	for _, n := range l.New {
		say(n.What, n.How, n.Example.Why)
		say(n.Practise...)
	}
	for _, a := range l.Also {
		say(a.What, a.How)
	}
	for _, c := range l.Chords {
		for _, u := range c.Uses {
			say(u.Why)
		}
	}
	for _, d := range l.Drills {
		say(d.Words)
	}
	for _, h := range l.Plan.First {
		say(h.Why)
	}
	for _, s := range l.Plan.Order {
		say(s.Text)
	}
	say(l.Plan.Rules...)
	for _, ps := range [][]teach.Point{l.Mistakes, l.Listen} {
		for _, p := range ps {
			say(p.Text)
		}
	}
	for _, c := range l.Cautions {
		say(c.Text)
	}
	return out
}

// TestReadingGrade: the demo tunes and some shared sheets (their README names sources and
// licences) are told in words that a reader of the level can read, by a published formula
// for each language.
func TestReadingGrade(t *testing.T) {
	var paths []string
	for i, path := range sharedtest.Sheets(t) {
		if i%sharedtest.Every(160, 80) == 0 {
			paths = append(paths, path)
		}
	}
	sums := map[string]*[5]readability.Count{"en": {}, "de": {}}
	check := func(name string, in teach.Input) {
		for language, limits := range hardest {
			in.Language = language
			l, err := teach.Prepare(t.Context(), in)
			if err != nil {
				t.Fatal(err)
			}
			for i, level := range l.Levels {
				var c readability.Count
				for _, s := range forPupil(level) {
					c = c.Plus(readability.Of(language, s))
				}
				sums[language][i] = sums[language][i].Plus(c)
				if g := c.Grade(language); c.Words > 200 && g > limits[i]+1 { // a single tune varies
					t.Errorf("%s, level %d, %s: grade %.1f, more than a grade above %.1f", name, level.Number, language, g, limits[i])
				}
			}
		}
	}
	for _, name := range tunes {
		in, _ := lessonOf(t, name)
		check(name, in)
	}
	for name, as := range ladders.Each(t, paths) {
		check(name, edition.Lesson(t.Context(), as, hand.Default()))
	}
	for language, limits := range hardest {
		var row []string
		for i, c := range sums[language] {
			if g := c.Grade(language); g > limits[i] {
				t.Errorf("level %d, %s: grade %.1f, above %.1f", i+1, language, g, limits[i])
			}
			row = append(row, fmt.Sprintf("%.1f", c.Grade(language)))
		}
		t.Logf("%s: %s", language, strings.Join(row, " "))
	}
}

// harmonyTerms are what levels 1 and 2 do without.
var harmonyTerms = regexp.MustCompile(`\b(IV|VI|VII|II|III|ii|iii|vi|vii|V7?|subdominant|secondary dominant|related ii|cadential|applied dominant|(half|authentic|plagal|deceptive) cadence)\b`)

// TestPlainWords: to readers who know chords by their names, no numeral, no function and
// no kind of cadence is said; the teacher has the numerals beside.
func TestPlainWords(t *testing.T) {
	for _, name := range tunes {
		_, l := lessonOf(t, name)
		for _, level := range l.Levels[:2] {
			texts := forPupil(level)
			for _, p := range level.Plan.Phrases {
				texts = append(texts, p.Cadence, p.Left, p.Right)
			}
			numerals := false
			for _, x := range level.Talk {
				texts = append(texts, x.Say)
				numerals = numerals || x.Numerals != ""
			}
			for _, s := range texts {
				if m := harmonyTerms.FindString(s); m != "" {
					t.Errorf("%s, level %d says %q: %s", name, level.Number, m, s)
				}
			}
			if !numerals {
				t.Errorf("%s, level %d: the teacher has no numerals", name, level.Number)
			}
		}
	}
}
