package shelf

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"gradatim/internal/incipit"
	"gradatim/leadsheet"
)

// Query says which tunes are looked for: those for which all that is said holds. The zero
// Query finds every tune.
type Query struct {
	Words     []string // each begins a word of title, makers or dance
	Title     string   // folded words that the title begins with
	Composer  string   // the same of the makers
	Key       string   // "F", in any mode, or "F major"
	Metre     string   // "3/4"
	Kind      string   // id of a kind of tune
	Rhythm    string
	Technique string // id: a page that was made asks for it
	Level     int    // of that page, or of the Rating; 0: any
	Rating    Range  // of a page that was made, 0 to 100
	Bars      Range
	Seconds   Range
	Rights    string            // territory in which Status, or any that may be published, holds
	Status    *leadsheet.Status // nil: any but unknown
	Incipit   []int             // how it begins, as intervals, from its first note or its first full bar on
	Alike     *bool             // is another again
	Built     *bool             // something was made of it
	Warned    *bool             // something was dropped or guessed in its sheet
	IDs       []string          // one of these

	Offset, Limit int // Limit 0: no limit
}

// Range is from least to most, both included; the zero Range is everything.
type Range struct {
	Least, Most int
	Set         bool
}

// fields are the words of a query before a colon.
var fields = []string{"title", "composer", "key", "metre", "kind", "rhythm", "technique", "level", "rating", "bars", "seconds", "rights", "status", "incipit", "alike", "built", "warned", "id"}

// ParseQuery reads how a person asks: words, and fields with a colon, whose value stands in
// quotes where it has blanks: waltz key:"F major" bars:16-32 technique:walking-bass
// level:3 rights:DE incipit:"G A B C5". The error is a leadsheet.Problems with all that
// could not be read.
func ParseQuery(text string) (Query, error) {
	var q Query
	var ps leadsheet.Problems
	for _, w := range split(text) {
		field, value, is := strings.Cut(w, ":")
		if !is {
			q.Words = append(q.Words, strings.Fields(Fold(w))...)
			continue
		}
		if !slices.Contains(fields, field) {
			ps.Tell(leadsheet.Error, leadsheet.Pos{}, "shelf-query.field", "Field", leadsheet.Quoted(field), "Fields", strings.Join(fields, ", "))
			continue
		}
		if value == "" || !q.set(field, value) {
			ps.Tell(leadsheet.Error, leadsheet.Pos{}, "shelf-query.value", "Field", field, "Value", leadsheet.Quoted(value))
		}
	}
	return q, ps.Err()
}

// set reads the value of a field.
func (q *Query) set(field, value string) (ok bool) {
	yes := func(to **bool) bool {
		v := value == "yes"
		*to = &v
		return v || value == "no"
	}
	switch field {
	case "title":
		q.Title = Fold(value)
	case "composer":
		q.Composer = Fold(value)
	case "key":
		q.Key = value
	case "metre":
		q.Metre = value
	case "kind":
		q.Kind = value
	case "rhythm":
		q.Rhythm = value
	case "technique":
		q.Technique = value
	case "id":
		q.IDs = append(q.IDs, value)
		return hexadecimal(value) && len(value) == 16
	case "level":
		n, err := strconv.Atoi(value)
		q.Level = n
		return err == nil && n > 0
	case "rating":
		q.Rating, ok = parseRange(value)
		return ok
	case "bars":
		q.Bars, ok = parseRange(value)
		return ok
	case "seconds":
		q.Seconds, ok = parseRange(value)
		return ok
	case "rights":
		t, err := ParseTerritory(value)
		q.Rights = t
		return err == nil
	case "status":
		s := parseStatus(value)
		q.Status = &s
		return s != leadsheet.Unknown || value == s.String()
	case "incipit":
		q.Incipit, ok = incipit.Typed(value)
		return ok
	case "alike":
		return yes(&q.Alike)
	case "built":
		return yes(&q.Built)
	case "warned":
		return yes(&q.Warned)
	}
	return true
}

