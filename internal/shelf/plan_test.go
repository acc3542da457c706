package shelf

import (
	"context"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"
)

// plan is how the database will answer a query, in its own words ("EXPLAIN QUERY PLAN" of
// SQLite, https://sqlite.org/eqp.html; "EXPLAIN" of PostgreSQL's manual).
func plan(t *testing.T, s *Shelf, query string, args []any) string {
	t.Helper()
	explain := "EXPLAIN " + query
	if s.Engine() == "sqlite" {
		explain = "EXPLAIN QUERY PLAN " + query
	}
	var lines []string
	err := s.each(context.Background(), s.db, explain, args, func(scan func(...any) error) error {
		var id, parent, unused int
		var line string
		err := scan(&line)
		if s.Engine() == "sqlite" {
			err = scan(&id, &parent, &unused, &line)
		}
		lines = append(lines, line)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(lines, "\n")
}

// longLists is an engine that takes each list of tunes for a long one.
type longLists struct{ engine }

func (longLists) long() int { return 1 }

// TestPlans: no question of a large shelf has the rows of a table read one after the other, and
// none of one value in one column has its answer sorted.
func TestPlans(t *testing.T) {
	through := map[string]*regexp.Regexp{
		"sqlite":   regexp.MustCompile(`SCAN (tune|rights|page|page_technique|build)( USING INDEX tune_(sorted|key|metre|kind|dance|bars|seconds|composers|incipit|downbeat|hash|source))?$|AUTOMATIC`),
		"postgres": regexp.MustCompile(`Seq Scan on (tune|rights|page|page_technique|build)\b`),
	}
	inOrder := map[string]bool{"": true, `key:"$key"`: true, "metre:$metre": true, "kind:$kind": true, "rhythm:$kind": true, "key:$tonic metre:$metre": true, "kind:$kind rights:DE": true, "metre:$metre seconds:60-120": true}
	made(t, func(t *testing.T, s *Shelf) {
		furnished(t, s, 40)
		if s.Engine() == "postgres" { // forty rows are read fastest one after the other: it is made to believe in more
			s.db.SetMaxOpenConns(1)
			if _, err := s.db.Exec("SET enable_seqscan = off"); err != nil {
				t.Fatal(err)
			}
		}
		r := rand.New(rand.NewPCG(5, 6))
		for i, question := range append(questions, questions...) {
			if i == len(questions) {
				s.engine = longLists{s.engine}
			}
			q, err := ParseQuery(asked(question, r))
			if err != nil {
				t.Fatal(err)
			}
			for _, offset := range []int{0, 90_000} {
				q.Limit, q.Offset, q.Of = 50, offset, 100_000
				query, args, err := s.finding(t.Context(), q)
				if err != nil {
					t.Fatal(err)
				}
				got := plan(t, s, query, args)
				if bad := find(through[s.Engine()], got); bad != "" {
					t.Errorf("%s from %d on goes through a table: %s\n%s", question, offset, bad, got)
				}
				if s.Engine() == "sqlite" && inOrder[question] && strings.Count(got, "TEMP B-TREE FOR ORDER BY") > 1 { // the fifty themselves are sorted
					t.Errorf("%s from %d on is sorted:\n%s", question, offset, got)
				}
			}
			query, args, err := s.counting(t.Context(), q)
			if err != nil {
				t.Fatal(err)
			}
			if got := plan(t, s, query, args); find(through[s.Engine()], got) != "" {
				t.Errorf("counting %s goes through a table:\n%s", question, got)
			}
		}
	})
}

func find(re *regexp.Regexp, lines string) string {
	for line := range strings.Lines(lines) {
		if line = strings.TrimSpace(line); re.MatchString(line) {
			return line
		}
	}
	return ""
}
