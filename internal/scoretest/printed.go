package scoretest

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Printed is a page as it was printed: its notes, and what is known of the piece.
type Printed struct {
	ID, Key string // as its source states the key: "Bb major"
	Kind    string // "dance", "song" …
	Level   int    // by a reader's guess, 1 to 5
	Score   score.Score
}

// PrintedPages reads a folder such as the shared human_pages (source, licences and quirks
// in its README): index.tsv and notes/ID.tsv, repeats printed once, sorted as the index.
func PrintedPages(dir string) ([]Printed, error) {
	rows, err := Table(filepath.Join(dir, "index.tsv"))
	if err != nil {
		return nil, err
	}
	var out []Printed
	for _, row := range rows[1:] {
		at := func(name string) string { return row[column(rows[0], name)] }
		p := Printed{ID: at("id"), Key: at("key"), Kind: at("kind")}
		if p.Level, err = strconv.Atoi(at("level")); err != nil {
			return nil, err
		}
		fifths, err := strconv.Atoi(at("fifths"))
		if err != nil {
			return nil, err
		}
		mode := theory.Major
		if strings.HasSuffix(p.Key, "minor") {
			mode = theory.Minor
		}
		var m leadsheet.Meter
		if _, err := fmt.Sscanf(at("metre"), "%d/%d", &m.Beats, &m.Unit); err != nil {
			return nil, fmt.Errorf("%s: %w", p.ID, err)
		}
		p.Score = score.Score{Title: at("title"), Composer: at("composer")}
		if err := printedNotes(filepath.Join(dir, "notes", p.ID+".tsv"), m, theory.KeyOf(fifths, mode), &p.Score); err != nil {
			return nil, err
		}
		p.Score = p.Score.Finish()
		out = append(out, p)
	}
	return out, nil
}

// Table reads a file of rows of cells between tabs, the heads of its columns first.
func Table(file string) ([][]string, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comma, r.LazyQuotes, r.FieldsPerRecord = '\t', true, -1
	return r.ReadAll()
}

func column(head []string, name string) int {
	for i, h := range head {
		if h == name {
			return i
		}
	}
	panic("no column " + name)
}

// quarters reads an exact number of quarters, "7/4"; it is rounded to what a duration
// holds.
func quarters(s string) (theory.Dur, error) {
	a, b, ok := strings.Cut(s, "/")
	if !ok {
		b = "1"
	}
	n, err := strconv.Atoi(a)
	d, err2 := strconv.Atoi(b)
	if err != nil || err2 != nil || d == 0 {
		return 0, fmt.Errorf("%q is no number of quarters", s)
	}
	return (theory.Quarter*theory.Dur(n)*2 + theory.Dur(d)) / theory.Dur(2*d), nil
}

func printedNotes(file string, m leadsheet.Meter, key theory.Key, s *score.Score) error {
	rows, err := Table(file)
	if err != nil {
		return err
	}
	number, err := strconv.Atoi(rows[0][1])
	if err != nil {
		return err
	}
	var at []theory.Dur
	for _, q := range rows[0][2:] {
		d, err := quarters(q)
		if err != nil {
			return err
		}
		at = append(at, d)
	}
	for i := range at[1:] {
		dur := at[i+1] - at[i]
		s.Bars = append(s.Bars, score.Bar{At: at[i], Dur: dur, Meter: m, Key: key, Number: number + i, Pickup: dur < m.Bar()})
	}
	tied := map[string]int{} // hand, voice and key → the note that sounds on
	graces := map[string]uint8{}
	for _, row := range rows[2:] {
		on, err := quarters(row[2])
		dur, err2 := quarters(row[3])
		pitch, err3 := theory.ParsePitch(row[5])
		if err != nil || err2 != nil || err3 != nil {
			return fmt.Errorf("%s: %v", file, row)
		}
		n := score.Note{Hand: score.Right, Voice: 1, At: on, Dur: dur, Pitch: pitch}
		if row[0] == "lh" {
			n.Hand = score.Left
		}
		if v, _ := strconv.Atoi(row[1]); v > 1 {
			n.Voice = 2
		}
		same := row[0] + row[4]
		if k, ok := tied[same]; ok && row[7] == "1" && s.Notes[k].End() == on {
			s.Notes[k].Dur += dur
			continue
		}
		if row[8] == "1" {
			here := row[0] + row[1] + row[2]
			graces[here]++
			n.Dur, n.Grace = 0, graces[here]
		} else {
			tied[same] = len(s.Notes)
		}
		s.Notes = append(s.Notes, n)
	}
	return nil
}