// split cuts a text at blanks outside quotes, and takes the quotes off.
func split(text string) []string {
	var out []string
	var b strings.Builder
	quoted, any := false, false
	for _, r := range text {
		switch {
		case r == '"':
			quoted, any = !quoted, true
		case !quoted && (r == ' ' || r == '\t' || r == '\n'):
			if any {
				out = append(out, b.String())
			}
			b.Reset()
			any = false
		default:
			b.WriteRune(r)
			any = true
		}
	}
	if any {
		out = append(out, b.String())
	}
	return out
}

// parseRange reads "16", "16-32", "16-" and "-32".
func parseRange(text string) (Range, bool) {
	r := Range{Most: 1 << 30, Set: true}
	low, high, is := strings.Cut(text, "-")
	if !is {
		high = low
	}
	var err error
	if low != "" {
		if r.Least, err = strconv.Atoi(low); err != nil {
			return r, false
		}
	}
	if high != "" {
		if r.Most, err = strconv.Atoi(high); err != nil {
			return r, false
		}
	}
	return r, (low != "" || high != "") && r.Least <= r.Most
}

// where writes the condition of a query.
func (s *Shelf) where(q Query) (string, []any) {
	var conds []string
	var args []any
	add := func(cond string, a ...any) {
		conds = append(conds, cond)
		args = append(args, a...)
	}
	begins := func(column, text string) { add("("+column+" >= ? AND "+column+" < ?)", text, text+"\U0010FFFF") }
	if len(q.Words) > 0 {
		add(s.engine.match(), s.engine.pattern(q.Words))
	}
	if q.Title != "" {
		begins("tune.sorted", q.Title)
	}
	if q.Composer != "" {
		begins("tune.composers", q.Composer)
	}
	switch {
	case strings.Contains(q.Key, " "):
		add("tune.key = ?", q.Key)
	case q.Key != "":
		add("(tune.key >= ? AND tune.key < ?)", q.Key+" ", q.Key+"!")
	}
	for _, c := range []struct{ column, value string }{{"metre", q.Metre}, {"kind", q.Kind}, {"rhythm", q.Rhythm}} {
		if c.value != "" {
			add("tune."+c.column+" = ?", c.value)
		}
	}
	if q.Bars.Set {
		add("tune.bars BETWEEN ? AND ?", q.Bars.Least, q.Bars.Most)
	}
	if q.Seconds.Set {
		add("tune.seconds BETWEEN ? AND ?", q.Seconds.Least, q.Seconds.Most)
	}
	if len(q.Incipit) > 0 {
		text := incipit.Text(q.Incipit)
		// Two lists that each an index finds: an OR of both would be looked for row by row.
		add("tune.seq IN (SELECT seq FROM tune WHERE incipit >= ? AND incipit < ? UNION SELECT seq FROM tune WHERE downbeat >= ? AND downbeat < ?)", text, text+"~", text, text+"~")
	}
	s.pageCondition(q, add)
	if q.Rights != "" || q.Status != nil {
		s.rightsCondition(q, add)
	}
	for _, c := range []struct {
		is   *bool
		cond string
	}{{q.Alike, "tune.alike <> ''"}, {q.Built, "tune.seq IN (SELECT tune FROM build)"}, {q.Warned, "tune.problems <> '[]'"}} {
		if c.is != nil && *c.is {
			add(c.cond)
		} else if c.is != nil {
			add("NOT (" + c.cond + ")")
		}
	}
	if len(q.IDs) > 0 {
		var ids []any
		for _, id := range q.IDs {
			ids = append(ids, id)
		}
		add("tune.id IN ("+marksOf(len(ids))+")", ids...)
	}
	if len(conds) == 0 {
		return "", nil
	}
	return " WHERE " + strings.Join(conds, " AND "), args
}

