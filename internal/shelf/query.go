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
	Of            int // how many there are, where that is known: of a page far down it is counted else
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

// set is a condition as a query that lists the tunes (seq) for which it holds, or does not.
type set struct {
	not   bool
	query string
	args  []any
}

// condition is what a query asks for: of the tune's row, and by lists of tunes.
type condition struct {
	rows []string
	args []any
	sets []set
}

func (c *condition) add(row string, args ...any) {
	c.rows = append(c.rows, row)
	c.args = append(c.args, args...)
}

func (c *condition) list(not bool, query string, args ...any) {
	c.sets = append(c.sets, set{not, query, args})
}

// condition reads a query as the database is asked.
func (s *Shelf) condition(q Query) condition {
	var c condition
	begins := func(column, text string) {
		text = cut(text)
		c.add("("+column+" >= ? AND "+column+" < ?)", text, text+"\U0010FFFF")
	}
	if len(q.Words) > 0 {
		if match, lists := s.engine.match(); lists {
			c.list(false, match, s.engine.pattern(q.Words))
		} else {
			c.add(match, s.engine.pattern(q.Words))
		}
	}
	if q.Title != "" {
		begins("tune.sorted", q.Title)
	}
	if q.Composer != "" {
		begins("tune.composers", q.Composer)
	}
	switch {
	case strings.Contains(q.Key, " "):
		c.add("tune.key = ?", q.Key)
	case q.Key != "":
		c.add("(tune.key >= ? AND tune.key < ?)", q.Key+" ", q.Key+"!")
	}
	for _, f := range []struct{ column, value string }{{"metre", q.Metre}, {"kind", q.Kind}, {"dance", cut(q.Rhythm)}} {
		if f.value != "" {
			c.add("tune."+f.column+" = ?", f.value)
		}
	}
	if q.Bars.Set {
		c.add("tune.bars BETWEEN ? AND ?", q.Bars.Least, q.Bars.Most)
	}
	if q.Seconds.Set {
		c.add("tune.seconds BETWEEN ? AND ?", q.Seconds.Least, q.Seconds.Most)
	}
	if len(q.Incipit) > 0 {
		text := incipit.Text(q.Incipit)
		// Two lists that each an index finds: an OR of both would be looked for row by row.
		c.list(false, "SELECT seq FROM tune WHERE incipit >= ? AND incipit < ? UNION SELECT seq FROM tune WHERE downbeat >= ? AND downbeat < ?", text, text+"~", text, text+"~")
	}
	pageCondition(q, &c)
	if q.Rights != "" || q.Status != nil {
		rightsCondition(q, &c)
	}
	for _, f := range []struct {
		is   *bool
		list string
	}{{q.Alike, "SELECT seq FROM tune WHERE alike <> ''"}, {q.Built, "SELECT DISTINCT tune FROM build"}, {q.Warned, "SELECT seq FROM tune WHERE problems <> '[]'"}} {
		if f.is != nil {
			c.list(!*f.is, f.list)
		}
	}
	if len(q.IDs) > 0 {
		var ids []any
		for _, id := range q.IDs {
			ids = append(ids, id)
		}
		c.add("tune.id IN ("+marksOf(len(ids))+")", ids...)
	}
	return c
}

// pageCondition is about pages that were made: technique, rating and level of one page.
func pageCondition(q Query, c *condition) {
	level, args := "", []any{}
	if q.Level > 0 {
		level, args = " AND level = ?", []any{q.Level}
	}
	rating := []any{10 * q.Rating.Least, 10*min(q.Rating.Most, 100) + 9}
	switch {
	case q.Technique != "":
		if !q.Rating.Set {
			c.list(false, "SELECT DISTINCT tune FROM page_technique WHERE technique = ?"+level, append([]any{q.Technique}, args...)...)
			break
		}
		if q.Level > 0 {
			level = " AND u.level = ?"
		}
		// CROSS JOIN: SQLite takes the tables in this order, the shorter list first.
		c.list(false, "SELECT DISTINCT u.tune FROM page_technique AS u CROSS JOIN page WHERE page.tune = u.tune AND page.level = u.level AND u.technique = ?"+level+" AND page.rating BETWEEN ? AND ?",
			slices.Concat([]any{q.Technique}, args, rating)...)
	case q.Rating.Set:
		c.list(false, "SELECT DISTINCT tune FROM page WHERE rating BETWEEN ? AND ?"+level, append(rating, args...)...)
	case q.Level > 0:
		c.list(false, "SELECT tune FROM page WHERE level = ?", q.Level)
	}
}

