package grade_test

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/grade"
	"gradatim/internal/hand"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/corpus"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

func featureOf(t testing.TB, r grade.Rating, id string, h score.Hand) grade.Feature {
	t.Helper()
	i := slices.IndexFunc(r.Features, func(f grade.Feature) bool { return f.ID == id && f.Hand == h })
	if i < 0 {
		t.Fatalf("no feature %s, %s", id, h)
	}
	return r.Features[i]
}

// Source: OpenScore Lieder (CC0), 20 accompaniments by Beethoven, Brahms,
// Gonzaga, Hensel, Kinkel, Mendelssohn, Reichardt, Satie, Schubert, Schumann and
// Wieck Schumann. No grade is published with them; what is checked is that none is
// refused, that all stand in the middle of the scale as song accompaniments do, and
// that those whose difference nobody doubts stand in order (a judgement of ours:
// the octaves and unisons of Der stürmische Morgen against the crotchet chords of
// Noivado).
func TestRealAccompaniments(t *testing.T) {
	level := map[string]int{}
	var all []int
	for _, a := range corpus.Accompaniments(t) {
		s, name := a.Score, a.Name
		r := grade.Rate(s, grade.Options{Fingering: grade.ByHand(hand.Default())})
		if len(s.Chords) == 0 && !r.Heard {
			t.Errorf("%s: its chords were not heard", name)
		}
		if len(r.Techniques) < 5 || len(r.Hardest) == 0 || len(r.Features) != 16 {
			t.Errorf("%s: %d techniques, %d hard places, %d features", name, len(r.Techniques), len(r.Hardest), len(r.Features))
		}
		for _, x := range r.Features {
			if !strings.HasSuffix(x.Text(english), ".") || strings.Contains(x.Text(english), "%!") {
				t.Errorf("%s: %q", name, x.Text(english))
			}
		}
		if _, err := r.JSON(); err != nil {
			t.Error(err)
		}
		level[name[:14]] = int(r.Number)
		all = append(all, int(r.Number))
		t.Logf("%d.%d  %s", r.Number/10, r.Number%10, name)
	}
	slices.Sort(all)
	if all[0] < 250 || all[len(all)-1] > 800 || all[len(all)/2] < 540 || all[len(all)/2] > 710 {
		t.Errorf("from %d to %d tenths, median %d", all[0], all[len(all)-1], all[len(all)/2])
	}
	for _, o := range [][2]string{
		{"gonzaga_noivad", "schubert_18_de"}, {"satie_5_chanso", "schubert_18_de"}, {"satie_5_chanso", "satie_2_danseu"},
		{"schumann_die_g", "schumann_9_weh"}, {"beethoven_3_da", "hensel_1_das_h"}, {"gonzaga_noivad", "brahms_7_bitte"},
	} {
		if level[o[0]] == 0 || level[o[0]] >= level[o[1]] {
			t.Errorf("%s at %d is not below %s at %d", o[0], level[o[0]], o[1], level[o[1]])
		}
	}
}