// pageCondition is about pages that were made: technique, rating and level of one page.
func (s *Shelf) pageCondition(q Query, add func(string, ...any)) {
	level, args := "", []any{}
	if q.Level > 0 {
		level, args = " AND level = ?", []any{q.Level}
	}
	if q.Technique != "" {
		cond := "SELECT tune FROM page_technique WHERE technique = ?" + level
		args := append([]any{q.Technique}, args...)
		if q.Rating.Set {
			cond += " AND EXISTS (SELECT 1 FROM page WHERE page.tune = page_technique.tune AND page.level = page_technique.level AND page.rating BETWEEN ? AND ?)"
			args = append(args, 10*q.Rating.Least, 10*min(q.Rating.Most, 100)+9)
		}
		add("tune.seq IN ("+cond+")", args...)
		return
	}
	if q.Rating.Set {
		add("tune.seq IN (SELECT tune FROM page WHERE rating BETWEEN ? AND ?"+level+")", append([]any{10 * q.Rating.Least, 10*min(q.Rating.Most, 100) + 9}, args...)...)
	} else if q.Level > 0 {
		add("tune.seq IN (SELECT tune FROM page WHERE level = ?)", q.Level)
	}
}

// rightsCondition: what is written down for the territory, else for the world. Nothing
// written down is unknown.
func (s *Shelf) rightsCondition(q Query, add func(string, ...any)) {
	territory := q.Rights
	if territory == "" {
		territory = World
	}
	is, args := "<> ?", []any{leadsheet.Unknown.String()}
	if q.Status != nil {
		is, args = "= ?", []any{q.Status.String()}
	}
	own := "SELECT tune FROM rights WHERE current = 1 AND territory = ?"
	cond := "(tune.seq IN (" + own + " AND status " + is + ")"
	all := append([]any{territory}, args...)
	if territory != World {
		cond += " OR tune.seq IN (" + own + " AND status " + is + ") AND tune.seq NOT IN (" + own + ")"
		all = append(append(append(all, World), args...), territory)
	}
	if q.Status != nil && *q.Status == leadsheet.Unknown {
		cond += " OR NOT EXISTS (SELECT 1 FROM rights WHERE rights.tune = tune.seq AND current = 1 AND territory IN (?, ?))"
		all = append(all, territory, World)
	}
	add(cond+")", all...)
}

// Find lists the tunes for which a query holds, by title.
func (s *Shelf) Find(ctx context.Context, q Query) ([]Tune, error) {
	where, args := s.where(q)
	query := "SELECT " + tuneColumns + " FROM tune" + where + " ORDER BY tune.sorted, tune.seq"
	if q.Limit > 0 { // what is sorted away is not read
		query = "SELECT " + tuneColumns + " FROM tune WHERE tune.seq IN (SELECT tune.seq FROM tune" + where + " ORDER BY tune.sorted, tune.seq LIMIT " + strconv.Itoa(q.Limit) + " OFFSET " + strconv.Itoa(q.Offset) + ") ORDER BY tune.sorted, tune.seq"
	}
	var out []Tune
	err := s.each(ctx, s.db, query, args, func(scan func(...any) error) error {
		t, err := scanTune(scan)
		out = append(out, t)
		return err
	})
	return out, err
}

// Count tells for how many tunes a query holds.
func (s *Shelf) Count(ctx context.Context, q Query) (n int, err error) {
	where, args := s.where(q)
	_, err = s.one(ctx, "SELECT count(*) FROM tune"+where, args, &n)
	return n, err
}

// Page is what is known of the newest page of a level.
type Page struct {
	Level      int
	Key        string
	Rating     int // in tenths, 0 to 1000
	Scale      int // version of the scale
	Techniques []Technique
}

// Technique is one that a page asks for.
type Technique struct {
	ID   string
	Bars []int // as printed
}

// Day is today's date, as the shelf's clock has it.
func (s *Shelf) Day() string { return s.cfg.Now().Format(time.DateOnly) }
