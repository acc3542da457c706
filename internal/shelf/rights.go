package shelf

import (
	"context"
	"encoding/json"
	"strings"
	"time"

	"golang.org/x/text/language"

	"gradatim/leadsheet"
)

// Right is what may be done with a tune in a territory, as far as somebody has found out
// and written down. It decides nothing by itself, and no date turns it into another: the
// law of the place does, and who knows it.
type Right struct {
	Territory string // a country as ISO 3166-1 alpha-2, "DE", or World
	Status    leadsheet.Status
	Basis     string // why: "the composer died in 1901", "licence 12 of Example Press"
	Year      int    // of first publication; 0: unknown
	Died      int    // the year in which the last of the makers died; 0: unknown
	Evidence  string // where it can be checked: a book, a page, a letter
	Holder    string // whose right it is, where it is somebody's
	Since     string // date from which it holds: "2024-05-31"; "": always
	Expires   string // the last day on which it holds; "": no end is known
	Note      string

	Version int // from 1, in its territory
	Author  string
	At      time.Time
}

// World is the territory that holds where none of its own is written down.
const World = "world"

// ParseTerritory reads a territory.
func ParseTerritory(text string) (string, error) {
	if strings.EqualFold(text, World) {
		return World, nil
	}
	r, err := language.ParseRegion(text)
	if err != nil || !r.IsCountry() || len(text) != 2 || r.Canonicalize() != r {
		return "", tell(leadsheet.Pos{}, "shelf-territory", "Territory", leadsheet.Quoted(text))
	}
	return r.String(), nil
}

// carries tells what a right lacks to publish on a day: "" where it lacks nothing.
func (r Right) carries(day string) leadsheet.Saying {
	switch r.Status {
	case leadsheet.Own:
	case leadsheet.PublicDomain:
		if r.Basis == "" && r.Evidence == "" && r.Year == 0 && r.Died == 0 {
			return "shelf-rights.basis"
		}
	case leadsheet.Licensed:
		if r.Evidence == "" && r.Basis == "" {
			return "shelf-rights.evidence"
		}
	default:
		return "shelf-rights.unknown"
	}
	switch {
	case r.Since != "" && day < r.Since:
		return "shelf-rights.early"
	case r.Expires != "" && day > r.Expires:
		return "shelf-rights.expired"
	}
	return ""
}

// SetRight writes down what may be done in a territory. What was written before stays in
// the history; the new one holds.
func (s *Shelf) SetRight(ctx context.Context, id string, r Right) (version int, err error) {
	if r.Territory, err = ParseTerritory(r.Territory); err != nil {
		return 0, err
	}
	for _, d := range []string{r.Since, r.Expires} {
		if _, err := time.Parse(time.DateOnly, d); err != nil && d != "" {
			return 0, tell(leadsheet.Pos{}, "shelf-date", "Date", leadsheet.Quoted(d))
		}
	}
	err = s.within(ctx, func(t *tx) error {
		seq, err := t.find(ctx, id)
		if err != nil {
			return err
		}
		version, err = t.setRight(ctx, seq, r, s.now())
		return err
	})
	return version, err
}

func (t *tx) setRight(ctx context.Context, seq int64, r Right, at string) (int, error) {
	var newest int
	if _, err := t.row(ctx, "SELECT coalesce(max(version), 0) FROM rights WHERE tune = ? AND territory = ?", []any{seq, r.Territory}, &newest); err != nil {
		return 0, err
	}
	if newest > 0 {
		if _, err := t.exec(ctx, "UPDATE rights SET current = 0 WHERE tune = ? AND territory = ?", seq, r.Territory); err != nil {
			return 0, err
		}
	}
	r.Version = newest + 1
	if r.Author == "" {
		r.Author = t.s.cfg.Author
	}
	return r.Version, t.insertRight(ctx, seq, r, true, at)
}