// rightsCondition: what is written down for the territory, else for the world. Nothing
// written down is unknown, so the unknown are those that are not among the others.
func rightsCondition(q Query, c *condition) {
	territory := q.Rights
	if territory == "" {
		territory = World
	}
	status, unknown := leadsheet.Unknown.String(), q.Status != nil && *q.Status == leadsheet.Unknown
	is := " AND status <> ?"
	if q.Status != nil && !unknown {
		status, is = q.Status.String(), " AND status = ?"
	}
	const own = "SELECT tune FROM rights WHERE current = 1 AND territory = ?"
	query, args := own+is, []any{territory, status}
	if territory != World { // of one table, so that an engine can tell how many there are
		query = "SELECT tune FROM rights WHERE current = 1 AND territory IN (?, ?)" + is + " AND (territory = ? OR tune NOT IN (" + own + "))"
		args = []any{territory, World, status, territory, territory}
	}
	c.list(unknown, query, args...)
}

// where writes the condition of a query.
//
// Problem: an engine does not know how long a list is (SQLite never, PostgreSQL guesses); it takes
// each for short, finds the row of each tune on it and sorts what is left. Of a list with a tenth of
// all tunes that is slower than going through an index of all. So long lists are told from short ones first, by counting
// them as far as it matters. Cost: as many steps as the shortest list is long, or as there are tunes.
// Rejected: the engine's own statistics, which somebody would have to bring up to date, and
// know nothing of searches for words.
func (s *Shelf) where(ctx context.Context, c condition) (string, []any, error) {
	rows, args := slices.Clone(c.rows), slices.Clone(c.args)
	short, least := -1, s.engine.long()
	for i, x := range c.sets {
		if x.not {
			continue
		}
		var n int
		if _, err := s.one(ctx, "SELECT count(*) FROM (SELECT 1 FROM ("+x.query+") AS x LIMIT "+strconv.Itoa(s.engine.long())+") AS y", x.args, &n); err != nil {
			return "", nil, err
		}
		if n < least {
			short, least = i, n
		}
	}
	for i, x := range c.sets {
		cond := "tune.seq IN (" + x.query + ")"
		switch {
		case x.not:
			cond = "NOT " + cond
		case i != short:
			cond = s.engine.lookUp(x.query)
		}
		rows = append(rows, cond)
		args = append(args, x.args...)
	}
	if len(rows) == 0 {
		return "", nil, nil
	}
	return " WHERE " + strings.Join(rows, " AND "), args, nil
}

// far is from which tune on the end of a list is asked for from behind, if it is nearer.
const far = 1000

// Find lists the tunes for which a query holds, by title.
func (s *Shelf) Find(ctx context.Context, q Query) ([]Tune, error) {
	query, args, err := s.finding(ctx, q)
	if err != nil {
		return nil, err
	}
	var out []Tune
	err = s.each(ctx, s.db, query, args, func(scan func(...any) error) error {
		t, err := scanTune(scan)
		out = append(out, t)
		return err
	})
	return out, err
}

// finding is the query of Find, as the database is asked.
func (s *Shelf) finding(ctx context.Context, q Query) (query string, args []any, err error) {
	where, args, err := s.where(ctx, s.condition(q))
	if err != nil {
		return "", nil, err
	}
	if q.Limit == 0 {
		return "SELECT " + tuneColumns + " FROM tune" + where + " ORDER BY tune.sorted, tune.seq", args, nil
	}
	order, limit, offset := "tune.sorted, tune.seq", q.Limit, q.Offset
	if offset >= far {
		n := q.Of
		if n == 0 {
			if n, err = s.Count(ctx, q); err != nil {
				return "", nil, err
			}
		}
		if rest := max(0, n-offset); rest < offset {
			order, limit, offset = "tune.sorted DESC, tune.seq DESC", min(limit, rest), max(0, rest-limit)
		}
	}
	// What is sorted away is not read.
	return "SELECT " + tuneColumns + " FROM tune WHERE tune.seq IN (SELECT tune.seq FROM tune" + where + " ORDER BY " + order + " LIMIT " + strconv.Itoa(limit) + " OFFSET " + strconv.Itoa(offset) + ") ORDER BY tune.sorted, tune.seq", args, nil
}

// Count tells for how many tunes a query holds.
func (s *Shelf) Count(ctx context.Context, q Query) (n int, err error) {
	query, args, err := s.counting(ctx, q)
	if err == nil {
		_, err = s.one(ctx, query, args, &n)
	}
	return n, err
}

// counting is the query of Count, as the database is asked.
func (s *Shelf) counting(ctx context.Context, q Query) (query string, args []any, err error) {
	c := s.condition(q)
	if len(c.rows) == 0 && len(c.sets) == 1 { // each list has a tune once
		x := c.sets[0]
		count := "(SELECT count(*) FROM (" + x.query + ") AS x)"
		if x.not {
			count = "(SELECT count(*) FROM tune) - " + count
		}
		return "SELECT " + count, x.args, nil
	}
	where, args, err := s.where(ctx, c)
	return "SELECT count(*) FROM tune" + where, args, err
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