// staves reads the staves of Diabelli's Op. 149 and 163 (Mutopia; licences in the
// shared folder) as they were entered, without their key signatures.
func staves(t *testing.T) map[string]map[string][]score.Note {
	t.Helper()
	f, err := os.Open(sharedtest.Path(t, "data/fingering/mutopia_fingerings.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comma, r.LazyQuotes, r.ReuseRecord = '\t', true, true
	out := map[string]map[string][]score.Note{}
	for row, err := r.Read(); err == nil; row, err = r.Read() {
		file, staff := filepath.Base(row[0]), row[1]
		if !strings.Contains(row[0], "DiabelliA") {
			continue
		}
		p, perr := theory.ParsePitch(row[6])
		at, aerr := strconv.ParseFloat(row[4], 64)
		dur, derr := strconv.ParseFloat(row[5], 64)
		if perr != nil || aerr != nil || derr != nil {
			t.Fatal(row, perr, aerr, derr)
		}
		if out[file] == nil {
			out[file] = map[string][]score.Note{}
		}
		notes := out[file][staff]
		n := score.Note{Hand: score.Right, Voice: 1, At: quarters(at), Dur: quarters(dur), Pitch: p}
		if row[9] == "1" {
			for i := len(notes) - 1; i >= 0; i-- {
				if notes[i].Pitch == p {
					notes[i].Dur += n.Dur
					break
				}
			}
			continue
		}
		out[file][staff] = append(notes, n)
	}
	return out
}

func quarters(q float64) theory.Dur { return theory.Dur(q*float64(theory.Quarter) + 0.5) }

// page puts two staves into one score in 4/4 at 100 quarters a minute.
func page(right, left []score.Note) score.Score {
	s := score.Score{Tempo: leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 100}}
	end := theory.Dur(0)
	for i, notes := range [][]score.Note{right, left} {
		for _, n := range notes {
			n.Hand = score.Hand(i + 1)
			s.Notes = append(s.Notes, n)
			end = max(end, n.End())
		}
	}
	c := theory.Key{Tonic: theory.Name{Letter: theory.C}, Mode: theory.Major}
	for at := theory.Dur(0); at < end; at += theory.Whole {
		s.Bars = append(s.Bars, score.Bar{At: at, Dur: theory.Whole, Meter: leadsheet.Meter{Beats: 4, Unit: 4}, Key: c, Number: len(s.Bars) + 1})
	}
	return s.Finish()
}

// Source: diabelli_features, computed from the same staves by another program:
// range and lowest key must agree exactly, strikes a quarter and the share of
// altered notes nearly (it counts rests at the ends, and ties apart).
func TestDiabelliFeatures(t *testing.T) {
	f, err := os.Open(sharedtest.Path(t, "data/difficulty/diabelli_features.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comma, r.LazyQuotes = '\t', true
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	all := staves(t)
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(s)
		}
		return v
	}
	checked := 0
	for _, row := range rows[1:] {
		notes := all[fmt.Sprintf("op%s-%s.ly", row[0], row[1])][row[2]]
		if notes == nil {
			notes = all[fmt.Sprintf("diabeli.op%s.%s.ly", row[0], row[1])][row[2]]
		}
		if len(notes) == 0 {
			continue
		}
		rate := grade.Rate(page(notes, nil), grade.Options{WithoutTechniques: true})
		checked++
		where := fmt.Sprintf("op. %s no. %s, %s", row[0], row[1], row[2])
		if got, want := featureOf(t, rate, "compass", score.Right).Value, int(number(row[7])*1000); got != want {
			t.Errorf("%s: range %d, want %d", where, got, want)
		}
		perQuarter := float64(featureOf(t, rate, "speed", score.Right).Value) / 1000 * 60 / 100
		if want := number(row[6]); perQuarter < 0.9*want || perQuarter > 1.35*want {
			t.Errorf("%s: %.3f strikes a quarter, want %.3f", where, perQuarter, want)
		}
		altered := float64(featureOf(t, rate, "accidentals", 0).Value) / 1000
		if want := number(row[11]); altered < want-0.06 || altered > want+0.06 {
			t.Errorf("%s: %.3f altered, want %.3f", where, altered, want)
		}
	}
	if checked < 70 {
		t.Fatalf("%d staves", checked)
	}
}

// Source: Diabelli, Melodische Übungsstücke Op. 149, duets in progressive order in
// which the pupil keeps five notes under each hand and the teacher does not: the
// pupil's part must stand at the foot of the scale, half of them below our level 2 and
// all below level 3, and the teacher's above it.
func TestDiabelliPupilBelowTeacher(t *testing.T) {
	all := staves(t)
	var pupil, teacher []int
	below, pairs := 0, 0
	for file, parts := range all {
		if !strings.Contains(file, "149") {
			continue
		}
		rate := func(up, down string) int {
			if len(parts[up]) == 0 || len(parts[down]) == 0 {
				return -1
			}
			return int(grade.Rate(page(parts[up], parts[down]), grade.Options{WithoutTechniques: true}).Number)
		}
		p, q := rate("primoUp", "primoDown"), rate("secondoUp", "secondoDown")
		if p >= 0 {
			pupil = append(pupil, p)
		}
		if q >= 0 {
			teacher = append(teacher, q)
		}
		if p >= 0 && q >= 0 {
			pairs++
			if p < q {
				below++
			}
		}
	}
	slices.Sort(pupil)
	slices.Sort(teacher)
	if len(pupil) < 15 || pairs < 4 {
		t.Fatalf("%d pupils' parts, %d pairs", len(pupil), pairs)
	}
	t.Logf("pupil %v\nteacher %v", pupil, teacher)
	if pupil[len(pupil)/2] > 200 || pupil[len(pupil)-1] > 300 {
		t.Errorf("pupils' parts: median %d, hardest %d tenths", pupil[len(pupil)/2], pupil[len(pupil)-1])
	}
	if below != pairs || teacher[len(teacher)/2] <= pupil[len(pupil)/2] {
		t.Errorf("the teacher's part is harder in %d of %d; medians %d and %d", below, pairs, pupil[len(pupil)/2], teacher[len(teacher)/2])
	}
}

// Source: tables/worked_ladder.json, two bars of a traditional tune worked out at
// five levels by hand: the rating must rise at every step, with the fingering and
// without.
func TestWorkedLadderRises(t *testing.T) {
	data, err := os.ReadFile(sharedtest.Path(t, "tables/worked_ladder.json"))
	if err != nil {
		t.Fatal(err)
	}
	type event struct {
		At, Dur float64
		Notes   []string
	}
	var levels []struct {
		Rung   int
		RH, LH []event
	}
	if err := json.Unmarshal(data, &levels); err != nil || len(levels) != 5 {
		t.Fatal(len(levels), err)
	}
	for _, opt := range []grade.Options{{}, {Fingering: grade.ByHand(hand.Default())}} {
		var rs []grade.Rating
		for _, l := range levels {
			var hands [2][]score.Note
			for i, es := range [][]event{l.RH, l.LH} {
				for _, e := range es {
					var marks score.Marks
					for _, name := range e.Notes {
						p, err := theory.ParsePitch(name)
						if err != nil {
							t.Fatal(err)
						}
						hands[i] = append(hands[i], score.Note{Voice: 1, At: quarters(e.At), Dur: quarters(e.Dur), Pitch: p, Marks: marks})
					}
				}
			}
			p := page(hands[0], hands[1])
			if l.Rung == 2 { // the wide broken chord is played under the pedal, half bar by half bar
				for at := theory.Dur(0); at < p.End(); at += theory.Half {
					p.Directions = append(p.Directions, score.Direction{At: at, Kind: score.PedalDown, Hand: score.Left}, score.Direction{At: at + theory.Half, Kind: score.PedalUp, Hand: score.Left})
				}
			}
			rs = append(rs, grade.Rate(p, opt))
		}
		for _, st := range grade.Climbs(rs) {
			if !st.Rises {
				t.Errorf("fingering %v: level %d at %d tenths, level %d at %d: %+v", opt.Fingering != nil, st.From+1, rs[st.From].Number, st.To+1, rs[st.To].Number, st.Falls)
			}
		}
		t.Logf("%d %d %d %d %d tenths", rs[0].Number, rs[1].Number, rs[2].Number, rs[3].Number, rs[4].Number)
	}
}