func (t *tx) insertRight(ctx context.Context, seq int64, r Right, current bool, at string) error {
	_, err := t.exec(ctx, "INSERT INTO rights (tune, territory, version, current, status, basis, year, died, evidence, holder, since, expires, note, author, at) VALUES ("+marksOf(15)+")",
		seq, r.Territory, r.Version, number(current), r.Status.String(), r.Basis, r.Year, r.Died, r.Evidence, r.Holder, r.Since, r.Expires, r.Note, r.Author, at)
	return err
}

const rightColumns = "rights.territory, rights.version, rights.status, rights.basis, rights.year, rights.died, rights.evidence, rights.holder, rights.since, rights.expires, rights.note, rights.author, rights.at"

func scanRight(scan func(...any) error) (Right, error) {
	var r Right
	var status, at string
	err := scan(&r.Territory, &r.Version, &status, &r.Basis, &r.Year, &r.Died, &r.Evidence, &r.Holder, &r.Since, &r.Expires, &r.Note, &r.Author, &at)
	r.Status, r.At = parseStatus(status), parseTime(at)
	return r, err
}

func parseStatus(text string) leadsheet.Status {
	for _, s := range []leadsheet.Status{leadsheet.PublicDomain, leadsheet.Own, leadsheet.Licensed} {
		if s.String() == text {
			return s
		}
	}
	return leadsheet.Unknown
}

// Rights lists what holds now, by territory.
func (s *Shelf) Rights(ctx context.Context, id string) ([]Right, error) {
	return s.rights(ctx, id, " AND rights.current = 1")
}

// RightsHistory lists all that was ever written down, by territory and version.
func (s *Shelf) RightsHistory(ctx context.Context, id string) ([]Right, error) {
	return s.rights(ctx, id, "")
}

func (s *Shelf) rights(ctx context.Context, id, and string) ([]Right, error) {
	var out []Right
	err := s.each(ctx, s.db, "SELECT "+rightColumns+" FROM rights JOIN tune ON tune.seq = rights.tune WHERE tune.id = ?"+and+" ORDER BY rights.territory, rights.version", []any{id}, func(scan func(...any) error) error {
		r, err := scanRight(scan)
		out = append(out, r)
		return err
	})
	return out, err
}

// RightIn is what holds in a territory: what is written down for it, else for the World.
// Where nothing is, the status is Unknown.
func RightIn(territory string, among []Right) Right {
	out := Right{Territory: territory}
	for _, r := range among {
		if r.Territory == territory {
			return r
		}
		if r.Territory == World {
			out = r
		}
	}
	return out
}

// Carries says what is missing before something made of a tune may be published in a
// territory today: the error is a leadsheet.Problems, or nil.
func (s *Shelf) Carries(ctx context.Context, id, territory string) error {
	return s.within(ctx, func(t *tx) error {
		seq, err := t.find(ctx, id)
		if err != nil {
			return err
		}
		_, err = t.carried(ctx, seq, id, territory)
		return err
	})
}

// carried is the gate: the right that carries a publication, or an error. Who calls it has
// locked the row of the tune, so that no other right can come in between.
func (t *tx) carried(ctx context.Context, seq int64, id, territory string) (Right, error) {
	var among []Right
	err := t.s.each(ctx, t, "SELECT "+rightColumns+" FROM rights WHERE rights.tune = ? AND rights.current = 1 AND rights.territory IN (?, ?)", []any{seq, territory, World}, func(scan func(...any) error) error {
		r, err := scanRight(scan)
		among = append(among, r)
		return err
	})
	if err != nil {
		return Right{}, err
	}
	r := RightIn(territory, among)
	var title string
	if _, err := t.row(ctx, "SELECT title FROM tune WHERE seq = ?", []any{seq}, &title); err != nil {
		return r, err
	}
	if lacks := r.carries(t.s.cfg.Now().Format(time.DateOnly)); lacks != "" {
		date := r.Expires
		if lacks == "shelf-rights.early" {
			date = r.Since
		}
		return r, t.s.place.problem(lacks, "Tune", id, "Title", leadsheet.Quoted(title), "Territory", territory, "Date", date)
	}
	return r, nil
}

func (r Right) json() string {
	b, err := json.Marshal(recordOf(r))
	if err != nil {
		panic(err) // texts and numbers
	}
	return string(b)
}
